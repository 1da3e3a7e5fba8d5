//! Pitch of sled and athlete where the ice bends: the nose has to come up into a corner and down out of it.
//!
//! ```text
//!   q = a_n/V,    q' = (ds/dt)^3/V d(r_ss . N)/ds,    r_ss . N = -k cos(theta) sin(beta) - theta' cos(beta)
//!   x = I q'/N                                                        load centroid, forward of where it would be
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | q, q' | pitch rate, nose up, and how it changes | rad/s, rad/s2 |
//! | `a_n`, V | acceleration towards the normal, speed | m/s2, m/s |
//! | k, theta, beta | turning and grade of the line, slope of the ice across at the sled | 1/m, rad, rad |
//! | I | `sled.pitch_inertia_kg_m2` | kg m2 |
//! | N | load of the sled | N |
//!
//! The load moves ahead onto smooth steel where a sled enters a corner, and back onto the groove where it leaves:
//! some 10 mm each way at 30 m/s; at 1 g a runner with 8 mm of bow touches along 0.1 m, one with 2 mm along 0.3 m.
//! *Valid for* bends that come slower than a sled rocks on its bowed runners (about 4 Hz at 8 mm of bow, more with
//! less). *Assumes* a rigid athlete, no slip, a path that keeps its place on the ice (terms with du/dt, and u times
//! the third derivative of the banking, are left out: together 0.9 of 5.5 mm on Oskerdale), no product of roll and
//! yaw rate, and no energy of the pitch (11 J of 40 kJ, by hand). *Source*: Euler's equation of the pitch, derived here.
//! *Checked by* `exact_nose_comes_up_in_a_hollow`, `exact_nose_comes_up_on_a_bank`,
//! `trade_nose_comes_up_into_a_corner`.

use numerics::dual::Real;
use track_geometry::station::{Patch, Station};

/// Angular acceleration in pitch that the ice asks of a sled, nose up (rad/s2), at `offset_m` on a patch, for a
/// station rate (m/s) and a speed (m/s).
#[inline]
pub(crate) fn nose_up_rad_s2<T: Real>(
    at: &Station,
    patch: &Patch<T>,
    offset_m: T,
    station_rate_m_s: T,
    speed_m_s: T,
) -> T {
    let (sin_slope, cos_slope) = (patch.r_u.b, patch.r_u.n);
    let roll_per_m = offset_m * at.trough[1] + at.slope[1];
    let [k, k_1] = at.turning;
    let level = k * at.cos_grade;
    let level_1 = k_1 * at.cos_grade - k * at.sin_grade * at.grade_1;
    let bends =
        sin_slope * (roll_per_m * at.grade_1 - level_1) - cos_slope * (roll_per_m * level + at.grade_2);
    bends * station_rate_m_s * station_rate_m_s * station_rate_m_s / speed_m_s
}

/// How far the load acts ahead of where it would without pitch (m).
#[inline]
pub fn load_shift_m<T: Real>(pitch_inertia_kg_m2: f64, nose_up_rad_s2: T, load_n: T) -> T {
    nose_up_rad_s2 * pitch_inertia_kg_m2 / load_n
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A level, straight, flat station.
    fn flat() -> Station {
        Station {
            station_m: 0.0,
            elevation_m: 0.0,
            sin_grade: 0.0,
            cos_grade: 1.0,
            grade_1: 0.0,
            grade_2: 0.0,
            turning: [0.0; 2],
            slope: [0.0; 3],
            trough: [0.0; 3],
            left_edge: [2.0, 0.0],
            right_edge: [-2.0, 0.0],
        }
    }

    #[test]
    fn exact_nose_comes_up_in_a_hollow() {
        // ice whose curvature grows by 0.001/m2: 0.001 x 30^2 = 0.9 rad/s2, and 16 kg m2 at 1600 N are 9 mm
        let at = Station { grade_2: -1e-3, ..flat() };
        let up = nose_up_rad_s2(&at, &at.patch(0.0), 0.0, 30.0, 30.0);
        // rounding
        approx::assert_abs_diff_eq!(up, 0.9, epsilon = 1e-12);
        approx::assert_abs_diff_eq!(load_shift_m(16.0, up, 1600.0), 0.009, epsilon = 1e-12);
    }

    #[test]
    fn exact_nose_comes_up_on_a_bank() {
        // left-hand clothoid on a bank of 60 degrees: turning grows by 0.001/m2, of which the bank bears sin 60;
        // on level ice of the same line the sled has to yaw instead
        let bank = 60.0_f64.to_radians();
        let at = Station { turning: [0.02, 1e-3], slope: [-bank, 0.0, 0.0], ..flat() };
        let up = nose_up_rad_s2(&at, &at.patch(0.0), 0.0, 30.0, 30.0);
        // rounding
        approx::assert_abs_diff_eq!(up, 0.9 * bank.sin(), epsilon = 1e-12);
        let level = Station { slope: [0.0; 3], ..at };
        approx::assert_abs_diff_eq!(
            nose_up_rad_s2(&level, &level.patch(0.0), 0.0, 30.0, 30.0),
            0.0,
            epsilon = 1e-12
        );
    }
}
