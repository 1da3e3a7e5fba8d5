//! What shaking on uneven ice takes.
//!
//! ```text
//!   F = (k/4) G(V/f) = F_30 V/(30 m/s),     against the motion
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | k | stiffness of the spring between ice and sled | N/m |
//! | G | spectral density of the slope of the ice, by wavelength | m |
//! | f | frequency with which the sled bounces on that spring, so that V/f is the wavelength that shakes it | Hz |
//! | F_30 | `ice.shaking_n`, the force at 30 m/s | N |
//! | V | speed | m/s |
//!
//! A body on a spring that is driven over an uneven road takes the mean power k V G/4 out of its way, whatever its
//! damping: soft parts of athlete and sled turn it into heat. On a road G is nearly the same for all wavelengths; a
//! plane of some length takes short waves out of ice and leaves long ones, so that G is taken to grow with
//! the wavelength V/f.
//! *Valid for* 10 to 40 m/s. *Assumes* G in proportion to the wavelength, one spring for every bow and load.
//! *Source*: mean power of a linear oscillator under white noise (textbook); ISO 8608 for spectra of roads; the
//! growth with wavelength and the size are assumed, nobody has measured them on a track.
//! *Checked by* `exact_shaking_in_proportion_to_speed`, `exact_power_of_an_oscillator_on_a_rough_road`.

/// The speed at which `ice.shaking_n` is told (m/s).
pub(crate) const TOLD_AT_M_S: f64 = 30.0;

/// Force over speed (N s/m) of a force at 30 m/s.
pub(crate) fn per_speed_n_s_per_m(shaking_n: f64) -> f64 {
    shaking_n / TOLD_AT_M_S
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use std::f64::consts::PI;

    #[test]
    fn exact_shaking_in_proportion_to_speed() {
        // by hand: 4 N at 30 m/s, 2 N at 15 m/s
        assert_relative_eq!(per_speed_n_s_per_m(4.0) * 30.0, 4.0, max_relative = 1e-15);
        assert_relative_eq!(per_speed_n_s_per_m(4.0) * 15.0, 2.0, max_relative = 1e-15);
    }

    #[test]
    fn exact_power_of_an_oscillator_on_a_rough_road() {
        // a mass on a spring, damped from above; mean power per spectral density (one-sided, per Hz) of the road's
        // velocity: int Re(Z) df with Z = force of the road over its velocity. The law says k/4.
        let (m, k) = (80.0, 1.0e5);
        for c in [300.0, 3000.0] {
            let power = |f: f64| {
                let w = 2.0 * PI * f;
                // x = k z/(k - m w^2 + i w c);  F = k (z - x);  Re(F/(i w z)) = k w c k/(w |k - m w^2 + i w c|^2)
                k * k * c / ((k - m * w * w).powi(2) + (w * c).powi(2))
            };
            // frequencies spread as tan, so that the whole half line is summed by midpoints
            let n = 200_000;
            let own = (k / m).sqrt() / (2.0 * PI);
            let sum: f64 = (0..n)
                .map(|i| {
                    let angle = 0.5 * PI * (f64::from(i) + 0.5) / f64::from(n);
                    power(own * angle.tan()) * own / angle.cos().powi(2)
                })
                .sum::<f64>()
                * 0.5
                * PI
                / f64::from(n);
            // midpoints of a smooth function, 2e5 of them
            assert_relative_eq!(sum, 0.25 * k, max_relative = 1e-6);
        }
    }
}
