//! What a bow does at one place: share of the load outside the screws, static margin, touch and glide.

use crate::analysis::places::Place;
use crate::laws::gravity::STANDARD_GRAVITY_M_S2;
use crate::laws::on_runners::ice_state;
use crate::setup::Setup;
use ice_contact::contact::{ContactSolver, Demand};
use ice_contact::friction::POINTS;
use ice_contact::lateral::{self, GripPoint};
use ice_contact::patches::Contact;
use ice_contact::runner::{Bow, Fault, RunnerSpec};
use ice_contact::tables::direct;

/// What the bows of a pair do at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BowMeasure {
    /// Share of the load outside the bow screws `[-]`, of the runner with the greater one; above one half it bridges.
    pub outside_share: f64,
    /// Distance of the centre of grip behind the centre of mass (m).
    pub static_margin_m: f64,
    /// Length from the first to the last place that touches, mean of both runners (m).
    pub touch_span_m: f64,
    /// Friction of the runners at the speed of the place, going straight: film and ploughing over load `[-]`.
    pub friction: f64,
}

/// Measures one bow, the same at all four screws, at each place; `None` where the contact could not be solved.
///
/// The static margin is that of [`ice_contact::lateral::static_margin_m`] for the places of both runners.
///
/// Valid for: small slip, sled going straight. Assumes: half the load on each runner; no drag of the load
/// forward by braking. Checked by: `exact_measures_are_those_of_contact_and_tables`.
pub fn bow_measures(
    setup: &Setup,
    bow: Bow,
    places: &[Place],
) -> Result<Vec<Option<BowMeasure>>, Vec<Fault>> {
    measures(setup, [bow; 2], places)
}

/// The set-up's own bows at a place, as [`bow_measures`] reckons; `None` where the contact of a runner could not be
/// solved.
pub fn own_measure(setup: &Setup, place: &Place) -> Result<Option<BowMeasure>, Vec<Fault>> {
    let own = [setup.runners.left, setup.runners.right];
    Ok(measures(setup, own, std::slice::from_ref(place))?.into_iter().next().flatten())
}

/// Static margin of a set-up's own bows at a place (m).
///
/// Checked by: `exact_measures_are_those_of_contact_and_tables`.
pub fn static_margin_m(setup: &Setup, place: &Place) -> Result<Option<f64>, Vec<Fault>> {
    Ok(own_measure(setup, place)?.map(|m| m.static_margin_m))
}

fn measures(setup: &Setup, bows: [Bow; 2], places: &[Place]) -> Result<Vec<Option<BowMeasure>>, Vec<Fault>> {
    let pair = setup.runners.pair();
    let left = touches(setup, &pair[0], bows[0], places)?;
    let right = if (&pair[0], bows[0]) == (&pair[1], bows[1]) {
        left.clone()
    } else {
        touches(setup, &pair[1], bows[1], places)?
    };
    let both = |(l, r): (Option<Touched>, Option<Touched>)| {
        let (l, r) = (l?, r?);
        let margin_m =
            lateral::static_margin_m(l.points.iter().chain(&r.points), setup.sled.balance_point_m)?;
        let measure = BowMeasure {
            outside_share: l.outside_share.max(r.outside_share),
            static_margin_m: margin_m,
            touch_span_m: 0.5 * (l.touch_span_m + r.touch_span_m),
            friction: 0.5 * (l.friction + r.friction),
        };
        margin_m.is_finite().then_some(measure)
    };
    Ok(left.into_iter().zip(right).map(both).collect())
}

/// One runner at a place: where it grips, and the rest.
#[derive(Clone, Copy)]
struct Touched {
    points: [GripPoint<f64>; POINTS],
    outside_share: f64,
    touch_span_m: f64,
    friction: f64,
}

fn touches(
    setup: &Setup,
    runner: &RunnerSpec,
    bow: Bow,
    places: &[Place],
) -> Result<Vec<Option<Touched>>, Vec<Fault>> {
    let ice = ice_state(&setup.ice);
    let mut solver = ContactSolver::new(runner, bow, &ice)?;
    let weight_n = STANDARD_GRAVITY_M_S2 * setup.sled.mass_kg();
    places
        .iter()
        .map(|place| {
            let outcome = solver.solve(Demand {
                load_n: 0.5 * place.g_load * weight_n,
                ice_curvature_per_m: place.ice_curvature_per_m,
                centroid_m: setup.sled.balance_point_m,
            });
            if !outcome.is_balanced() {
                return Ok(None);
            }
            let touch = direct(&solver, runner, bow, &ice, place.speed_m_s)?;
            let contact = Contact::of(&solver, runner);
            let load_n: f64 = touch.points.iter().map(|p| p.load_n).sum();
            let plough_n: f64 = touch.points.iter().map(|p| p.plough * p.load_n).sum();
            Ok(Some(Touched {
                points: touch.points,
                outside_share: contact.outside_share,
                touch_span_m: contact.touch_span_m,
                friction: touch.film_friction + plough_n / load_n,
            }))
        })
        .collect()
}
