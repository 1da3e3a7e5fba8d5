//! What an athlete of a level loses against the planned ride on the way, on average and from run to run.
//!
//! ```text
//!   d_ie = t_ie - t_e                   ride i with mistakes, less the planned ride, at eye e
//!   m_e  = mean over i of d_ie
//!   C_ef = sum over i of (d_ie - m_e)(d_if - m_f)/(n - 1)
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | t | split times from the first eye | s |
//! | m | `mean_s` | s |
//! | C | `covariance_s2` | s2 |
//! | n | `finished` | - |
//!
//! *Valid for* the rides that finish: one that loses control leaves no time on a sheet. *Assumes* the level of skill,
//! every number of which is assumed; all begin with the push of the set-up. *Source*: sample moments of simulated rides.
//! *Checked by* `exact_moments_of_rides`.

use super::mistakes::{Rider, routine_of};
use super::prepared::{Attempt, Prepared};
use nalgebra::DMatrix;
use rayon::prelude::*;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::errors_of_ride::Skill;

/// Least rides that must finish for moments of a sheet's values.
const LEAST_RIDES: usize = 30;

/// What a level loses, eye by eye.
#[derive(Clone, Debug, PartialEq)]
pub struct LevelLosses {
    /// Times of the planned ride at each eye (s).
    pub planned_s: Vec<f64>,
    /// Mean time lost from the first eye to each eye (s).
    pub mean_s: Vec<f64>,
    /// Its covariance from run to run (s2).
    pub covariance_s2: DMatrix<f64>,
    /// Rides that were tried.
    pub rides: usize,
    /// Rides that finished.
    pub finished: usize,
}

impl LevelLosses {
    /// From this many rides of a planned ride; `None` where too few finish.
    pub fn of(
        prepared: &Prepared<'_>,
        skill: &Skill,
        seed: u64,
        rides: usize,
        precision: Precision,
    ) -> Option<LevelLosses> {
        // the push of a run is told by its start time
        let skill = Skill { start_s: 0.0, ..*skill };
        let times = |d: &sled_dynamics::motion::descent::Descent| -> Option<Vec<f64>> {
            d.finish_time_s.map(|_| d.splits.iter().map(|s| s.split_time_s).collect())
        };
        let planned = times(&prepared.descent(&Attempt::perfect(), precision, Detail::Bare))?;
        let routine = routine_of(prepared, &skill);
        let rider = Rider { prepared, skill: &skill, routine: routine.as_ref(), seed };
        let each = (0..rides).into_par_iter().map(|i| times(&rider.ride(i, precision, Detail::Bare)));
        let finished: Vec<Vec<f64>> = each.collect::<Vec<_>>().into_iter().flatten().collect();
        let (mean_s, covariance_s2) = moments(&planned, &finished)?;
        Some(LevelLosses { planned_s: planned, mean_s, covariance_s2, rides, finished: finished.len() })
    }

    /// What is lost in the section that ends at each eye, as a share of the planned time there `[-]`.
    pub fn shares(&self) -> Vec<f64> {
        let along = |values: &[f64], e: usize| values[e] - if e == 0 { 0.0 } else { values[e - 1] };
        let share = |e: usize| match along(&self.planned_s, e) {
            planned_s if planned_s > 0.0 => along(&self.mean_s, e) / planned_s,
            _ => 0.0,
        };
        (0..self.planned_s.len()).map(share).collect()
    }

    /// What is lost on the whole way, as a share of the planned time `[-]`.
    pub fn share(&self) -> f64 {
        self.mean_s.last().zip(self.planned_s.last()).map_or(0.0, |(lost_s, planned_s)| lost_s / planned_s)
    }

    /// Standard deviation of the finish from run to run (s).
    pub fn spread_s(&self) -> f64 {
        let last = self.mean_s.len() - 1;
        libm::sqrt(self.covariance_s2[(last, last)])
    }
}

/// Mean and covariance of times less the planned ones.
fn moments(planned: &[f64], all: &[Vec<f64>]) -> Option<(Vec<f64>, DMatrix<f64>)> {
    let (eyes, n) = (planned.len(), all.len() as f64);
    if eyes == 0 || all.len() < LEAST_RIDES || all.iter().any(|times| times.len() != eyes) {
        return None;
    }
    let mean: Vec<f64> = (0..eyes).map(|e| all.iter().map(|t| t[e] - planned[e]).sum::<f64>() / n).collect();
    let off = |times: &[f64], e: usize| times[e] - planned[e] - mean[e];
    let covariance = DMatrix::from_fn(eyes, eyes, |e, f| {
        all.iter().map(|t| off(t, e) * off(t, f)).sum::<f64>() / (n - 1.0)
    });
    Some((mean, covariance))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_moments_of_rides() {
        // half of the rides lose 1 s in the first section, the other half 3 s there and 2 s more in the second
        let planned = [0.0, 10.0, 20.0];
        let all: Vec<Vec<f64>> =
            (0..40).map(|i| if i % 2 == 0 { vec![0.0, 11.0, 21.0] } else { vec![0.0, 13.0, 25.0] }).collect();
        let (mean, covariance) = moments(&planned, &all).unwrap();
        assert_eq!(mean, [0.0, 2.0, 3.0]);
        let by = 40.0 / 39.0;
        for (e, f, expected) in [(0, 2, 0.0), (1, 1, 1.0), (1, 2, 2.0), (2, 2, 4.0)] {
            approx::assert_relative_eq!(covariance[(e, f)], by * expected, max_relative = 1e-14); // rounding
        }
        assert_eq!(moments(&planned, &all[..29]), None);
        let losses = LevelLosses {
            planned_s: planned.to_vec(),
            mean_s: mean,
            covariance_s2: covariance,
            rides: 50,
            finished: 40,
        };
        assert_eq!((losses.shares(), losses.share()), (vec![0.0, 0.2, 0.1], 0.15));
        approx::assert_relative_eq!(losses.spread_s(), libm::sqrt(4.0 * by), max_relative = 1e-14); // rounding
    }
}
