//! A track: its surface, where its corners and timing eyes are, and where it lies.

use crate::station_table::StationTable;
use crate::surface::{Surface, SurfaceError};

/// Which way a corner turns, seen by the athlete.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hand {
    /// A left-hand turn (positive curvature).
    Left,
    /// A right-hand turn (negative curvature).
    Right,
}

/// A named corner.
#[derive(Clone, Debug, PartialEq)]
pub struct Corner {
    /// The name it is called by, for example "6" or "Kiln".
    pub name: String,
    /// Station where it begins (m).
    pub entry_m: f64,
    /// Station where it ends (m).
    pub exit_m: f64,
    /// Which way it turns.
    pub hand: Hand,
}

/// A timing eye: a light beam across the track.
#[derive(Clone, Debug, PartialEq)]
pub struct Eye {
    /// The name on the timing sheet, for example "start", "eye 3", "finish".
    pub name: String,
    /// Station of the beam (m).
    pub station_m: f64,
}

/// Where the numbers of a track come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DataQuality {
    /// Made up; no such track exists.
    Invented,
    /// Built from a corner list: right in length, angle and drop, not in detail.
    Approximate,
    /// From a survey.
    Surveyed,
}

/// A track as checked: every number inside its limits.
#[derive(Clone, Debug, PartialEq)]
pub struct TrackData {
    /// Name of the track.
    pub name: String,
    /// Altitude of the last station above sea level (m).
    pub altitude_m: f64,
    /// Geographic latitude (rad).
    pub latitude_rad: f64,
    /// Where the data come from, in words.
    pub source: String,
    /// What kind of data they are.
    pub quality: DataQuality,
    /// Timing eyes in order of station; the first starts the clock, the last stops it.
    pub eyes: Vec<Eye>,
    /// Corners in order of station.
    pub corners: Vec<Corner>,
    /// The station table.
    pub table: StationTable,
}

/// A track ready for a descent: the data and the surface made from them.
#[derive(Clone, Debug)]
pub struct Track {
    /// The data.
    pub data: TrackData,
    /// The surface.
    pub surface: Surface,
}

impl Track {
    /// Makes the surface.
    pub fn new(data: TrackData) -> Result<Track, SurfaceError> {
        let surface = Surface::new(&data.table)?;
        Ok(Track { data, surface })
    }

    /// Station of the last eye (m), or the end of the table if there is none.
    pub fn finish_m(&self) -> f64 {
        self.data.eyes.last().map_or(self.surface.range_m().1, |e| e.station_m)
    }

    /// Angle that a corner turns in plan (rad), and its least radius in plan (m) by the rows of the table.
    pub fn turn_of(&self, corner: &Corner) -> (f64, f64) {
        let turn_rad = self.surface.heading_rad(corner.exit_m) - self.surface.heading_rad(corner.entry_m);
        let table = &self.data.table;
        let inside = table.station_m.iter().zip(&table.plan_curvature_per_m);
        let inside = inside.filter(|(s, _)| **s >= corner.entry_m && **s <= corner.exit_m);
        let tightest_per_m = inside.map(|(_, k)| k.abs()).fold(0.0, f64::max);
        (turn_rad.abs(), 1.0 / tightest_per_m)
    }

    /// A corner as cells of a table: name, hand, entry and exit (m), angle (deg), least radius (m).
    pub fn corner_cells(&self, corner: &Corner) -> Vec<String> {
        let (turn_rad, least_radius_m) = self.turn_of(corner);
        vec![
            corner.name.clone(),
            if corner.hand == Hand::Left { "left".into() } else { "right".into() },
            format!("{:.1}", corner.entry_m),
            format!("{:.1}", corner.exit_m),
            format!("{:.1}", turn_rad.to_degrees()),
            format!("{least_radius_m:.1}"),
        ]
    }

    /// The corner at a station, by its place in the list.
    pub fn corner_at(&self, station_m: f64) -> Option<usize> {
        self.data.corners.iter().position(|c| c.entry_m <= station_m && station_m <= c.exit_m)
    }
}
