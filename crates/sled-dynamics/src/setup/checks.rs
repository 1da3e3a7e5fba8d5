//! Whether the numbers of a set-up fit together.

use crate::setup::Setup;
use crate::setup::faults::{Problem, Relation};
use crate::setup::units::Unit;
use ice_contact::runner::{Bow, MOST_TIP_M, RunnerSpec, SCREW_TO_PIN_M};

/// Greatest bending stress of a runner as screwed, off the ice (Pa); the beam is no business of this file.
pub(crate) type BendingStress<'a> = &'a dyn Fn(&RunnerSpec, Bow) -> f64;

/// Two keys that do not fit together, or one key and a limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Misfit {
    /// The key to say it at.
    pub key: &'static str,
    /// Every key that plays a part, `key` first.
    pub keys: &'static [&'static str],
    /// What is wrong.
    pub problem: Problem,
}

/// Rounding of sums of lengths (m).
const ROUNDING_M: f64 = 1e-12;

/// Everything that does not fit together, in the order of the table of keys. With a beam to bend, also bow
/// past the yield stress of the steel.
pub fn misfits(setup: &Setup, stress: Option<BendingStress<'_>>) -> Vec<Misfit> {
    let r = &setup.runners.both;
    // without the rounding of sums
    let mm = |v_m: f64| (1e6 * Unit::Mm.of_si(v_m)).round() / 1e6;
    let length = |keys: &'static [&'static str], value_m: f64, relation, limit_m: f64, from| Misfit {
        key: keys[0],
        keys,
        problem: Problem::DoNotFit { value: mm(value_m), unit: "mm", relation, limit: mm(limit_m), from },
    };
    let mut found = Vec::new();
    let balance_m = setup.sled.balance_point_m;
    if balance_m.abs() >= r.pin_m {
        let keys = &["sled.balance_point_mm", "runners.pin_mm"];
        found.push(length(keys, balance_m, Relation::NearerThan, r.pin_m, "runners.pin_mm"));
    }
    if r.pin_m > r.tip_m {
        let keys = &["runners.pin_mm", "runners.tip_mm"];
        found.push(length(keys, r.pin_m, Relation::AtMost, r.tip_m, "runners.tip_mm"));
    }
    if r.tip_m > r.pin_m + MOST_TIP_M + ROUNDING_M {
        let keys = &["runners.tip_mm", "runners.pin_mm"];
        let from = "300 mm beyond runners.pin_mm";
        found.push(length(keys, r.tip_m, Relation::AtMost, r.pin_m + MOST_TIP_M, from));
    }
    if r.screw_m > r.pin_m - SCREW_TO_PIN_M + ROUNDING_M {
        let keys = &["runners.screw_mm", "runners.pin_mm"];
        let from = "20 mm less than runners.pin_mm";
        found.push(length(keys, r.screw_m, Relation::AtMost, r.pin_m - SCREW_TO_PIN_M, from));
    }
    if r.groove_start_m > r.tip_m {
        let keys = &["runners.groove_start_mm", "runners.tip_mm"];
        found.push(length(keys, r.groove_start_m, Relation::AtMost, r.tip_m, "runners.tip_mm"));
    }
    if r.groove_start_m < -r.tip_m {
        let keys = &["runners.groove_start_mm", "runners.tip_mm"];
        found.push(length(keys, r.groove_start_m, Relation::AtLeast, -r.tip_m, "runners.tip_mm"));
    }
    if r.groove_edge_radius_m > 0.5 * r.diameter_m {
        let keys = &["runners.groove_edge_radius_mm", "runners.diameter_mm"];
        let from = "half of runners.diameter_mm";
        found.push(length(keys, r.groove_edge_radius_m, Relation::AtMost, 0.5 * r.diameter_m, from));
    }
    // a runner whose lengths do not fit has no shape to be bent
    if let Some(stress) = stress.filter(|_| found.is_empty()) {
        found.extend(past_yield(r, setup.runners.left, LEFT, stress));
        found.extend(past_yield(r, setup.runners.right, RIGHT, stress));
    }
    found
}

/// Keys that bend the left runner, then what makes it bend or yield.
const LEFT: &[&str] =
    &["runners.left.bow_front_mm", "runners.left.bow_rear_mm", "runners.bow_mm", "runners.yield_stress_mpa"];
/// The same of the right runner.
const RIGHT: &[&str] = &[
    "runners.right.bow_front_mm",
    "runners.right.bow_rear_mm",
    "runners.bow_mm",
    "runners.yield_stress_mpa",
];

/// Bow of one runner past the yield stress of the steel.
fn past_yield(
    runners: &RunnerSpec,
    bow: Bow,
    keys: &'static [&'static str],
    stress: BendingStress<'_>,
) -> Option<Misfit> {
    let stress_pa = stress(runners, bow);
    let mpa = |pa| Unit::Mpa.of_si(pa);
    (stress_pa > runners.yield_stress_pa).then(|| Misfit {
        key: keys[0],
        keys,
        problem: Problem::PastYield { stress_mpa: mpa(stress_pa), yield_mpa: mpa(runners.yield_stress_pa) },
    })
}
