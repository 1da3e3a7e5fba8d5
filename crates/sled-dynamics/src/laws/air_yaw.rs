//! Yaw moment of the air on a body that lies across it.
//!
//! ```text
//!   M = -k (V/30 m/s)^2 alpha,     alpha = atan(vy/vx), in degrees
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | k | `air.yaw_moment_n_m_per_deg`, positive turns the sled further out of its way | N m per degree at 30 m/s |
//! | V | speed | m/s |
//! | alpha | slip, left positive | degrees |
//!
//! *Valid for* some degrees of slip in still air. *Assumes* a moment in proportion to slip and to speed squared.
//! *Source*: assumed: 0.7 to 1.4 N m per degree for a slender body; neither size nor sign is measured, so that the
//! default is none. *Checked by* `exact_yaw_moment_of_the_air`.

use numerics::dual::Real;

/// The speed at which `air.yaw_moment_n_m_per_deg` is told (m/s).
pub const TOLD_AT_M_S: f64 = 30.0;

/// The moment for a slip of one radian and a speed of 1 m/s (N m s2/(rad m2)), from that of one degree at 30 m/s.
pub fn per_rad_and_speed_squared(n_m_per_deg: f64) -> f64 {
    n_m_per_deg * 180.0 / std::f64::consts::PI / (TOLD_AT_M_S * TOLD_AT_M_S)
}

/// Yaw moment of the air (N m), to the left positive; `moment` as of [`per_rad_and_speed_squared`].
#[inline]
pub fn yaw_moment_n_m<T: Real>(moment: f64, forward_m_s: T, lateral_velocity_m_s: T, speed_m_s: T) -> T {
    -((lateral_velocity_m_s / forward_m_s).atan() * speed_m_s.squared() * moment)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_yaw_moment_of_the_air() {
        let moment = per_rad_and_speed_squared(1.2);
        let slip = 5.0_f64.to_radians();
        // velocity to the left of the axis: the axis is turned on to the right, 6 N m at 30 m/s, a quarter at 15
        for (speed_m_s, n_m) in [(30.0, -6.0), (15.0, -1.5)] {
            let m = yaw_moment_n_m(moment, speed_m_s * slip.cos(), speed_m_s * slip.sin(), speed_m_s);
            // rounding
            approx::assert_abs_diff_eq!(m, n_m, epsilon = 1e-12);
        }
    }
}
