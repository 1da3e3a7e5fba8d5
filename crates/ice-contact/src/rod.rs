//! The round steel rod a runner is made of.

use std::f64::consts::PI;

/// A round rod that bends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rod {
    /// Diameter (m).
    pub(crate) diameter_m: f64,
    /// Young's modulus (Pa).
    pub(crate) youngs_modulus_pa: f64,
}

impl Rod {
    /// Second moment of area (m4).
    ///
    /// ```text
    /// I = pi D^4 / 64
    /// ```
    ///
    /// Source: Euler-Bernoulli beam theory, any handbook of strength of materials.
    /// Checked by: `exact_rod_section`.
    pub(crate) fn second_moment_m4(&self) -> f64 {
        PI * self.diameter_m.powi(4) / 64.0
    }

    /// Bending stiffness E I (N m2).
    pub fn bending_stiffness_n_m2(&self) -> f64 {
        self.youngs_modulus_pa * self.second_moment_m4()
    }

    /// Greatest bending stress of the section (Pa) under a bending moment (N m).
    ///
    /// ```text
    /// stress = |M| (D/2) / I
    /// ```
    ///
    /// Source: as above. Checked by: `exact_three_point_bending`.
    pub fn bending_stress_pa(&self, moment_n_m: f64) -> f64 {
        moment_n_m.abs() * 0.5 * self.diameter_m / self.second_moment_m4()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_rod_section() {
        let rod = Rod { diameter_m: 0.016, youngs_modulus_pa: 200e9 };
        // closed form, all printed digits
        approx::assert_relative_eq!(rod.second_moment_m4(), 3.216990877276e-9, max_relative = 1e-12);
        approx::assert_relative_eq!(rod.bending_stiffness_n_m2(), 643.398175455, max_relative = 1e-12);
    }
}
