//! The drawing of where the caliper sits, for a set-up.

use ice_contact::free_shape::FreeShape;
use pictures::caliper::{Caliper, caliper};
use sled_dynamics::setup::Setup;

/// Points of the drawing on each side of the middle.
const POINTS: i32 = 24;

/// Where the caliper sits, with the left runner at its wanted bow.
pub fn drawing(setup: &Setup) -> String {
    let (runner, bow) = (&setup.runners.both, setup.runners.left);
    let Ok(shape) = FreeShape::of(runner, bow) else { return String::new() };
    let places = (-POINTS..=POINTS).rev().map(|i| 1.05 * runner.pin_m * f64::from(i) / f64::from(POINTS));
    caliper(&Caliper {
        shape: places.map(|x| (x, shape.drop_m(x) + runner.unbent_m(x))).collect(),
        pin_m: runner.pin_m,
        screw_m: runner.screw_m,
        advance_m: 0.5 * (bow.front_m + bow.rear_m),
    })
}
