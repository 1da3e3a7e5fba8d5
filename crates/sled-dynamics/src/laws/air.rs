//! Density of moist air.

use crate::laws::atmosphere::{StandardAir, ZERO_CELSIUS_K};
use crate::setup::Air;

/// Molar gas constant (J/(mol K)), the value CIPM-2007 is stated with.
const GAS_J_PER_MOL_K: f64 = 8.314_472;
/// Molar mass of dry air with 400 ppm carbon dioxide (kg/mol).
const DRY_AIR_KG_PER_MOL: f64 = 28.965_46e-3;
/// Molar mass of water (kg/mol).
const WATER_KG_PER_MOL: f64 = 18.015_28e-3;

/// Density of moist air, CIPM-2007 (kg/m3).
///
/// ```text
/// rho  = p Ma / (Z R T) (1 - x_v (1 - Mv/Ma))
/// x_v  = h f p_sv / p
/// p_sv = exp(A T^2 + B T + C + D/T)
/// f    = alpha + beta p + gamma t^2
/// Z    = 1 - p/T (a0 + a1 t + a2 t^2 + (b0 + b1 t) x_v + (c0 + c1 t) x_v^2) + p^2/T^2 (d + e x_v^2)
/// ```
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | t | `temperature_c`; T = t + 273.15 | degC, K |
/// | p | `pressure_pa` | Pa |
/// | h | `humidity`, relative, over water, 0..1 | - |
/// | `x_v` | share of water molecules | - |
/// | `p_sv` | saturation vapour pressure over water | Pa |
/// | f | enhancement factor | - |
/// | Z | compressibility | - |
///
/// *Valid for* 15 to 27 degC and 600 to 1100 hPa as published; used below that range here, where the ideal mix
/// differs by less than 0.1 %. *Assumes* 400 ppm carbon dioxide.
/// *Source*: Picard, Davis, Glaeser, Fujii, Metrologia 45 (2008) 149, equations 1 to 3 and appendix A.
/// *Checked by* `published_density_of_moist_air`, `exact_density_is_near_the_ideal_mix`.
pub(crate) fn density_kg_m3(temperature_c: f64, pressure_pa: f64, humidity: f64) -> f64 {
    let (t, p) = (temperature_c, pressure_pa);
    let t_k = t + ZERO_CELSIUS_K;
    let x_v = water_share(t, p, humidity);
    let dry = 1.581_23e-6 - 2.9331e-8 * t + 1.1043e-10 * t * t;
    let mixed = (5.707e-6 - 2.051e-8 * t) * x_v;
    let wet = (1.9898e-4 - 2.376e-6 * t) * x_v * x_v;
    let p_t = p / t_k;
    let z = 1.0 - p_t * (dry + mixed + wet) + p_t * p_t * (1.83e-11 - 0.765e-8 * x_v * x_v);
    let lighter = 1.0 - x_v * (1.0 - WATER_KG_PER_MOL / DRY_AIR_KG_PER_MOL);
    p * DRY_AIR_KG_PER_MOL / (z * GAS_J_PER_MOL_K * t_k) * lighter
}

/// Share of water molecules in moist air `[-]`; equations in [`density_kg_m3`].
fn water_share(temperature_c: f64, pressure_pa: f64, humidity: f64) -> f64 {
    let t_k = temperature_c + ZERO_CELSIUS_K;
    let saturation_pa =
        (1.237_884_7e-5 * t_k * t_k - 1.912_131_6e-2 * t_k + 33.937_110_47 - 6.343_164_5e3 / t_k).exp();
    let enhancement = 1.000_62 + 3.14e-8 * pressure_pa + 5.6e-7 * temperature_c * temperature_c;
    humidity * enhancement * saturation_pa / pressure_pa
}

impl Air {
    /// Pressure of the air (Pa): as measured, or of the standard atmosphere at an altitude (m).
    pub fn pressure_at_pa(&self, altitude_m: f64) -> f64 {
        self.pressure_pa.unwrap_or_else(|| StandardAir::at_altitude_m(altitude_m).pressure_pa)
    }

    /// Density of the air at an altitude (kg/m3). A measured pressure is taken as measured at the track.
    pub fn density_at_kg_m3(&self, altitude_m: f64) -> f64 {
        density_kg_m3(self.temperature_c, self.pressure_at_pa(altitude_m), self.humidity)
    }

    /// Drag area with posture and taping (m2).
    pub(crate) fn whole_drag_area_m2(&self) -> f64 {
        self.drag_area_m2 * self.posture_factor * self.taping_factor
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_density_of_moist_air() {
        // Picard et al. 2008 evaluated independently (400 ppm CO2), printed to 1e-6 kg/m3: half a digit.
        for (t, p, h, expected) in [
            (20.0, 101_325.0, 0.5, 1.199_314),
            (0.0, 101_325.0, 0.5, 1.291_578),
            (-5.0, 90_000.0, 0.6, 1.168_695),
        ] {
            let got = density_kg_m3(t, p, h);
            assert!((got - expected).abs() < 0.5e-6, "{t} degC {p} Pa {h}: {got}");
        }
    }

    #[test]
    fn exact_density_is_near_the_ideal_mix() {
        // Ideal gases: rho = (p - 0.378 e)/(287.05 T). 0.1 %: what non-ideality can be (Z within 8e-4 of 1).
        for t in [-20.0_f64, -10.0, 0.0, 10.0] {
            let saturation_pa = 611.2 * (17.62 * t / (243.12 + t)).exp(); // Magnus, WMO-No. 8
            let ideal = (90_000.0 - 0.378 * saturation_pa) / (287.05 * (t + 273.15));
            assert!((density_kg_m3(t, 90_000.0, 1.0) / ideal - 1.0).abs() < 1e-3);
        }
    }

    #[test]
    fn exact_pressure_is_measured_or_standard() {
        let mut air = Air {
            temperature_c: 0.0,
            pressure_pa: Some(95_000.0),
            humidity: 0.5,
            drag_area_m2: 0.05,
            posture_factor: 1.1,
            taping_factor: 0.9,
            yaw_moment_n_m_per_deg: 0.0,
        };
        assert_eq!(air.pressure_at_pa(1000.0), 95_000.0); // measured: as given
        air.pressure_pa = None;
        // ISO 2533 at 0 m; the formula gives it to rounding.
        assert!((air.pressure_at_pa(0.0) - 101_325.0).abs() < 1e-6);
        assert!((air.whole_drag_area_m2() - 0.0495).abs() < 1e-15); // 0.05 x 1.1 x 0.9 to rounding
        assert!((air.density_at_kg_m3(0.0) - 1.291_578).abs() < 0.5e-6); // Picard et al., as above
    }
}
