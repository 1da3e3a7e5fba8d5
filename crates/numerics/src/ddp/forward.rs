//! The forward sweep: a trajectory, its rollout under the feedback law, and what the
//! expansion says a step should gain.

use super::backward::Law;
use super::dense::{add_scaled, apply, difference, dot};
use super::problem::{Expansion, FinalExpansion, Limits, Problem};

/// States, controls and the gaps between them.
#[derive(Clone)]
pub(crate) struct Trajectory<const N: usize, const M: usize> {
    pub(crate) states: Vec<[f64; N]>,
    pub(crate) controls: Vec<[f64; M]>,
    /// `gaps[k] = f_k(x_k, u_k) - x_(k+1)`.
    pub(crate) gaps: Vec<[f64; N]>,
    pub(crate) cost: f64,
}

impl<const N: usize, const M: usize> Trajectory<N, M> {
    pub(crate) fn greatest_gap(&self) -> f64 {
        self.gaps.as_flattened().iter().fold(0.0, |most, gap| most.max(gap.abs()))
    }

    /// Fills in gaps and cost of given states and controls.
    pub(crate) fn measure<P: Problem<N, M>>(&mut self, problem: &P) -> Result<(), usize> {
        self.cost = 0.0;
        for k in 0..self.controls.len() {
            let step = problem.step(k, &self.states[k], &self.controls[k]).ok_or(k)?;
            self.gaps[k] = difference(&step.next, &self.states[k + 1]);
            self.cost += step.cost;
            if !(self.cost.is_finite() && self.gaps[k].iter().all(|v| v.is_finite())) {
                return Err(k);
            }
        }
        self.add_final_cost(problem)
    }

    /// Rolls out the controls as they are: no gaps.
    pub(crate) fn follow<P: Problem<N, M>>(&mut self, problem: &P) -> Result<(), usize> {
        self.cost = 0.0;
        for k in 0..self.controls.len() {
            let step = problem.step(k, &self.states[k], &self.controls[k]).ok_or(k)?;
            self.states[k + 1] = step.next;
            self.gaps[k] = [0.0; N];
            self.cost += step.cost;
            if !(self.cost.is_finite() && step.next.iter().all(|v| v.is_finite())) {
                return Err(k);
            }
        }
        self.add_final_cost(problem)
    }

    /// Becomes the rollout of `from` under `laws` with step length `share`.
    pub(crate) fn step_from<P: Problem<N, M>>(
        &mut self,
        problem: &P,
        from: &Self,
        laws: &[Law<N, M>],
        limits: &[Limits<M>],
        share: f64,
    ) -> Result<(), usize> {
        self.cost = 0.0;
        self.states[0] = from.states[0];
        for k in 0..laws.len() {
            let off = difference(&self.states[k], &from.states[k]);
            let mut u = from.controls[k];
            add_scaled(&mut u, share, &laws[k].open);
            add_scaled(&mut u, 1.0, &apply(&laws[k].gain, &off));
            self.controls[k] = limits[k].clamp(u);
            let step = problem.step(k, &self.states[k], &self.controls[k]).ok_or(k)?;
            self.cost += step.cost;
            let mut next = step.next;
            if share < 1.0 {
                add_scaled(&mut next, share - 1.0, &from.gaps[k]);
                self.gaps[k] = from.gaps[k].map(|gap| (1.0 - share) * gap);
            } else {
                self.gaps[k] = [0.0; N];
            }
            if !(self.cost.is_finite() && next.iter().all(|v| v.is_finite())) {
                return Err(k);
            }
            self.states[k + 1] = next;
        }
        self.add_final_cost(problem)
    }

    fn add_final_cost<P: Problem<N, M>>(&mut self, problem: &P) -> Result<(), usize> {
        let stages = self.controls.len();
        self.cost += problem.final_cost(&self.states[stages]).ok_or(stages)?;
        if self.cost.is_finite() { Ok(()) } else { Err(stages) }
    }
}

/// Slope and curvature of the cost along the full step, by the expansion.
#[derive(Clone, Copy)]
pub(crate) struct Forecast {
    pub(crate) slope: f64,
    pub(crate) curvature: f64,
}

/// With `rooms`, changes that the feedback asks for beyond the limits are cut.
pub(crate) fn forecast<const N: usize, const M: usize>(
    expansions: &[Expansion<N, M>],
    last: &FinalExpansion<N>,
    gaps: &[[f64; N]],
    rooms: Option<&[Limits<M>]>,
    laws: &[Law<N, M>],
) -> Forecast {
    let mut out = Forecast { slope: 0.0, curvature: 0.0 };
    let mut dx = [0.0; N];
    for (k, ((e, gap), law)) in expansions.iter().zip(gaps).zip(laws).enumerate() {
        let mut du = law.open;
        add_scaled(&mut du, 1.0, &apply(&law.gain, &dx));
        if let Some(rooms) = rooms {
            du = rooms[k].clamp(du);
        }
        out.slope += dot(&e.cost_x, &dx) + dot(&e.cost_u, &du);
        out.curvature += dot(&dx, &apply(&e.cost_xx, &dx))
            + dot(&du, &apply(&e.cost_uu, &du))
            + 2.0 * dot(&du, &apply(&e.cost_ux, &dx));
        let mut next = *gap;
        add_scaled(&mut next, 1.0, &apply(&e.a, &dx));
        add_scaled(&mut next, 1.0, &apply(&e.b, &du));
        dx = next;
    }
    out.slope += dot(&last.cost_x, &dx);
    out.curvature += dot(&dx, &apply(&last.cost_xx, &dx));
    out
}
