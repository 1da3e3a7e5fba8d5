//! A planned ride as it is executed: the plan's steering, and its gains on what differs from the plan.
//!
//! ```text
//!   c' = (dc_plan/ds) s_dot + K(s) (x - x_plan(s))      x = u, yaw, vx, vy, w, steer, c
//! ```
//!
//! The states of the plan are C2 splines through its nodes, and its gains straight lines between them: a rate
//! that jumped at the nodes, as the solver has it, would make the stepper creep. *Source*: the time-varying feedback of differential dynamic
//! programming. *Checked by* `plan_is_ridden_within_a_millisecond`.

use crate::laws::state::{Motion, State};
use crate::motion::pilot::{Asked, Steering};
use crate::riding::errors_of_ride::RideErrors;
use crate::riding::plan_state::{ASKED, CONTROLS, PlanState, STATES};
use numerics::dual::Real;
use numerics::spline::{Cubic, Knots, SplineError};
use track_geometry::station::Station;

/// A plan: nodes, states, rate of the steering asked for, and gains of that rate.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Stations of the nodes (m).
    pub station_m: Vec<f64>,
    /// States at the nodes.
    pub states: Vec<PlanState>,
    /// Controls from node to node.
    pub controls: Vec<[f64; CONTROLS]>,
    /// Gains of the rate on the state (1/s per unit), from node to node.
    pub gains: Vec<PlanState>,
}

/// A plan ready to be ridden.
#[derive(Clone, Debug)]
pub struct PlannedRide {
    knots: Knots,
    states: [Cubic; STATES],
    gains: Vec<PlanState>,
    first_asked: f64,
    lag_s: f64,
    /// What goes wrong on the way; nothing for a ride without error.
    pub(crate) errors: RideErrors,
}

impl PlannedRide {
    /// The ride of a plan with a reaction lag.
    pub fn new(plan: &Plan, lag_s: f64) -> Result<PlannedRide, SplineError> {
        let knots = Knots::new(&plan.station_m)?;
        let mut states = Vec::with_capacity(STATES);
        for i in 0..STATES {
            let column: Vec<f64> = plan.states.iter().map(|x| x[i]).collect();
            states.push(Cubic::new(&knots, &column)?);
        }
        let shape = SplineError::Shape { knots: plan.station_m.len(), values: plan.controls.len() };
        if plan.controls.len() + 1 != plan.station_m.len() || plan.gains.len() != plan.controls.len() {
            return Err(shape);
        }
        Ok(PlannedRide {
            states: states.try_into().map_err(|_| shape)?,
            gains: plan.gains.clone(),
            first_asked: plan.states[0][ASKED],
            lag_s,
            errors: RideErrors::default(),
            knots,
        })
    }

    /// The same ride with errors.
    pub fn with_errors(&self, errors: RideErrors) -> PlannedRide {
        PlannedRide { errors, ..self.clone() }
    }
}

impl Steering for PlannedRide {
    #[inline]
    fn ask<T: Real>(
        &self,
        at: &Station,
        state: &State<T>,
        motion: &Motion<T>,
        steer: T,
        asked: T,
    ) -> Asked<T> {
        let e = self.errors.at(at.station_m);
        // late: the plan of a few metres before
        let s = at.station_m - e.late_m;
        let i = self.knots.interval(s);
        let x = self.knots.abscissae();
        let d = (s - x[i]).clamp(0.0, x[i + 1] - x[i]);
        let jets: [_; STATES] = std::array::from_fn(|n| self.states[n].jet(i, d));
        let plan = jets.map(|j| j[0]);
        let here = [
            state.offset_m,
            state.yaw_rad,
            state.forward_m_s,
            state.lateral_velocity_m_s,
            state.yaw_rate_rad_s,
            steer,
            asked,
        ];
        let next = (i + 1).min(self.gains.len() - 1);
        let t = d / (x[i + 1] - x[i]);
        let mut rate = motion.station_rate_m_s * (jets[6][1] * e.amount);
        for n in 0..STATES {
            let gain = self.gains[i][n] + t * (self.gains[next][n] - self.gains[i][n]);
            let wanted = match n {
                0 => plan[0] + e.aim_m,
                5 | 6 => plan[n] * e.amount,
                _ => plan[n],
            };
            rate += (here[n] - wanted) * gain;
        }
        Asked::Change(rate)
    }

    fn first_asked(&self) -> f64 {
        self.first_asked
    }

    fn lag_s(&self) -> f64 {
        self.lag_s
    }
}
