//! What a time may be off by beside the steps of its descent: by the tables of the runners and by the plan. Measured on
//! the examples, not for each case; `docs/trust.md` has the measurements. What the model itself does not know is more.

use sled_dynamics::laws::on_runners::OnRunners;
use sled_dynamics::riding::planned_ride::Plan;
use std::sync::Arc;

/// What the tables of the runners may move a time by (s): on two tracks, with two athletes and 1 to 8 mm of bow, finer
/// ones moved planned times by 0.009 s at most, cells of the contact half as long by 0.029 s.
pub const TABLES_S: f64 = 0.03;
/// What a plan from another start may move a planned time by (s).
pub const PLAN_S: f64 = 0.012;
/// What tables and plans of two different bows may move their difference by (s): most of either is alike for
/// neighbours.
pub const TABLES_AND_PLANS_S: f64 = 0.02;
/// What two plans of a sled on the same runners and ice may move their difference by (s): a plan that goes on from
/// another was within 0.0039 s of one from nothing.
pub const PLANS_S: f64 = 0.006;

/// What two planned rides may differ by for no reason but tables and plans (s): each a sled on its runners and its plan.
pub fn of_difference_s(a: (&OnRunners, &Plan), b: (&OnRunners, &Plan)) -> f64 {
    let alike = a.0.tables().iter().zip(&b.0.tables()).all(|(a, b)| Arc::ptr_eq(a, b));
    if !alike {
        TABLES_AND_PLANS_S
    } else if a.1.states != b.1.states {
        PLANS_S
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use sled_dynamics::laws::on_runners::runner_tables;
    use sled_dynamics::setup::Setup;
    use sled_dynamics::setup::keys::set;

    #[test]
    fn exact_only_what_differs_widens_a_difference() {
        // much bow, since its contacts are solved soonest
        let of = |key: &str, value: f64| {
            let mut setup = Setup::with_defaults("sled");
            set(&mut setup, "runners.bow_mm", 8.0).unwrap();
            set(&mut setup, key, value).unwrap();
            OnRunners::new(&setup, runner_tables(&setup).unwrap())
        };
        let plan = |steer: f64| Plan {
            station_m: vec![0.0, 1.0],
            states: vec![[0.0; 7], [0.0, 0.0, 10.0, 0.0, 0.0, steer, steer]],
            controls: vec![[0.0; 3]],
            gains: vec![[0.0; 7]],
        };
        let (light, heavy, flat) =
            (of("sled.ballast_kg", 0.0), of("sled.ballast_kg", 5.0), of("runners.bow_mm", 7.5));
        let (a, b) = (plan(0.0), plan(0.5));
        assert_eq!(of_difference_s((&light, &a), (&heavy, &a)), 0.0);
        assert_eq!(of_difference_s((&light, &a), (&heavy, &b)), PLANS_S);
        assert_eq!(of_difference_s((&light, &a), (&flat, &a)), TABLES_AND_PLANS_S);
    }
}
