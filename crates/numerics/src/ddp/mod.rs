//! Optimal control over discrete stages by differential dynamic programming.
//!
//! ```text
//! minimise   sum_k l_k(x_k, u_k) + l_end(x_K)
//! subject to x_(k+1) = f_k(x_k, u_k),  x_0 given,  lower_k <= u_k <= upper_k
//! ```
//!
//! A backward sweep turns the expansion of every stage into a feedback law
//! `u = u_k + a d_k + G_k (x - x_k)`; a forward sweep rolls it out with a step
//! length `a`, and only steps that improve a merit are taken.
//!
//! * The states may start as a guess that the dynamics do not connect. The gaps
//!   `f_k(x_k, u_k) - x_(k+1)` shrink by exactly `1 - a` in every step, so the
//!   merit is the cost plus a penalty on them; a full step closes them. Since the
//!   rollout carries the feedback, an open-loop unstable system can be started
//!   from a line that it would leave without steering.
//! * Second derivatives of the dynamics are optional: [`Problem::expand`] is given
//!   the costate of the next state and may add `costate . f''` to the Hessian of
//!   the cost (exact, quadratic convergence) or not (Gauss-Newton).
//! * Limits of the controls are kept exactly, by a small quadratic program at each
//!   stage. A smooth penalty would need a second homotopy and would leave the gains
//!   of a saturated control alive; here they are zero.
//! * Regularisation asks for small changes of the *state* first, so that raising it
//!   leaves a stabilising feedback in place instead of an open loop.
//!
//! Scale states and controls to order one. Nothing here allocates per stage after
//! the start, and nothing starts a thread: [`Problem::expand_all`] is the place for
//! a caller to spread the expansions over threads.
//!
//! *Sources*: Tassa, Erez, Todorov, "Synthesis and stabilization of complex behaviors
//! through online trajectory optimization", IROS 2012 (regularisation, value update);
//! Tassa, Mansard, Todorov, "Control-limited differential dynamic programming",
//! ICRA 2014 (limits); Giftthaler, Neunert, Stäuble, Buchli, Diehl, "A family of
//! iterative Gauss-Newton shooting methods", IROS 2018, and Mastalli et al.,
//! "Crocoddyl", ICRA 2020 (gaps in the forward sweep). The merit is our own choice.

mod backward;
mod box_program;
#[cfg(test)]
mod by_duals;
mod dense;
mod forward;
mod homotopy;
mod outcome;
mod problem;
mod regularisation;
mod settings;
mod solve;
#[cfg(test)]
mod tests;

pub use homotopy::{Homotopy, HomotopyStatus, homotopy};
pub use outcome::{Solution, Status};
pub use problem::{Expansion, FinalExpansion, Problem, Step};
pub use settings::{Settings, StartFault};
pub use solve::{Start, solve};
