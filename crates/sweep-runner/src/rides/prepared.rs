//! One set-up on one track made ready for many descents: constants, launch, tables of the runners, planned ride.

use crate::rides::planner::{Planned, onward, plan_ride};
use ice_contact::runner::Fault;
use ice_contact::tables::RunnerTable;
use sled_dynamics::laws::disturbance::NominalTime;
use sled_dynamics::laws::on_runners::{OnRunners, runner_tables};
use sled_dynamics::motion::course::Course;
use sled_dynamics::motion::descend::descend;
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::pilot::Steering;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::motion::push::LaunchError;
use sled_dynamics::riding::errors_of_ride::{RideErrors, Skill};
use sled_dynamics::riding::planned_ride::{Plan, PlannedRide};
use sled_dynamics::riding::routine::{Onward, Routine};
use sled_dynamics::setup::{Push, Setup};
use std::sync::{Arc, OnceLock};
use track_geometry::track::Track;

/// Why a case has no descent.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CaseError {
    /// The push does not fit the track.
    #[error(transparent)]
    Launch(#[from] LaunchError),
    /// The runners or the ice cannot be computed with.
    #[error("runners: {}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Runner(Vec<Fault>),
    /// No ride could be planned; in words.
    #[error("no ride could be planned: {0}")]
    Plan(String),
}

/// A set-up on a track with its runners' tables, before any plan.
#[derive(Clone, Debug)]
pub struct Ready<'a> {
    /// The track.
    pub track: &'a Track,
    /// The set-up.
    pub setup: &'a Setup,
    /// Masses, gravity, air.
    pub constants: Constants,
    /// The moment the athlete lies on the sled.
    pub launch: Launch,
    /// The sled on its runners.
    pub ice: OnRunners,
}

impl<'a> Ready<'a> {
    /// Solves the contact of the runners and the push.
    pub fn new(track: &'a Track, setup: &'a Setup) -> Result<Ready<'a>, CaseError> {
        Ready::on(track, setup, runner_tables(setup).map_err(CaseError::Runner)?)
    }

    /// Solves the push alone: the tables are those of a set-up with the same runners, bows and ice.
    pub fn on(
        track: &'a Track,
        setup: &'a Setup,
        tables: [Arc<RunnerTable>; 2],
    ) -> Result<Ready<'a>, CaseError> {
        let constants = Constants::new(setup, &track.data);
        let launch = Launch::from_push(&setup.push, track, &constants, setup.ice.guided_friction)?;
        Ok(Ready { track, setup, constants, launch, ice: OnRunners::new(setup, tables) })
    }

    /// Plans the ride of an athlete with a reaction lag, from a neighbour's plan if there is one.
    pub fn plan(&self, lag_s: f64, neighbour: Option<&Plan>) -> Result<Planned, CaseError> {
        plan_ride(self.track, &self.constants, &self.ice, &self.launch, lag_s, neighbour)
            .map_err(|f| CaseError::Plan(f.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")))
    }
}

/// A set-up on a track with the ride that was planned for it.
#[derive(Clone, Debug)]
pub struct Prepared<'a> {
    /// Set-up, track and tables.
    pub ready: Ready<'a>,
    /// The plan, and how it came out.
    pub planned: Planned,
    /// The planned ride without error.
    pub ride: PlannedRide,
    /// How deviations from the plan go on, once an athlete has asked.
    onward: OnceLock<Option<Vec<Onward>>>,
    /// The nominal time of the track, likewise.
    time: OnceLock<NominalTime>,
}

/// One attempt at a planned ride: what goes wrong in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Attempt {
    /// Where and how the athlete lies down.
    pub(crate) entry: Entry,
    /// Errors corner by corner.
    pub(crate) errors: RideErrors,
    /// The push, where it is not that of the set-up.
    pub(crate) push: Option<Push>,
}

impl Attempt {
    /// Nothing goes wrong.
    pub fn perfect() -> Attempt {
        Attempt { entry: Entry::STRAIGHT, errors: RideErrors::default(), push: None }
    }
}

impl<'a> Prepared<'a> {
    /// Makes a plan ready to be ridden; an error says in words why there is no ride.
    pub fn new(ready: Ready<'a>, planned: Planned, lag_s: f64) -> Result<Prepared<'a>, CaseError> {
        if let Some(why) = planned.status.why_not(ready.track) {
            return Err(CaseError::Plan(why));
        }
        let ride = PlannedRide::new(&planned.plan, lag_s).map_err(|e| CaseError::Plan(e.to_string()))?;
        Ok(Prepared { ready, planned, ride, onward: OnceLock::new(), time: OnceLock::new() })
    }

    /// The same set-up with another ride.
    pub(crate) fn with_ride(&self, ride: PlannedRide) -> Prepared<'a> {
        Prepared { ride, ..self.clone() }
    }

    /// One descent of the planned ride.
    pub fn descent(&self, attempt: &Attempt, precision: Precision, detail: Detail) -> Descent {
        let ride = self.ride.with_errors(attempt.errors.clone());
        self.executed(&ride, attempt, precision, detail)
    }

    /// The plan as an athlete of a skill knows it; `None` where the sled cannot follow its plan.
    pub fn routine(&self, skill: &Skill) -> Option<Routine> {
        let Ready { track, constants, launch, ice, .. } = &self.ready;
        let plan = &self.planned.plan;
        let lag_s = self.ride.lag_s();
        let onward = self.onward.get_or_init(|| onward(track, constants, ice, launch, lag_s, plan));
        Routine::new(plan, onward.as_ref()?, &Skill { lag_s, ..*skill })
    }

    /// The nominal time of the track.
    pub fn nominal_time(&self) -> &NominalTime {
        self.time.get_or_init(|| NominalTime::new(self.ready.track))
    }

    /// One descent by a ride or an athlete, with the entry and the push of an attempt.
    pub fn executed<P: Steering>(
        &self,
        pilot: &P,
        attempt: &Attempt,
        precision: Precision,
        detail: Detail,
    ) -> Descent {
        let Ready { track, constants, launch, ice, .. } = &self.ready;
        let course = Course { track, constants, ice, pilot };
        // a push that fits no launch is that of the set-up: its load station is the same
        let friction = self.ready.setup.ice.guided_friction;
        let other = attempt.push.as_ref().and_then(|p| Launch::from_push(p, track, constants, friction).ok());
        descend(&course, other.as_ref().unwrap_or(launch), attempt.entry, precision, detail)
    }
}
