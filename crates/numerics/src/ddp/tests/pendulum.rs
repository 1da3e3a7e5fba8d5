//! A cart balancing a pole while it follows a line: unstable without feedback
//! (growth e^(3.1 t)), started from states that nothing connects.

use crate::ddp::by_duals::{Curvature, SmoothStage, expand_by_duals};
use crate::ddp::problem::Limits;
use crate::ddp::{
    Expansion, FinalExpansion, Homotopy, HomotopyStatus, Problem, Settings, Solution, Start, Status, Step,
    homotopy, solve,
};
use crate::dual::Real;
use approx::{assert_abs_diff_eq, assert_relative_eq};

pub(crate) const STEPS: usize = 400;
const STEP_S: f64 = 0.02;

/// States: place, speed, angle from upright, its rate. Controls: acceleration of the
/// cart, and a virtual torque that is to vanish.
pub(crate) struct Balance {
    pub(crate) limit: f64,
    pub(crate) virtual_limit: f64,
    pub(crate) virtual_price: f64,
    pub(crate) curvature: Curvature,
    /// The pole counts as fallen beyond this angle.
    pub(crate) fallen: f64,
}

impl Default for Balance {
    fn default() -> Self {
        Balance {
            limit: 20.0,
            virtual_limit: f64::INFINITY,
            virtual_price: 1e4,
            curvature: Curvature::Cost,
            fallen: 1.2,
        }
    }
}

fn line(k: usize) -> f64 {
    2.0 * (0.8 * k as f64 * STEP_S).sin()
}

fn rates<T: Real>(x: &[T; 4], u: &[T; 2]) -> [T; 4] {
    let (sin, cos) = x[2].sin_cos();
    [x[1], u[0], x[3], sin * 9.81 - cos * u[0] + u[1]]
}

impl SmoothStage<4, 2> for Balance {
    fn stage<T: Real>(&self, k: usize, x: &[T; 4], u: &[T; 2]) -> Option<([T; 4], T)> {
        if x[2].value().abs() > self.fallen {
            return None;
        }
        let shift = |d: &[T; 4], h: f64| -> [T; 4] { std::array::from_fn(|i| x[i] + d[i] * h) };
        let k1 = rates(x, u);
        let k2 = rates(&shift(&k1, 0.5 * STEP_S), u);
        let k3 = rates(&shift(&k2, 0.5 * STEP_S), u);
        let k4 = rates(&shift(&k3, STEP_S), u);
        let next = std::array::from_fn(|i| x[i] + (k1[i] + (k2[i] + k3[i]) * 2.0 + k4[i]) * (STEP_S / 6.0));
        let off = x[0] - line(k);
        let cost = off.squared() * 5.0
            + x[3].squared() * 0.1
            + u[0].squared() * 0.01
            + u[1].squared() * self.virtual_price;
        Some((next, cost * STEP_S))
    }
}

impl Problem<4, 2> for Balance {
    fn stages(&self) -> usize {
        STEPS
    }
    fn step(&self, k: usize, x: &[f64; 4], u: &[f64; 2]) -> Option<Step<4>> {
        self.plain(k, x, u)
    }
    fn expand(&self, k: usize, x: &[f64; 4], u: &[f64; 2], costate: &[f64; 4]) -> Option<Expansion<4, 2>> {
        expand_by_duals::<4, 2, 6, _>(self, k, x, u, costate, self.curvature)
    }
    fn final_cost(&self, x: &[f64; 4]) -> Option<f64> {
        Some(x[2] * x[2] + x[3] * x[3])
    }
    fn expand_final(&self, x: &[f64; 4]) -> Option<FinalExpansion<4>> {
        let mut out = FinalExpansion { cost_x: [0.0, 0.0, 2.0 * x[2], 2.0 * x[3]], cost_xx: [[0.0; 4]; 4] };
        out.cost_xx[2][2] = 2.0;
        out.cost_xx[3][3] = 2.0;
        Some(out)
    }
    fn limits(&self, _k: usize) -> Limits<2> {
        let upper = [self.limit, self.virtual_limit];
        Limits { lower: upper.map(|u| -u), upper }
    }
}

/// On the line, upright and at rest there, from a push and a lean at the start.
pub(crate) fn guess() -> Vec<[f64; 4]> {
    (0..=STEPS).map(|k| if k == 0 { [0.5, 0.0, 0.3, 0.0] } else { [line(k), 0.0, 0.0, 0.0] }).collect()
}

/// Cost of the plan executed with its own feedback, one control disturbed.
fn disturbed_cost(problem: &Balance, plan: &Solution<4, 2>, stage: usize, by: f64) -> f64 {
    let mut x = plan.states[0];
    let mut cost = 0.0;
    for k in 0..STEPS {
        let mut u = plan.controls[k];
        for (u, gain) in u.iter_mut().zip(&plan.gains[k]) {
            *u +=
                gain.iter().zip(x.iter().zip(&plan.states[k])).map(|(g, (x, at))| g * (x - at)).sum::<f64>();
        }
        u[0] += if k == stage { by } else { 0.0 };
        let step = problem.step(k, &x, &u).unwrap();
        x = step.next;
        cost += step.cost;
    }
    cost + problem.final_cost(&x).unwrap()
}

#[test]
fn exact_balancing_from_unconnected_states_is_a_motion_and_a_minimum() {
    for curvature in [Curvature::Cost, Curvature::Full] {
        let problem = Balance { curvature, ..Balance::default() };
        let states = guess();
        let start = Start::Trajectory { states: &states, controls: &[[0.0; 2]; STEPS] };
        let plan = solve(&problem, start, &Settings::default()).unwrap();
        assert_eq!(plan.status, Status::Converged);
        // each state follows from the one before, to rounding of numbers of order one
        for k in 0..STEPS {
            let next = problem.step(k, &plan.states[k], &plan.controls[k]).unwrap().next;
            for (next, x) in next.iter().zip(&plan.states[k + 1]) {
                assert_abs_diff_eq!(next, x, epsilon = 1e-12);
            }
        }
        // a minimum of second order: no disturbance of one control, followed by the
        // feedback, makes it cheaper
        for stage in (0..STEPS).step_by(23) {
            for by in [-0.1, 0.1] {
                assert!(disturbed_cost(&problem, &plan, stage, by) > plan.cost, "stage {stage}");
            }
        }
    }
}

/// Raises the price of the virtual torque tenfold from level to level.
/// How it ended, and the greatest virtual torque at each level.
pub(crate) fn without_virtual_torque(
    problem: &mut Balance,
    target: f64,
    levels: usize,
) -> (Homotopy<4, 2>, Vec<f64>) {
    let states = guess();
    let start = Start::Trajectory { states: &states, controls: &[[0.0; 2]; STEPS] };
    let mut price = 1e-4;
    let raise = |level: usize, problem: &mut Balance, _before: Option<&Solution<4, 2>>| {
        price *= 10.0;
        problem.virtual_price = price;
        level < levels
    };
    let mut measured = vec![];
    let greatest = |_: &Balance, plan: &Solution<4, 2>| {
        measured.push(plan.controls.iter().fold(0.0_f64, |most, u| most.max(u[1].abs())));
        measured[measured.len() - 1]
    };
    let done = homotopy(problem, start, &Settings::default(), target, raise, greatest).unwrap();
    (done, measured)
}

#[test]
fn exact_virtual_torque_vanishes_as_its_price_rises() {
    let (done, measured) = without_virtual_torque(&mut Balance::default(), 1e-3, 12);
    assert_eq!(done.status, HomotopyStatus::Reached, "{measured:?}");
    // where it ends, it is the plan of a pole without any virtual torque
    let problem = Balance { virtual_limit: 0.0, ..Balance::default() };
    let plan = solve(&problem, Start::from(&done.solution), &Settings::default()).unwrap();
    assert_eq!(plan.status, Status::Converged);
    // a torque of 1e-3 beside accelerations of order one, at a minimum: second order
    assert_relative_eq!(plan.cost, done.solution.cost, max_relative = 1e-3);
    assert!(measured.windows(2).all(|pair| pair[1] < pair[0]), "{measured:?}");
}
