//! What a time may be off by beside the steps of its descent: by the tables of the runners and by the plan. Measured on
//! the examples, not for each case; `docs/trust.md` has the measurements. What the model itself does not know is more.

use sled_dynamics::laws::on_runners::OnRunners;
use sled_dynamics::riding::planned_ride::Plan;
use std::sync::Arc;

/// What tables of the runners may move a time by (s): coarser ones moved the example by 0.038 s.
pub const TABLES_S: f64 = 0.038;
/// What a plan from another start may move a planned time by (s).
pub const PLAN_S: f64 = 0.022;
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
