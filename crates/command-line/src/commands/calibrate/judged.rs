//! Whether a sheet fits: beside sheets of rides of the level where a level was told, by chi-squared without one.

use super::fitted::{Course, Timed};
use evidence::calibration::by_drawing::{Judged, Kind, judged};
use evidence::calibration::checking::section_limit;
use evidence::calibration::{Fit, Measured, Unknown};
use nalgebra::DMatrix;
use sweep_runner::rides::level_losses::LevelLosses;

/// Chance of a worse fit, and the limit of sections.
#[derive(Clone, Copy)]
pub struct Verdict {
    /// Chance of a worse fit `[-]`.
    pub chance: Option<f64>,
    /// Times of its error beyond which one section is flagged `[-]`.
    pub section_limit: f64,
    /// Whether both come from rides of the level.
    pub by_rides: bool,
}

/// Judges the fit of all runs of a course.
pub fn verdict(course: &Course<'_>, fit: &Fit, unknowns: &[Unknown], measured: &[Measured]) -> Verdict {
    match course.losses.and_then(|losses| beside_rides(course.runs, losses, fit, unknowns, measured)) {
        Some(Judged { chance, section_limit }) => {
            Verdict { chance: Some(chance), section_limit, by_rides: true }
        }
        None => Verdict {
            chance: fit.chance_of_worse(unknowns),
            section_limit: section_limit(course.track.data.eyes.len().saturating_sub(2)),
            by_rides: false,
        },
    }
}

fn timed(run: &Timed, i: usize) -> bool {
    i < run.measured.times
}

/// Covariance of each run without that of the rides: the walk over the start, rounding and the speed trap.
pub fn normal_parts(runs: &[Timed], losses: &LevelLosses) -> Vec<DMatrix<f64>> {
    let of_run = |run: &Timed| {
        let all = &run.measured.covariance;
        DMatrix::from_fn(all.nrows(), all.ncols(), |i, j| {
            let both = timed(run, i) && timed(run, j);
            all[(i, j)] - if both { losses.covariance_s2[(run.eyes[i], run.eyes[j])] } else { 0.0 }
        })
    };
    runs.iter().map(of_run).collect()
}

fn beside_rides(
    runs: &[Timed],
    losses: &LevelLosses,
    fit: &Fit,
    unknowns: &[Unknown],
    measured: &[Measured],
) -> Option<Judged> {
    let of_ride = |run: &Timed, late_s: &Vec<f64>| -> Vec<f64> {
        run.eyes.iter().enumerate().map(|(i, e)| if timed(run, i) { late_s[*e] } else { 0.0 }).collect()
    };
    let of_run = |run: &Timed, rides: &[Vec<f64>]| rides.iter().map(|late_s| of_ride(run, late_s)).collect();
    let kinds: Vec<Kind> = losses
        .athletes
        .iter()
        .map(|athlete| Kind {
            weight: athlete.weight,
            errors: runs.iter().map(|run| of_run(run, &athlete.late_s)).collect(),
        })
        .collect();
    judged(fit, unknowns, measured, &normal_parts(runs, losses), &kinds)
}
