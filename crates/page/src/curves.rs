//! Curves over the station, thinned for the screen; the files have every row.

use serde_json::{Value, json};
use sled_dynamics::motion::descent::{Descent, Sample};

/// Distance of the rows that are drawn (m).
const DRAWN_M: f64 = 2.0;

/// The descent that a gap is counted from.
pub(crate) struct Pinned<'a> {
    /// Its descent.
    pub(crate) descent: &'a Descent,
}

/// A number with so many decimals as a screen needs; none where it is none.
fn short(v: f64, digits: i32) -> Value {
    let scale = 10f64.powi(digits);
    let v = (v * scale).round() / scale;
    // no minus before a zero
    if v.is_finite() { json!(v + 0.0) } else { Value::Null }
}

fn drawn(trace: &[Sample]) -> impl Iterator<Item = &Sample> {
    let last = trace.len().saturating_sub(1);
    let apart_m = trace.get(1).map_or(DRAWN_M, |s| s.station_m - trace[0].station_m);
    let every = (DRAWN_M / apart_m).round().max(1.0) as usize;
    trace.iter().enumerate().filter(move |(i, _)| i % every == 0 || *i == last).map(|(_, s)| s)
}

/// When the first eye was passed (s since the block): the clock of the splits starts there.
fn clock_start_s(d: &Descent) -> f64 {
    let Some(first) = d.splits.first() else { return 0.0 };
    // the trace may begin behind the first eye: then the splits tell
    match d.splits.iter().find_map(|s| Some((s.split_time_s, time_at_s(&d.trace, s.station_m)?))) {
        Some((split_s, time_s)) => time_s - split_s,
        None => d.trace.first().map_or(0.0, |s| s.time_s) - first.split_time_s,
    }
}

/// Time at a station (s since the block), on a straight line of slowness between the rows.
fn time_at_s(trace: &[Sample], station_m: f64) -> Option<f64> {
    let after = trace.partition_point(|s| s.station_m < station_m);
    let b = trace.get(after)?;
    if b.station_m == station_m {
        return Some(b.time_s);
    }
    let a = trace.get(after.checked_sub(1)?)?;
    let part = (station_m - a.station_m) / (b.station_m - a.station_m);
    Some(a.time_s + part * (b.time_s - a.time_s))
}

/// Gap of a descent to another at a station (s), clocks from the first eye; none where one of them was not there.
pub(crate) fn gap_at_s(d: &Descent, other: &Descent, station_m: f64) -> Option<f64> {
    let (own_s, other_s) = (time_at_s(&d.trace, station_m)?, time_at_s(&other.trace, station_m)?);
    Some((own_s - clock_start_s(d)) - (other_s - clock_start_s(other)))
}

/// The curves of a descent; with a pinned one, the gap to it alone (ms).
pub(crate) fn curves(d: &Descent, pinned: Option<Pinned<'_>>) -> Value {
    let column = |digits: i32, of: &dyn Fn(&Sample) -> f64| -> Vec<Value> {
        drawn(&d.trace).map(|s| short(of(s), digits)).collect()
    };
    if let Some(Pinned { descent: other }) = pinned {
        return Value::from(column(2, &|s| {
            gap_at_s(d, other, s.station_m).map_or(f64::NAN, |gap_s| 1e3 * gap_s)
        }));
    }
    let mean = |v: [f64; 2]| 0.5 * (v[0] + v[1]);
    json!({
        "station_m": column(2, &|s| s.station_m),
        "speed_km_h": column(2, &|s| s.speed_m_s * 3.6),
        "g_load": column(3, &|s| s.g_load),
        "height_m": column(3, &|s| s.height_m),
        "slip_deg": column(3, &|s| s.slip_rad.to_degrees()),
        "steer": column(3, &|s| s.steer),
        "touch_m": column(3, &|s| mean(s.contact.touch_span_m)),
        "outside": column(3, &|s| s.contact.outside_screws[0].max(s.contact.outside_screws[1])),
        "offset_m": column(3, &|s| s.offset_m),
    })
}
