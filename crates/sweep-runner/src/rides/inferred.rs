//! Rides that could have made the times of one run: from eye to eye, those that come near are ridden on.
//!
//! ```text
//!   weight of a ride after k values = exp(-1/2 sum_(i <= k) z_i^2),   z = L^-1 (timed - ridden),  C = L L^T
//!   where too few rides carry the weight: draw rides by their weights, keep each up to this eye, let new things go
//!   wrong from there on
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | timed - ridden | `Seen::values` less those of the ride | s, m/s |
//! | L | `Seen::factor`, of the covariance of the errors | s, m/s |
//!
//! *Valid for* an athlete whose mistakes are those of the skill. *Assumes* that track, ice and set-up are those of the
//! model but for the stated errors. *Source*: sequential importance sampling with resampling, *Gordon 1993* (*memory*).
//! *Checked by* `exact_errors_are_widened_as_far_as_it_takes`, `plan_inferred_rides_hold_the_planted_one`.

use crate::rides::ensemble::RIDES;
use crate::rides::mistakes::{Lineage, Rider};
use crate::rides::prepared::Attempt;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha12Rng;
use rayon::prelude::*;
use sled_dynamics::analysis::losses::spacing_to_finish_m;
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::motion::precision::Detail;
use std::sync::Arc;

mod agreed;

pub use agreed::{Figures, OfSection, Spread, agreed, one_more};
use agreed::{planned_sections, section_figures};

/// Rides of equal weight of a section below which nothing is to be told `[-]`: assumed.
pub const LEAST_EFFECTIVE: f64 = 8.0;
/// Rides are drawn anew where fewer than this share of them carry the weight `[-]`: common practice.
const LEAST_SHARE: f64 = 0.5;
/// More are ridden where fewer than this share of one batch carry the weight `[-]`, so many times at most; then the stated
/// errors are allowed to be as much larger as it takes. Both assumed.
const ENOUGH: f64 = 0.25;
const MOST_MORE: usize = 1;
/// Numbers of rides beyond those of the bank.
const FIRST_NUMBER: usize = 1_000_000;
/// Greatest spacing of the traces that figures are read from (m).
const TRACE_M: f64 = 2.0;
/// Stream of the draws, beside those of the rides.
const DRAW_STREAM: u64 = 3 << 40;

/// What was measured at an eye.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum At {
    /// The time since the first eye; the eye by its number on the track.
    Time(usize),
    /// The speed.
    Speed(usize),
}

impl At {
    fn eye(self) -> usize {
        match self {
            At::Time(eye) | At::Speed(eye) => eye,
        }
    }

    fn of(self, descent: &Descent) -> Option<f64> {
        let split = descent.splits.get(self.eye())?;
        Some(match self {
            At::Time(_) => split.split_time_s,
            At::Speed(_) => split.speed_m_s,
        })
    }
}

/// The values of one run, in the order of the eyes.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// Where and what.
    pub at: Vec<At>,
    /// Times (s) and speeds (m/s).
    pub values: Vec<f64>,
    /// Lower triangle of the covariance of their errors, rows in order: `C = L L^T`.
    pub factor: Vec<Vec<f64>>,
}

impl Seen {
    /// Log of the likelihood that each value adds, up to a constant; none from the first that a ride lacks.
    pub(crate) fn logs(&self, descent: &Descent) -> Vec<f64> {
        let mut z: Vec<f64> = vec![];
        for (i, at) in self.at.iter().enumerate() {
            let Some(ridden) = at.of(descent) else { break };
            let before: f64 = z.iter().zip(&self.factor[i]).map(|(z, l)| z * l).sum();
            z.push((self.values[i] - ridden - before) / self.factor[i][i]);
        }
        z.iter().map(|z| -0.5 * z * z).collect()
    }
}

/// A ride that could have been.
#[derive(Clone, Debug, PartialEq)]
pub struct Possible {
    /// What goes wrong in it.
    pub(crate) lineage: Lineage,
    /// How it came down, without its trace.
    pub descent: Descent,
    /// Its figures, section by section; none from where control was lost.
    pub figures: Figures,
}

/// Rides with a share each, after one eye.
#[derive(Clone, Debug, PartialEq)]
pub struct After {
    /// Rides and shares `[-]`, which add up to one.
    pub rides: Vec<(Arc<Possible>, f64)>,
}

/// Rides that could have made a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Inferred {
    /// The rides after each value that was measured, the last after all.
    pub after: Vec<After>,
    /// Station of the eye of each value (m).
    pub(crate) stations_m: Vec<f64>,
    /// Descents that it took.
    pub ridden: usize,
    /// How many times the stated errors had to be allowed at the eye where rides were scarcest `[-]`.
    pub widened: f64,
}

/// A rider with the planned ride that others are held against.
pub struct Against<'a> {
    /// Who rides.
    pub(crate) rider: &'a Rider<'a>,
    /// Time, place at the entry and height of the planned ride, section by section.
    pub planned: Vec<[f64; 3]>,
    /// Spacing of the traces that figures are read from (m).
    spacing_m: f64,
}

impl<'a> Against<'a> {
    /// Rides the plan without mistakes; `None` where it does not come down.
    pub fn new(rider: &'a Rider<'a>) -> Option<Against<'a>> {
        let track = rider.prepared.ready.track;
        let spacing_m = spacing_to_finish_m(track, TRACE_M);
        let descent = rider.prepared.descent(&Attempt::perfect(), RIDES, Detail::Trace(spacing_m));
        let planned = planned_sections(track, &descent).into_iter().collect::<Option<_>>()?;
        Some(Against { rider, planned, spacing_m })
    }

    /// Rides once.
    pub fn ride(&self, lineage: Lineage) -> Possible {
        let descent = self.rider.ride_of(&lineage, RIDES, Detail::Trace(self.spacing_m));
        let figures = section_figures(self, &lineage, &descent);
        let descent = Descent { trace: vec![], corners: vec![], events: vec![], ..descent };
        Possible { lineage, descent, figures }
    }
}

/// Rides of equal weight that tell as much as these `[-]`.
pub fn effective(weights: &[f64]) -> f64 {
    let sum: f64 = weights.iter().sum();
    let squares: f64 = weights.iter().map(|w| w * w).sum();
    if squares > 0.0 { sum * sum / squares } else { 0.0 }
}

fn weights_of(logs: &[f64]) -> Vec<f64> {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if top == f64::NEG_INFINITY {
        return vec![0.0; logs.len()];
    }
    let raw: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|w| w / sum).collect()
}

/// Weights that as many rides carry as are asked for, and the factor by which the errors must be larger for that, at least
/// one: `exp(log / factor^2)`. Where fewer rides than asked for are there at all, the factor is that of half of them.
fn allowed(logs: &[f64], enough: f64) -> (Vec<f64>, f64) {
    let there = logs.iter().filter(|l| l.is_finite()).count() as f64;
    let wanted = enough.min(0.5 * there);
    let at = |factor: f64| weights_of(&logs.iter().map(|l| l / (factor * factor)).collect::<Vec<_>>());
    if effective(&at(1.0)) >= wanted {
        return (at(1.0), 1.0);
    }
    let (mut low, mut high) = (1.0, 1e3);
    for _ in 0..60 {
        let middle = f64::sqrt(low * high);
        if effective(&at(middle)) >= wanted { high = middle } else { low = middle }
    }
    (at(high), high)
}

/// Places drawn by weight: evenly spaced over the sum of weights, from one random start.
fn drawn(weights: &[f64], count: usize, start: f64) -> Vec<usize> {
    let (mut sum, mut i, mut all) = (0.0, 0, Vec::with_capacity(count));
    for k in 0..count {
        let place = (k as f64 + start) / count as f64;
        while i + 1 < weights.len() && sum + weights[i] <= place {
            sum += weights[i];
            i += 1;
        }
        all.push(i);
    }
    all
}

/// Rides that no eye has sorted yet; the same bank may serve several runs.
pub fn bank(against: &Against<'_>, count: usize, ridden: &(dyn Fn() + Sync)) -> Vec<Arc<Possible>> {
    let ride = |i: usize| {
        let made = Arc::new(against.ride(Lineage::of(i)));
        ridden();
        made
    };
    (0..count).into_par_iter().map(ride).collect()
}

/// Infers rides from a bank; as many are carried on as it has. Where too few come near at an eye, as many more are ridden
/// there, and the stated errors are allowed to be larger, as far as it takes. The error is the number of an eye at which no ride comes near.
pub fn infer(
    against: &Against<'_>,
    seen: &Seen,
    bank: &[Arc<Possible>],
    ridden: &(dyn Fn() + Sync),
) -> Result<Inferred, usize> {
    let (rider, count) = (against.rider, bank.len());
    let eyes = &rider.prepared.ready.track.data.eyes;
    let mut random = ChaCha12Rng::seed_from_u64(rider.seed);
    random.set_stream(DRAW_STREAM);
    // what the rides in hand were drawn from: rides with their shares, and the station from which they are new
    let mut source: Option<(After, f64)> = None;
    let mut rides = bank.to_vec();
    let (mut since, mut number, mut descents) = (0, FIRST_NUMBER, count);
    let (mut after, mut stations_m, mut widened) = (vec![], vec![], 1.0f64);
    for (k, at) in seen.at.iter().enumerate() {
        let log = |r: &Possible| -> f64 {
            let logs = seen.logs(&r.descent);
            if logs.len() > k { logs[since..=k].iter().sum() } else { f64::NEG_INFINITY }
        };
        let mut more = |source: &Option<(After, f64)>, random: &mut ChaCha12Rng| -> Vec<Arc<Possible>> {
            let parents = source.as_ref().map(|(s, from_m)| {
                let weights: Vec<f64> = s.rides.iter().map(|r| r.1).collect();
                (drawn(&weights, count, random.random::<f64>()), *from_m, s)
            });
            let next: Vec<Lineage> = (0..count)
                .map(|i| match &parents {
                    Some((p, from_m, s)) => s.rides[p[i]].0.lineage.and_then(*from_m, number + i),
                    None => Lineage::of(number + i),
                })
                .collect();
            number += count;
            descents += count;
            let ride = |lineage: Lineage| {
                let made = Arc::new(against.ride(lineage));
                ridden();
                made
            };
            next.into_par_iter().map(ride).collect()
        };
        let mut weights = weights_of(&rides.iter().map(|r| log(r)).collect::<Vec<_>>());
        for _ in 0..MOST_MORE {
            if effective(&weights) >= ENOUGH * count as f64 {
                break;
            }
            rides.extend(more(&source, &mut random));
            weights = weights_of(&rides.iter().map(|r| log(r)).collect::<Vec<_>>());
        }
        if effective(&weights) == 0.0 {
            return Err(at.eye());
        }
        let logs: Vec<f64> = rides.iter().map(|r| log(r)).collect();
        let (weights, larger) = allowed(&logs, ENOUGH * count as f64);
        widened = larger.max(widened);
        let carry = effective(&weights);
        let now = After { rides: rides.iter().cloned().zip(weights).filter(|r| r.1 > 1e-9).collect() };
        let station_m = eyes[at.eye()].station_m;
        if k + 1 < seen.at.len() && carry < LEAST_SHARE * rides.len() as f64 {
            source = Some((now.clone(), station_m));
            since = k + 1;
            rides = more(&source, &mut random);
        }
        after.push(now);
        stations_m.push(station_m);
    }
    Ok(Inferred { after, stations_m, ridden: descents, widened })
}

impl After {
    /// Rides of equal weight that tell as much `[-]`, those counted once that go wrong alike up to a station (m).
    pub(crate) fn effective_up_to(&self, station_m: f64) -> f64 {
        let mut alike: Vec<(Vec<usize>, f64)> = vec![];
        for (ride, weight) in &self.rides {
            let then = ride.lineage.then.iter().filter(|t| t.0 < station_m).map(|t| t.1);
            let key: Vec<usize> = std::iter::once(ride.lineage.first).chain(then).collect();
            match alike.iter_mut().find(|a| a.0 == key) {
                Some(a) => a.1 += weight,
                None => alike.push((key, *weight)),
            }
        }
        effective(&alike.iter().map(|a| a.1).collect::<Vec<_>>())
    }
}

impl Inferred {
    /// The rides that tell of the way up to a station (m): those after the eye behind it and one more. Later eyes say
    /// little of it, and the rides that come through all of them begin with few.
    ///
    /// *Source*: smoothing with a fixed lag, *Kitagawa 1996*.
    pub(crate) fn telling_of(&self, station_m: f64) -> usize {
        let behind = self.stations_m.partition_point(|s| *s < station_m);
        (behind + 1).min(self.after.len().saturating_sub(1))
    }

    /// Least number of equal rides that any stretch between two eyes is told by `[-]`.
    pub fn least_effective(&self) -> f64 {
        let of = |s: &f64| self.after[self.telling_of(*s)].effective_up_to(*s);
        self.stations_m.iter().map(of).fold(f64::INFINITY, f64::min)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_effective_rides_by_hand() {
        // equal ones count; one that carries all is one; 1, 1/2: (3/2)^2 / (5/4)
        assert_eq!(effective(&[0.25; 4]), 4.0);
        assert_eq!(effective(&[1.0, 0.0]), 1.0);
        approx::assert_abs_diff_eq!(effective(&[1.0, 0.5]), 1.8, epsilon = 1e-12); // rounding
        assert_eq!(effective(&[0.0, 0.0]), 0.0);
    }

    #[test]
    fn exact_errors_are_widened_as_far_as_it_takes() {
        let logs = [0.0, -8.0, -8.0, f64::NEG_INFINITY];
        // by hand: weights 1, w, w with (1 + 2 w)^2 / (1 + 2 w^2) = 1.5 for w = 0.12132
        let (weights, factor) = allowed(&logs, 2.0);
        approx::assert_abs_diff_eq!(effective(&weights), 1.5, epsilon = 1e-6); // 60 halvings
        approx::assert_abs_diff_eq!(weights[1] / weights[0], 0.121_32, epsilon = 1e-4);
        approx::assert_abs_diff_eq!(factor, (8.0 / -(0.121_32f64).ln()).sqrt(), epsilon = 1e-3);
        assert_eq!(allowed(&[0.0, -0.1], 1.0).1, 1.0);
    }

    #[test]
    fn exact_rides_are_drawn_by_their_weights() {
        assert_eq!(drawn(&[0.5, 0.25, 0.25, 0.0], 4, 0.5), [0, 0, 1, 2]);
        assert_eq!(drawn(&[0.0, 0.0, 1.0], 3, 0.1), [2, 2, 2]);
    }
}
