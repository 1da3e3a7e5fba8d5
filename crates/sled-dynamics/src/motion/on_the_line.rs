//! A sled that points along the reference line, on it.

use crate::laws::state::{Motion, State, motion};
use crate::motion::descent::Sample;
use crate::motion::equations::Constants;
use track_geometry::station::Station;

/// Kinematics of a sled that points along the reference line, on it.
pub(crate) fn on_the_line(at: &Station, speed_m_s: f64, gravity_m_s2: f64) -> Motion<f64> {
    let state = State {
        offset_m: 0.0,
        yaw_rad: 0.0,
        forward_m_s: speed_m_s,
        lateral_velocity_m_s: 0.0,
        yaw_rate_rad_s: 0.0,
    };
    motion(at, &at.patch(0.0), &state, gravity_m_s2)
}

/// A sample of the trace for a sled on the reference line.
pub(crate) fn line_sample(at: &Station, constants: &Constants, time_s: f64, speed_m_s: f64) -> Sample {
    let m = on_the_line(at, speed_m_s, constants.gravity_m_s2);
    Sample {
        station_m: at.station_m,
        time_s,
        speed_m_s,
        g_load: m.load_m_s2 / crate::laws::gravity::STANDARD_GRAVITY_M_S2,
        height_m: at.height_m(0.0),
        elevation_m: at.elevation_m,
        yaw_rate_rad_s: m.line_turn_rad_s,
        ..Sample::default()
    }
}
