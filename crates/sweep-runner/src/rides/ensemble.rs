//! Ensembles: the same mistakes tried on one set-up after another.
//!
//! What goes wrong is drawn from the seed, the number of the ride and the corner alone, in units of the athlete's
//! skill; so all set-ups meet the same mistakes (common random numbers), and their differences are told sooner than
//! their means. One ChaCha stream for each ride; results by the number of the ride, whatever the threads.

use crate::rides::mistakes::{Rider, routine_of};
use crate::rides::prepared::{Attempt, Prepared};
use rayon::prelude::*;
use sled_dynamics::motion::descent::{Descent, Loss, Outcome};
use sled_dynamics::motion::precision::{Detail, Pair, Precision};
use sled_dynamics::riding::errors_of_ride::Skill;
use std::ops::Range;

/// Precision of the rides of an ensemble: a plan ridden without error takes 0.05 ms more or less. Presses in steps make
/// some rides with mistakes come out otherwise at every tolerance; medians and shares do not hang on it (3000 club rides
/// with 6 mm of bow: median 56.583 s and 111 lost; by the pair of order 5 at 3e-4 56.590 s and 107, at 1e-6 56.605 s and
/// 118; the sampling error is 0.02 s and 10 rides). The pair is that of order 3, since knots and decisions cut most of
/// the steps: 6,300 evaluations a ride instead of 10,400 of order 5 at 3e-4, which is as exact.
pub const RIDES: Precision = Precision { pair: Pair::Third, tolerance: 1e-3, greatest_step_m: 2.0 };

/// How one ride ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RideRow {
    /// First to last eye (s); none if control was lost.
    pub finish_time_s: Option<f64>,
    /// Times that a wall or a lip was touched.
    pub touches: usize,
    /// Times that a lip was touched.
    pub lip_touches: usize,
    /// Where (m) and how control was lost.
    pub lost: Option<(f64, Loss)>,
}

impl RideRow {
    /// The row of a descent.
    pub(crate) fn of(d: &Descent) -> RideRow {
        RideRow {
            finish_time_s: d.finish_time_s,
            touches: d.touches(),
            lip_touches: d.lip_touches(),
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

#[cfg(test)]
mod tests;
