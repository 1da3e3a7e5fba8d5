//! What one more measurement would tell, before it is made; and samples of what is known.

use super::solve::inverse;
use super::{Fit, Unknown};
use nalgebra::{Cholesky, DMatrix, DVector};
use numerics::points::ScrambledSobol;
use statrs::distribution::{ContinuousCDF, Normal};

/// Covariance of the unknowns after a measurement of a sum of them, `row . x`, with a standard error.
///
/// ```text
///   X' = X - X h h^T X/(h^T X h + e^2)
/// ```
///
/// *Source*: linear model with normal errors. *Checked by* `exact_one_more_measurement`.
pub fn after_measuring(covariance: &DMatrix<f64>, row: &DVector<f64>, error: f64) -> DMatrix<f64> {
    let xh = covariance * row;
    let whole = xh.dot(row) + error * error;
    if whole > 0.0 { covariance - &xh * xh.transpose() / whole } else { covariance.clone() }
}

/// Covariance of the unknowns if the runs had slopes and errors other than they have: with one more eye, say.
/// `None` where a covariance is not positive or an unknown is left undetermined.
pub fn with_runs_like(runs: &[(DMatrix<f64>, DMatrix<f64>)], unknowns: &[Unknown]) -> Option<DMatrix<f64>> {
    let mut m = of_priors(unknowns);
    for (slopes, covariance) in runs {
        let white = Cholesky::new(covariance.clone())?.l().solve_lower_triangular(slopes)?;
        m += white.transpose() * white;
    }
    inverse(&m).ok().map(|found| found.0)
}

fn of_priors(unknowns: &[Unknown]) -> DMatrix<f64> {
    DMatrix::from_diagonal(&DVector::from_fn(unknowns.len(), |j, _| {
        unknowns[j].prior.map_or(0.0, |p| 1.0 / (p.sd * p.sd))
    }))
}

/// Covariance of the unknowns after as many runs again of the same kind, each with unknowns of its own.
///
/// *Source*: information of independent runs adds up; that of a run's own unknowns is taken out of it (Schur).
/// *Checked by* `exact_one_more_measurement`.
pub fn with_as_many_again(fit: &Fit, unknowns: &[Unknown]) -> Option<DMatrix<f64>> {
    let mut m = of_priors(unknowns);
    for (r, a) in fit.slopes.iter().enumerate() {
        let mine = a.transpose() * a;
        m += &mine;
        let own: Vec<usize> = (0..unknowns.len()).filter(|j| unknowns[*j].run == Some(r)).collect();
        let mut again = mine;
        // take one after the other out
        for j in own {
            let pivot = again[(j, j)] + unknowns[j].prior.map_or(0.0, |p| 1.0 / (p.sd * p.sd));
            if pivot > 0.0 {
                let column = again.column(j).clone_owned();
                again -= &column * column.transpose() / pivot;
            }
            again.row_mut(j).fill(0.0);
            again.column_mut(j).fill(0.0);
        }
        m += again;
    }
    inverse(&m).ok().map(|found| found.0)
}

/// Standard deviation of a quantity with these slopes by the unknowns.
pub fn sd_of(covariance: &DMatrix<f64>, slopes: &DVector<f64>) -> f64 {
    (covariance * slopes).dot(slopes).max(0.0).sqrt()
}

/// Quasi-random samples of a normal distribution: scrambled Sobol points, each from its number alone.
/// `None` where the covariance is not positive.
pub fn samples(mean: &[f64], covariance: &DMatrix<f64>, count: usize, seed: u64) -> Option<Vec<Vec<f64>>> {
    let root = Cholesky::new(covariance.clone())?.l();
    let standard = Normal::standard();
    // no point is further out than one in 16 million
    let least = 6e-8;
    let sample = |i: usize| {
        let point = ScrambledSobol { seed }.point(i, mean.len());
        let z = point.iter().map(|p| standard.inverse_cdf(p.clamp(least, 1.0 - least)));
        let moved = &root * DVector::from_iterator(mean.len(), z);
        mean.iter().zip(moved.iter()).map(|(m, d)| m + d).collect()
    };
    Some((0..count).map(sample).collect())
}
