//! Each run predicted from the others: does the band hold it?

use super::solve::fit_from;
use super::{Fit, FitFailure, Question};
use crate::decision::Belief;
use nalgebra::Cholesky;

/// A run predicted from all others and its own first value.
#[derive(Clone, Debug, PartialEq)]
pub struct Predicted {
    /// Its last time as predicted (s).
    pub time: Belief,
    /// As it was timed (s).
    pub timed_s: f64,
    /// The fit without the run.
    pub without: Fit,
}

impl Predicted {
    /// Whether the band of 95 % holds the time.
    pub fn inside(&self) -> bool {
        let (low, high) = self.time.band_s();
        (low..=high).contains(&self.timed_s)
    }
}

/// Predicts the last time of a run from all other runs and the first `known` values of its own.
///
/// ```text
///   t = f_l + B (y_k - f_k),   B = C_lk C_kk^-1
///   variance = (a_l - B a_k) X (a_l - B a_k)^T + C_ll - B C_kl
/// ```
///
/// | symbol | meaning |
/// |---|---|
/// | k, l | values that are known, and the last time |
/// | f, a | model and its slopes at the fit without the run |
/// | C, X | covariance of the run's errors, and of the fit |
///
/// *Source*: normal distribution, conditioned. *Checked by* `exact_left_out_run_by_both_ways`.
pub fn predict_from_others(
    question: &Question<'_>,
    fit: &Fit,
    run: usize,
    known: usize,
) -> Result<Predicted, FitFailure> {
    let held = Question { held_out: Some((run, known)), ..*question };
    let without = fit_from(&held, &fit.estimates)?;
    let measured = &question.runs[run];
    let last = measured.times.saturating_sub(1);
    let nothing = || FitFailure::NoPrediction { run: measured.name.clone() };
    let x = &without.estimates;
    let f = &without.predicted[run];
    let mut slopes = vec![vec![0.0; x.len()]; measured.values.len()];
    for (j, unknown) in question.unknowns.iter().enumerate() {
        if unknown.run.is_some_and(|own| own != run) {
            continue;
        }
        let beside = |side: f64| {
            let mut y = x.clone();
            y[j] += side * unknown.step;
            (question.predict)(run, y.as_slice()).ok_or_else(nothing)
        };
        let (more, less) = (beside(1.0)?, beside(-1.0)?);
        for (i, slope) in slopes.iter_mut().enumerate() {
            slope[j] = (more[i] - less[i]) / (2.0 * unknown.step);
        }
    }
    let c = &measured.covariance;
    let (mut mean_s, mut noise_s2) = (f[last], c[(last, last)]);
    let mut a = slopes[last].clone();
    if known > 0 {
        let first = c.view((0, 0), (known, known)).clone_owned();
        let with_last = c.view((0, last), (known, 1)).clone_owned();
        let b = Cholesky::new(first).ok_or_else(nothing)?.solve(&with_last);
        for k in 0..known {
            mean_s += b[(k, 0)] * (measured.values[k] - f[k]);
            noise_s2 -= b[(k, 0)] * with_last[(k, 0)];
            for (a, s) in a.iter_mut().zip(&slopes[k]) {
                *a -= b[(k, 0)] * s;
            }
        }
    }
    let a = nalgebra::DVector::from_vec(a);
    let variance = (&without.covariance * &a).dot(&a) + noise_s2;
    let time = Belief { mean_s, sd_s: variance.max(0.0).sqrt() };
    Ok(Predicted { time, timed_s: measured.values[last], without })
}
