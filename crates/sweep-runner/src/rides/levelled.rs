//! Split times in a millisecond: the guided estimate, brought to the level of a planned ride section by section.
//!
//! ```text
//!   section k :  t_k = q_k g_k(mu, K, v),    q_k = planned time / guided time of the section, for the set-up itself
//!   friction  :  mu = f mu_e,   mu_e: a little more friction costs the guided sled as much time as the planned ride
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | f | `friction_factor` over that of the set-up | - |
//! | K | `drag_kg_per_m`, from `drag_area_m2` and the air of the run | kg/m |
//! | v | `entry_speed_m_s`, after the leap | m/s |
//! | g | guided time of a section | s |
//!
//! *Valid for* sleds near the set-up: within some 30 % of its friction and drag. *Assumes* that the line, and with it
//! `q`, does not change with friction, drag, entry speed or weather. On ice of another temperature `mu_e` is the one
//! that gives the time of the ride there. *Source*: the guided estimate; factors from planned descents. *Checked by* `exact_levelled_is_the_planned_ride_at_the_set_up`,
//! `order_levelled_follows_the_planned_ride`.

use numerics::roots::brent;
use sled_dynamics::laws::sprint::SprintLaw;
use sled_dynamics::motion::descent::{Descent, Outcome, Split};
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::guided::guided;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::precision::{Detail, Pair, Precision};
use sled_dynamics::setup::Setup;
use track_geometry::track::Track;

/// Precision of the guided estimate: difference quotients are taken of it.
const PRECISION: Precision = Precision { pair: Pair::Fifth, tolerance: 1e-9, greatest_step_m: 2.0 };
/// Greatest friction that is looked for `[-]`.
const MOST_FRICTION: f64 = 0.1;
/// Slowest and fastest top speed of a sprint that is looked for (m/s).
const TOP_SPEEDS_M_S: (f64, f64) = (1.0, 30.0);

/// What is known of one run beside its times.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Conditions {
    /// Temperature of the ice (degC); the set-up's where there is none.
    pub ice_c: Option<f64>,
    /// Temperature of the air (degC); likewise.
    pub air_c: Option<f64>,
    /// Athlete, sled and ballast (kg); likewise.
    pub mass_kg: Option<f64>,
}

/// What may differ from the set-up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Levels {
    /// As `ice.friction_factor` `[-]`.
    pub friction_factor: f64,
    /// As `air.drag_area_m2` (m2).
    pub drag_area_m2: f64,
    /// Speed after the leap (m/s).
    pub entry_speed_m_s: f64,
}

/// A section of a run and the speed at its end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectionTime {
    /// Time from the eye before, or 0 for the first (s).
    pub time_s: f64,
    /// Speed at the eye (m/s).
    pub speed_m_s: f64,
}

/// The guided estimate at the level of a planned ride.
#[derive(Clone, Debug)]
pub struct Levelled {
    setup: Setup,
    /// Stations of the eyes that the factors belong to (m).
    stations_m: Vec<f64>,
    /// Planned over guided: time of the section that ends at an eye, and speed there `[-]`.
    factors: Vec<[f64; 2]>,
    /// Temperature of the ice (degC) and equivalent friction `[-]`, temperatures rising.
    frictions: Vec<(f64, f64)>,
}

/// Why the estimate cannot be brought to a ride.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LevelledError {
    /// The ride did not finish.
    #[error("the planned ride of the set-up does not finish")]
    NotFinished,
    /// No friction of a guided sled goes with the ride.
    #[error("no friction of the guided estimate goes with the ride on ice of {ice_c} degC")]
    Friction {
        /// Temperature of the ice (degC).
        ice_c: f64,
    },
}

/// A planned ride, and the same ride on ice with a little more friction.
#[derive(Clone, Debug)]
pub struct Ridden {
    /// The ride.
    pub own: Descent,
    /// The same steering with friction [`MORE_FRICTION`] times that of the set-up.
    pub slower: Descent,
}

/// Little more friction `[-]`: a planned ride without error bears it.
pub const MORE_FRICTION: f64 = 1.02;

/// Time from the first eye to the last of a guided sled (s).
fn guided_s(track: &Track, constants: &Constants, launch: &Launch, friction: f64) -> Option<f64> {
    guided(track, constants, launch, friction, PRECISION, Detail::Bare).finish_time_s
}

impl Levelled {
    /// From the planned ride of a set-up, and rides on ice of other temperatures (degC).
    pub fn new(
        track: &Track,
        setup: &Setup,
        launch: &Launch,
        ridden: &Ridden,
        others: &[(f64, Descent)],
    ) -> Result<Levelled, LevelledError> {
        let constants = Constants::new(setup, &track.data);
        let (Some(own_s), Some(slower_s)) = (ridden.own.finish_time_s, ridden.slower.finish_time_s) else {
            return Err(LevelledError::NotFinished);
        };
        let ice_c = setup.ice.temperature_c;
        let time_s = |friction: f64| guided_s(track, &constants, launch, friction);
        let costs_s = |friction: f64| Some(time_s(MORE_FRICTION * friction)? - time_s(friction)?);
        // a sled that halts would have lost more than any ride
        let friction = brent(0.0, MOST_FRICTION, 1e-10, |friction| {
            costs_s(friction).map_or(1e3, |s| s - (slower_s - own_s))
        });
        let friction = friction.ok_or(LevelledError::Friction { ice_c })?;
        let estimate = guided(track, &constants, launch, friction, PRECISION, Detail::Bare);
        if estimate.splits.len() != ridden.own.splits.len() {
            return Err(LevelledError::NotFinished);
        }
        let factors = sections(&ridden.own.splits)
            .zip(sections(&estimate.splits))
            .map(|(r, e)| {
                let time = if e.time_s > 0.0 { r.time_s / e.time_s } else { 1.0 };
                [time, r.speed_m_s / e.speed_m_s]
            })
            .collect();
        let stations_m = ridden.own.splits.iter().map(|s| s.station_m).collect();
        let mut made =
            Levelled { setup: setup.clone(), stations_m, factors, frictions: vec![(ice_c, friction)] };
        for (ice_c, other) in others {
            let wanted_s = other.finish_time_s.ok_or(LevelledError::NotFinished)?;
            let found = brent(0.0, MOST_FRICTION, 1e-10, |friction| {
                let descent = guided(track, &constants, launch, friction, PRECISION, Detail::Bare);
                if descent.outcome != Outcome::Finished {
                    return 1e3;
                }
                made.at_level(&descent).iter().map(|part| part.time_s).sum::<f64>() - wanted_s
            });
            made.frictions.push((*ice_c, found.ok_or(LevelledError::Friction { ice_c: *ice_c })?));
        }
        made.frictions.sort_by(|a, b| a.0.total_cmp(&b.0));
        Ok(made)
    }

    /// Sections of a guided descent, brought to the level of the ride.
    fn at_level(&self, descent: &Descent) -> Vec<SectionTime> {
        let all = sections(&descent.splits).zip(&descent.splits).map(|(part, split)| {
            let [time, speed] = self.factors[self.section(split.station_m)];
            SectionTime { time_s: time * part.time_s, speed_m_s: speed * part.speed_m_s }
        });
        all.collect()
    }

    /// Planned over guided time of each section after the first eye `[-]`.
    pub fn time_factors(&self) -> Vec<f64> {
        self.factors.iter().skip(1).map(|f| f[0]).collect()
    }

    /// Friction of a guided sled that loses as much to ice of a temperature (degC) `[-]`: straight between the
    /// temperatures that were ridden, level beyond.
    pub(crate) fn friction(&self, ice_c: f64) -> f64 {
        let [first, .., last] = self.frictions.as_slice() else {
            return self.frictions.first().map_or(0.0, |f| f.1);
        };
        let at = ice_c.clamp(first.0, last.0);
        let next = self.frictions.partition_point(|f| f.0 < at).clamp(1, self.frictions.len() - 1);
        let ((a, x), (b, y)) = (self.frictions[next - 1], self.frictions[next]);
        if b > a { x + (y - x) * (at - a) / (b - a) } else { x }
    }

    /// Which section of the ridden track a station lies in: that of the eye at or behind it.
    pub fn section(&self, station_m: f64) -> usize {
        self.stations_m.partition_point(|s| *s < station_m - 1e-6).min(self.stations_m.len() - 1)
    }

    /// Sections of a run; the track may have more eyes than the one that was ridden. `None` where the sled halts or no
    /// sprint leads to the entry speed.
    pub fn sections(&self, track: &Track, run: &Conditions, levels: &Levels) -> Option<Vec<SectionTime>> {
        let mut setup = self.setup.clone();
        setup.air.drag_area_m2 = levels.drag_area_m2;
        setup.air.temperature_c = run.air_c.unwrap_or(setup.air.temperature_c);
        let mut constants = Constants::new(&setup, &track.data);
        constants.mass_kg = run.mass_kg.unwrap_or(constants.mass_kg);
        let friction = self.friction(run.ice_c.unwrap_or(setup.ice.temperature_c)) * levels.friction_factor
            / setup.ice.friction_factor;
        let fine = friction > 0.0 && levels.drag_area_m2 > 0.0 && levels.entry_speed_m_s > 0.0;
        let launch = entered(&setup, levels.entry_speed_m_s).filter(|_| fine)?;
        let descent = guided(track, &constants, &launch, friction, PRECISION, Detail::Bare);
        if descent.outcome != Outcome::Finished {
            return None;
        }
        Some(self.at_level(&descent))
    }
}

fn sections(splits: &[Split]) -> impl Iterator<Item = SectionTime> + '_ {
    splits.iter().enumerate().map(|(i, s)| SectionTime {
        time_s: if i == 0 { 0.0 } else { s.split_time_s - splits[i - 1].split_time_s },
        speed_m_s: s.speed_m_s,
    })
}

/// The launch with a speed after the leap.
fn entered(setup: &Setup, entry_speed_m_s: f64) -> Option<Launch> {
    let push = &setup.push;
    let of = |top_speed_m_s: f64| SprintLaw { top_speed_m_s, time_constant_s: push.time_constant_s };
    let speed = |top: f64| of(top).speed_at_m_s(push.load_station_m) - push.load_loss_m_s;
    let top = brent(TOP_SPEEDS_M_S.0, TOP_SPEEDS_M_S.1, 1e-12, |top| speed(top) - entry_speed_m_s)?;
    let law = of(top);
    let time_s = law.time_at_s(push.load_station_m);
    Some(Launch { station_m: push.load_station_m, time_s, speed_m_s: entry_speed_m_s, sprint: Some(law) })
}
