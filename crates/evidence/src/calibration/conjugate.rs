//! A straight model with unknown noise: the posterior and the evidence in closed form.

use nalgebra::{Cholesky, DMatrix, DVector};
use statrs::function::gamma::ln_gamma;

/// Normal-inverse-gamma belief about slopes and the variance of the noise.
///
/// ```text
///   y = X b + e,  e ~ N(0, v),   b | v ~ N(m, v V),   v ~ InverseGamma(a, c)
///   V' = (V^-1 + X^T X)^-1       m' = V' (V^-1 m + X^T y)
///   a' = a + n/2                 c' = c + (y^T y + m^T V^-1 m - m'^T V'^-1 m')/2
///   ln p(y) = -n/2 ln 2pi + (ln|V'| - ln|V|)/2 + a ln c - a' ln c' + ln G(a') - ln G(a)
/// ```
///
/// | symbol | name | unit |
/// |---|---|---|
/// | m | `mean` | of the slopes |
/// | V | `scale` | slopes squared over those of y |
/// | a | `shape` | - |
/// | c | `rate` | y squared |
///
/// *Source*: *Bishop 2006* (3.3 and exercise 3.12), from memory. *Checked by* `exact_conjugate_one_value`,
/// `exact_conjugate_evidence_is_a_product_of_student_densities`.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct NormalInverseGamma {
    /// Mean of the slopes.
    pub(crate) mean: DVector<f64>,
    /// Covariance of the slopes over the variance of the noise.
    pub(crate) scale: DMatrix<f64>,
    /// Shape, greater than 0 `[-]`.
    pub(crate) shape: f64,
    /// Rate, greater than 0.
    pub(crate) rate: f64,
}

impl NormalInverseGamma {
    /// The belief after measurements, and the log of their evidence; `None` where a shape or a matrix does not fit.
    pub(crate) fn after(&self, x: &DMatrix<f64>, y: &DVector<f64>) -> Option<(NormalInverseGamma, f64)> {
        let fits = x.nrows() == y.len() && x.ncols() == self.mean.len() && self.scale.nrows() == x.ncols();
        if !(fits && self.shape > 0.0 && self.rate > 0.0) {
            return None;
        }
        let before = Cholesky::new(self.scale.clone())?;
        let precision = before.inverse();
        let after = Cholesky::new(&precision + x.transpose() * x)?;
        let mean = after.solve(&(&precision * &self.mean + x.transpose() * y));
        let n = y.len() as f64;
        let shape = self.shape + 0.5 * n;
        // the same as the closed form, without differences of great numbers
        let (off, moved) = (y - x * &mean, &mean - &self.mean);
        let rate = self.rate + 0.5 * (off.norm_squared() + (&precision * &moved).dot(&moved));
        let log_det = |l: &DMatrix<f64>| 2.0 * l.diagonal().iter().map(|d| d.ln()).sum::<f64>();
        let evidence = -0.5 * n * (2.0 * std::f64::consts::PI).ln()
            + 0.5 * (-log_det(&after.l()) - log_det(&before.l()))
            + self.shape * self.rate.ln()
            - shape * rate.ln()
            + ln_gamma(shape)
            - ln_gamma(self.shape);
        Some((NormalInverseGamma { mean, scale: after.inverse(), shape, rate }, evidence))
    }
}
