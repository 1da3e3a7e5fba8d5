//! How well a sheet goes with other errors than those it was fitted with: another mean and another covariance.
//!
//! ```text
//!   w_r = L_r^-1 (e_r - h_r),   A_r = L_r^-1 F_r,   M = sum A_r^T A_r + S^-2,   g = sum A_r^T w_r - S^-1 z
//!   ln p = -(sum |w_r|^2 + |z|^2 - g^T M^-1 g)/2 - (ln |M|)/2 - sum ln |L_r| + a constant
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | e, F | residuals and slopes of the fit, not whitened | as the values |
//! | h | `later`, by how much the mean of the errors is another | as the values |
//! | L | lower root of the other covariance | as the values |
//! | z | how far the fit lies from the priors, over their standard deviations S | - |
//!
//! *Valid for* models that are nearly straight over the width of the posterior. *Assumes* normal errors and priors.
//! *Source*: evidence of a linear normal model, *Bishop 2006* (3.86), from memory. *Checked by*
//! `exact_evidence_of_other_errors`.

use super::{Fit, Measured, Unknown};
use nalgebra::{Cholesky, DMatrix, DVector};

/// Errors that are tried: for each run.
#[derive(Clone, Debug, PartialEq)]
pub struct Given {
    /// By how much the values are later than with the errors of the fit, on average.
    pub later: DVector<f64>,
    /// Covariance of the values.
    pub covariance: DMatrix<f64>,
}

fn log_size(root: &DMatrix<f64>) -> f64 {
    root.diagonal().iter().map(|d| d.ln()).sum()
}

/// Logarithm of the evidence, but for a constant of sheet and priors; `None` where shapes do not fit.
pub fn log_evidence(fit: &Fit, unknowns: &[Unknown], runs: &[Measured], given: &[Given]) -> Option<f64> {
    let n = unknowns.len();
    let (mut m, mut g) = (DMatrix::zeros(n, n), DVector::zeros(n));
    let (mut sum, mut sizes) = (0.0, 0.0);
    for (j, prior) in unknowns.iter().enumerate().filter_map(|(j, u)| Some((j, u.prior?))) {
        let z = (fit.estimates[j] - prior.mean) / prior.sd;
        sum += z * z;
        m[(j, j)] += 1.0 / (prior.sd * prior.sd);
        g[j] -= z / prior.sd;
    }
    if given.len() != runs.len() {
        return None;
    }
    for ((r, run), given) in runs.iter().enumerate().zip(given) {
        let values = run.values.len();
        if given.later.len() != values || given.covariance.shape() != (values, values) {
            return None;
        }
        let own = Cholesky::new(run.covariance.clone())?.l();
        let root = Cholesky::new(given.covariance.clone())?.l();
        let w = root.solve_lower_triangular(&(&own * &fit.whitened[r] - &given.later))?;
        let a = root.solve_lower_triangular(&(&own * &fit.slopes[r]))?;
        sum += w.norm_squared();
        sizes += log_size(&root);
        m += a.tr_mul(&a);
        g += a.tr_mul(&w);
    }
    let m = Cholesky::new(m)?;
    Some(-0.5 * (sum - g.dot(&m.solve(&g))) - log_size(&m.l()) - sizes)
}

/// The same fit of a sheet with these errors, whose truth lies so many standard deviations from each prior: residuals
/// where the unknowns are as believed.
pub fn as_if(
    fit: &Fit,
    unknowns: &[Unknown],
    runs: &[Measured],
    errors: &[DVector<f64>],
    z: &[f64],
) -> Option<Fit> {
    let prior = |j: usize| unknowns[j].prior.unwrap_or(super::Prior { mean: fit.estimates[j], sd: 0.0 });
    let n = unknowns.len();
    let off = DVector::from_fn(n, |j, _| prior(j).sd * z.get(j).copied().unwrap_or(0.0));
    let mut other = fit.clone();
    other.estimates = DVector::from_fn(n, |j, _| prior(j).mean);
    for (r, (run, e)) in runs.iter().zip(errors).enumerate() {
        let w = Cholesky::new(run.covariance.clone())?.l().solve_lower_triangular(e)?;
        other.whitened[r] = w + &fit.slopes[r] * &off;
    }
    Some(other)
}
