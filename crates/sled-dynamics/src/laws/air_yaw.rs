//! Yaw moment of the air on a body that lies across it.
//!
//! ```text
//!   M = -k (V/30 m/s)^2 sin(2 alpha)/2,     alpha = atan(vy/vx);     V^2 sin(2 alpha)/2 = vx vy
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | k | `air.yaw_moment_n_m_per_deg`, positive turns the sled further out of its way | N m per degree at 30 m/s |
//! | V | speed | m/s |
//! | alpha | slip, left positive | rad |
//!
//! Most at 45 degrees, none on a sled that lies straight across.
//! *Valid for* still air. *Assumes* a slender body. *Source*: form of *Munk 1924* (*memory*), for an airship;
//! size assumed: 0.7 to 1.4 N m per degree for a slender body; neither size nor sign is measured, so that the
//! default is none. *Checked by* `exact_yaw_moment_of_the_air`.

use numerics::dual::Real;

/// The speed at which `air.yaw_moment_n_m_per_deg` is told (m/s).
pub(crate) const TOLD_AT_M_S: f64 = 30.0;

/// The moment for a slip of one radian and a speed of 1 m/s (N m s2/(rad m2)), from that of one degree at 30 m/s.
pub(crate) fn per_rad_and_speed_squared(n_m_per_deg: f64) -> f64 {
    n_m_per_deg * 180.0 / std::f64::consts::PI / (TOLD_AT_M_S * TOLD_AT_M_S)
}

/// Yaw moment of the air (N m), to the left positive; `moment` as of [`per_rad_and_speed_squared`].
#[inline]
pub(crate) fn yaw_moment_n_m<T: Real>(moment: f64, forward_m_s: T, lateral_velocity_m_s: T) -> T {
    -(forward_m_s * lateral_velocity_m_s * moment)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_yaw_moment_of_the_air() {
        let moment = per_rad_and_speed_squared(1.2);
        // velocity to the left of the axis: the axis is turned on to the right. A small slip: 1.2 N m a degree at 30 m/s,
        // a quarter at 15; 45 degrees: half of 1.2 x 57.3; 60: sin 120 = 0.866 of that; across: none
        let most = 0.5 * 1.2 * 180.0 / std::f64::consts::PI;
        for (slip_deg, speed_m_s, n_m) in [
            (0.01_f64, 30.0, -0.012),
            (0.01, 15.0, -0.003),
            (45.0, 30.0, -most),
            (60.0, 30.0, -most * 0.75_f64.sqrt()),
            (90.0, 30.0, 0.0),
        ] {
            let slip = slip_deg.to_radians();
            let m = yaw_moment_n_m(moment, speed_m_s * slip.cos(), speed_m_s * slip.sin());
            // rounding, and the third power of a small slip
            approx::assert_abs_diff_eq!(m, n_m, epsilon = 1e-9);
        }
    }
}
