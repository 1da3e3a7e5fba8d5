//! Least time to rest at the origin of a cart with |acceleration| <= 1: the controls sit
//! on their limits and switch once.

use super::to_target::{Motion, least_time};
use crate::ddp::{HomotopyStatus, Settings};
use crate::dual::Real;
use approx::{assert_abs_diff_eq, assert_relative_eq};

struct Cart;

impl Motion for Cart {
    fn rates<T: Real>(&self, x: &[T; 3], u: T) -> [T; 3] {
        [x[1], u, T::from(0.0)]
    }
    fn limits(&self) -> (f64, f64) {
        (-1.0, 1.0)
    }
    fn target(&self) -> [Option<f64>; 3] {
        [Some(0.0), Some(0.0), None]
    }
}

/// Closed form of the bang-bang optimum: with x + v |v| / 2 > 0 it brakes first and
/// T = v + 2 sqrt(x + v^2 / 2); mirrored otherwise.
#[test]
fn exact_least_time_of_the_double_integrator() {
    let cases = [(1.0, 0.0, 2.0), (1.0, 1.0, 3.449_489_742_783_178), (-2.0, 1.0, 2.162_277_660_168_379_5)];
    for (x, v, wanted) in cases {
        let (done, time) = least_time(Cart, 100, [[x, v, 0.0], [0.0; 3]], 3.0, 0.0, &Settings::default());
        assert_eq!(done.status, HomotopyStatus::Reached);
        // the switch falls inside one of 100 steps: second order in the step, below 1e-4
        assert_relative_eq!(time, wanted, max_relative = 1e-4);
        // before and after the switch the control is on a limit, exactly
        let inside = done.solution.controls[1..].iter().filter(|u| u[0].abs() < 1.0).count();
        assert!(inside <= 1, "{inside} controls between the limits");
        assert_abs_diff_eq!(done.solution.gap, 0.0, epsilon = 0.0);
    }
}
