//! The two texts of a track folder: `track.toml` and `stations.csv`.

use crate::decimals::exact_text;
use crate::doubts::{Doubt, DoubtKind, doubts};
use crate::faults::{FaultKind, Faults};
use crate::station_table::StationTable;
use crate::table_file::{ASSUMED_EDGE_M, read_stations_csv};
use crate::toml_keys::{Keys, Placed, TomlText};
use crate::track::{Corner, DataQuality, Eye, Hand, TrackData};
use file_faults::Place;
use std::collections::HashSet;
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
    let mut names = HashSet::new();
    let tables = keys.tables("eyes", f);
    if tables.len() < 2 {
        f.add(at, FaultKind::TooFewEyes { got: tables.len() });
    }
    for mut item in tables {
        let name = item.required("name", f, Keys::text);
        let station = item.required("station_m", f, Keys::number);
        item.finish(f);
        let (Some(name), Some(Placed { value: station_m, place })) = (name, station) else { continue };
        if !names.insert(name.value.clone()) {
            f.add(name.place, FaultKind::RepeatedName { got: name.value.clone() });
        }
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

/// A track as read, with everything doubtful in its data.
#[derive(Clone, Debug, PartialEq)]
pub struct TrackRead {
    /// The track.
    pub track: TrackData,
    /// Doubtful data, by station; to be shown, not to be refused.
    pub doubts: Vec<Doubt>,
}

/// Least angle a corner turns (deg); with less its hand cannot be told.
pub(crate) const LEAST_CORNER_DEG: f64 = 0.1;

/// Reads a track from the texts of its `track.toml` and `stations.csv`; the names are
/// used in messages only.
///
/// # Errors
/// All faults of both texts at once, each with file, line and column.
pub fn read_track(
    toml_name: &str,
    toml_text: &str,
    csv_name: &str,
    csv_text: &str,
) -> Result<TrackRead, Faults> {
    let mut faults = Faults::default();
    let mut table_faults = Faults::default();
    let table = read_stations_csv(csv_name, csv_text).map_err(|f| table_faults = f).ok();
    let toml = TomlText::new(toml_name, toml_text);
    let root = toml.parse(&mut faults);
    let unreadable = !faults.0.is_empty();
    let mut keys = Keys::new(&toml, &root, "");
    let mut track = None;
    if !unreadable {
        track = read_words(&mut keys, table.as_ref(), &mut faults);
        keys.finish(&mut faults);
    }
    faults.0.extend(table_faults.0);
    let (Some(mut track), Some(table), true) = (track, table, faults.0.is_empty()) else {
        return Err(faults);
    };
    track.table = table;
    let mut doubtful = doubts(&track);
    // The header is the first line that is not blank.
    let header = csv_text.lines().find(|l| !l.trim().is_empty()).unwrap_or("");
    if !header.contains("left_edge_m") {
        let station_m = track.table.station_m.first().copied().unwrap_or(0.0);
        let kind = DoubtKind::EdgesAssumed { edge_m: ASSUMED_EDGE_M };
        doubtful.insert(0, Doubt { station_m, stations: track.table.len(), kind });
    }
    Ok(TrackRead { track, doubts: doubtful })
}

/// Everything but the station table; places are checked against it if it could be read.
fn read_words(keys: &mut Keys, table: Option<&StationTable>, f: &mut Faults) -> Option<TrackData> {
    let head = read_head(keys, f);
    let quality = keys.required("quality", f, |k, key, f| k.choice(key, &QUALITIES, f));
    let (eyes, places) = read_eyes(keys, f);
    for (eye, place) in eyes.iter().zip(places) {
        check_inside(table, eye.station_m, place, f);
    }
    let mut corners: Vec<Corner> = Vec::new();
    for mut item in keys.tables("corners", f) {
        let before_exit_m = corners.last().map(|c| c.exit_m);
        let corner = read_corner(&mut item, table, before_exit_m, f);
        if let Some(c) = corner.as_ref().filter(|c| corners.iter().any(|b| b.name == c.name)) {
            f.add(item.place("name"), FaultKind::RepeatedName { got: c.name.clone() });
        }
        corners.extend(corner);
        item.finish(f);
    }
    let head = head?;
    Some(TrackData {
        name: head.name,
        altitude_m: head.altitude_m,
        latitude_rad: head.latitude_rad,
        source: head.source,
        quality: quality?,
        eyes,
        corners,
        table: StationTable::default(),
    })
}

fn check_inside(table: Option<&StationTable>, got_m: f64, place: Place, f: &mut Faults) {
    let ends = table.and_then(|t| Some((*t.station_m.first()?, *t.station_m.last()?)));
    if let Some((first_m, last_m)) = ends.filter(|(a, b)| !(*a..=*b).contains(&got_m)) {
        f.add(place, FaultKind::OutsideTrack { got_m, first_m, last_m });
    }
}

fn read_corner(
    item: &mut Keys,
    table: Option<&StationTable>,
    before_exit_m: Option<f64>,
    f: &mut Faults,
) -> Option<Corner> {
    let name = item.required("name", f, Keys::text);
    let entry = item.required("entry_m", f, Keys::number);
    let exit = item.required("exit_m", f, Keys::number);
    let (name, entry, exit) = (name?, entry?, exit?);
    let (entry_m, exit_m) = (entry.value, exit.value);
    if let Some(before_exit_m) = before_exit_m.filter(|x| *x > entry_m) {
        f.add(entry.place.clone(), FaultKind::CornersOverlap { entry_m, before_exit_m });
    }
    check_inside(table, entry_m, entry.place, f);
    check_inside(table, exit_m, exit.place.clone(), f);
    if exit_m <= entry_m {
        f.add(exit.place, FaultKind::CornerBackwards { entry_m, exit_m });
        return None;
    }
    let angle_deg = table.map(|t| angle_rad(t, entry_m, exit_m).to_degrees());
    if let Some(angle_deg) = angle_deg.filter(|a| a.abs() < LEAST_CORNER_DEG) {
        f.add(name.place, FaultKind::CornerDoesNotTurn { angle_deg });
    }
    // Without a readable table the hand is not used.
    let hand = if angle_deg.is_some_and(|a| a < 0.0) { Hand::Right } else { Hand::Left };
    Some(Corner { name: name.value, entry_m, exit_m, hand })
}

/// Plan curvature summed over the rows between two stations by the trapezoid rule: about
/// the angle turned, enough to tell the hand.
fn angle_rad(t: &StationTable, from_m: f64, to_m: f64) -> f64 {
    let (s, k) = (&t.station_m, &t.plan_curvature_per_m);
    s.windows(2)
        .zip(k.windows(2))
        .map(|(s, k)| {
            let overlap_m = (s[1].min(to_m) - s[0].max(from_m)).max(0.0);
            0.5 * (k[0] + k[1]) * overlap_m
        })
        .sum()
}
