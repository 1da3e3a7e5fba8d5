//! The standard atmosphere below 11 km.

use crate::laws::gravity::STANDARD_GRAVITY_M_S2;

/// 0 degC (K).
pub(crate) const ZERO_CELSIUS_K: f64 = 273.15;
/// Temperature at sea level (K).
const SEA_LEVEL_K: f64 = 288.15;
/// Pressure at sea level (Pa).
const SEA_LEVEL_PA: f64 = 101_325.0;
/// Fall of temperature with height (K/m).
const LAPSE_K_PER_M: f64 = 0.0065;
/// Specific gas constant of dry air (J/(kg K)).
const GAS_J_PER_KG_K: f64 = 287.052_87;
/// Radius of the earth that the standard turns altitude into geopotential altitude with (m).
const EARTH_RADIUS_M: f64 = 6_356_766.0;

/// Standard air at one height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StandardAir {
    /// Temperature (K).
    pub(crate) temperature_k: f64,
    /// Pressure (Pa).
    pub pressure_pa: f64,
    /// Density (kg/m3).
    pub(crate) density_kg_m3: f64,
}

impl StandardAir {
    /// Standard air at a geopotential altitude.
    ///
    /// ```text
    /// T = T0 - L H      p = p0 (T/T0)^(g0/(R L))      rho = p/(R T)
    /// ```
    ///
    /// | symbol | argument | unit |
    /// |---|---|---|
    /// | H | `geopotential_m` | m |
    /// | T, p, rho | result | K, Pa, kg/m3 |
    ///
    /// *Valid for* -2 to 11 km. *Assumes* dry air. *Source*: ISO 2533:1975, equations 12, 13 and table 5.
    /// *Checked by* `published_standard_atmosphere`.
    pub(crate) fn at_geopotential_m(geopotential_m: f64) -> Self {
        let temperature_k = SEA_LEVEL_K - LAPSE_K_PER_M * geopotential_m;
        let exponent = STANDARD_GRAVITY_M_S2 / (GAS_J_PER_KG_K * LAPSE_K_PER_M);
        let pressure_pa = SEA_LEVEL_PA * (temperature_k / SEA_LEVEL_K).powf(exponent);
        Self { temperature_k, pressure_pa, density_kg_m3: pressure_pa / (GAS_J_PER_KG_K * temperature_k) }
    }

    /// Standard air at an altitude above the sea: `H = r h/(r + h)` (ISO 2533:1975, equation 8).
    pub fn at_altitude_m(altitude_m: f64) -> Self {
        Self::at_geopotential_m(EARTH_RADIUS_M * altitude_m / (EARTH_RADIUS_M + altitude_m))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_standard_atmosphere() {
        // ISO 2533:1975, table 5: half of the last printed digit.
        for (height_m, t, p, rho) in [
            (0.0, 288.15, 101_325.0, 1.225_000),
            (1000.0, 281.65, 89_874.6, 1.111_643),
            (2000.0, 275.15, 79_495.2, 1.006_490),
        ] {
            let air = StandardAir::at_geopotential_m(height_m);
            assert!((air.temperature_k - t).abs() < 0.005);
            assert!((air.pressure_pa - p).abs() < 0.05, "{}", air.pressure_pa);
            assert!((air.density_kg_m3 - rho).abs() < 0.5e-6, "{}", air.density_kg_m3);
        }
    }

    #[test]
    fn exact_altitude_is_a_little_more_than_geopotential() {
        // H = r h/(r + h): 2000 m up, H is 2000^2/6.36e6 = 0.63 m less; 11.3 Pa a metre is rho g at 1 km and less above.
        let difference_pa = StandardAir::at_altitude_m(2000.0).pressure_pa
            - StandardAir::at_geopotential_m(2000.0).pressure_pa;
        // rho g dH = 1.00649 x 9.80665 x 0.62906 = 6.209; 1e-3: second order and rounding of the three factors.
        assert!((difference_pa - 6.209).abs() < 1e-2, "{difference_pa}");
    }
}
