//! Ensembles: the same mistakes tried on one set-up after another.
//!
//! What goes wrong is drawn from the seed, the number of the ride and the corner alone, in units of the athlete's
//! skill; so all set-ups meet the same mistakes (common random numbers), and their differences are told sooner than
//! their means. One ChaCha stream for each ride; results by the number of the ride, whatever the threads.

use crate::prepared::{Attempt, Prepared};
use rand::SeedableRng;
use rand_chacha::ChaCha12Rng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;
use sled_dynamics::descent::{Loss, Outcome};
use sled_dynamics::entry::Entry;
use sled_dynamics::errors_of_ride::{CornerErrors, RideErrors, Skill};
use sled_dynamics::precision::{Detail, Precision};
use sled_dynamics::setup::{Push, Sprint};
use std::ops::Range;

/// Precision of the rides of an ensemble: their finish time is good to about 0.01 ms without walls.
pub const RIDES: Precision = Precision { tolerance: 1e-5, greatest_step_m: 2.0 };
/// The plan's mistakes begin this far before a corner (m): the line into it is steered there.
const BEFORE_M: f64 = 12.0;
/// Mistakes are held to this many standard deviations `[-]`.
const FARTHEST: f64 = 3.0;

/// Mistakes of one ride in units of skill: standard normal numbers, and one uniform number a corner for a miss.
#[derive(Clone, Debug, PartialEq)]
pub struct Mistakes {
    /// Place and yaw where the athlete lies down, and start time.
    pub entry: [f64; 3],
    /// Timing, amount, aim; then the uniform number of a miss, corner by corner.
    pub corners: Vec<[f64; 4]>,
}

impl Mistakes {
    /// The mistakes of ride number `ride`.
    pub fn draw(seed: u64, ride: usize, corners: usize) -> Mistakes {
        let mut random = ChaCha12Rng::seed_from_u64(seed);
        random.set_stream(ride as u64);
        let mut normal = || {
            let z: f64 = StandardNormal.sample(&mut random);
            z.clamp(-FARTHEST, FARTHEST)
        };
        let entry = [normal(), normal(), normal()];
        let corners = (0..corners)
            .map(|_| {
                let [timing, amount, aim, miss] = [normal(), normal(), normal(), normal()];
                // a uniform number from a normal one, so that each corner takes the same from the stream
                [timing, amount, aim, 0.5 * libm::erfc(miss / std::f64::consts::SQRT_2)]
            })
            .collect();
        Mistakes { entry, corners }
    }

    /// These mistakes made by an athlete of a skill on a planned ride.
    pub fn on(&self, prepared: &Prepared<'_>, skill: &Skill) -> Attempt {
        let plan = &prepared.planned.plan;
        let speed_m_s = |station_m: f64| {
            let i = plan.station_m.partition_point(|s| *s < station_m).min(plan.states.len() - 1);
            plan.states[i][2]
        };
        let corners = &prepared.ready.track.data.corners;
        let mut errors: Vec<CornerErrors> = corners
            .iter()
            .zip(&self.corners)
            .map(|(corner, [timing, amount, aim, miss])| {
                let from_m = corner.entry_m - BEFORE_M;
                CornerErrors {
                    from_m,
                    late_m: skill.timing_s * timing * speed_m_s(from_m),
                    amount: if *miss < skill.miss { 0.0 } else { (1.0 + skill.amount * amount).max(0.0) },
                    aim_m: skill.aim_m * aim,
                }
            })
            .collect();
        errors.sort_by(|a, b| a.from_m.total_cmp(&b.from_m));
        let [offset, yaw, start] = self.entry;
        Attempt {
            entry: Entry {
                offset_m: skill.entry_m * offset,
                yaw_rad: skill.entry_yaw_rad * yaw,
                extra_spin_rad_s: 0.0,
            },
            errors: RideErrors(errors),
            push: slower(&prepared.ready.setup.push, prepared, skill.start_s * start),
        }
    }
}

/// The push with a start that takes about `late_s` longer: the sprint's top speed falls in proportion.
fn slower(push: &Push, prepared: &Prepared<'_>, late_s: f64) -> Option<Push> {
    let top = prepared.ready.launch.sprint.as_ref()?.top_speed_m_s;
    let eyes = &prepared.ready.track.data.eyes;
    let start_s = match push.sprint {
        Sprint::StartTime(t) => t,
        Sprint::TopSpeed(v) => (eyes.get(1)?.station_m - eyes.first()?.station_m) / v,
    };
    (late_s != 0.0).then(|| Push { sprint: Sprint::TopSpeed(top * (1.0 - late_s / start_s)), ..push.clone() })
}

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

/// One ride of an ensemble.
pub fn one_ride(
    prepared: &Prepared<'_>,
    skill: &Skill,
    seed: u64,
    ride: usize,
    precision: Precision,
) -> RideRow {
    let mistakes = Mistakes::draw(seed, ride, prepared.ready.track.data.corners.len());
    let d = prepared.descent(&mistakes.on(prepared, skill), precision, Detail::Bare);
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
    numbers.into_par_iter().map(|ride| one_ride(prepared, skill, seed, ride, precision)).collect()
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
