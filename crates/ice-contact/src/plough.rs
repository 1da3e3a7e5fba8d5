//! Ploughing: pushing ice out of the way of the cut.

/// Frontal area (m2) of the cut of a round section of `radius_m` at depth `depth_m`.
///
/// ```text
/// A = int_0^d 2 sqrt(2 r z) dz = (4/3) sqrt(2 r) d^(3/2)
/// ```
///
/// Valid for: depth small against the radius.
/// Source: geometry of a shallow circular segment. Checked by: `exact_rigid_rod`.
#[cfg(test)]
fn cut_area_m2(radius_m: f64, depth_m: f64) -> f64 {
    let d = depth_m.max(0.0);
    4.0 / 3.0 * (2.0 * radius_m * d).sqrt() * d
}

/// Ploughing force (N) of a cut.
///
/// ```text
/// F_p = (1 - rec) H A
/// ```
///
/// | symbol | name | unit |
/// |---|---|---|
/// | rec | `recovered_share`: the trailing flank pushes the runner on | - |
/// | H | `hardness_pa` | Pa |
/// | A | `area_m2`: frontal area of the cut | m2 |
///
/// Valid for: rigid-plastic ice. Source: derived here. Checked by: `exact_rigid_rod`.
pub(crate) fn plough_force_n(recovered_share: f64, hardness_pa: f64, area_m2: f64) -> f64 {
    (1.0 - recovered_share) * hardness_pa * area_m2
}

/// A rigid rod bowed to a circle on flat ice that carries on its leading half only: a closed form for tests.
///
/// ```text
/// d0 = N / (pi H sqrt(R r)),  a = sqrt(2 R d0),  b = sqrt(2 r d0),  mu_p = 0.6002 sqrt(d0 / R)
/// ```
///
/// Valid for: no recovered share; contact short against the rod. Source: derived here from the
/// line load q = H 2 sqrt(2 r d). Checked by: `exact_rigid_rod`.
#[cfg(test)]
pub(crate) struct RigidRod {
    /// Load (N).
    pub(crate) load_n: f64,
    /// Hardness of the ice (Pa).
    pub(crate) hardness_pa: f64,
    /// Radius of the bow R (m).
    pub(crate) bow_radius_m: f64,
    /// Radius of the rod or edge r (m).
    pub(crate) rod_radius_m: f64,
}

#[cfg(test)]
impl RigidRod {
    /// Greatest depth d0 (m).
    pub(crate) fn depth_m(&self) -> f64 {
        self.load_n
            / (std::f64::consts::PI * self.hardness_pa * (self.bow_radius_m * self.rod_radius_m).sqrt())
    }

    /// Half-length a of the contact (m).
    pub(crate) fn half_length_m(&self) -> f64 {
        (2.0 * self.bow_radius_m * self.depth_m()).sqrt()
    }

    /// Half-width b of the contact (m).
    pub(crate) fn half_width_m(&self) -> f64 {
        (2.0 * self.rod_radius_m * self.depth_m()).sqrt()
    }

    /// Ploughing friction `[-]`.
    pub(crate) fn friction(&self) -> f64 {
        let area = cut_area_m2(self.rod_radius_m, self.depth_m());
        plough_force_n(0.0, self.hardness_pa, area) / self.load_n
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_rigid_rod() {
        let rod = RigidRod { load_n: 564.0, hardness_pa: 17.7e6, bow_radius_m: 40.0, rod_radius_m: 8e-3 };
        // computed apart, `tests/reference/values.py`; tolerances are the printed digits
        approx::assert_abs_diff_eq!(rod.depth_m(), 17.930e-6, epsilon = 0.5e-9);
        approx::assert_abs_diff_eq!(rod.half_length_m(), 37.874e-3, epsilon = 0.5e-6);
        approx::assert_abs_diff_eq!(rod.half_width_m(), 0.53561e-3, epsilon = 0.5e-8);
        approx::assert_abs_diff_eq!(rod.friction(), 0.000402, epsilon = 0.5e-6);
    }
}
