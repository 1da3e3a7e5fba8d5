//! The trace of a descent as CSV, units in the header.

use sled_dynamics::motion::descent::{LOSSES, Sample};

type Column = (&'static str, fn(&Sample) -> f64);

const COLUMNS: [Column; 17] = [
    ("station_m", |s| s.station_m),
    ("time_s", |s| s.time_s),
    ("speed_km_h", |s| s.speed_m_s * 3.6),
    ("g_load", |s| s.g_load),
    ("offset_m", |s| s.offset_m),
    ("height_m", |s| s.height_m),
    ("elevation_m", |s| s.elevation_m),
    ("yaw_deg", |s| s.yaw_rad.to_degrees()),
    ("slip_deg", |s| s.slip_rad.to_degrees()),
    ("yaw_rate_deg_s", |s| s.yaw_rate_rad_s.to_degrees()),
    ("steer", |s| s.steer),
    ("left_load_n", |s| s.contact.load_n[0]),
    ("right_load_n", |s| s.contact.load_n[1]),
    ("left_touch_span_m", |s| s.contact.touch_span_m[0]),
    ("right_touch_span_m", |s| s.contact.touch_span_m[1]),
    ("left_outside_screws", |s| s.contact.outside_screws[0]),
    ("right_outside_screws", |s| s.contact.outside_screws[1]),
];

/// The trace as CSV.
pub fn trace_csv(trace: &[Sample]) -> String {
    let names = COLUMNS.iter().map(|c| c.0.to_string());
    let header: Vec<String> = names.chain(LOSSES.iter().map(|l| format!("{l}_lost_j"))).collect();
    let mut text = header.join(",");
    text.push('\n');
    for s in trace {
        let values = COLUMNS.iter().map(|c| (c.1)(s)).chain(s.lost_j);
        // an empty field for what is not a number
        let row: Vec<String> =
            values.map(|v| if v.is_finite() { v.to_string() } else { String::new() }).collect();
        text.push_str(&row.join(","));
        text.push('\n');
    }
    text
}
