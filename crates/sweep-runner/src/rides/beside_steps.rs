//! What a time may be off by beside the steps of its descent: by the tables of the runners and by the plan. Measured on
//! the examples, not for each case; `docs/trust.md` has the measurements. What the model itself does not know is more.

use sled_dynamics::laws::on_runners::OnRunners;
use sled_dynamics::riding::planned_ride::Plan;
use sled_dynamics::setup::Setup;
use std::sync::Arc;

/// What the tables of the runners may move a time by (s): on two tracks, with two athletes and 1 to 8 mm of bow, finer
/// ones moved planned times by 0.009 s at most, cells of the contact half as long by 0.029 s.
pub const TABLES_S: f64 = 0.03;
/// What a plan from another start may move a planned time by (s).
pub const PLAN_S: f64 = 0.014;
/// What tables and plans of two different bows may move their difference by (s): most of either is alike for
/// neighbours.
pub const TABLES_AND_PLANS_S: f64 = 0.02;
/// What two plans of a sled on the same runners and ice may move their difference by (s): a plan that goes on from
/// another was within 0.0013 s of it.
pub const PLANS_S: f64 = 0.006;

/// From this bow on (m) rides with mistakes hang on the plan, ...
const MUCH_BOW_M: f64 = 0.005;
/// ... and their median by so much for each metre more (s/m), twice a standard deviation: nine plans of one set-up from
/// several starts, 400 club rides each, two tracks, two athletes. Their standard deviation, less what the rides of a
/// sample make by themselves, was 0 to 7 ms with 5 mm, 0 to 18 ms with 6 and 3 to 51 ms with 7 mm.
const MUCH_BOW_S_PER_M: f64 = 50.0;

/// What the plan may move the median of a set-up's rides by (s), beside [`TABLES_AND_PLANS_S`]: nothing up to 5 mm of
/// bow, 0.05 s with 6 mm, 0.1 s with 7 mm.
pub fn of_rides_s(setup: &Setup) -> f64 {
    let bows = [setup.runners.left, setup.runners.right];
    let most_m = bows.iter().flat_map(|b| [b.front_m, b.rear_m]).fold(0.0, f64::max);
    of_rides_of_bow_s(most_m)
}

/// The same by the most bow of a set-up (m).
pub fn of_rides_of_bow_s(most_m: f64) -> f64 {
    MUCH_BOW_S_PER_M * (most_m - MUCH_BOW_M).max(0.0)
}

/// What two plans may move the difference of the medians of rides by (s), see [`of_rides_s`]; nothing where they are one.
pub fn of_rides_difference_s(a: (&Setup, &Plan), b: (&Setup, &Plan)) -> f64 {
    if a.1.states == b.1.states { 0.0 } else { of_rides_s(a.0).hypot(of_rides_s(b.0)) }
}

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
    use approx::assert_abs_diff_eq;
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

    #[test]
    fn exact_much_bow_at_any_end_widens() {
        let of = |keys: &[(&str, f64)]| {
            let mut setup = Setup::with_defaults("sled");
            keys.iter().for_each(|(key, value)| set(&mut setup, key, *value).unwrap());
            of_rides_s(&setup)
        };
        assert_eq!(of(&[("runners.bow_mm", 5.0)]), 0.0);
        assert_abs_diff_eq!(of(&[("runners.bow_mm", 7.0)]), 0.1, epsilon = 1e-12);
        assert_abs_diff_eq!(
            of(&[("runners.bow_mm", 3.0), ("runners.right.bow_rear_mm", 6.0)]),
            0.05,
            epsilon = 1e-12
        );
    }
}
