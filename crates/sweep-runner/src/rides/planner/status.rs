//! How a plan came out, in words as well.

use track_geometry::track::Track;

/// How a plan came out.
#[derive(Clone, Debug, PartialEq)]
pub enum PlanStatus {
    /// Free of virtual help.
    Found,
    /// No ride was found without help: where it is greatest, and how much (m/s2).
    NeedsHelp {
        /// Station (m).
        station_m: f64,
        /// Side acceleration that this sled lacks there (m/s2).
        lacks_m_s2: f64,
    },
    /// The solver ended without a ride, in its own words.
    Failed(String),
}

impl PlanStatus {
    /// Why there is no ride, in words.
    pub fn why_not(&self, track: &Track) -> Option<String> {
        match self {
            PlanStatus::Found => None,
            PlanStatus::NeedsHelp { station_m, lacks_m_s2 } => Some(format!(
                "{} needs {lacks_m_s2:.3} m/s2 more than this sled can turn",
                place_words(track, *station_m)
            )),
            PlanStatus::Failed(why) => Some(why.clone()),
        }
    }
}

/// A place in words: by thirds of a corner, or by its station.
fn place_words(track: &Track, station_m: f64) -> String {
    let Some(i) = track.corner_at(station_m) else { return format!("station {station_m:.0} m") };
    let corner = &track.data.corners[i];
    let part = match (station_m - corner.entry_m) / (corner.exit_m - corner.entry_m) {
        x if x < 1.0 / 3.0 => "entry",
        x if x < 2.0 / 3.0 => "middle",
        _ => "exit",
    };
    format!("{part} of corner {} (station {station_m:.0} m)", corner.name)
}
