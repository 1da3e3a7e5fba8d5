//! What a set-up's runners do on the ice of a track: at 1 g on the flat, and in each corner at its own load and
//! ice curvature as a guided descent meets them.

use crate::laws::gravity::STANDARD_GRAVITY_M_S2;
use crate::laws::on_runners::{OnRunners, ice_state};
use crate::laws::state::{State, motion};
use crate::motion::descent::Descent;
use crate::motion::equations::Constants;
use crate::setup::Setup;
use ice_contact::contact::{ContactSolver, Demand, Outcome};
use ice_contact::patches::Contact;
use ice_contact::runner::{Bow, Fault, RunnerSpec};
use track_geometry::track::Track;

/// Where contact is looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Name: "1 g, flat ice" or a corner.
    pub name: String,
    /// Station (m).
    pub station_m: f64,
    /// Load over weight `[-]`.
    pub g_load: f64,
    /// Curvature of the ice along the path (1/m).
    pub ice_curvature_per_m: f64,
    /// Speed (m/s).
    pub speed_m_s: f64,
}

/// Both runners at a place.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceContact {
    /// The place.
    pub place: Place,
    /// Left and right runner; `None` where the contact could not be solved.
    pub runners: [Option<Contact>; 2],
    /// Distance of the centre of grip behind the centre of mass (m).
    pub static_margin_m: f64,
    /// Curvature of the steady path that full steering holds (1/m).
    pub turn_authority_per_m: Option<f64>,
    /// Least bow, at all four screws, at which neither runner bridges here; `None`: no bow up to [`MOST_BOW_M`].
    pub least_clear_bow_m: Option<f64>,
}

/// Greatest bow that is tried (m).
pub const MOST_BOW_M: f64 = 8e-3;
/// Step of the bow that is tried (m).
const BOW_STEP_M: f64 = 1e-4;

/// Flat ice at 1 g.
pub fn flat_place() -> Place {
    Place {
        name: "1 g, flat ice".into(),
        station_m: 0.0,
        g_load: 1.0,
        ice_curvature_per_m: 0.0,
        speed_m_s: 20.0,
    }
}

/// The places of a track: flat ice at 1 g, and the most loaded station of each corner of a guided descent.
pub fn places(track: &Track, constants: &Constants, guided: &Descent) -> Vec<Place> {
    let corners = track.data.corners.iter().filter_map(|c| {
        let inside = guided.trace.iter().filter(|s| c.entry_m <= s.station_m && s.station_m <= c.exit_m);
        let most = inside.max_by(|a, b| a.g_load.total_cmp(&b.g_load))?;
        let at = track.surface.station(most.station_m);
        let state = State {
            offset_m: 0.0,
            yaw_rad: 0.0,
            forward_m_s: most.speed_m_s,
            sideways_m_s: 0.0,
            spin_rad_s: 0.0,
        };
        let m = motion(&at, &at.patch(0.0), &state, constants.gravity_m_s2);
        Some(Place {
            name: format!("corner {}", c.name),
            station_m: most.station_m,
            g_load: most.g_load,
            ice_curvature_per_m: m.ice_curvature_per_m(),
            speed_m_s: most.speed_m_s,
        })
    });
    std::iter::once(flat_place()).chain(corners).collect()
}

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
                static_margin_m: on_runners.static_margin_m(load_n, k),
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
