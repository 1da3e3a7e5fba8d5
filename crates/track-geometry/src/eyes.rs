//! Where timing eyes stand.

use crate::track::TrackData;

/// A timing eye inside a corner: what is measured there hangs on the line, which is longer or shorter than the
/// reference line.
#[derive(Clone, Debug, PartialEq)]
pub struct EyeInCorner {
    /// Name of the eye.
    pub eye: String,
    /// Its station (m).
    pub station_m: f64,
    /// Name of the corner.
    pub corner: String,
}

/// The eyes that stand between the entry and the exit of a corner, in order.
pub fn eyes_in_corners(data: &TrackData) -> Vec<EyeInCorner> {
    let inside = |eye: &crate::track::Eye| {
        let corner = data.corners.iter().find(|c| c.entry_m < eye.station_m && eye.station_m < c.exit_m)?;
        Some(EyeInCorner { eye: eye.name.clone(), station_m: eye.station_m, corner: corner.name.clone() })
    };
    data.eyes.iter().filter_map(inside).collect()
}
