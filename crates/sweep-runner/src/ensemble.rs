//! Ensembles: the same mistakes tried on one set-up after another.
//!
//! What goes wrong is drawn from the seed, the number of the ride and the corner alone, in units of the athlete's
//! skill; so all set-ups meet the same mistakes (common random numbers), and their differences are told sooner than
//! their means. One ChaCha stream for each ride; results by the number of the ride, whatever the threads.

use crate::mistakes::{Rider, routine_of};
use crate::prepared::{Attempt, Prepared};
use rand::SeedableRng;
use rand_chacha::ChaCha12Rng;
use rayon::prelude::*;
use sled_dynamics::descent::{Descent, Loss, Outcome};
use sled_dynamics::errors_of_ride::Skill;
use sled_dynamics::precision::{Detail, Precision};
use std::ops::Range;

/// Precision of the rides of an ensemble: their finish time is good to about 0.01 ms without walls.
pub const RIDES: Precision = Precision { tolerance: 1e-5, greatest_step_m: 2.0 };

/// How one ride ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RideRow {
    /// First to last eye (s); none if control was lost.
    pub finish_time_s: Option<f64>,
    /// Times that a wall was touched.
    pub wall_touches: usize,
    /// Where (m) and how control was lost.
    pub lost: Option<(f64, Loss)>,
}

impl RideRow {
    /// The row of a descent.
    pub fn of(d: &Descent) -> RideRow {
        RideRow {
            finish_time_s: d.finish_time_s,
            wall_touches: d.wall_touches(),
            lost: match d.outcome {
                Outcome::Finished => None,
                Outcome::ControlLost { station_m, cause } => Some((station_m, cause)),
            },
        }
    }
}

/// Seeded rides of one set-up by an athlete of a skill.
#[derive(Clone, Debug, PartialEq)]
pub struct Ensemble {
    /// Time of the ride without mistakes (s), first to last eye; none if even that loses control.
    pub planned_time_s: Option<f64>,
    /// Ride by ride.
    pub rides: Vec<RideRow>,
}

/// Rides of these numbers, in parallel, in order.
pub fn rides(
    prepared: &Prepared<'_>,
    skill: &Skill,
    seed: u64,
    numbers: Range<usize>,
    precision: Precision,
) -> Vec<RideRow> {
    let routine = routine_of(prepared, skill);
    let rider = Rider { prepared, skill, routine: routine.as_ref(), seed };
    numbers.into_par_iter().map(|ride| RideRow::of(&rider.ride(ride, precision, Detail::Bare))).collect()
}

/// `many` rides, and the one without mistakes.
pub fn ensemble(
    prepared: &Prepared<'_>,
    skill: &Skill,
    seed: u64,
    many: usize,
    precision: Precision,
) -> Ensemble {
    Ensemble {
        planned_time_s: prepared.descent(&Attempt::perfect(), precision, Detail::Bare).finish_time_s,
        rides: rides(prepared, skill, seed, 0..many, precision),
    }
}

/// A figure and its sampling error (one standard error).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// The figure.
    pub value: f64,
    /// Its sampling error.
    pub error: f64,
}

/// What an ensemble says; times over the rides that finished.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figures {
    /// Mean time (s).
    pub mean_s: Option<Figure>,
    /// Standard deviation of the time (s).
    pub sd_s: Option<Figure>,
    /// Time that nine rides in ten stay below (s).
    pub p90_s: Option<Figure>,
    /// Mean of the slowest tenth (s).
    pub worst_tenth_s: Option<Figure>,
    /// Walls touched a ride `[-]`.
    pub wall_touches: Figure,
    /// Share of rides that lose control `[-]`.
    pub lost: Figure,
}

/// Resamples of the bootstrap.
const RESAMPLES: u64 = 200;

/// Mean of the slowest tenth of sorted times, at least one.
fn worst_tenth_s(sorted: &[f64]) -> f64 {
    let n = sorted.len().div_ceil(10);
    sorted[sorted.len() - n..].iter().sum::<f64>() / n as f64
}

/// The time that nine in ten of sorted times stay below, between the neighbouring ones.
fn p90_s(sorted: &[f64]) -> f64 {
    let place = 0.9 * (sorted.len() - 1) as f64;
    let i = place as usize;
    let next = (i + 1).min(sorted.len() - 1);
    sorted[i] + (place - i as f64) * (sorted[next] - sorted[i])
}

/// Mean and standard deviation (n - 1).
fn mean_and_sd(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let square = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>();
    (mean, if values.len() > 1 { (square / (n - 1.0)).sqrt() } else { f64::NAN })
}

/// Mean with its standard error.
pub fn mean(values: &[f64]) -> Option<Figure> {
    let (mean, sd) = mean_and_sd(values);
    (values.len() > 1).then(|| Figure { value: mean, error: sd / (values.len() as f64).sqrt() })
}

/// A statistic of sorted values with its standard error by the bootstrap (Efron, Ann. Stat. 7 (1979) 1).
fn resampled(sorted: &[f64], statistic: impl Fn(&[f64]) -> f64) -> Option<Figure> {
    use rand::RngExt;
    if sorted.len() < 2 {
        return None;
    }
    let mut again = vec![0.0; sorted.len()];
    let mut all = Vec::with_capacity(RESAMPLES as usize);
    for resample in 0..RESAMPLES {
        let mut random = ChaCha12Rng::seed_from_u64(resample);
        for a in &mut again {
            *a = sorted[random.random_range(0..sorted.len())];
        }
        again.sort_by(f64::total_cmp);
        all.push(statistic(&again));
    }
    Some(Figure { value: statistic(sorted), error: mean_and_sd(&all).1 })
}

/// Sampling error of a share of `n` rides, as if two more had ended each way (Agresti and Coull 1998): never zero.
pub(crate) fn share_error(share: f64, n: f64) -> f64 {
    let near = (share * n + 2.0) / (n + 4.0);
    (near * (1.0 - near) / (n + 4.0)).sqrt()
}

impl Ensemble {
    /// The figures of an ensemble.
    pub fn figures(&self) -> Figures {
        let n = self.rides.len().max(1) as f64;
        let mut times: Vec<f64> = self.rides.iter().filter_map(|r| r.finish_time_s).collect();
        times.sort_by(f64::total_cmp);
        let (_, sd) = if times.is_empty() { (f64::NAN, f64::NAN) } else { mean_and_sd(&times) };
        let touches: Vec<f64> = self.rides.iter().map(|r| r.wall_touches as f64).collect();
        let lost = self.rides.iter().filter(|r| r.finish_time_s.is_none()).count() as f64 / n;
        Figures {
            mean_s: mean(&times),
            sd_s: (times.len() > 2)
                .then(|| Figure { value: sd, error: sd / (2.0 * (times.len() as f64 - 1.0)).sqrt() }),
            p90_s: resampled(&times, p90_s),
            worst_tenth_s: resampled(&times, worst_tenth_s),
            wall_touches: mean(&touches).unwrap_or(Figure { value: f64::NAN, error: f64::NAN }),
            lost: Figure { value: lost, error: share_error(lost, n) },
        }
    }
}

#[cfg(test)]
mod tests;
