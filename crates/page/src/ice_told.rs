//! A stretch of the ice in space, and the lines that sleds rode on it.

use crate::asked::AskedSetup;
use crate::curves::gap_at_s;
use crate::ridden::Ridden;
use serde::Deserialize;
use serde_json::{Value, json};
use track_geometry::track::Track;

/// Longest stretch that is drawn (m).
const LONGEST_M: f64 = 400.0;
/// Distances of the points along the way (m) and their number across.
const STEP_M: f64 = 2.0;
const ACROSS: usize = 24;
/// The gap grows or shrinks over this way before it is told as a colour (m).
const OVER_M: f64 = 10.0;

/// What is asked: a stretch, and the sleds whose lines are wanted.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct AskedIce {
    /// The set-up.
    pub(crate) here: AskedSetup,
    /// The pinned one.
    pub(crate) pinned: AskedSetup,
    /// First station (m).
    pub(crate) from_m: f64,
    /// Last station (m).
    pub(crate) to_m: f64,
}

fn short(v: f64) -> f64 {
    (1e3 * v).round() / 1e3
}

/// The stretch within the track; a fault in a sentence.
fn stretch(track: &Track, asked: &AskedIce) -> Result<(f64, f64), String> {
    let (first_m, finish_m) = (track.surface.range_m().0, track.finish_m());
    let (from_m, to_m) = (asked.from_m.max(first_m), asked.to_m.min(finish_m));
    if to_m - from_m >= STEP_M && to_m - from_m <= LONGEST_M {
        return Ok((from_m, to_m));
    }
    Err(format!(
        "from {} to {} m: allowed are {STEP_M} to {LONGEST_M} m between {first_m:.0} and {finish_m:.0} m",
        asked.from_m, asked.to_m
    ))
}

/// Ice and lines of a stretch.
pub(crate) fn ice_told(
    track: &Track,
    asked: &AskedIce,
    here: Option<&Ridden>,
    pinned: Option<&Ridden>,
) -> Result<Value, String> {
    let (from_m, to_m) = stretch(track, asked)?;
    let rows = ((to_m - from_m) / STEP_M).ceil() as usize;
    let mut ice = [vec![], vec![], vec![]];
    for i in 0..=rows {
        let station_m = from_m + (to_m - from_m) * i as f64 / rows as f64;
        let at = track.surface.station(station_m);
        let (left_m, right_m) = (at.left_edge[0], at.right_edge[0]);
        let points: Vec<_> = (0..=ACROSS)
            .map(|j| {
                track.surface.position(station_m, right_m + (left_m - right_m) * j as f64 / ACROSS as f64)
            })
            .collect();
        for (k, column) in ice.iter_mut().enumerate() {
            column.push(points.iter().map(|p| short(p[k])).collect::<Vec<f64>>());
        }
    }
    let line = |r: &Ridden| {
        let inside = r.descent.trace.iter().filter(|s| from_m <= s.station_m && s.station_m <= to_m);
        let rows: Vec<_> = inside.collect();
        let points: Vec<_> = rows.iter().map(|s| track.surface.position(s.station_m, s.offset_m)).collect();
        let grows: Vec<Option<f64>> = match pinned.filter(|p| p.key != r.key) {
            None => vec![],
            Some(p) => rows
                .iter()
                .map(|s| {
                    let at = |station_m: f64| gap_at_s(&r.descent, &p.descent, station_m);
                    let half = 0.5 * OVER_M;
                    let (a, b) = (at(s.station_m - half)?, at(s.station_m + half)?);
                    Some(short(1e3 * (b - a) / OVER_M))
                })
                .collect(),
        };
        let gaps: Vec<Option<f64>> = match pinned.filter(|p| p.key != r.key) {
            None => vec![],
            Some(p) => rows
                .iter()
                .map(|s| Some(short(1e3 * gap_at_s(&r.descent, &p.descent, s.station_m)?)))
                .collect(),
        };
        json!({
            "gap_ms": gaps,
            "station_m": rows.iter().map(|s| s.station_m).collect::<Vec<f64>>(),
            "x": points.iter().map(|p| short(p[0])).collect::<Vec<f64>>(),
            "y": points.iter().map(|p| short(p[1])).collect::<Vec<f64>>(),
            "z": points.iter().map(|p| short(p[2])).collect::<Vec<f64>>(),
            "grows_ms_per_m": grows,
        })
    };
    let [x, y, z] = ice;
    Ok(json!({
        "from_m": from_m,
        "to_m": to_m,
        "x": x, "y": y, "z": z,
        "here": here.map(line),
        "pinned": pinned.map(line),
    }))
}
