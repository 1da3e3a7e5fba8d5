//! A case: one set-up on one track, and how its descent is computed.

use crate::planner::{PlanStatus, plan_ride};
use ice_contact::runner::Fault;
use sled_dynamics::descend::{Course, descend};
use sled_dynamics::descent::Descent;
use sled_dynamics::entry::Entry;
use sled_dynamics::equations::Constants;
use sled_dynamics::guided::guided;
use sled_dynamics::ice::Point;
use sled_dynamics::launch::{Launch, LaunchError};
use sled_dynamics::on_runners::{OnRunners, runner_tables};
use sled_dynamics::pilot::{FirstPilot, HandsOff, Ride};
use sled_dynamics::planned_ride::PlannedRide;
use sled_dynamics::precision::{Detail, Precision};
use sled_dynamics::setup::Setup;
use std::fmt;
use track_geometry::track::Track;

/// Why a case has no descent.
#[derive(Clone, Debug, PartialEq)]
pub enum CaseError {
    /// The push does not fit the track.
    Launch(LaunchError),
    /// The runners or the ice cannot be computed with.
    Runner(Vec<Fault>),
    /// No ride could be planned; in words.
    Plan(String),
}

impl fmt::Display for CaseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            CaseError::Launch(e) => e.fmt(f),
            CaseError::Runner(faults) => {
                let all: Vec<String> = faults.iter().map(ToString::to_string).collect();
                write!(f, "runners: {}", all.join("; "))
            }
            CaseError::Plan(why) => write!(f, "no ride could be planned: {why}"),
        }
    }
}

impl std::error::Error for CaseError {}

impl From<LaunchError> for CaseError {
    fn from(e: LaunchError) -> Self {
        CaseError::Launch(e)
    }
}

/// How a descent is computed.
#[derive(Clone, Debug, PartialEq)]
pub enum Model {
    /// Held on the reference line with constant friction: the classic first estimate.
    Guided,
    /// A point without friction, left to itself.
    FrictionlessPoint,
    /// On real runners.
    Runners(Who),
}

/// Who steers a sled on real runners.
#[derive(Clone, Debug, PartialEq)]
pub enum Who {
    /// The first pilot, who follows the reference line.
    FirstPilot,
    /// Nobody.
    HandsOff,
    /// A ride from a table.
    Ride(Ride),
    /// An athlete who plans the ride, and rides it without error.
    Planned,
}

impl Model {
    /// What a time by this model is called wherever it is shown.
    pub fn label(&self) -> &'static str {
        match self {
            Model::Guided => "guided estimate: held on the reference line, constant friction",
            Model::FrictionlessPoint => "frictionless point, left to itself",
            Model::Runners(Who::FirstPilot) => {
                "on runners, first pilot: follows the reference line, plans nothing"
            }
            Model::Runners(Who::HandsOff) => "on runners, hands off",
            Model::Runners(Who::Ride(_)) => "on runners, ride from a table",
            Model::Runners(Who::Planned) => "on runners, planned ride without error",
        }
    }
}

/// One set-up on one track.
#[derive(Clone, Debug)]
pub struct Case<'a> {
    /// The track.
    pub track: &'a Track,
    /// The set-up.
    pub setup: &'a Setup,
    /// How its descent is computed.
    pub model: Model,
    /// How exactly.
    pub precision: Precision,
    /// What to keep.
    pub detail: Detail,
}

impl Case<'_> {
    /// The descent of this case.
    pub fn descent(&self) -> Result<Descent, CaseError> {
        let constants = Constants::new(self.setup, &self.track.data);
        let friction = self.setup.ice.guided_friction;
        let launch = Launch::from_push(&self.setup.push, self.track, &constants, friction)?;
        let (track, precision, detail) = (self.track, self.precision, self.detail);
        let who = match &self.model {
            Model::Guided => return Ok(guided(track, &constants, &launch, friction, precision, detail)),
            Model::FrictionlessPoint => {
                let ice = Point { friction: 0.0 };
                let course = Course { track, constants: &constants, ice: &ice, pilot: &HandsOff };
                return Ok(descend(&course, &launch, Entry::STRAIGHT, precision, detail));
            }
            Model::Runners(who) => who,
        };
        let tables = runner_tables(self.setup).map_err(CaseError::Runner)?;
        let ice = OnRunners::new(self.setup, tables);
        macro_rules! ridden_by {
            ($pilot:expr) => {{
                let course = Course { track, constants: &constants, ice: &ice, pilot: $pilot };
                descend(&course, &launch, Entry::STRAIGHT, precision, detail)
            }};
        }
        Ok(match who {
            Who::FirstPilot => ridden_by!(&FirstPilot::with_lag(self.setup.pilot.lag_s)),
            Who::HandsOff => ridden_by!(&HandsOff),
            Who::Ride(ride) => ridden_by!(ride),
            Who::Planned => {
                let lag_s = self.setup.pilot.lag_s;
                let planned = plan_ride(track, &constants, &ice, &launch, lag_s, None).map_err(|f| {
                    CaseError::Plan(f.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))
                })?;
                match planned.status {
                    PlanStatus::Found => {}
                    PlanStatus::NeedsHelp { station_m, lacks_m_s2 } => {
                        let place = track
                            .corner_at(station_m)
                            .map_or(String::new(), |i| format!(" (corner {})", track.data.corners[i].name));
                        return Err(CaseError::Plan(format!(
                            "station {station_m:.0} m{place} needs {lacks_m_s2:.2} m/s2 more than this sled can turn"
                        )));
                    }
                    PlanStatus::Failed(why) => return Err(CaseError::Plan(why)),
                }
                let ride =
                    PlannedRide::new(&planned.plan, lag_s).map_err(|e| CaseError::Plan(e.to_string()))?;
                ridden_by!(&ride)
            }
        })
    }
}
