//! A small convex quadratic program with limits, by projected Newton steps.
//!
//! ```text
//! minimise 1/2 d^T H d + g^T d   subject to   lower <= d <= upper
//! ```
//!
//! *Source*: Tassa, Mansard, Todorov, "Control-limited differential dynamic
//! programming", ICRA 2014, section III.

use super::dense::{Cholesky, add_scaled, apply, dot};
use super::problem::Limits;

/// The minimiser and what is known about it.
pub(crate) struct BoxMinimum<const M: usize> {
    /// The minimiser.
    pub(crate) at: [f64; M],
    /// Entries not held by a limit.
    pub(crate) free: [bool; M],
    /// Factor of H restricted to the free entries (one on the diagonal elsewhere).
    pub(crate) factor: Cholesky<M>,
}

/// `None` if H restricted to the free entries is not positive definite.
pub(crate) fn minimise_in_box<const M: usize>(
    h: &[[f64; M]; M],
    g: &[f64; M],
    limits: &Limits<M>,
) -> Option<BoxMinimum<M>> {
    const ROUNDS: usize = 40; // a few are enough: each round fixes the held set or ends
    const DONE: f64 = 1e-15; // predicted gain beside the value: rounding
    let value = |d: &[f64; M]| 0.5 * dot(d, &apply(h, d)) + dot(g, d);
    let mut at = limits.clamp([0.0; M]);
    let mut round = 0;
    loop {
        let mut slope = apply(h, &at);
        add_scaled(&mut slope, 1.0, g);
        let mut free = [true; M];
        let mut reduced = *h;
        for i in 0..M {
            free[i] =
                !(at[i] <= limits.lower[i] && slope[i] > 0.0 || at[i] >= limits.upper[i] && slope[i] < 0.0);
            if !free[i] {
                slope[i] = 0.0;
                reduced[i] = [0.0; M];
                for row in &mut reduced {
                    row[i] = 0.0;
                }
                reduced[i][i] = 1.0;
            }
        }
        let factor = Cholesky::new(&reduced)?;
        let move_by = factor.solve_one(&slope).map(|d| -d);
        let gain = -dot(&slope, &move_by);
        let here = value(&at);
        round += 1;
        if gain <= DONE * here.abs() || round > ROUNDS {
            return Some(BoxMinimum { at, free, factor });
        }
        let mut share = 1.0;
        let next = loop {
            let mut next = at;
            add_scaled(&mut next, share, &move_by);
            next = limits.clamp(next);
            if value(&next) < here || share < 1e-10 {
                break next;
            }
            share *= 0.5;
        };
        if value(&next) >= here {
            return Some(BoxMinimum { at, free, factor });
        }
        at = next;
    }
}
