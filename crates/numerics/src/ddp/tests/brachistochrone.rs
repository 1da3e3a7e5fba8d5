//! Least time down a curve, without and with drag.
//!
//! The control is the slope angle, constant over each of the equal steps in time.
//! The frictionless curve turns at a constant rate, so the steps cost an error of
//! second order in their length.

use super::to_target::{Motion, least_time};
use crate::ddp::{HomotopyStatus, Settings};
use crate::dual::Real;
use approx::assert_relative_eq;
use std::f64::consts::PI;

/// States: right_m, down_m, speed_m_s; control: angle below the horizontal.
struct Bead {
    right_m: f64,
    down_m: f64,
    drag_per_m: f64,
}

impl Motion for Bead {
    fn rates<T: Real>(&self, x: &[T; 3], angle: T) -> [T; 3] {
        let (sin, cos) = angle.sin_cos();
        let v = x[2];
        [v * cos, v * sin, sin * 9.81 - v.squared() * self.drag_per_m]
    }
    fn target(&self) -> [Option<f64>; 3] {
        [Some(self.right_m), Some(self.down_m), None]
    }
}

fn time_s(bead: Bead, guess_s: f64, steps: usize) -> f64 {
    let last = [bead.right_m, bead.down_m, 10.0];
    let (done, time) = least_time(bead, steps, [[0.0; 3], last], guess_s, 0.6, &Settings::default());
    assert_eq!(done.status, HomotopyStatus::Reached);
    time
}

#[test]
fn exact_descent_to_ten_right_five_down_follows_the_cycloid() {
    let time = time_s(Bead { right_m: 10.0, down_m: 5.0, drag_per_m: 0.0 }, 2.5, 100);
    // second order in the step: 1.3e-5 at 100 steps
    assert_relative_eq!(time, 1.801_295_483_013_72, max_relative = 1e-4);
}

#[test]
fn published_descent_with_quadratic_drag_takes_the_collocation_time() {
    let time = time_s(Bead { right_m: 10.0, down_m: 5.0, drag_per_m: 0.01 }, 2.5, 100);
    // second order in the step: 1.3e-5 at 100 steps
    assert_relative_eq!(time, 1.852_195_680_433_792, max_relative = 1e-4);
}

#[test]
fn exact_half_arch_of_a_cycloid_takes_pi_root_r_over_g() {
    let radius_m: f64 = 5.0;
    let half = Bead { right_m: PI * radius_m, down_m: 2.0 * radius_m, drag_per_m: 0.0 };
    let time = time_s(half, 3.0, 100);
    // second order in the step: 1.3e-5 at 100 steps
    assert_relative_eq!(time, PI * (radius_m / 9.81).sqrt(), max_relative = 1e-4);
}

#[test]
fn order_of_the_error_is_two_in_the_step() {
    let radius_m: f64 = 5.0;
    let exact = PI * (radius_m / 9.81).sqrt();
    let error = |steps| {
        let half = Bead { right_m: PI * radius_m, down_m: 2.0 * radius_m, drag_per_m: 0.0 };
        time_s(half, 3.0, steps) - exact
    };
    // 4 in the limit; the end is met to 1e-6, 1e-2 of the smaller error
    assert_relative_eq!(error(25) / error(50), 4.0, max_relative = 0.05);
}
