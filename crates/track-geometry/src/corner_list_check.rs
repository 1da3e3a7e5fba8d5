//! Limits of a corner list made in code rather than read from a file.

use crate::corner_list::{CornerList, ListedCorner, Shape};
use crate::faults::{FaultKind, Faults};
use file_faults::Place;

/// All values outside their limits.
pub(crate) fn check(list: &CornerList) -> Faults {
    let mut faults = Faults::default();
    let mut limit = |key: String, got: f64, allowed: &str, ok: bool| {
        if !(ok && got.is_finite()) {
            faults.add(
                Place { key: Some(key), ..Place::file(&list.name) },
                FaultKind::OutOfRange { got, allowed: allowed.to_owned() },
            );
        }
    };
    for (key, got) in [
        ("spacing_m", list.spacing_m),
        ("straight_trough_radius_m", list.straight_trough_radius_m),
        ("half_width_m", list.half_width_m),
        ("grade_transition_m", list.grade_transition_m),
        ("total_drop_m", list.total_drop_m.unwrap_or(1.0)),
    ] {
        limit(key.into(), got, "a number above 0", got > 0.0);
    }
    limit("altitude_m".into(), list.altitude_m, "a finite number", true);
    let limits = -std::f64::consts::FRAC_PI_2..=std::f64::consts::FRAC_PI_2;
    limit("latitude_rad".into(), list.latitude_rad, "-pi/2 to pi/2", limits.contains(&list.latitude_rad));
    limit("elements".into(), list.elements.len() as f64, "at least one element", !list.elements.is_empty());
    limit("eyes".into(), list.eyes.len() as f64, "at least 2 eyes", list.eyes.len() >= 2);
    let mut before_m = f64::NEG_INFINITY;
    for eye in &list.eyes {
        let ok = eye.station_m > before_m;
        limit(format!("eye {}", eye.name), eye.station_m, "a station beyond the eye before", ok);
        before_m = eye.station_m;
    }
    for (i, element) in list.elements.iter().enumerate() {
        limit(format!("element {}: grade", i + 1), element.grade, "-0.5 to 0.5", element.grade.abs() <= 0.5);
        match &element.shape {
            Shape::Straight { length_m } => {
                limit(format!("element {}: length", i + 1), *length_m, "a number above 0", *length_m > 0.0);
            }
            Shape::Corner(corner) => {
                for (name, got, allowed, ok) in corner_limits(corner) {
                    limit(format!("corner {}: {name}", corner.name), got, allowed, ok);
                }
            }
        }
    }
    faults
}

fn corner_limits(c: &ListedCorner) -> [(&'static str, f64, &'static str, bool); 8] {
    let above = "a number above 0";
    [
        ("radius_m", c.radius_m, above, c.radius_m > 0.0),
        ("angle_rad", c.angle_rad, above, c.angle_rad > 0.0),
        ("transition_in_m", c.transition_in_m, above, c.transition_in_m > 0.0),
        ("transition_out_m", c.transition_out_m, above, c.transition_out_m > 0.0),
        ("design_speed_in_m_s", c.design_speed_in_m_s, "0 or more", c.design_speed_in_m_s >= 0.0),
        ("design_speed_out_m_s", c.design_speed_out_m_s, "0 or more", c.design_speed_out_m_s >= 0.0),
        ("trough_radius_m", c.trough_radius_m, above, c.trough_radius_m > 0.0),
        (
            "lip_slope_rad",
            c.lip_slope_rad,
            "above 0, below pi",
            c.lip_slope_rad > 0.0 && c.lip_slope_rad < 3.1,
        ),
    ]
}
