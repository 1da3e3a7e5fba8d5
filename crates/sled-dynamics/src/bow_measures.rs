//! What a bow does at one place: share of the load outside the screws, and static margin.

use crate::bow_contact::Place;
use crate::gravity::STANDARD_GRAVITY_M_S2;
use crate::on_runners::ice_state;
use crate::setup::Setup;
use ice_contact::contact::{ContactSolver, Demand};
use ice_contact::patches::Contact;
use ice_contact::runner::{Bow, Fault};
use ice_contact::tables::direct;

/// What one bow, the same at all four screws, does at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BowMeasure {
    /// Share of the load outside the bow screws `[-]`; above one half the runner bridges.
    pub outside_share: f64,
    /// Distance of the centre of grip behind the centre of mass (m).
    pub static_margin_m: f64,
}

/// Measures one bow at each place; `None` where the contact could not be solved.
///
/// ```text
/// static margin = x_cm - sum(k N x) / sum(k N)
/// ```
///
/// | symbol | meaning | unit |
/// |---|---|---|
/// | x_cm | balance point of sled and athlete ahead of the middle | m |
/// | k N | stiffness of the grip of a stretch of contact: per unit of slip, over load, times load | N |
/// | x | where that stretch is | m |
///
/// Valid for: small slip, sled going straight. Assumes: both runners alike, half the load each; no drag of the load
/// forward by braking. Source: static margin as in the stability of vehicles; the grip is `ice_contact::lateral`.
/// Checked by: `exact_measures_are_those_of_contact_and_tables`.
pub fn bow_measures(
    setup: &Setup,
    bow: Bow,
    places: &[Place],
) -> Result<Vec<Option<BowMeasure>>, Vec<Fault>> {
    let measure = |(grip, outside_share): (Grip, f64)| {
        let static_margin_m = setup.sled.balance_point_m - grip.first_n_m / grip.sum_n;
        static_margin_m.is_finite().then_some(BowMeasure { outside_share, static_margin_m })
    };
    Ok(grips(setup, bow, places)?.into_iter().map(|g| g.and_then(measure)).collect())
}

/// Static margin of a set-up's own bows at a place (m), as [`bow_measures`] reckons it; `None` where the contact of a
/// runner could not be solved.
///
/// Checked by: `exact_measures_are_those_of_contact_and_tables`.
pub fn static_margin_m(setup: &Setup, place: &Place) -> Result<Option<f64>, Vec<Fault>> {
    let place = std::slice::from_ref(place);
    let (mut sum_n, mut first_n_m) = (0.0, 0.0);
    for bow in [setup.runners.left, setup.runners.right] {
        let Some((grip, _)) = grips(setup, bow, place)?.into_iter().next().flatten() else { return Ok(None) };
        sum_n += grip.sum_n;
        first_n_m += grip.first_n_m;
    }
    Ok(Some(setup.sled.balance_point_m - first_n_m / sum_n).filter(|m| m.is_finite()))
}

/// Grip of one runner: per unit of slip, and its moment about the middle.
struct Grip {
    sum_n: f64,
    first_n_m: f64,
}

/// Grip and share outside the screws of one runner at each place.
fn grips(setup: &Setup, bow: Bow, places: &[Place]) -> Result<Vec<Option<(Grip, f64)>>, Vec<Fault>> {
    let (runner, ice) = (&setup.runners.both, ice_state(&setup.ice));
    let mut solver = ContactSolver::new(runner, bow, &ice)?;
    let weight_n = STANDARD_GRAVITY_M_S2 * setup.sled.mass_kg();
    places
        .iter()
        .map(|place| {
            // each place from the start, so that a bow's figures do not hang on the places before
            solver.forget();
            let outcome = solver.solve(Demand {
                load_n: 0.5 * place.g_load * weight_n,
                ice_curvature_per_m: place.ice_curvature_per_m,
                centroid_m: setup.sled.balance_point_m,
            });
            if !outcome.is_balanced() {
                return Ok(None);
            }
            let touch = direct(&solver, runner, bow, &ice, place.speed_m_s)?;
            let mut grip = Grip { sum_n: 0.0, first_n_m: 0.0 };
            for p in &touch.points {
                grip.sum_n += p.stiffness * p.load_n;
                grip.first_n_m += p.stiffness * p.load_n * p.at_m;
            }
            Ok(Some((grip, Contact::of(&solver, runner).outside_share)))
        })
        .collect()
}
