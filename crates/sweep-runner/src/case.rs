//! A case: one set-up on one track, and how its descent is computed.

use sled_dynamics::descend::{Course, Entry, descend};
use sled_dynamics::descent::Descent;
use sled_dynamics::equations::Constants;
use sled_dynamics::guided::guided;
use sled_dynamics::ice::Point;
use sled_dynamics::launch::{Launch, LaunchError};
use sled_dynamics::pilot::HandsOff;
use sled_dynamics::precision::{Detail, Precision};
use sled_dynamics::setup::Setup;
use track_geometry::track::Track;

/// How a descent is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Model {
    /// Held on the reference line with constant friction: the classic first estimate.
    Guided,
    /// A point without friction, left to itself.
    FrictionlessPoint,
}

impl Model {
    /// What a time by this model is called wherever it is shown.
    pub fn label(self) -> &'static str {
        match self {
            Model::Guided => "guided estimate: held on the reference line, constant friction",
            Model::FrictionlessPoint => "frictionless point, left to itself",
        }
    }
}

/// One set-up on one track.
#[derive(Clone, Copy, Debug)]
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
    pub fn descent(&self) -> Result<Descent, LaunchError> {
        let constants = Constants::new(self.setup, &self.track.data);
        let friction = self.setup.ice.guided_friction;
        let launch = Launch::from_push(&self.setup.push, self.track, &constants, friction)?;
        Ok(match self.model {
            Model::Guided => guided(self.track, &constants, &launch, friction, self.precision, self.detail),
            Model::FrictionlessPoint => {
                let ice = Point { friction: 0.0 };
                let course = Course { track: self.track, constants: &constants, ice: &ice, pilot: &HandsOff };
                descend(&course, &launch, Entry::STRAIGHT, self.precision, self.detail)
            }
        })
    }
}
