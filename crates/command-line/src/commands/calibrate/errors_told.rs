//! What the scatter of a sheet says of the athlete: errors over those of the level, `skill.error_factor`.
//!
//! ```text
//!   q(u) = exp(-u^2/(2 v^2)) p(sheet | m(u), C(u)),   u = ln of the factor,   t = mean of u over q
//!   p(u) = exp(-u^2/(2 v^2)) N(t; mean and spread of t over drawn sheets of an athlete of u)
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | m(u) | mean loss, a parabola through those of the simulated athletes | s |
//! | C(u) | covariance: its size between theirs by ratio, its shape straight | s2 |
//! | v | `ERRORS_SD` | - |
//!
//! Rides have skids and touches, so that normal errors would claim too much: t only orders the sheets. What it is worth
//! is told by sheets drawn from the rides of each simulated athlete.
//!
//! *Valid for* factors near those of the athletes, 0.6 to 1.7. *Assumes* all errors off by one factor, and a line loss
//! of [`LINE_SD`] beyond the athlete's. *Source*: indirect inference by a normal model, *Gourieroux 1993*, from memory.
//! *Checked by* `exact_a_clumsy_athlete_is_told_from_a_careful_one`.

use super::SAYS_LITTLE;
use super::fitted::{Course, LINE_SD};
use super::judged::normal_parts;
use super::{ATHLETES, ERRORS_SD};
use evidence::calibration::given_errors::{Given, as_if, log_evidence};
use evidence::calibration::{Fit, Measured, Prior, Unknown};
use evidence::decision::BAND_95;
use nalgebra::{Cholesky, DMatrix, DVector};
use numerics::points::stream;
use rand::RngExt;
use rand_distr::StandardNormal;
use rayon::prelude::*;
use sweep_runner::rides::level_losses::{LevelLosses, OfAthlete};

/// Factors that are tried reach so many prior standard deviations to either side `[-]`.
const OUT_TRIED: f64 = 3.0;
/// Factors that are tried.
const TRIED: usize = 41;
/// Sheets that are drawn of each athlete: their spread is known to 6 %.
const DRAWN: usize = 150;
/// Seed of the draws.
const SEED: u64 = 2;

/// Logarithm of the factor: mean and standard deviation `[-]`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ErrorsTold {
    /// Mean.
    pub log_mean: f64,
    /// Standard deviation.
    pub log_sd: f64,
}

/// What a fit says of the errors; none without a level, or without its athletes.
pub fn errors_told(
    course: &Course<'_>,
    line: Option<usize>,
    fit: &Fit,
    unknowns: &[Unknown],
    measured: &[Measured],
) -> Option<ErrorsTold> {
    let losses = course.losses?;
    let athletes: &[OfAthlete; 3] = losses.athletes.as_slice().try_into().ok()?;
    // the whole way's line loss has no part of the athlete's errors any more
    let mut unknowns = unknowns.to_vec();
    let whole_way = unknowns.get_mut(line?)?;
    whole_way.prior = whole_way.prior.map(|p| Prior { sd: LINE_SD, ..p });
    let tried: Vec<f64> =
        (0..TRIED).map(|i| ERRORS_SD * OUT_TRIED * (2.0 * i as f64 / (TRIED - 1) as f64 - 1.0)).collect();
    let givens: Vec<Vec<Given>> = tried.iter().map(|u| given(course, losses, athletes, *u)).collect();
    // where a sheet lies among all
    let order = |fit: &Fit| -> Option<f64> {
        let log = |given: &Vec<Given>| log_evidence(fit, &unknowns, measured, given);
        let logs = givens.iter().map(log).collect::<Option<Vec<f64>>>()?;
        Some(moments(&tried, |i, _| logs[i])[0])
    };
    let own = order(fit)?;
    let normal = normal_parts(course.runs, losses)
        .into_iter()
        .map(|c| Some(Cholesky::new(c)?.l()))
        .collect::<Option<Vec<_>>>()?;
    let of_athlete = |k: usize| {
        let drawn = |draw: usize| {
            let mut rng = stream(SEED, (k * DRAWN + draw) as u64);
            let errors: Vec<DVector<f64>> = course
                .runs
                .iter()
                .zip(&normal)
                .map(|(run, root)| {
                    let late = &athletes[k].late_s[rng.random_range(0..athletes[k].late_s.len())];
                    let n = DVector::from_fn(root.nrows(), |_, _| rng.sample(StandardNormal));
                    let of_ride = DVector::from_fn(root.nrows(), |i, _| {
                        let eye = run.eyes[i];
                        let later = athletes[k].mean_s[eye] - losses.mean_s[eye] + late[eye];
                        if i < run.measured.times { later } else { 0.0 }
                    });
                    root * n + of_ride
                })
                .collect();
            let z: Vec<f64> = unknowns.iter().map(|_| rng.sample(StandardNormal)).collect();
            order(&as_if(fit, &unknowns, measured, &errors, &z)?)
        };
        let all = (0..DRAWN).into_par_iter().map(drawn).collect::<Option<Vec<f64>>>()?;
        let mean = all.iter().sum::<f64>() / DRAWN as f64;
        let square = all.iter().map(|t| (t - mean) * (t - mean)).sum::<f64>() / (DRAWN - 1) as f64;
        Some([mean, square.sqrt()])
    };
    let of_athletes = (0..3).map(of_athlete).collect::<Option<Vec<[f64; 2]>>>()?;
    let log_chance = |_: usize, u: f64| {
        let (low, t) = between(u);
        let at = |i: usize| of_athletes[low][i] + t * (of_athletes[low + 1][i] - of_athletes[low][i]);
        let inner = t.clamp(0.0, 1.0);
        let sd = of_athletes[low][1] + inner * (of_athletes[low + 1][1] - of_athletes[low][1]);
        -0.5 * ((own - at(0)) / sd) * ((own - at(0)) / sd) - sd.ln()
    };
    let [log_mean, log_sd] = moments(&tried, log_chance);
    Some(ErrorsTold { log_mean, log_sd }).filter(|t| t.log_sd > 0.0)
}

/// Mean and standard deviation of the logarithm of the factor, with what was believed.
fn moments(tried: &[f64], log_chance: impl Fn(usize, f64) -> f64) -> [f64; 2] {
    let log = |(i, u): (usize, &f64)| log_chance(i, *u) - 0.5 * (u / ERRORS_SD) * (u / ERRORS_SD);
    let logs: Vec<f64> = tried.iter().enumerate().map(log).collect();
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|l| (l - most).exp()).collect();
    let all: f64 = weights.iter().sum();
    let mean =
        |of: &dyn Fn(f64) -> f64| tried.iter().zip(&weights).map(|(u, w)| w * of(*u)).sum::<f64>() / all;
    let middle = mean(&|u| u);
    [middle, mean(&|u| (u - middle) * (u - middle)).sqrt()]
}

/// The athlete below, and how far a logarithm lies on the way to the next `[-]`; less than 0 or more than 1 beyond.
fn between(u: f64) -> (usize, f64) {
    let at = ATHLETES.map(|a| a.0);
    let low = usize::from(u > at[1]);
    (low, (u - at[low]) / (at[low + 1] - at[low]))
}

/// Errors of every run for one factor.
fn given(course: &Course<'_>, losses: &LevelLosses, athletes: &[OfAthlete; 3], u: f64) -> Vec<Given> {
    let at = ATHLETES.map(|a| a.0);
    let eyes = losses.mean_s.len();
    // Lagrange
    let part = |k: usize| {
        let others = (0..3).filter(|o| *o != k);
        others.map(|o| (u - at[o]) / (at[k] - at[o])).product::<f64>()
    };
    let parts = [0, 1, 2].map(part);
    let mean_s = |e: usize| (0..3).map(|k| parts[k] * athletes[k].mean_s[e]).sum::<f64>();
    let (low, t) = between(u);
    let size = |k: usize| athletes[k].covariance_s2[(eyes - 1, eyes - 1)];
    let of_size = size(low) * (size(low + 1) / size(low)).powf(t);
    let inner = t.clamp(0.0, 1.0);
    let covariance_s2 = of_size
        * ((1.0 - inner) / size(low) * &athletes[low].covariance_s2
            + inner / size(low + 1) * &athletes[low + 1].covariance_s2);
    let of_run = |run: &super::fitted::Timed| {
        let (own, times) = (&run.measured.covariance, run.measured.times);
        let late = |i: usize| if i < times { mean_s(run.eyes[i]) - losses.mean_s[run.eyes[i]] } else { 0.0 };
        let more = |i: usize, j: usize| {
            let place = (run.eyes[i], run.eyes[j]);
            if i < times && j < times { covariance_s2[place] - losses.covariance_s2[place] } else { 0.0 }
        };
        Given {
            later: DVector::from_fn(own.nrows(), |i, _| late(i)),
            covariance: DMatrix::from_fn(own.nrows(), own.nrows(), |i, j| own[(i, j)] + more(i, j)),
        }
    };
    course.runs.iter().map(of_run).collect()
}

impl ErrorsTold {
    /// In words, a line or two with their ends.
    pub fn words(&self) -> String {
        let of = |mean: f64, sd: f64| {
            let [middle, low, high] = [0.0, -BAND_95, BAND_95].map(|k| (mean + k * sd).exp());
            format!("{middle:.2} (95 % {low:.2} to {high:.2})")
        };
        let left = self.log_sd / ERRORS_SD;
        let mut text = format!(
            "errors of the athlete over those of the level, by the scatter of the runs: believed before {}, assumed; with \
             the runs {}; width left {left:.2}\n",
            of(0.0, ERRORS_SD),
            of(self.log_mean, self.log_sd)
        );
        if left > SAYS_LITTLE {
            text += "The runs say next to nothing of the athlete's errors: what stands there was believed before.\n";
        }
        text
    }
}

#[cfg(test)]
mod tests;
