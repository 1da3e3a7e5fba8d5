//! How both runners press on the ice at a station of the planned ride, solved there without tables.

use crate::asked::AskedSetup;
use crate::ridden::{Ridden, ice_curvature_per_m};
use ice_contact::contact::{ContactSolver, Demand};
use ice_contact::patches::Contact;
use serde::Deserialize;
use serde_json::{Value, json};
use sled_dynamics::laws::on_runners::ice_state;
use track_geometry::track::Track;

/// What is asked: a set-up that was ridden, and where.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct AskedContact {
    /// The set-up.
    pub(crate) here: AskedSetup,
    /// The station (m).
    pub(crate) station_m: f64,
}

/// Both runners at the row of the planned ride that is nearest to a station.
pub(crate) fn contact_told(track: &Track, ridden: &Ridden, station_m: f64) -> Result<Value, String> {
    let trace = &ridden.descent.trace;
    let at = trace.partition_point(|s| s.station_m < station_m).min(trace.len().saturating_sub(1));
    let s = trace.get(at).ok_or("this ride has no rows")?;
    let setup = &ridden.sled.setup;
    let curvature_per_m = ice_curvature_per_m(track, &ridden.constants, s);
    let pair = setup.runners.pair();
    let bows = [setup.runners.left, setup.runners.right];
    let ice = ice_state(&setup.ice);
    let runner = |j: usize| -> Option<Value> {
        let mut solver = ContactSolver::new(&pair[j], bows[j], &ice).ok()?;
        let demand = Demand {
            load_n: s.contact.load_n[j],
            ice_curvature_per_m: curvature_per_m,
            centroid_m: setup.sled.balance_point_m,
        };
        // a runner without load touches nothing
        let lies = demand.load_n > 0.0 && demand.load_n.is_finite();
        if !(lies && solver.solve(demand).is_balanced()) {
            return None;
        }
        let c = Contact::of(&solver, &pair[j]);
        let short = |v: f64, digits: f64| (v * digits).round() / digits;
        Some(json!({
            "at_mm": c.points_m.iter().map(|x| short(1e3 * x, 1.0)).collect::<Vec<_>>(),
            "press_n_mm": c.line_load_n_m.iter().map(|q| short(1e-3 * q, 1e3)).collect::<Vec<_>>(),
            "load_n": format!("{:.0}", demand.load_n),
            "span_m": format!("{:.2}", c.touch_span_m),
            "outside_percent": format!("{:.0}", 100.0 * c.outside_share),
            "bridges": c.is_bridging(),
        }))
    };
    let both = &setup.runners.both;
    Ok(json!({
        "station_m": s.station_m,
        "runners": [runner(0), runner(1)],
        "screw_mm": 1e3 * both.screw_m,
        "pin_mm": 1e3 * both.pin_m,
        "tip_mm": 1e3 * both.tip_m,
        "groove_mm": 1e3 * both.groove_start_m,
    }))
}
