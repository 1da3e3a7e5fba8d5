//! Values of the quantities of a study in a set-up and a track: read, and put in.

use crate::study::axes::Quantity;
use crate::study::faults::StudyProblem;
use crate::study::levels::Value;
use sled_dynamics::laws::atmosphere::StandardAir;
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys;
use track_geometry::track::Track;

/// Puts a value into the set-up.
pub(crate) fn put_setup(quantity: &Quantity, value: Value, setup: &mut Setup) -> Result<(), StudyProblem> {
    match quantity {
        Quantity::Setup(key) => {
            keys::set(setup, key.path, value.number()).map_err(|f| StudyProblem::Setup(f.problem))
        }
        _ => Ok(()),
    }
}

/// Puts a value into the set-up or the track.
pub(crate) fn put(
    quantity: &Quantity,
    value: Value,
    setup: &mut Setup,
    track: &mut Track,
) -> Result<(), StudyProblem> {
    match quantity {
        Quantity::Track(key) if key.path == "track.altitude_m" => track.data.altitude_m = value.number(),
        Quantity::Track(_) => track.data.latitude_rad = value.number().to_radians(),
        _ => return put_setup(quantity, value, setup),
    }
    Ok(())
}

/// Value of a quantity in a set-up, in the unit of its key; also of those that follow from others.
pub(crate) fn base_value(quantity: &Quantity, track: &Track, setup: &Setup) -> Option<f64> {
    match quantity {
        Quantity::Setup(key) => keys::get(setup, key.path).or_else(|| match key.path {
            "air.pressure_hpa" => Some(StandardAir::at_altitude_m(track.data.altitude_m).pressure_pa / 100.0),
            "push.top_sprint_speed_m_s" => {
                let constants = Constants::new(setup, &track.data);
                let friction = setup.ice.guided_friction;
                let launch = Launch::from_push(&setup.push, track, &constants, friction).ok()?;
                launch.sprint.map(|s| s.top_speed_m_s)
            }
            _ => None,
        }),
        Quantity::Track(key) if key.path == "track.altitude_m" => Some(track.data.altitude_m),
        Quantity::Track(_) => Some(track.data.latitude_rad.to_degrees()),
        Quantity::Skill(_) | Quantity::SkillLevel => None,
    }
}
