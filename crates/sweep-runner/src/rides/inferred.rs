//! Rides that could have made the times of one run: from eye to eye, those that come near are ridden on.
//!
//! ```text
//!   weight of a ride at value k = exp(-1/2 z_k^2),   z = L^-1 (timed - ridden),  C = L L^T
//!   on to the next eye: draw rides by their weights, keep each up to this eye, let new things go wrong from there on
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | timed - ridden | `Seen::values` less those of the ride | s, m/s |
//! | L | `Seen::factor`, of the covariance of the errors | s, m/s |
//!
//! Where those that come near go back to few rides at the eye before, more are ridden to that eye, and what came after it is
//! ridden anew.
//!
//! *Valid for* an athlete whose mistakes are those of the skill. *Assumes* that track, ice and set-up are those of the
//! model but for the stated errors. *Source*: sequential importance sampling with resampling, *Gordon 1993* (*memory*); as
//! many rides as it takes: own. *Checked by* `exact_errors_are_widened_as_far_as_it_takes`, `exact_rides_of_one_parent_count_once`,
//! `plan_inferred_rides_hold_the_planted_one`.

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
mod weights;

pub use agreed::{Figures, OfSection, Spread, agreed, one_more};
use agreed::{planned_sections, section_figures};
pub use weights::effective;
use weights::{allowed, drawn, one_each, weights_of};

/// Rides of equal weight of a section below which nothing is to be told `[-]`: assumed.
pub const LEAST_EFFECTIVE: f64 = 8.0;
/// Errors allowed to be so many times as large as stated, beyond which nothing is to be told `[-]`: assumed.
pub const MOST_WIDENED: f64 = 2.0;
/// Rides of the bank, and of each leg at first.
pub const BANK: usize = 64;
/// More are ridden where those that come near go back to fewer rides of equal weight at the eye before `[-]`: assumed.
const WANTED: f64 = 20.0;
/// Where the rides are used up, errors are allowed to be larger until so many come near `[-]`: assumed.
const AT_LEAST: f64 = 12.0;
/// One leg takes a third of all rides at most: assumed.
const LEGS: usize = 3;
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
    /// The eye by its number.
    pub fn eye(self) -> usize {
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
    /// Log of the likelihood that a value adds to those before it, up to a constant; without end where a ride lacks it.
    fn log(&self, descent: &Descent, value: usize) -> f64 {
        let mut z: Vec<f64> = vec![];
        for (i, at) in self.at.iter().enumerate().take(value + 1) {
            let Some(ridden) = at.of(descent) else { return f64::NEG_INFINITY };
            let before: f64 = z.iter().zip(&self.factor[i]).map(|(z, l)| z * l).sum();
            z.push((self.values[i] - ridden - before) / self.factor[i][i]);
        }
        z.last().map_or(0.0, |z| -0.5 * z * z)
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
    /// How many times the stated errors had to be allowed at each value `[-]`.
    widened: Vec<f64>,
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

/// Rides that no eye has sorted yet; the same bank may serve several runs.
pub fn bank(against: &Against<'_>, count: usize, ridden: &(dyn Fn() + Sync)) -> Vec<Arc<Possible>> {
    let ride = |i: usize| {
        let made = Arc::new(against.ride(Lineage::of(i)));
        ridden();
        made
    };
    (0..count).into_par_iter().map(ride).collect()
}

/// A ride on its way to one eye.
struct Ridden {
    ride: Arc<Possible>,
    /// Which ride after the eye before it was drawn from; its own number up to the first eye.
    parent: usize,
}

/// The rides to one eye, and the rides after the eye before with the station of that eye (m); none up to the first.
struct Leg {
    from: Option<(After, f64)>,
    rides: Vec<Ridden>,
}

impl Leg {
    /// What the next rides to this eye are, and where they are drawn from; `number` is of the first.
    fn next(&self, count: usize, number: usize, start: f64) -> Vec<(Lineage, usize)> {
        let Some((after, from_m)) = &self.from else {
            return (0..count).map(|i| (Lineage::of(number + i), self.rides.len() + i)).collect();
        };
        let weights: Vec<f64> = after.rides.iter().map(|r| r.1).collect();
        let parents = drawn(&weights, count, start).into_iter().enumerate();
        parents.map(|(i, p)| (after.rides[p].0.lineage.and_then(*from_m, number + i), p)).collect()
    }
}

/// Infers rides from a bank. Where those that come near at an eye go back to few at the eye before, as many more are ridden to
/// it, or to the eye before, until it is enough or the rides are used up; then the stated errors are allowed to be larger, as
/// far as it takes. Beyond `most` rides each eye still gets as many as the bank has. The error is the number of an eye at which
/// no ride comes near.
pub fn infer(
    against: &Against<'_>,
    seen: &Seen,
    bank: &[Arc<Possible>],
    most: usize,
    ridden: &(dyn Fn() + Sync),
) -> Result<Inferred, usize> {
    let eyes = &against.rider.prepared.ready.track.data.eyes;
    let stations_m: Vec<f64> = seen.at.iter().map(|at| eyes[at.eye()].station_m).collect();
    let mut random = ChaCha12Rng::seed_from_u64(against.rider.seed);
    random.set_stream(DRAW_STREAM);
    let mut descents = bank.len();
    let mut more = |leg: &mut Leg, count: usize, descents: &mut usize| {
        let next = leg.next(count, FIRST_NUMBER + *descents, random.random::<f64>());
        *descents += count;
        let ride = |(lineage, parent): (Lineage, usize)| {
            let ride = Arc::new(against.ride(lineage));
            ridden();
            Ridden { ride, parent }
        };
        let new: Vec<Ridden> = next.into_par_iter().map(ride).collect();
        leg.rides.extend(new);
    };
    let may_grow =
        |leg: &Leg, descents: usize| leg.rides.len() * LEGS < most && descents + leg.rides.len() <= most;
    let first = bank.iter().enumerate().map(|(i, r)| Ridden { ride: r.clone(), parent: i });
    let mut legs = vec![Leg { from: None, rides: first.collect() }];
    let (mut after, mut widened): (Vec<After>, Vec<f64>) = (vec![], vec![]);
    while after.len() < seen.at.len() {
        let k = after.len();
        let logs: Vec<f64> = legs[k].rides.iter().map(|r| seen.log(&r.ride.descent, k)).collect();
        let parents: Vec<usize> = legs[k].rides.iter().map(|r| r.parent).collect();
        let weights = weights_of(&logs);
        let (own, back) = (effective(&weights), one_each(&parents, &weights));
        // many rides of few parents: more to the eye before
        if back < WANTED && k > 0 && own >= 2.0 * back && may_grow(&legs[k - 1], descents) {
            legs.pop();
            after.pop();
            widened.pop();
            let as_many = legs[k - 1].rides.len();
            more(&mut legs[k - 1], as_many, &mut descents);
            continue;
        }
        if back < WANTED && may_grow(&legs[k], descents) {
            let as_many = legs[k].rides.len();
            more(&mut legs[k], as_many, &mut descents);
            continue;
        }
        if own == 0.0 {
            return Err(seen.at[k].eye());
        }
        let (weights, factor) = allowed(&parents, &logs, AT_LEAST);
        let now = After::of(&legs[k].rides, &weights);
        if k + 1 < seen.at.len() {
            let mut leg = Leg { from: Some((now.clone(), stations_m[k])), rides: vec![] };
            more(&mut leg, bank.len(), &mut descents);
            legs.push(leg);
        }
        after.push(now);
        widened.push(factor);
    }
    Ok(Inferred { after, stations_m, ridden: descents, widened })
}

impl After {
    fn of(rides: &[Ridden], weights: &[f64]) -> After {
        let kept = rides.iter().zip(weights).filter(|r| *r.1 > 1e-9);
        After { rides: kept.map(|(r, w)| (r.ride.clone(), *w)).collect() }
    }

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

    /// How many times the stated errors had to be allowed where rides were scarcest, and at which value `[-]`.
    pub fn widened(&self) -> (f64, usize) {
        let each = self.widened.iter().copied().enumerate();
        each.fold((1.0, 0), |most, (k, factor)| if factor > most.0 { (factor, k) } else { most })
    }

    /// True if enough rides come near for something to be told.
    pub fn tells(&self) -> bool {
        self.least_effective().0 >= LEAST_EFFECTIVE && self.widened().0 <= MOST_WIDENED
    }

    /// Least number of equal rides that any stretch between two eyes is told by `[-]`, and the value at its end.
    pub fn least_effective(&self) -> (f64, usize) {
        let of = |s: &f64| self.after[self.telling_of(*s)].effective_up_to(*s);
        let each = self.stations_m.iter().map(of).enumerate();
        each.fold((f64::INFINITY, 0), |least, (k, n)| if n < least.0 { (n, k) } else { least })
    }
}
