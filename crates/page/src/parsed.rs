//! What the body of a request is read as, without answering it: all that stands between a socket and a computation.

use crate::asked::{Asked, AskedFile, AskedSetup, read};
use crate::contact_told::AskedContact;
use crate::evening::AskedEvening;
use crate::evidence::{AskedCalibration, AskedTrial};
use crate::ice_told::{AskedIce, ice_told};
use crate::line_told::{AskedLine, AskedPlace, place_told};
use crate::track_checked::{AskedTrack, track_checked};
use sled_dynamics::riding::line_file::read_line;
use sled_dynamics::riding::notes_read::read_phrase;
use track_geometry::track::Track;

/// Addresses that read a body.
pub const ADDRESSES: [&str; 10] =
    ["rough", "setup", "contact", "ice", "place", "line", "evening", "calibration", "trial", "check-track"];

/// The set-ups of a request at one of [`ADDRESSES`] as it is computed with, printed for a programmer; a refusal in a
/// sentence. `first` is the set-up that the page began with.
pub fn parsed(address: &str, body: &[u8], first: &AskedFile, track: &Track) -> Result<String, String> {
    let sled = |asked: &AskedSetup| asked.checked(first).map(|sled| format!("{sled:?}"));
    match address {
        "rough" => {
            let asked = read::<Asked>(body)?;
            asked.check()?;
            Ok(sled(&asked.here)? + &sled(&asked.pinned)?)
        }
        "setup" => {
            let file = read::<AskedFile>(body)?;
            sled(&AskedSetup { file: Some(file), sets: vec![], skill: "club".into() })
        }
        "contact" => {
            read::<AskedContact>(body).and_then(|a| Ok(format!("{} ({})", sled(&a.here)?, a.station_m)))
        }
        "ice" => {
            let asked = read::<AskedIce>(body)?;
            Ok(sled(&asked.here)? + &sled(&asked.pinned)? + &ice_told(track, &asked, None, None)?.to_string())
        }
        "place" => {
            let asked = read::<AskedPlace>(body)?;
            Ok(sled(&asked.here)?
                + &sled(&asked.pinned)?
                + &place_told(track, &asked, None, None)?.to_string())
        }
        "line" => {
            let asked = read::<AskedLine>(body)?;
            asked.check()?;
            let aims = read_line("the line", &asked.line, track).map_err(|f| file_faults::lines(&f))?;
            let note = read_phrase("the what-if", asked.what_if.trim(), track);
            Ok(format!("{}{aims:?}{:?}", sled(&asked.here)?, note.map_err(|f| file_faults::lines(&f))?))
        }
        "evening" => {
            let asked = read::<AskedEvening>(body)?;
            asked.texts(String::new())?;
            sled(&asked.here)
        }
        "calibration" => {
            let asked = read::<AskedCalibration>(body)?;
            asked.check()?;
            sled(&asked.here)
        }
        "trial" => {
            let asked = read::<AskedTrial>(body)?;
            asked.check()?;
            sled(&asked.here)
        }
        "check-track" => {
            let speeds = |_: &Track, _: &_| Err("not computed here".to_string());
            track_checked(&read::<AskedTrack>(body)?, &speeds).map(|told| told.to_string())
        }
        _ => Err(format!("{address}: reads no body")),
    }
}
