//! What an athlete of a level loses against the planned ride on the way, on average and from run to run.
//!
//! ```text
//!   d_ie = t_ie - t_e                   ride i with mistakes, less the planned ride, at eye e
//!   m_e  = mean over i of d_ie
//!   C_ef = sum over i of (d_ie - m_e)(d_if - m_f)/(n - 1)
//!   of athletes a with weights w_a:  m = sum w_a m_a,  C = sum w_a C_a,  v^2 = sum w_a (l_a - l)^2
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | t | split times from the first eye | s |
//! | m | `mean_s` | s |
//! | C | `covariance_s2` | s2 |
//! | n | `finished` | - |
//! | l | `shares` and `share`, losses over planned times | - |
//! | v | `differs`, `share_differs`: from athlete to athlete | - |
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
    /// How far the share of each section differs from athlete to athlete, all sections together `[-]`.
    pub differs: Vec<f64>,
    /// The same of the whole way `[-]`.
    pub share_differs: f64,
    /// Rides that were tried.
    pub rides: usize,
    /// Rides that finished.
    pub finished: usize,
    /// Each athlete.
    pub athletes: Vec<OfAthlete>,
}

/// What one athlete loses, eye by eye.
#[derive(Clone, Debug, PartialEq)]
pub struct OfAthlete {
    /// Share of all `[-]`.
    pub weight: f64,
    /// Mean time lost from the first eye to each eye (s).
    pub mean_s: Vec<f64>,
    /// Its covariance from run to run (s2).
    pub covariance_s2: DMatrix<f64>,
    /// How far each ride that finished is late at every eye beyond the mean (s).
    pub late_s: Vec<Vec<f64>>,
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
        let differs = vec![0.0; planned.len()];
        let of_ride = |t: &Vec<f64>| (0..t.len()).map(|e| t[e] - planned[e] - mean_s[e]).collect();
        let athletes = vec![OfAthlete {
            weight: 1.0,
            mean_s: mean_s.clone(),
            covariance_s2: covariance_s2.clone(),
            late_s: finished.iter().map(of_ride).collect(),
        }];
        let finished = finished.len();
        Some(LevelLosses {
            planned_s: planned,
            mean_s,
            covariance_s2,
            differs,
            share_differs: 0.0,
            rides,
            finished,
            athletes,
        })
    }

    /// Of athletes who differ, with their weights: each rides as often.
    pub fn of_athletes(
        prepared: &Prepared<'_>,
        athletes: &[(Skill, f64)],
        seed: u64,
        rides: usize,
        precision: Precision,
    ) -> Option<LevelLosses> {
        let of = |(skill, weight): &(Skill, f64)| {
            Some((*weight, LevelLosses::of(prepared, skill, seed, rides, precision)?))
        };
        mixed(&athletes.iter().map(of).collect::<Option<Vec<_>>>()?)
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

/// Moments of several athletes together, each with a weight.
fn mixed(all: &[(f64, LevelLosses)]) -> Option<LevelLosses> {
    let first = &all.first()?.1;
    let eyes = first.planned_s.len();
    let mean = |of: &dyn Fn(&LevelLosses) -> f64| all.iter().map(|(weight, l)| weight * of(l)).sum::<f64>();
    let sd = |of: &dyn Fn(&LevelLosses) -> f64| {
        let middle = mean(of);
        libm::sqrt(mean(&|l| (of(l) - middle) * (of(l) - middle)))
    };
    Some(LevelLosses {
        planned_s: first.planned_s.clone(),
        mean_s: (0..eyes).map(|e| mean(&|l| l.mean_s[e])).collect(),
        covariance_s2: DMatrix::from_fn(eyes, eyes, |e, f| mean(&|l| l.covariance_s2[(e, f)])),
        differs: (0..eyes).map(|e| sd(&|l| l.shares()[e])).collect(),
        share_differs: sd(&|l| l.share()),
        rides: all.iter().map(|l| l.1.rides).sum(),
        finished: all.iter().map(|l| l.1.finished).sum(),
        athletes: all.iter().flat_map(|(w, l)| l.athletes.iter().map(|a| weighed(*w, a))).collect(),
    })
}

fn weighed(weight: f64, athlete: &OfAthlete) -> OfAthlete {
    OfAthlete { weight: weight * athlete.weight, ..athlete.clone() }
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
            athletes: vec![OfAthlete {
                weight: 1.0,
                mean_s: mean.clone(),
                covariance_s2: covariance.clone(),
                late_s: vec![vec![0.5; 3]],
            }],
            mean_s: mean,
            covariance_s2: covariance,
            differs: vec![0.0; 3],
            share_differs: 0.0,
            rides: 50,
            finished: 40,
        };
        assert_eq!((losses.shares(), losses.share()), (vec![0.0, 0.2, 0.1], 0.15));
        approx::assert_relative_eq!(losses.spread_s(), libm::sqrt(4.0 * by), max_relative = 1e-14); // rounding
        // beside one who loses three times as much, a quarter of all: 1.5 times on average, by hand
        let mut other = losses.clone();
        other.mean_s.iter_mut().for_each(|m| *m *= 3.0);
        let both = mixed(&[(0.75, losses.clone()), (0.25, other)]).unwrap();
        approx::assert_relative_eq!(both.share(), 0.225, max_relative = 1e-14); // rounding
        // sqrt(3/4 x 0.5^2 + 1/4 x 1.5^2) of the first
        approx::assert_relative_eq!(both.share_differs, 0.15 * 0.75f64.sqrt(), max_relative = 1e-14);
        approx::assert_relative_eq!(both.differs[1], 0.2 * 0.75f64.sqrt(), max_relative = 1e-14);
        let weights: Vec<f64> = both.athletes.iter().map(|a| a.weight).collect();
        assert_eq!((weights, &both.athletes[1].late_s), (vec![0.75, 0.25], &losses.athletes[0].late_s));
        assert_eq!((both.covariance_s2, both.finished), (losses.covariance_s2, 80));
    }
}
