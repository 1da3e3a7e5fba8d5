//! A track as dropped or typed: every fault by line and column, or its plan, profile, corners and doubts.

use crate::asked::AskedFile;
use crate::evidence::Table;
use crate::track_told::track_told;
use serde::Deserialize;
use serde_json::{Value, json};
use track_geometry::corner_list::{CornerList, read_corner_list};
use track_geometry::doubts::doubts;
use track_geometry::faults::Faults;
use track_geometry::track::Track;
use track_geometry::track_builder::build_track;
use track_geometry::track_file::read_track;

/// What is asked: a corner list, or `track.toml` and `stations.csv`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct AskedTrack {
    /// The files.
    pub(crate) files: Vec<AskedFile>,
}

/// Design speeds of a list beside those ridden, and what is told of them.
pub(crate) type DesignSpeeds =
    dyn Fn(&Track, &CornerList) -> Result<(Table, Vec<String>), String> + Send + Sync;

/// Most faults that are told.
const MOST_FAULTS: usize = 40;

/// Eyes in corners, and what becomes of a sled left alone, in words.
pub(crate) type LeftAlone = dyn Fn(&Track) -> Vec<String> + Send + Sync;

/// A track as read, with its corner list where that was given; or its faults.
type Read = Result<(Track, Option<CornerList>), Value>;

/// An error only where these are not the files of a track.
fn read(asked: &AskedTrack) -> Result<Read, String> {
    let mut listed: Option<CornerList> = None;
    let ends = |f: &AskedFile, end: &str| f.name.to_lowercase().ends_with(end);
    let read = match asked.files.as_slice() {
        [list] if !ends(list, ".csv") => read_corner_list(&list.name, &list.text).and_then(|list| {
            let built = build_track(&list);
            listed = Some(list);
            built
        }),
        [a, b] => {
            let (toml, csv) = if ends(a, ".csv") { (b, a) } else { (a, b) };
            if !ends(csv, ".csv") || ends(toml, ".csv") {
                return Err("two files of a track are track.toml and stations.csv".into());
            }
            read_track(&toml.name, &toml.text, &csv.name, &csv.text).map(|read| read.track)
        }
        _ => return Err("a track is one corner list (TOML), or track.toml with stations.csv".into()),
    };
    let faults = |faults: Faults| json!({ "faults": told(&faults), "places": places(&faults) });
    Ok(read.map_err(faults).and_then(|data| {
        let track = Track::new(data).map_err(|e| json!({ "faults": [e.to_string()] }))?;
        Ok((track, listed))
    }))
}

/// The track, or its faults; an error only where these are not the files of a track.
pub(crate) fn track_checked(asked: &AskedTrack, speeds: &DesignSpeeds) -> Result<Value, String> {
    Ok(match read(asked)? {
        Ok((track, listed)) => drawn(&track, listed.map(|list| speeds(&track, &list))),
        Err(faults) => faults,
    })
}

/// The warnings of `track check` that need a descent.
pub(crate) fn track_warned(asked: &AskedTrack, left_alone: &LeftAlone) -> Result<Value, String> {
    let (track, _) = read(asked)?.map_err(|_| "a sled rides only a track without faults")?;
    let mut warnings = left_alone(&track);
    let more = warnings.len().saturating_sub(MOST_FAULTS);
    warnings.truncate(MOST_FAULTS);
    warnings.extend((more > 0).then(|| format!("and {more} more")));
    Ok(json!({ "warnings": warnings }))
}

/// Line and column of each fault, where it has them.
fn places(faults: &Faults) -> Vec<[Option<usize>; 2]> {
    faults.0.iter().take(MOST_FAULTS).map(|f| [f.place.line, f.place.column]).collect()
}

fn told(faults: &Faults) -> Vec<String> {
    let mut all: Vec<String> = faults.0.iter().take(MOST_FAULTS).map(ToString::to_string).collect();
    if faults.0.len() > MOST_FAULTS {
        all.push(format!("and {} more", faults.0.len() - MOST_FAULTS));
    }
    all
}

fn drawn(track: &Track, speeds: Option<Result<(Table, Vec<String>), String>>) -> Value {
    let data = &track.data;
    let (first, last) = track.surface.range_m();
    let drop = data.table.elevation_m[0] - data.table.elevation_m[data.table.len() - 1];
    let (speeds, far) = match speeds {
        None => (None, vec![]),
        Some(Ok((table, far))) => (Some(table), far),
        Some(Err(why)) => (None, vec![format!("no speeds to compare the design speeds with: {why}")]),
    };
    json!({
        "track": track_told(track),
        "speeds": speeds,
        "far": far,
        "head": format!("{}: {:.1} m long, drop {drop:.1} m, {} stations", data.name, last - first, data.table.len()),
        "corners": corners(track),
        "doubts": doubts(data).iter().take(MOST_FAULTS).map(ToString::to_string).collect::<Vec<_>>(),
    })
}

/// The rows of `track check`.
fn corners(track: &Track) -> Vec<Vec<String>> {
    track.data.corners.iter().map(|c| track.corner_cells(c)).collect()
}
