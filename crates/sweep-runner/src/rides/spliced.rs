//! One start for a plan out of several rough ones: at each node the cheapest, where the way to it is not too dear.
//!
//! ```text
//!   least over a(k) of  sum over nodes of  cost_k(a(k)) + [a(k) != a(k-1)] (c + d |x_a(k) - x_a(k-1)|^2)
//! ```
//!
//! with `x` in units of [`ABOUT`]. A line has many local optima, since each place can be ridden to either side; rough
//! plans from different starts differ place by place, and the best of each is far better than the best whole one.
//! *Source*: dynamic programming, Bellman 1957; `c` and `d` are assumed. *Checked by* `exact_splice_by_all_ways`.

use numerics::ddp::{Problem, Solution};
use sled_dynamics::riding::plan_state::{ABOUT, CONTROLS, PlanState, STATES};

/// Price of going over to another plan (s).
const CHANGE_S: f64 = 1e-3;
/// Price of a difference between both there of the size of [`ABOUT`] in one state (s).
const APART_S: f64 = 0.02;
/// Cost of a node that cannot be ridden (s).
const OUTSIDE_S: f64 = 1e3;

/// States and controls, node by node from one of the plans. Empty without plans.
pub(crate) struct Spliced {
    /// States, one more than controls.
    pub(crate) states: Vec<PlanState>,
    /// Controls.
    pub(crate) controls: Vec<[f64; CONTROLS]>,
}

/// Squared distance of two states in units of [`ABOUT`].
fn apart(a: &PlanState, b: &PlanState) -> f64 {
    (0..STATES).map(|i| ((a[i] - b[i]) / ABOUT[i]).powi(2)).sum()
}

/// The cheapest way through plans of one problem.
pub(crate) fn splice(
    problem: &impl Problem<STATES, CONTROLS>,
    plans: &[Solution<STATES, CONTROLS>],
) -> Spliced {
    let stages = problem.stages();
    let many = plans.len();
    let node_s = |p: &Solution<STATES, CONTROLS>, k: usize| {
        problem.step(k, &p.states[k], &p.controls[k]).map_or(OUTSIDE_S, |s| s.cost)
    };
    // the cheapest way to each plan at each node, and the plan it comes from
    let mut to: Vec<f64> = vec![0.0; many];
    let mut before: Vec<Vec<usize>> = Vec::with_capacity(stages);
    for k in 0..stages {
        let change = |a: usize, b: usize| {
            let apart = || apart(&plans[a].states[k], &plans[b].states[k]);
            // at the first node every plan is free
            if a == b || k == 0 { 0.0 } else { CHANGE_S + APART_S * apart() }
        };
        let best: Vec<(f64, usize)> = (0..many)
            .map(|b| {
                (0..many)
                    .map(|a| (to[a] + change(a, b), a))
                    .fold((f64::INFINITY, b), |best, way| if way.0 < best.0 { way } else { best })
            })
            .collect();
        to = best.iter().enumerate().map(|(b, (way_s, _))| way_s + node_s(&plans[b], k)).collect();
        before.push(best.iter().map(|(_, a)| *a).collect());
    }
    let last = (0..many).min_by(|a, b| to[*a].total_cmp(&to[*b]));
    let mut from = vec![0; stages];
    let mut at = last.unwrap_or(0);
    for k in (0..stages).rev() {
        from[k] = at;
        at = before[k].get(at).copied().unwrap_or(0);
    }
    let end = last.map(|p| plans[p].states[stages]);
    Spliced {
        states: last.map_or(vec![], |_| {
            from.iter().enumerate().map(|(k, p)| plans[*p].states[k]).chain(end).collect()
        }),
        controls: last
            .map_or(vec![], |_| from.iter().enumerate().map(|(k, p)| plans[*p].controls[k]).collect()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use numerics::ddp::{Expansion, FinalExpansion, Status, Step};

    /// Six nodes; what a node costs stands in its first control.
    struct Told;

    impl Problem<STATES, CONTROLS> for Told {
        fn stages(&self) -> usize {
            6
        }
        fn step(&self, _k: usize, x: &PlanState, u: &[f64; CONTROLS]) -> Option<Step<STATES>> {
            Some(Step { next: *x, cost: u[0] })
        }
        fn expand(
            &self,
            _k: usize,
            _x: &PlanState,
            _u: &[f64; CONTROLS],
            _costate: &PlanState,
        ) -> Option<Expansion<STATES, CONTROLS>> {
            None
        }
        fn final_cost(&self, _x: &PlanState) -> Option<f64> {
            None
        }
        fn expand_final(&self, _x: &PlanState) -> Option<FinalExpansion<STATES>> {
            None
        }
    }

    fn plan(costs: [f64; 6], offsets_m: [f64; 7]) -> Solution<STATES, CONTROLS> {
        Solution {
            status: Status::Converged,
            states: offsets_m.map(|u| [u, 0.0, 20.0, 0.0, 0.0, 0.0, 0.0]).to_vec(),
            controls: costs.map(|c| [c, 0.0, 0.0]).to_vec(),
            gains: vec![],
            costates: vec![],
            cost: 0.0,
            gap: 0.0,
            iterations: 0,
            history: vec![],
        }
    }

    #[test]
    fn exact_splice_by_all_ways() {
        let plans = [
            plan([0.1, 0.9, 0.9, 0.1, 0.1, 0.3], [0.0, 0.3, 0.3, 0.1, 0.0, 0.6, 0.0]),
            plan([0.2, 0.1, 0.1, 0.2, 0.9, 0.1], [0.0, -0.3, -0.3, 0.1, 0.0, -0.6, 0.0]),
        ];
        let price = |way: usize| -> f64 {
            let at = |k: usize| way >> k & 1;
            (0..6)
                .map(|k| {
                    let here = &plans[at(k)];
                    let moved = k > 0 && at(k) != at(k - 1);
                    let apart_m = plans[0].states[k][0] - plans[1].states[k][0];
                    let change = if moved { 1e-3 + 0.02 * (apart_m / 0.3).powi(2) } else { 0.0 };
                    here.controls[k][0] + change
                })
                .sum()
        };
        let best = (0..64).min_by(|a, b| price(*a).total_cmp(&price(*b))).unwrap();
        let spliced = splice(&Told, &plans);
        // at every node the plans have other controls
        let of = |k: usize| plans.iter().position(|p| p.controls[k] == spliced.controls[k]).unwrap();
        let from: Vec<usize> = (0..6).map(of).collect();
        assert_eq!(from, (0..6).map(|k| best >> k & 1).collect::<Vec<_>>());
        // it goes over at least twice, or the test would tell nothing
        assert!(from.windows(2).filter(|w| w[0] != w[1]).count() >= 2, "{from:?}");
        assert_eq!((spliced.states.len(), spliced.controls.len()), (7, 6));
    }
}
