//! Does the model fit, where errors are no normal ones? The sum of squares and the sections of a sheet beside those of
//! sheets that are drawn.
//!
//! ```text
//!   w = L^-1 (e + n),   g = sum A^T w - z/s,   d = X g
//!   sum of squares |w|^2 + |z|^2 - g^T X g,    sections by w - A d
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | e | `errors` of a run, one of those that are given | as its values |
//! | n | normal errors with the covariance `normal` | as its values |
//! | z | how far the truth lies from the priors, standard normal | - |
//! | s | standard deviations of the priors | as the unknowns |
//! | L, A, X | root of the covariance, slopes whitened, covariance of the fit | - |
//! | d | how far the fit would be off | as the unknowns |
//!
//! *Valid for* models that are nearly straight over the width of the posterior. *Assumes* that all runs of a sheet are of
//! one kind, each kind as often as its weight. *Source*: test by simulated reference sets (parametric bootstrap),
//! linear model. *Checked by* `exact_normal_draws_are_chi_squared`, `exact_a_heavy_tail_is_in_the_draws`.

use super::checking::{FLAG_SECTION, section_tests};
use super::{Fit, Measured, Unknown};
use nalgebra::{Cholesky, DMatrix, DVector};
use numerics::points::stream;
use rand::RngExt;
use rand_distr::StandardNormal;

/// Sheets that are drawn: a chance of 0.01 is known to 0.0016.
const DRAWS: usize = 4000;
/// Seed of the draws.
const SEED: u64 = 1;

/// Errors of one kind of runs: of one athlete, say.
#[derive(Clone, Debug, PartialEq)]
pub struct Kind {
    /// How often it is drawn, over the sum of all weights.
    pub weight: f64,
    /// For each run the errors of its values that may be drawn, mean zero.
    pub errors: Vec<Vec<Vec<f64>>>,
}

/// A sheet beside those that were drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged {
    /// Chance of a worse fit, if model and errors are right `[-]`.
    pub chance: f64,
    /// Times of its error beyond which one section is flagged `[-]`.
    pub section_limit: f64,
}

/// Judges a fit; `normal` is the normal part of the covariance of each run. `None` where shapes do not fit or nothing can
/// be drawn.
pub fn judged(
    fit: &Fit,
    unknowns: &[Unknown],
    runs: &[Measured],
    normal: &[DMatrix<f64>],
    kinds: &[Kind],
) -> Option<Judged> {
    let roots = |all: &mut dyn Iterator<Item = &DMatrix<f64>>| {
        all.map(|c| Some(Cholesky::new(c.clone())?.l())).collect::<Option<Vec<_>>>()
    };
    let whole = roots(&mut runs.iter().map(|r| &r.covariance))?;
    let normal = roots(&mut normal.iter())?;
    let weights: f64 = kinds.iter().map(|k| k.weight).sum();
    let of_run = |r: usize, errors: &Vec<Vec<f64>>| {
        !errors.is_empty() && errors.iter().all(|e| e.len() == runs[r].values.len())
    };
    let fine = |k: &Kind| {
        k.errors.len() == runs.len() && k.errors.iter().enumerate().all(|(r, errors)| of_run(r, errors))
    };
    if normal.len() != runs.len() || !(weights > 0.0) || !kinds.iter().all(fine) {
        return None;
    }
    let tests = section_tests(fit, runs);
    let (mut sums, mut sections) = (vec![], vec![]);
    for draw in 0..DRAWS {
        let mut rng = stream(SEED, draw as u64);
        let mut left = weights * rng.random::<f64>();
        let kind = kinds.iter().find(|k| {
            left -= k.weight;
            left < 0.0
        });
        let kind = kind.or(kinds.last())?;
        let (mut sum, mut g, mut whitened) = (0.0, DVector::zeros(unknowns.len()), vec![]);
        for (r, run) in runs.iter().enumerate() {
            let e = &kind.errors[r][rng.random_range(0..kind.errors[r].len())];
            let n = DVector::from_fn(run.values.len(), |_, _| rng.sample(StandardNormal));
            let w = whole[r].solve_lower_triangular(&(&normal[r] * n + DVector::from_column_slice(e)))?;
            sum += w.norm_squared();
            g += fit.slopes[r].tr_mul(&w);
            whitened.push(w);
        }
        for (j, prior) in unknowns.iter().enumerate().filter_map(|(j, u)| Some((j, u.prior?))) {
            let z: f64 = rng.sample(StandardNormal);
            sum += z * z;
            g[j] -= z / prior.sd;
        }
        let off = &fit.covariance * &g;
        sums.push(sum - off.dot(&g));
        let of_sections = tests.iter().map(|t| t.times_error(&whitened, &off).abs());
        sections.push(of_sections.fold(0.0, f64::max));
    }
    let own = fit.chi_square + fit.prior_chi_square;
    let beyond = sums.iter().filter(|s| **s >= own).count();
    sections.sort_by(f64::total_cmp);
    let at = ((1.0 - FLAG_SECTION) * DRAWS as f64) as usize;
    // the sheet itself is one of them
    let chance = (1 + beyond) as f64 / (1 + DRAWS) as f64;
    Some(Judged { chance, section_limit: sections[at] })
}
