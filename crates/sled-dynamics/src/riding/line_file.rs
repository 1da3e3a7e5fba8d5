//! A line as people tell it: where to be at the entry, the highest point and the exit of corners.
//!
//! ```text
//!   corner,position,offset_m,height_m,band_m
//!   6,entry,0.2,,0.1
//!   6,highest,,1.6,0.2
//! ```
//!
//! Offsets are positive to the left, heights count from the lowest ice on the high side of the corner.

use crate::analysis::sections::sections;
use crate::motion::descent::{CornerRide, Sample};
use crate::riding::pieces::Piece;
use crate::riding::told_line::ToldPlace;
use file_faults::FileFault;
use numerics::roots::brent;
use track_geometry::track::{Hand, Track};

/// The columns, in any order; of offset and height one is given.
pub(crate) const COLUMNS: [&str; 5] = ["corner", "position", "offset_m", "height_m", "band_m"];
/// What a line is told to within where no band is given (m), assumed.
pub(crate) const USUAL_BAND_M: f64 = 0.2;

/// Where in a corner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Position {
    /// At its entry.
    Entry,
    /// Where the reference ride is highest.
    Highest,
    /// At its exit.
    Exit,
}

impl Position {
    /// In words.
    pub fn words(self) -> &'static str {
        ["entry", "highest", "exit"][self as usize]
    }
}

/// A place on the ice across the track.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Place {
    /// Lateral coordinate, left positive (m).
    OffsetM(f64),
    /// Height above the lowest ice, on the high side (m).
    HeightM(f64),
}

/// A place to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aim {
    /// The corner, by its place in the track's list.
    pub corner: usize,
    /// Where in it.
    pub position: Position,
    /// Where across.
    pub place: Place,
    /// To within (m).
    pub band_m: f64,
}

impl Aim {
    /// The aim in words.
    pub fn words(&self, track: &Track) -> String {
        let place = match self.place {
            Place::OffsetM(v) => format!("offset {v} m"),
            Place::HeightM(v) => format!("height {v} m"),
        };
        let (corner, at) = (&track.data.corners[self.corner].name, self.position.words());
        format!("corner {corner}, {at}: {place} +- {} m", self.band_m)
    }

    fn sample<'a>(&self, ride: &'a CornerRide) -> &'a Sample {
        match self.position {
            Position::Entry => &ride.entry,
            Position::Highest => &ride.highest,
            Position::Exit => &ride.exit,
        }
    }

    /// Whether an offset and height ridden are within the band of those asked for (m).
    pub fn is_met(&self, asked_m: &[f64; 2], ridden_m: Option<[f64; 2]>) -> bool {
        let which = usize::from(matches!(self.place, Place::HeightM(_)));
        ridden_m.is_some_and(|r| (r[which] - asked_m[which]).abs() <= self.band_m)
    }

    /// The offset that is meant at a station (m); none where the ice is nowhere that high.
    fn offset_m(&self, track: &Track, station_m: f64) -> Option<f64> {
        let height_m = match self.place {
            Place::OffsetM(v) => return Some(v),
            Place::HeightM(v) => v,
        };
        let at = track.surface.station(station_m);
        let left = track.data.corners[self.corner].hand == Hand::Left;
        let edge_m = if left { at.right_edge[0] } else { at.left_edge[0] };
        brent(at.lowest_m(), edge_m, 1e-6, |u| at.height_m(u) - height_m)
    }
}

/// Reads a line file.
pub fn read_line(file: &str, text: &str, track: &Track) -> Result<Vec<Aim>, Vec<FileFault>> {
    let (mut aims, mut faults): (Vec<Aim>, Vec<FileFault>) = (vec![], vec![]);
    let mut columns: Option<[Option<usize>; 5]> = None;
    for (line, number) in text.trim_start_matches('\u{feff}').lines().zip(1..) {
        let line = line.split('#').next().unwrap_or("");
        if line.trim().is_empty() {
            continue;
        }
        let fields: Vec<(usize, &str)> = (1..).zip(line.split(',').map(str::trim)).collect();
        let mut fault = |column: usize, key: &str, got: &str, allowed: String| {
            let got = if got.is_empty() { "nothing" } else { got };
            faults.push(FileFault::at(file, (number, column), key, got, allowed));
        };
        let Some(places) = columns else {
            for (column, name) in fields.iter().filter(|f| !COLUMNS.contains(&f.1)) {
                fault(*column, "heading", name, COLUMNS.join(", "));
            }
            let places = COLUMNS.map(|c| fields.iter().position(|f| f.1 == c));
            for (name, _) in COLUMNS.iter().zip(places).take(2).filter(|c| c.1.is_none()) {
                fault(0, name, "no such column", "this column".into());
            }
            columns = Some(places);
            continue;
        };
        let field = |i: usize| places[i].and_then(|p| fields.get(p)).copied().unwrap_or((0, ""));
        let (column, name) = field(0);
        let corner = track.data.corners.iter().position(|c| c.name == name);
        if corner.is_none() {
            let names: Vec<&str> = track.data.corners.iter().map(|c| c.name.as_str()).collect();
            fault(column, "corner", name, names.join(", "));
        }
        let (column, name) = field(1);
        let all = [Position::Entry, Position::Highest, Position::Exit];
        let position = all.into_iter().find(|p| p.words() == name);
        if position.is_none() {
            fault(column, "position", name, "entry, highest, exit".into());
        }
        let mut value = |i: usize, range: (f64, f64)| -> Option<f64> {
            let (column, text) = field(i);
            match text.parse::<f64>() {
                _ if text.is_empty() => None,
                Ok(v) if range.0 <= v && v <= range.1 => Some(v),
                _ => {
                    fault(column, COLUMNS[i], text, format!("{} to {}", range.0, range.1));
                    Some(f64::NAN)
                }
            }
        };
        let (offset, height) = (value(2, (-20.0, 20.0)), value(3, (0.0, 20.0)));
        let band_m = value(4, (0.01, 2.0)).unwrap_or(USUAL_BAND_M);
        let place = match (offset, height) {
            (Some(v), None) => Some(Place::OffsetM(v)),
            (None, Some(v)) => Some(Place::HeightM(v)),
            (offset, _) => {
                let got = if offset.is_some() { "both" } else { "none of both" };
                fault(0, "offset_m, height_m", got, "one of both".into());
                None
            }
        };
        if let (Some(corner), Some(position), Some(place)) = (corner, position, place) {
            if aims.iter().any(|a| a.corner == corner && a.position == position) {
                fault(0, "position", "a second aim for this position", "one".into());
            }
            aims.push(Aim { corner, position, place, band_m });
        }
    }
    faults.sort_by_key(|f| (f.place.line, f.place.column));
    if aims.is_empty() && faults.is_empty() {
        faults.push(FileFault::at(file, (0, 0), "rows", "none", "a header and one row or more"));
    }
    if faults.is_empty() { Ok(aims) } else { Err(faults) }
}

/// The aims as pieces of the ride whose corners are given, and in words those that cannot be met: the ice is not
/// that high there, or lies beyond an edge.
pub fn aimed_pieces(track: &Track, aims: &[Aim], reference: &[CornerRide]) -> (Vec<Piece>, Vec<String>) {
    let (mut pieces, mut refused) = (Vec::new(), Vec::new());
    let sections = sections(track);
    for aim in aims {
        let name = &track.data.corners[aim.corner].name;
        let ride = reference.iter().find(|r| r.name == *name);
        let section = sections.iter().find(|s| s.corner == Some(aim.corner));
        let (Some(ride), Some(section)) = (ride, section) else {
            refused.push(format!("{}: the reference ride does not reach it", aim.words(track)));
            continue;
        };
        let here = aim.sample(ride);
        let at = track.surface.station(here.station_m);
        let on_ice = |u: &f64| at.right_edge[0] < *u && *u < at.left_edge[0];
        match aim.offset_m(track, here.station_m).filter(on_ice) {
            Some(offset_m) => {
                let aside_m = offset_m - here.offset_m;
                let told = Some(ToldPlace { station_m: here.station_m, aside_m, wall: None });
                pieces.push(Piece { told, ..Piece::between(section.from_m, section.to_m) });
            }
            None => refused.push(format!("{}: there is no such ice there", aim.words(track))),
        }
    }
    (pieces, refused)
}
