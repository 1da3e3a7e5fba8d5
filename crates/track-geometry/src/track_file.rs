//! The two texts of a track folder: `track.toml` and `stations.csv`.

use crate::decimals::exact_text;
use crate::faults::{FaultKind, Faults, Place};
use crate::toml_keys::{Keys, Placed};
use crate::track::{DataQuality, Eye, TrackData};
use std::fmt::Write as _;

/// The words for what kind of data a track is made of.
pub(crate) const QUALITIES: [(&str, DataQuality); 3] = [
    ("invented", DataQuality::Invented),
    ("approximate", DataQuality::Approximate),
    ("surveyed", DataQuality::Surveyed),
];

/// What both a track and a corner list say of the whole.
pub(crate) struct Head {
    pub(crate) name: String,
    pub(crate) altitude_m: f64,
    pub(crate) latitude_rad: f64,
    pub(crate) source: String,
}

pub(crate) fn read_head(keys: &mut Keys, f: &mut Faults) -> Option<Head> {
    let name = keys.required("name", f, Keys::text);
    let altitude = keys.required("altitude_m", f, |k, key, f| {
        k.number_in(key, "-500 to 6000", |x| (-500.0..=6000.0).contains(&x), f)
    });
    let latitude =
        keys.required("latitude_deg", f, |k, key, f| k.number_in(key, "-90 to 90", |x| x.abs() <= 90.0, f));
    let source = keys.required("source", f, Keys::text);
    Some(Head {
        name: name?.value,
        altitude_m: altitude?.value,
        latitude_rad: latitude?.value.to_radians(),
        source: source?.value,
    })
}

/// The timing eyes in order of the file, with the places of their stations.
pub(crate) fn read_eyes(keys: &mut Keys, f: &mut Faults) -> (Vec<Eye>, Vec<Place>) {
    let at = keys.place("eyes");
    let (mut eyes, mut places): (Vec<Eye>, Vec<Place>) = (Vec::new(), Vec::new());
    let tables = keys.tables("eyes", f);
    if tables.len() < 2 {
        f.add(at, FaultKind::TooFewEyes { got: tables.len() });
    }
    for mut item in tables {
        let name = item.required("name", f, Keys::text);
        let station = item.required("station_m", f, Keys::number);
        item.finish(f);
        let (Some(name), Some(Placed { value: station_m, place })) = (name, station) else { continue };
        if let Some(before) = eyes.last().filter(|e| e.station_m >= station_m) {
            f.add(place.clone(), FaultKind::EyesOutOfOrder { got_m: station_m, before_m: before.station_m });
        }
        eyes.push(Eye { name: name.value, station_m });
        places.push(place);
    }
    (eyes, places)
}

/// The words of a track as TOML, without its station table. Reading it back gives the same.
pub fn write_track_toml(track: &TrackData) -> String {
    let quality = QUALITIES.iter().find(|(_, q)| *q == track.quality).map_or("", |(w, _)| w);
    let latitude_rad = track.latitude_rad;
    let mut out = format!(
        "name = {}\naltitude_m = {}\nlatitude_deg = {}\nquality = \"{quality}\"\nsource = {}\n",
        quoted(&track.name),
        track.altitude_m,
        exact_text(latitude_rad.to_degrees(), latitude_rad, f64::to_radians),
        quoted(&track.source),
    );
    // Writing to a String cannot fail.
    for eye in &track.eyes {
        let _ = write!(out, "\n[[eyes]]\nname = {}\nstation_m = {}\n", quoted(&eye.name), eye.station_m);
    }
    for c in &track.corners {
        let _ = write!(
            out,
            "\n[[corners]]\nname = {}\nentry_m = {}\nexit_m = {}\n",
            quoted(&c.name),
            c.entry_m,
            c.exit_m
        );
    }
    out
}

fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}
