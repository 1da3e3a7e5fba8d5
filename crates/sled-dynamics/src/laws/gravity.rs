//! Gravity by latitude and height: WGS 84 normal gravity.

/// Standard gravity (m/s2), by definition (3rd CGPM, 1901): the unit of the g load.
pub const STANDARD_GRAVITY_M_S2: f64 = 9.806_65;
/// Normal gravity on the ellipsoid at the equator (m/s2).
const EQUATOR_M_S2: f64 = 9.7803253359;
/// Somigliana's constant `[-]`.
const SOMIGLIANA: f64 = 0.001_931_852_652_41;
/// First eccentricity squared `[-]`.
const ECCENTRICITY_SQUARED: f64 = 0.006_694_379_990_14;
/// Semi-major axis (m).
const SEMI_MAJOR_M: f64 = 6_378_137.0;
/// Flattening `[-]`.
const FLATTENING: f64 = 1.0 / 298.257_223_563;
/// Centrifugal acceleration over gravity, `omega^2 a^2 b / GM` `[-]`.
const CENTRIFUGAL_RATIO: f64 = 0.003_449_786_506_84;

/// Gravity at a latitude and a height above the ellipsoid (m/s2).
///
/// ```text
/// g0 = ge (1 + k sin^2 lat) / sqrt(1 - e^2 sin^2 lat)
/// g  = g0 (1 - 2/a (1 + f + m - 2 f sin^2 lat) h + 3 h^2 / a^2)
/// ```
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | lat | `latitude_rad`, geodetic | rad |
/// | h | `altitude_m` | m |
/// | g | result | m/s2 |
///
/// *Valid for* heights up to some tens of kilometres. *Assumes* height above the sea is height above the
/// ellipsoid (they differ by up to 100 m, 3e-5 of g) and no local anomaly (a few 1e-4 m/s2 at most in valleys).
/// *Source*: NIMA TR8350.2, WGS 84, third edition, equations 4-1 and 4-3 and table 3.4.
/// *Checked by* `published_gravity_at_equator_and_pole`, `exact_gravity_above_the_pole_from_the_field_series`.
pub(crate) fn gravity_m_s2(latitude_rad: f64, altitude_m: f64) -> f64 {
    let sin2 = latitude_rad.sin().powi(2);
    let on_ellipsoid = EQUATOR_M_S2 * (1.0 + SOMIGLIANA * sin2) / (1.0 - ECCENTRICITY_SQUARED * sin2).sqrt();
    let h = altitude_m / SEMI_MAJOR_M;
    let slope = 2.0 * (1.0 + FLATTENING + CENTRIFUGAL_RATIO - 2.0 * FLATTENING * sin2);
    on_ellipsoid * (1.0 - slope * h + 3.0 * h * h)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::FRAC_PI_2;

    #[test]
    fn published_gravity_at_equator_and_pole() {
        // NIMA TR8350.2, table 3.4, given to 1e-10 m/s2; the constants carry one digit more or less.
        assert!((gravity_m_s2(0.0, 0.0) - 9.780_325_335_9).abs() < 1.5e-10);
        assert!((gravity_m_s2(FRAC_PI_2, 0.0) - 9.832_184_937_9).abs() < 1.5e-10);
        assert!((gravity_m_s2(-FRAC_PI_2, 0.0) - 9.832_184_937_9).abs() < 1.5e-10);
    }

    /// On the axis of rotation there is no centrifugal part, and the field of the level ellipsoid is its
    /// zonal series: `g = GM/r^2 (1 - 3 J2 (a/r)^2 - 5 J4 (a/r)^4 - 7 J6 (a/r)^6)`.
    #[test]
    fn exact_gravity_above_the_pole_from_the_field_series() {
        // GM and the zonal coefficients: NIMA TR8350.2, chapter 3; J4, J6 from its equation 3-62.
        let (gm, a, b) = (3.986_004_418e14, 6_378_137.0_f64, 6_356_752.314_2);
        let (j2, j4, j6) = (1.082_629_821_313e-3, -2.370_911_26e-6, 6.083_5e-9);
        for altitude_m in [0.0, 500.0, 1000.0, 2000.0, 3000.0] {
            let r = b + altitude_m;
            let q: f64 = (a / r).powi(2);
            let series = gm / (r * r) * (1.0 - 3.0 * j2 * q - 5.0 * j4 * q * q - 7.0 * j6 * q * q * q);
            let got = gravity_m_s2(FRAC_PI_2, altitude_m);
            // 5e-8 of g: the formula leaves out third order, and f times second order in h/a, each below
            // 1e-8 at 3 km; the series leaves out J8 (1e-11); the coefficients carry 9 digits or more.
            assert!((got / series - 1.0).abs() < 5e-8, "{altitude_m} m: {got} against {series}");
        }
    }
}
