//! Gains that hold a sled on its plan: the time-varying linear-quadratic regulator along it.
//!
//! ```text
//!   minimise  sum dt [ (du/a_u)^2 + (dyaw/a_yaw)^2 + (dvy/a_vy)^2 + (dw/a_w)^2 + dsteer^2 + dc^2 + (dr/a_r)^2 ]
//!   P_k = Q + A' P A - A' P b (R + b' P b)^-1 b' P A,    K_k = -(R + b' P b)^-1 b' P A
//! ```
//!
//! The gains of the plan itself would hold it harder than a body with a lag can: they chatter, and small changes
//! of the sled lose the plan. These price the rate of steering by what an athlete does.
//! *Source*: discrete Riccati equation, e.g. Anderson and Moore, *Optimal Control* (1990); the allowed deviations are
//! assumed. *Checked by* `plan_is_ridden_within_a_millisecond`, `plan_survives_another_sled`.

use crate::riding::plan_state::{PlanState, STATES};
use nalgebra::{SMatrix, SVector};
use numerics::ddp::Expansion;

type Square = SMatrix<f64, STATES, STATES>;
type Column = SVector<f64, STATES>;

/// Deviations that count the same: offset (m), yaw (rad), forward, sideways (m/s), spin (rad/s), steer, asked; and
/// the rate of steering (1/s).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowed {
    /// Of the states.
    pub(crate) state: PlanState,
    /// Of the rate of the steering asked for (1/s).
    pub(crate) rate_per_s: f64,
}

impl Default for Allowed {
    fn default() -> Self {
        Allowed { state: [0.1, 0.05, f64::INFINITY, 1.0, 0.5, 1.0, 1.0], rate_per_s: 2.0 }
    }
}

/// Gains of the rate of steering, from node to node; `length_s` is the time of each node (s).
pub fn tracking_gains<const M: usize>(
    along: &[Expansion<STATES, M>],
    length_s: &[f64],
    allowed: &Allowed,
) -> Vec<PlanState> {
    let weight = Column::from(allowed.state.map(|a| 1.0 / (a * a)));
    let mut value = Square::from_diagonal(&(weight * 0.1));
    let mut gains = vec![[0.0; STATES]; along.len()];
    for k in (0..along.len()).rev() {
        let a = Square::from_fn(|i, j| along[k].a[i][j]);
        let b = Column::from_fn(|i, _| along[k].b[i][0]);
        let dt = length_s[k];
        let r = dt / (allowed.rate_per_s * allowed.rate_per_s);
        let pb = value * b;
        let row = (a.transpose() * pb) / (r + b.dot(&pb));
        gains[k] = std::array::from_fn(|i| -row[i]);
        value = Square::from_diagonal(&(weight * dt)) + a.transpose() * value * a
            - (a.transpose() * pb) * row.transpose();
        value = (value + value.transpose()) * 0.5;
    }
    gains
}
