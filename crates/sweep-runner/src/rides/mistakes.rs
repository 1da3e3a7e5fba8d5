//! The mistakes of rides: drawn from the seed, the number of the ride, the corner and the decision alone.

use crate::rides::prepared::{Attempt, Prepared};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha12Rng;
use rand_distr::{Distribution, StandardNormal};
use sled_dynamics::laws::disturbance::{Disturbance, Kick};
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::athlete::{Athlete, Trouble};
use sled_dynamics::riding::errors_of_ride::{CornerErrors, RideErrors, Skill};
use sled_dynamics::riding::plan_state::FORWARD;
use sled_dynamics::riding::routine::Routine;
use sled_dynamics::setup::{Push, Sprint};

/// The plan's mistakes begin this far before a corner (m): the line into it is steered there.
const BEFORE_M: f64 = 12.0;
/// Mistakes are held to this many standard deviations `[-]`.
const FARTHEST: f64 = 3.0;
/// A missed press is missed for this time (s), assumed.
const MISSED_S: f64 = 0.6;
/// A wrong course is there for this time before an entry (s), assumed.
const WRONG_COURSE_S: f64 = 0.6;
/// Streams of a ride beside that of its mistakes: of the disturbance, and of errors of sight.
const FIELD_STREAM: u64 = 1 << 40;
const SIGHT_STREAM: u64 = 2 << 40;

/// Mistakes of one ride in units of skill: standard normal numbers, and one uniform number a corner for a miss.
#[derive(Clone, Debug, PartialEq)]
pub struct Mistakes {
    /// Place and yaw where the athlete lies down, and start time.
    pub(crate) entry: [f64; 3],
    /// Timing, amount, aim; then the uniform number of a miss, corner by corner.
    pub(crate) corners: Vec<[f64; 4]>,
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

    /// These mistakes made by an athlete of a skill on a planned ride: how it begins and is steered.
    pub(crate) fn on(&self, prepared: &Prepared<'_>, skill: &Skill) -> Attempt {
        let plan = &prepared.planned.plan;
        let speed_m_s = |station_m: f64| {
            let i = plan.station_m.partition_point(|s| *s < station_m).min(plan.states.len() - 1);
            plan.states[i][FORWARD]
        };
        let corners = &prepared.ready.track.data.corners;
        let mut errors: Vec<CornerErrors> = Vec::with_capacity(2 * corners.len());
        for (corner, [timing, amount, _, miss]) in corners.iter().zip(&self.corners) {
            let from_m = corner.entry_m - BEFORE_M;
            let made = CornerErrors {
                from_m,
                late_m: skill.timing_s * timing * speed_m_s(from_m),
                amount: (1.0 + skill.amount * amount).max(0.0),
                aim_m: 0.0,
            };
            if *miss < skill.miss {
                errors.push(CornerErrors { amount: 0.0, ..made });
                errors.push(CornerErrors { from_m: from_m + MISSED_S * speed_m_s(from_m), ..made });
            } else {
                errors.push(made);
            }
        }
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

/// What goes wrong in a corner may begin this far before its entry (m): a wrong course, 1 s at most.
const BEGINS_BEFORE_M: f64 = 45.0;

/// Which numbers a ride takes what goes wrong from: one from the start, others from a station (m) on.
#[derive(Clone, Debug, PartialEq)]
pub struct Lineage {
    /// Number of the ride from the start.
    pub(crate) first: usize,
    /// Stations (m) and numbers, in order.
    pub(crate) then: Vec<(f64, usize)>,
}

impl Lineage {
    /// One ride all the way.
    pub fn of(ride: usize) -> Lineage {
        Lineage { first: ride, then: vec![] }
    }

    /// The same up to a station (m), and what goes wrong in another ride from there on.
    pub fn and_then(&self, from_m: f64, ride: usize) -> Lineage {
        let mut all = self.clone();
        all.then.push((from_m, ride));
        all
    }
}

/// One ride of a set-up by an athlete of a skill; `routine` is the plan as that athlete knows it.
#[derive(Clone, Copy, Debug)]
pub struct Rider<'a> {
    /// Set-up, track and plan.
    pub prepared: &'a Prepared<'a>,
    /// Who rides.
    pub skill: &'a Skill,
    /// What the athlete knows; none rides the plan itself, with its gains.
    pub routine: Option<&'a Routine>,
    /// Seed of all rides.
    pub seed: u64,
}

impl Rider<'_> {
    /// What goes wrong in ride number `ride`, with the errors of its corners.
    pub fn trouble(
        &self,
        routine: &Routine,
        mistakes: &Mistakes,
        ride: usize,
        errors: RideErrors,
    ) -> Trouble {
        let stream = |kind: u64| {
            let mut random = ChaCha12Rng::seed_from_u64(self.seed);
            random.set_stream(kind + ride as u64);
            random
        };
        let (skill, corners) = (self.skill, &self.prepared.ready.track.data.corners);
        let time = self.prepared.nominal_time();
        let mut kicks: Vec<Kick> = corners
            .iter()
            .zip(&mistakes.corners)
            .map(|(corner, made)| {
                // over this way the wrong course leads beside the entry
                let way_m = WRONG_COURSE_S * time.speed_m_s(corner.entry_m);
                let until_m = corner.entry_m - way_m;
                Kick { until_m, turn_rad: skill.aim_m * made[2] / way_m }
            })
            .collect();
        kicks.sort_by(|a, b| a.until_m.total_cmp(&b.until_m));
        let mut field = stream(FIELD_STREAM);
        let mut sight = stream(SIGHT_STREAM);
        let mut seen = |sd: f64| {
            let z: f64 = StandardNormal.sample(&mut sight);
            sd * z.clamp(-FARTHEST, FARTHEST)
        };
        Trouble {
            errors,
            sight: (0..routine.station_m.len())
                .map(|_| [seen(skill.sight_m), seen(skill.sight_rad), seen(skill.sight_rad)])
                .collect(),
            field: Disturbance::draw(skill.disturbance_n_m, self.prepared.ready.setup.ice.rut_factor, || {
                field.random::<f64>()
            })
            .with_kicks(kicks),
        }
    }

    /// The mistakes along a ride that is put together from several.
    pub(crate) fn mistakes(&self, lineage: &Lineage) -> Mistakes {
        let corners = &self.prepared.ready.track.data.corners;
        let of = |ride: usize| Mistakes::draw(self.seed, ride, corners.len());
        let mut mistakes = of(lineage.first);
        for (from_m, ride) in &lineage.then {
            let other = of(*ride);
            for (i, corner) in corners.iter().enumerate() {
                if corner.entry_m - BEGINS_BEFORE_M >= *from_m {
                    mistakes.corners[i] = other.corners[i];
                }
            }
        }
        mistakes
    }

    /// Ride number `ride`.
    pub fn ride(&self, ride: usize, precision: Precision, detail: Detail) -> Descent {
        self.ride_of(&Lineage::of(ride), precision, detail)
    }

    /// A ride that goes wrong as one ride up to a station and as others from there on. Up to there it is that ride.
    pub fn ride_of(&self, lineage: &Lineage, precision: Precision, detail: Detail) -> Descent {
        let mistakes = self.mistakes(lineage);
        let attempt = mistakes.on(self.prepared, self.skill);
        let Some(routine) = self.routine else { return self.prepared.descent(&attempt, precision, detail) };
        let mut trouble = self.trouble(routine, &mistakes, lineage.first, attempt.errors.clone());
        for (from_m, ride) in &lineage.then {
            let other = self.trouble(routine, &mistakes, *ride, RideErrors::default());
            let ahead = routine.station_m.partition_point(|s| s < from_m);
            trouble.sight[ahead..].copy_from_slice(&other.sight[ahead..]);
            trouble.field = trouble.field.then(*from_m, &other.field);
        }
        let athlete = Athlete::new(routine, self.skill, &trouble, self.prepared.nominal_time());
        self.prepared.executed(&athlete, &attempt, precision, detail)
    }
}

/// The plan as an athlete knows it; none for one who makes no mistake, whose ride is the planned one bit for bit.
pub fn routine_of(prepared: &Prepared<'_>, skill: &Skill) -> Option<Routine> {
    if skill.rides_as_planned() { None } else { prepared.routine(skill) }
}
