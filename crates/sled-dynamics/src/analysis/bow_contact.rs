//! What a set-up's runners do at places of a track: touch, static margin, turn authority, least bow that clears.

use crate::analysis::bow_measures::own_measure;
use crate::analysis::places::Place;
use crate::laws::gravity::STANDARD_GRAVITY_M_S2;
use crate::laws::on_runners::{OnRunners, ice_state};
use crate::motion::equations::Constants;
use crate::setup::Setup;
use ice_contact::contact::{ContactSolver, Demand, Outcome};
use ice_contact::patches::Contact;
use ice_contact::runner::{Bow, Fault, RunnerSpec};

/// Both runners at a place.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceContact {
    /// The place.
    pub place: Place,
    /// Left and right runner; `None` where the contact could not be solved.
    pub runners: [Option<Contact>; 2],
    /// Distance of the centre of grip behind the centre of mass (m), solved without tables; `None` where the contact
    /// could not be solved.
    pub static_margin_m: Option<f64>,
    /// The same by the tables that descents go by.
    pub table_static_margin_m: Option<f64>,
    /// Curvature of the steady path that full steering holds (1/m).
    pub turn_authority_per_m: Option<f64>,
    /// Least bow, at all four screws, at which neither runner bridges here; `None`: no bow up to [`MOST_BOW_M`].
    pub least_clear_bow_m: Option<f64>,
}

/// Greatest bow that is tried (m).
pub const MOST_BOW_M: f64 = 8e-3;
/// Step of the bow that is tried (m).
const BOW_STEP_M: f64 = 1e-4;

fn solved(
    setup: &Setup,
    runner: &RunnerSpec,
    bow: Bow,
    demand: Demand,
) -> Result<Option<Contact>, Vec<Fault>> {
    let mut solver = ContactSolver::new(runner, bow, &ice_state(&setup.ice))?;
    let outcome: Outcome = solver.solve(demand);
    Ok(outcome.is_balanced().then(|| Contact::of(&solver, runner)))
}

/// Both runners of a set-up at each place.
pub fn bow_contact(
    setup: &Setup,
    constants: &Constants,
    on_runners: &OnRunners,
    places: &[Place],
) -> Result<Vec<PlaceContact>, Vec<Fault>> {
    places
        .iter()
        .map(|place| {
            let load_n = place.g_load * STANDARD_GRAVITY_M_S2 * constants.mass_kg;
            let demand = Demand {
                load_n: 0.5 * load_n,
                ice_curvature_per_m: place.ice_curvature_per_m,
                centroid_m: setup.sled.balance_point_m,
            };
            let k = place.ice_curvature_per_m;
            // whether a bow clears is not monotone for certain, so every step is tried
            let steps = (MOST_BOW_M / BOW_STEP_M).round() as usize;
            let mut least_clear_bow_m = None;
            let pair = setup.runners.pair();
            let alike = pair[0] == pair[1];
            let clears = |runner: &RunnerSpec, bow: Bow| -> Result<bool, Vec<Fault>> {
                Ok(solved(setup, runner, bow, demand)?.is_some_and(|c| !c.is_bridging()))
            };
            for i in 0..=steps {
                let even = Bow::even(i as f64 * BOW_STEP_M);
                if clears(&pair[0], even)? && (alike || clears(&pair[1], even)?) {
                    least_clear_bow_m = Some(even.front_m);
                    break;
                }
            }
            Ok(PlaceContact {
                runners: [
                    solved(setup, &pair[0], setup.runners.left, demand)?,
                    solved(setup, &pair[1], setup.runners.right, demand)?,
                ],
                static_margin_m: own_measure(setup, place)?.map(|m| m.static_margin_m),
                table_static_margin_m: on_runners.table_static_margin_m(load_n, k),
                turn_authority_per_m: on_runners.turn_authority_per_m(
                    load_n,
                    k,
                    place.speed_m_s,
                    constants.mass_kg,
                ),
                least_clear_bow_m,
                place: place.clone(),
            })
        })
        .collect()
}
