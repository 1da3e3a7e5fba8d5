//! Corner by corner: what a descent did in each, read from its trace.

use crate::motion::descent::{CornerRide, Sample};
use crate::motion::extremes::turning_points;
use track_geometry::track::Track;

/// A maximum of the load counts as a pressure when it stands out by this much over weight `[-]`, assumed.
pub const PRESSURE_G: f64 = 0.1;

/// A maximum of the load lower than this is one of the floor, where the grade changes, not of the bank (m), assumed.
pub(crate) const ON_BANK_M: f64 = 0.1;

/// The corners of a track as ridden; corners that the trace does not cover whole are left out.
pub(crate) fn corner_rides(track: &Track, trace: &[Sample]) -> Vec<CornerRide> {
    let Some(last) = trace.last() else { return vec![] };
    let covered = |c: &&track_geometry::track::Corner| {
        trace[0].station_m <= c.entry_m && c.exit_m <= last.station_m + 1e-9
    };
    track
        .data
        .corners
        .iter()
        .filter(covered)
        .filter_map(|corner| {
            let from = trace.partition_point(|s| s.station_m < corner.entry_m);
            let to = trace.partition_point(|s| s.station_m <= corner.exit_m);
            let inside = trace.get(from..to)?;
            let (first, end) = (inside.first()?, inside.last()?);
            let highest = inside.iter().max_by(|a, b| a.height_m.total_cmp(&b.height_m))?;
            let loads: Vec<f64> = inside.iter().map(|s| s.g_load).collect();
            Some(CornerRide {
                name: corner.name.clone(),
                entry: *first,
                highest: *highest,
                exit: *end,
                greatest_g_load: loads.iter().copied().fold(f64::NEG_INFINITY, f64::max),
                pressures: turning_points(&loads, PRESSURE_G)
                    .into_iter()
                    .filter(|(i, maximum)| *maximum && inside[*i].height_m >= ON_BANK_M)
                    .count(),
            })
        })
        .collect()
}
