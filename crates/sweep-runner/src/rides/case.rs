//! A case: one set-up on one track, and how its descent is computed.

use crate::rides::prepared::{Attempt, CaseError, Prepared, Ready};
use sled_dynamics::laws::ice::Point;
use sled_dynamics::motion::course::Course;
use sled_dynamics::motion::descend::descend;
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::guided::guided;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::pilot::{FirstPilot, HandsOff, Ride};
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::setup::Setup;
use track_geometry::track::Track;

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
        let Case { track, setup, precision, detail, .. } = *self;
        let who = match &self.model {
            Model::Runners(who) => who,
            of_a_point => {
                let constants = Constants::new(setup, &track.data);
                let friction = setup.ice.guided_friction;
                let launch = Launch::from_push(&setup.push, track, &constants, friction)?;
                if *of_a_point == Model::Guided {
                    return Ok(guided(track, &constants, &launch, friction, precision, detail));
                }
                let ice = Point { friction: 0.0 };
                let course = Course { track, constants: &constants, ice: &ice, pilot: &HandsOff };
                return Ok(descend(&course, &launch, Entry::STRAIGHT, precision, detail));
            }
        };
        let ready = Ready::new(track, setup)?;
        macro_rules! ridden_by {
            ($pilot:expr) => {{
                let course = Course { track, constants: &ready.constants, ice: &ready.ice, pilot: $pilot };
                descend(&course, &ready.launch, Entry::STRAIGHT, precision, detail)
            }};
        }
        let lag_s = setup.pilot.lag_s;
        Ok(match who {
            Who::FirstPilot => ridden_by!(&FirstPilot::with_lag(lag_s)),
            Who::HandsOff => ridden_by!(&HandsOff),
            Who::Ride(ride) => ridden_by!(ride),
            Who::Planned => {
                let planned = ready.plan(lag_s, None)?;
                Prepared::new(ready, planned, lag_s)?.descent(&Attempt::perfect(), precision, detail)
            }
        })
    }
}
