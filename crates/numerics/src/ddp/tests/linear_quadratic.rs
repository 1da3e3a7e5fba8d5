//! Linear dynamics, quadratic cost: the optimum is known.

use crate::ddp::problem::Limits;
use crate::ddp::{Expansion, FinalExpansion, Problem, Settings, Start, Status, Step, solve};
use approx::{assert_abs_diff_eq, assert_relative_eq};
use nalgebra::{SMatrix, SVector};

struct Linear<const N: usize, const M: usize> {
    stages: usize,
    a: SMatrix<f64, N, N>,
    b: SMatrix<f64, N, M>,
    q: SMatrix<f64, N, N>,
    r: SMatrix<f64, M, M>,
    last: SMatrix<f64, N, N>,
    limits: Limits<M>,
}

fn rows<const R: usize, const C: usize>(m: &SMatrix<f64, R, C>) -> [[f64; C]; R] {
    std::array::from_fn(|i| std::array::from_fn(|j| m[(i, j)]))
}

impl<const N: usize, const M: usize> Problem<N, M> for Linear<N, M> {
    fn stages(&self) -> usize {
        self.stages
    }
    fn step(&self, _k: usize, x: &[f64; N], u: &[f64; M]) -> Option<Step<N>> {
        let (x, u) = (SVector::from(*x), SVector::from(*u));
        let next = self.a * x + self.b * u;
        Some(Step { next: next.into(), cost: 0.5 * (x.dot(&(self.q * x)) + u.dot(&(self.r * u))) })
    }
    fn expand(&self, _k: usize, x: &[f64; N], u: &[f64; M], _p: &[f64; N]) -> Option<Expansion<N, M>> {
        Some(Expansion {
            a: rows(&self.a),
            b: rows(&self.b),
            cost_x: (self.q * SVector::from(*x)).into(),
            cost_u: (self.r * SVector::from(*u)).into(),
            cost_xx: rows(&self.q),
            cost_uu: rows(&self.r),
            ..Expansion::ZERO
        })
    }
    fn final_cost(&self, x: &[f64; N]) -> Option<f64> {
        let x = SVector::from(*x);
        Some(0.5 * x.dot(&(self.last * x)))
    }
    fn expand_final(&self, x: &[f64; N]) -> Option<FinalExpansion<N>> {
        Some(FinalExpansion { cost_x: (self.last * SVector::from(*x)).into(), cost_xx: rows(&self.last) })
    }
    fn limits(&self, _k: usize) -> Limits<M> {
        self.limits
    }
}

fn three_by_two() -> Linear<3, 2> {
    Linear {
        stages: 40,
        a: SMatrix::<f64, 3, 3>::new(1.02, 0.1, 0.0, -0.2, 1.1, 0.1, 0.05, 0.0, 0.95),
        b: SMatrix::<f64, 3, 2>::new(0.0, 0.02, 0.1, 0.0, -0.03, 0.2),
        q: SMatrix::<f64, 3, 3>::new(2.0, 0.1, 0.0, 0.1, 1.0, 0.0, 0.0, 0.0, 0.5),
        r: SMatrix::<f64, 2, 2>::new(0.3, 0.05, 0.05, 0.2),
        last: SMatrix::<f64, 3, 3>::from_diagonal_element(5.0),
        limits: Limits::NONE,
    }
}

#[test]
fn exact_gains_and_cost_follow_the_riccati_recursion() {
    let problem = three_by_two();
    let first = [1.0, -2.0, 0.5];
    // states that no control connects: the gaps must close as well
    let states: Vec<_> = (0..=40).map(|k| if k == 0 { first } else { [0.3, 0.1, -0.4] }).collect();
    let starts = [
        Start::Controls { first, controls: &[[0.4, -0.1]; 40] },
        Start::Trajectory { states: &states, controls: &[[0.0; 2]; 40] },
    ];
    for start in starts {
        let solution = solve(&problem, start, &Settings::default()).unwrap();
        assert_eq!(solution.status, Status::Converged);
        assert_abs_diff_eq!(solution.gap, 0.0, epsilon = 0.0); // a full step closes gaps exactly
        let (a, b) = (problem.a, problem.b);
        let mut p = problem.last;
        for k in (0..40).rev() {
            let s = problem.r + b.transpose() * p * b;
            let gain = -s.try_inverse().unwrap() * (b.transpose() * p * a);
            p = problem.q + a.transpose() * p * a + a.transpose() * p * b * gain;
            for i in 0..2 {
                for j in 0..3 {
                    // 40 stages of rounding, and nothing else
                    assert_abs_diff_eq!(solution.gains[k][i][j], gain[(i, j)], epsilon = 1e-10);
                }
            }
        }
        let x = SVector::from(first);
        // second order in the last step, which was below 1e-5
        assert_relative_eq!(solution.cost, 0.5 * x.dot(&(p * x)), max_relative = 1e-10);
    }
}

#[test]
fn exact_long_horizon_meets_the_scalar_algebraic_riccati_equation() {
    let (a, b, q, r): (f64, f64, f64, f64) = (1.2, 0.5, 0.7, 0.3);
    let one = SMatrix::<f64, 1, 1>::new;
    let problem = Linear {
        stages: 200,
        a: one(a),
        b: one(b),
        q: one(q),
        r: one(r),
        last: one(0.0),
        limits: Limits::NONE,
    };
    let start = Start::Controls { first: [2.0], controls: &[[0.0]; 200] };
    let solution = solve(&problem, start, &Settings::default()).unwrap();
    assert_eq!(solution.status, Status::Converged);
    // b^2 p^2 + (r - a^2 r - q b^2) p - q r = 0
    let half = (r - a * a * r - q * b * b) / (2.0 * b * b);
    let p = -half + (half * half + q * r / (b * b)).sqrt();
    // 200 stages contract the influence of the end far below this
    assert_relative_eq!(solution.cost, 0.5 * p * 4.0, max_relative = 1e-8);
    assert_relative_eq!(solution.gains[0][0][0], -a * b * p / (r + b * b * p), max_relative = 1e-8);
}

#[test]
fn exact_limited_controls_meet_the_conditions_of_optimality() {
    let limits = Limits { lower: [-0.5, -1.0], upper: [0.6, 0.8] };
    let problem = Linear { limits, ..three_by_two() };
    let start = Start::Controls { first: [1.0, -2.0, 0.5], controls: &[[0.0; 2]; 40] };
    let solution = solve(&problem, start, &Settings::default()).unwrap();
    assert_eq!(solution.status, Status::Converged);
    // convex problem: the minimum principle, with the costate by its own recursion, is
    // necessary and sufficient
    let mut costate = problem.last * SVector::from(solution.states[40]);
    let mut held = 0;
    for k in (0..40).rev() {
        let u = SVector::from(solution.controls[k]);
        let slope = problem.r * u + problem.b.transpose() * costate;
        for i in 0..2 {
            // gradient tolerance 1e-7, or a gain of 1e-10 of it: slope 1e-5
            if u[i] <= limits.lower[i] {
                assert!(slope[i] > -1e-5);
                held += 1;
            } else if u[i] >= limits.upper[i] {
                assert!(slope[i] < 1e-5);
                held += 1;
            } else {
                assert_abs_diff_eq!(slope[i], 0.0, epsilon = 1e-5);
            }
            assert!(u[i] >= limits.lower[i] && u[i] <= limits.upper[i]);
        }
        costate = problem.q * SVector::from(solution.states[k]) + problem.a.transpose() * costate;
    }
    assert!(held > 3, "the limits are meant to bind, {held} do");
}
