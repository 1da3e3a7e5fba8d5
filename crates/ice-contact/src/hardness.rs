//! Hardness of ice by temperature.

/// Dynamic hardness of ice (Pa) at a surface temperature (degC, at most 0).
///
/// ```text
/// H = (14.7 - 0.6 T) MPa
/// ```
///
/// | symbol | name | unit |
/// |---|---|---|
/// | T | `temperature_c` | degC |
///
/// Valid for: 0 to about -20 degC; above 0 the value at 0 is given. Slope +-0.4, intercept +-2.1.
/// Assumes: the speed of indentation of a drop test is that of a sliding runner.
/// Source: Poirier, Lozowski, Thompson, Cold Regions Science and Technology 67 (2011) 129
/// (coefficients from memory). Checked by: `published_hardness_at_minus_five`.
pub fn ice_hardness_pa(temperature_c: f64) -> f64 {
    (14.7 - 0.6 * temperature_c.min(0.0)) * 1e6
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_hardness_at_minus_five() {
        // Poirier et al. 2011: 14.7 + 3.0 MPa; rounding only
        approx::assert_relative_eq!(ice_hardness_pa(-5.0), 17.7e6, max_relative = 1e-15);
    }
}
