//! The track for the browser: plan, corners, eyes.

use serde_json::{Value, json};
use track_geometry::track::{DataQuality, Hand, Track};

/// Distance of the points of the plan (m).
const STEP_M: f64 = 2.0;

/// Name, plan of the reference line, corners and eyes.
pub(crate) fn track_told(track: &Track) -> Value {
    let (first_m, finish_m) = (track.surface.range_m().0, track.finish_m());
    let steps = ((finish_m - first_m) / STEP_M).ceil().max(1.0) as usize;
    let stations: Vec<f64> =
        (0..=steps).map(|i| first_m + (finish_m - first_m) * i as f64 / steps as f64).collect();
    let points: Vec<[f64; 3]> = stations
        .iter()
        .map(|s| {
            let p = track.surface.reference_line(*s);
            [p.x, p.y, p.z].map(|v| (100.0 * v).round() / 100.0)
        })
        .collect();
    let corners: Vec<Value> = track
        .data
        .corners
        .iter()
        .map(|c| {
            let hand = if c.hand == Hand::Left { "left" } else { "right" };
            json!({ "name": c.name, "entry_m": c.entry_m, "exit_m": c.exit_m, "hand": hand })
        })
        .collect();
    let eyes: Vec<Value> =
        track.data.eyes.iter().map(|e| json!({ "name": e.name, "station_m": e.station_m })).collect();
    json!({
        "name": track.data.name,
        "quality": quality(track),
        "station_m": stations,
        "points_m": points,
        "corners": corners,
        "eyes": eyes,
        "finish_m": finish_m,
    })
}

/// Where the numbers of the track come from, in words.
pub(crate) fn quality(track: &Track) -> &'static str {
    match track.data.quality {
        DataQuality::Invented => "an invented track",
        DataQuality::Approximate => "an approximate track",
        DataQuality::Surveyed => "a surveyed track",
    }
}
