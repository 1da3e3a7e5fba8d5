//! Lateral grip: ploughing in the direction of slip.

use numerics::dual::Real;

/// 4 / (3 pi).
const FOUR_OVER_THREE_PI: f64 = 0.424_413_181_578_387_56;
/// Greatest lateral force over the load at a point `[-]`.
pub const GRIP_CAP: f64 = 0.5;

/// Lateral stiffness of a point over its load, per unit of slip tangent `[-]`.
///
/// ```text
/// k = (4/(3 pi)) sqrt(2 d0 / r) sqrt(R_e / r) = (4/(3 pi)) a / r
/// ```
///
/// with `a` (m) the distance from the leading edge of the patch to its deepest point, `r` (m) the
/// radius of rod or edge. Source: derived here. Checked by: `exact_lateral_force_of_a_rigid_rod`.
pub(crate) fn grip_stiffness(leading_length_m: f64, radius_m: f64) -> f64 {
    FOUR_OVER_THREE_PI * leading_length_m / radius_m
}

/// Lateral force over load at great slip `[-]`.
///
/// ```text
/// Y = (4/(3 pi)) sqrt(2 d0 / r)
/// ```
///
/// with `d0` (m) the greatest depth. Source: derived here.
/// Checked by: `exact_lateral_force_of_a_rigid_rod`.
pub(crate) fn grip_saturation(depth_m: f64, radius_m: f64) -> f64 {
    FOUR_OVER_THREE_PI * (2.0 * depth_m.max(0.0) / radius_m).sqrt()
}

/// A point of the runner that stands for a part of its load, as the ice meets it there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GripPoint<T> {
    /// Where it is, forward of the middle of the runner (m).
    pub at_m: T,
    /// Its load (N).
    pub load_n: T,
    /// Lateral stiffness over load, per unit of slip tangent `[-]`.
    pub(crate) stiffness: T,
    /// Lateral force over load at great slip `[-]`.
    pub(crate) saturation: T,
    /// Ploughing force over load at no slip `[-]`.
    pub plough: T,
    /// Slope dz/dx of the free runner here, z away from the ice `[-]`.
    pub rise_slope: T,
}

impl<T: Real> GripPoint<T> {
    /// Force of the ice on the runner (N), along and across the runner's own direction at this
    /// point, for a velocity of the runner that points to the left of that direction by the angle
    /// `al` with `slip_tangent = tan(al)`.
    ///
    /// ```text
    /// tan(phi) = sqrt(R_e / r) tan(al)
    /// F_across = -N_i (4/(3 pi)) sqrt(2 d0 / r) sin(phi) * k_lat,  at most 0.5 N_i
    /// F_along  = -N_i mu_p cos(phi)
    /// ```
    ///
    /// | symbol | name | unit |
    /// |---|---|---|
    /// | N_i | `load_n` | N |
    /// | sqrt(R_e / r) | `stiffness / saturation` | - |
    /// | mu_p | `plough`: at no slip this is the ploughing force of the cut, counted here only | - |
    /// | k_lat | `grip_factor` | - |
    ///
    /// Valid for: slip to 60 deg, motion forward. Assumes: rigid-plastic ice; derived, with no
    /// measurement to check it. Source: derived here.
    /// Checked by: `exact_lateral_force_of_a_rigid_rod`, `exact_lateral_force_is_odd_and_capped`.
    pub fn force_n(&self, slip_tangent: T, grip_factor: f64) -> (T, T) {
        let tan_phi = self.stiffness / self.saturation * slip_tangent;
        let cos_phi = T::from(1.0) / (tan_phi.squared() + 1.0).sqrt();
        let across = (self.saturation * tan_phi * cos_phi * grip_factor)
            .min(T::from(GRIP_CAP))
            .max(T::from(-GRIP_CAP));
        (-(self.load_n * self.plough * cos_phi), -(self.load_n * across))
    }
}

/// Distance of the centre of grip behind `balance_point_m` (m): positive is stable.
///
/// ```text
/// margin = x_cm - sum(k_i N_i x_i) / sum(k_i N_i)
/// ```
///
/// from the lateral stiffness k_i N_i at small slip of every point of both runners; `None` without
/// grip. Source: moment of the lateral forces, as for the neutral point of a vehicle (ISO 8855
/// terms). Checked by: `exact_static_margin_of_two_points`.
pub fn static_margin_m<'a>(
    points: impl IntoIterator<Item = &'a GripPoint<f64>>,
    balance_point_m: f64,
) -> Option<f64> {
    let (mut sum, mut first) = (0.0, 0.0);
    for p in points {
        let k = p.stiffness * p.load_n;
        sum += k;
        first += k * p.at_m;
    }
    (sum > 0.0).then(|| balance_point_m - first / sum)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plough::RigidRod;
    use numerics::dual::Dual;

    fn point(radius_m: f64) -> GripPoint<f64> {
        let rod = RigidRod { load_n: 564.0, hardness_pa: 17.7e6, bow_radius_m: 40.0, rod_radius_m: radius_m };
        GripPoint {
            at_m: 0.0,
            load_n: 564.0,
            stiffness: grip_stiffness(rod.half_length_m(), radius_m),
            saturation: grip_saturation(rod.depth_m(), radius_m),
            plough: rod.friction(),
            rise_slope: 0.0,
        }
    }

    #[test]
    fn exact_lateral_force_of_a_rigid_rod() {
        // rod r 8 mm and edge r 1 mm, R 40 m, -5 degC, 564 N; computed apart, `tests/reference/values.py`;
        // tolerances are the printed digits
        for (radius, half_degree, great) in [(8e-3, 0.0149, 0.0284), (1e-3, 0.1173, 0.1352)] {
            let p = point(radius);
            let (_, across) = p.force_n(0.5_f64.to_radians().tan(), 1.0);
            approx::assert_abs_diff_eq!(-across / 564.0, half_degree, epsilon = 0.5e-4);
            approx::assert_abs_diff_eq!(p.saturation, great, epsilon = 0.5e-4);
            let (along, _) = p.force_n(0.0, 1.0);
            // at no slip the force along is the ploughing of the cut; rounding
            approx::assert_relative_eq!(-along, 564.0 * p.plough, max_relative = 1e-14);
            // mu_p of the lateral law: (4/(3 pi)) sqrt(2 d0 / R)
            approx::assert_relative_eq!(
                p.plough,
                p.saturation * p.saturation / p.stiffness,
                max_relative = 1e-12
            );
        }
    }

    #[test]
    fn exact_lateral_force_is_odd_and_capped() {
        let p = GripPoint { saturation: 3.0, ..point(1e-3) };
        let (along, across) = p.force_n(1.7, 1.0);
        let (mirrored_along, mirrored) = p.force_n(-1.7, 1.0);
        // symmetry: rounding only
        approx::assert_abs_diff_eq!(across, -mirrored, epsilon = 1e-12);
        approx::assert_abs_diff_eq!(along, mirrored_along, epsilon = 1e-12);
        approx::assert_abs_diff_eq!(across, -0.5 * 564.0, epsilon = 1e-12);
    }

    #[test]
    fn exact_lateral_force_has_the_derivative_of_its_stiffness() {
        let p = point(1e-3);
        let lift = Dual::<1>::from;
        let dual = GripPoint {
            at_m: lift(p.at_m),
            load_n: lift(p.load_n),
            stiffness: lift(p.stiffness),
            saturation: lift(p.saturation),
            plough: lift(p.plough),
            rise_slope: lift(0.0),
        };
        let (_, across) = dual.force_n(Dual::variable(0.0, 0), 0.7);
        // at no slip: grip factor times stiffness times load; rounding
        approx::assert_relative_eq!(across.du[0], -0.7 * p.stiffness * p.load_n, max_relative = 1e-14);
    }

    #[test]
    fn exact_static_margin_of_two_points() {
        let front = GripPoint { at_m: 0.2, load_n: 100.0, stiffness: 1.0, ..point(1e-3) };
        let rear = GripPoint { at_m: -0.3, load_n: 300.0, stiffness: 3.0, ..point(1e-3) };
        // by hand: (100*0.2 - 900*0.3) / 1000 = -0.25; rounding
        approx::assert_abs_diff_eq!(
            static_margin_m(&[front, rear], 0.05).expect("grip"),
            0.30,
            epsilon = 1e-12
        );
        assert_eq!(static_margin_m(&[], 0.05), None);
    }
}
