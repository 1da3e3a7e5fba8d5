//! The cross-section: where the ice lies across the track at one station.
//!
//! ```text
//!   slope of the ice   beta(u) = beta0 + c u
//!   to the left        Y(u) = int_0^u cos beta du'
//!   up                 Z(u) = int_0^u sin beta du'
//! ```
//!
//! Everything that the surface needs is a moment `int_0^u u'^k exp(i beta) du'`.

/// Moments `int_0^u u'^k (cos beta, sin beta) du'` of the cross-section for k = 0, 1, 2.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Moments {
    /// Cosine moments.
    pub(crate) cosine: [f64; 3],
    /// Sine moments.
    pub(crate) sine: [f64; 3],
    /// Cosine of the slope at `u`.
    pub(crate) cos_beta: f64,
    /// Sine of the slope at `u`.
    pub(crate) sin_beta: f64,
}

/// Below this `|c u|` the power series is used: twelve terms leave 1e-16 there,
/// and above it the recurrence loses less than two digits.
const SERIES_BELOW: f64 = 0.4;

/// Moments of a cross-section of slope `beta0` (rad) at u = 0 and curvature `c` (1/m), up to `u` (m).
pub(crate) fn moments(beta0: f64, c: f64, u: f64) -> Moments {
    let angle = c * u;
    let (sin0, cos0) = beta0.sin_cos();
    // phi_k = int_0^1 x^k exp(i angle x) dx, as (real, imaginary)
    let mut phi = [(0.0, 0.0); 3];
    let (sin_beta, cos_beta);
    if u == 0.0 {
        return Moments { cosine: [0.0; 3], sine: [0.0; 3], cos_beta: cos0, sin_beta: sin0 };
    }
    if angle.abs() < SERIES_BELOW {
        let (mut power, mut real): (f64, bool) = (1.0, true);
        for n in 0..13 {
            let sign = if n % 4 < 2 { 1.0 } else { -1.0 };
            for (k, phi) in phi.iter_mut().enumerate() {
                let term = sign * power * RECIPROCAL[n + k];
                if real {
                    phi.0 += term;
                } else {
                    phi.1 += term;
                }
            }
            power *= angle * RECIPROCAL[n];
            real = !real;
            if power.abs() < 1e-18 {
                break;
            }
        }
        (sin_beta, cos_beta) = (beta0 + angle).sin_cos();
    } else {
        let (s, co) = angle.sin_cos();
        // phi_0 = (e - 1)/(i a), phi_k = (e - k phi_{k-1})/(i a), e = exp(i a); (x, y)/(i a) = (y, -x)/a
        phi[0] = (s / angle, (1.0 - co) / angle);
        for k in 1..3 {
            let (x, y) = (co - k as f64 * phi[k - 1].0, s - k as f64 * phi[k - 1].1);
            phi[k] = (y / angle, -x / angle);
        }
        (sin_beta, cos_beta) = (sin0 * co + cos0 * s, cos0 * co - sin0 * s);
    }
    let mut out = Moments { cosine: [0.0; 3], sine: [0.0; 3], cos_beta, sin_beta };
    let mut power = u;
    for k in 0..3 {
        let (x, y) = phi[k];
        out.cosine[k] = power * (cos0 * x - sin0 * y);
        out.sine[k] = power * (sin0 * x + cos0 * y);
        power *= u;
    }
    out
}

/// 1/(n+1), for the factorials and the moments of the series.
const RECIPROCAL: [f64; 16] = {
    let mut r = [0.0; 16];
    let mut n = 0;
    while n < 16 {
        r[n] = 1.0 / (n as f64 + 1.0);
        n += 1;
    }
    r
};

#[cfg(test)]
mod tests {
    use super::*;
    use numerics::quadrature::gauss_8;

    #[test]
    fn exact_moments_match_quadrature() {
        for beta0 in [-1.3, 0.0, 0.8] {
            for c in [0.0, 1e-9, 0.3, 0.45] {
                for u in [-3.0, -0.9, -1e-6, 0.0, 0.2, 0.88889, 2.5] {
                    let m = moments(beta0, c, u);
                    for k in 0..3 {
                        let cosine = gauss_8(0.0, u, |x| x.powi(k) * (beta0 + c * x).cos());
                        let sine = gauss_8(0.0, u, |x| x.powi(k) * (beta0 + c * x).sin());
                        // eight Gauss points over at most 1.35 rad are good to rounding
                        approx::assert_abs_diff_eq!(m.cosine[k as usize], cosine, epsilon = 2e-14);
                        approx::assert_abs_diff_eq!(m.sine[k as usize], sine, epsilon = 2e-14);
                    }
                    approx::assert_abs_diff_eq!(m.cos_beta, (beta0 + c * u).cos(), epsilon = 1e-15);
                    approx::assert_abs_diff_eq!(m.sin_beta, (beta0 + c * u).sin(), epsilon = 1e-15);
                }
            }
        }
    }
}
