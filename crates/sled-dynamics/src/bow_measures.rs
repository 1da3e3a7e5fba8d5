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
    let (runner, ice) = (&setup.runners.both, ice_state(&setup.ice));
    let mut solver = ContactSolver::new(runner, bow, &ice)?;
    let weight_n = STANDARD_GRAVITY_M_S2 * setup.sled.mass_kg();
    let balance_point_m = setup.sled.balance_point_m;
    places
        .iter()
        .map(|place| {
            // each place from the start, so that a bow's figures do not hang on the places before
            solver.forget();
            let outcome = solver.solve(Demand {
                load_n: 0.5 * place.g_load * weight_n,
                ice_curvature_per_m: place.ice_curvature_per_m,
                centroid_m: balance_point_m,
            });
            if !outcome.is_balanced() {
                return Ok(None);
            }
            let touch = direct(&solver, runner, bow, &ice, place.speed_m_s)?;
            let (mut sum, mut first) = (0.0, 0.0);
            for p in &touch.points {
                sum += p.stiffness * p.load_n;
                first += p.stiffness * p.load_n * p.at_m;
            }
            let static_margin_m = balance_point_m - first / sum;
            let outside_share = Contact::of(&solver, runner).outside_share;
            Ok(static_margin_m.is_finite().then_some(BowMeasure { outside_share, static_margin_m }))
        })
        .collect()
}
