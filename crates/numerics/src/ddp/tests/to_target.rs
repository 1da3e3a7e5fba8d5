//! Least time to a target point, for any generic motion: time is the independent
//! variable, so a start from rest is no singularity, and the unknown duration is a
//! state that the first stage sets. The target is an equation at the end, met by
//! multipliers (augmented Lagrangian) through the homotopy driver.

use crate::ddp::by_duals::{Curvature, SmoothStage, expand_by_duals};
use crate::ddp::problem::Limits;
use crate::ddp::{Expansion, FinalExpansion, Homotopy, Problem, Settings, Solution, Start, Step, homotopy};
use crate::dual::Real;

/// A motion of three states with one control.
pub(crate) trait Motion {
    /// Rates of the states, given the control.
    fn rates<T: Real>(&self, x: &[T; 3], u: T) -> [T; 3];
    /// Limits of the control while moving.
    fn limits(&self) -> (f64, f64) {
        (f64::NEG_INFINITY, f64::INFINITY)
    }
    /// Wanted value of each state at the end, where there is one.
    fn target(&self) -> [Option<f64>; 3];
}

/// Four states: the motion's, and the duration last.
pub(crate) struct LeastTime<S> {
    pub(crate) motion: S,
    pub(crate) steps: usize,
    pub(crate) multipliers: Vec<f64>,
    pub(crate) price: f64,
}

const EXTRA: usize = 1; // the stage that sets the duration

impl<S: Motion> SmoothStage<4, 1> for LeastTime<S> {
    fn stage<T: Real>(&self, k: usize, x: &[T; 4], u: &[T; 1]) -> Option<([T; 4], T)> {
        let (u, [a, b, c, duration]) = (u[0], *x);
        let zero = T::from(0.0);
        if k == 0 {
            return Some(([a, b, c, u], zero));
        }
        if duration.value() <= 0.0 {
            return None;
        }
        let h = duration / self.steps as f64;
        let y = [a, b, c];
        let shift = |d: &[T; 3], h: T| -> [T; 3] { std::array::from_fn(|i| y[i] + d[i] * h) };
        let k1 = self.motion.rates(&y, u);
        let k2 = self.motion.rates(&shift(&k1, h * 0.5), u);
        let k3 = self.motion.rates(&shift(&k2, h * 0.5), u);
        let k4 = self.motion.rates(&shift(&k3, h), u);
        let [a, b, c] = std::array::from_fn(|i| y[i] + (k1[i] + (k2[i] + k3[i]) * 2.0 + k4[i]) * h / 6.0);
        Some(([a, b, c, duration], zero))
    }
}

impl<S: Motion> LeastTime<S> {
    fn misses(&self, x: &[f64; 4]) -> impl Iterator<Item = (usize, f64)> {
        let target = self.motion.target();
        let x = *x;
        (0..3).filter_map(move |i| target[i].map(|t| (i, x[i] - t)))
    }
}

impl<S: Motion> Problem<4, 1> for LeastTime<S> {
    fn stages(&self) -> usize {
        self.steps + EXTRA
    }
    fn step(&self, k: usize, x: &[f64; 4], u: &[f64; 1]) -> Option<Step<4>> {
        self.plain(k, x, u)
    }
    fn expand(&self, k: usize, x: &[f64; 4], u: &[f64; 1], costate: &[f64; 4]) -> Option<Expansion<4, 1>> {
        expand_by_duals::<4, 1, 5, _>(self, k, x, u, costate, Curvature::Full)
    }
    fn final_cost(&self, x: &[f64; 4]) -> Option<f64> {
        let pull: f64 = self.misses(x).map(|(i, c)| self.multipliers[i] * c + 0.5 * self.price * c * c).sum();
        Some(x[3] + pull)
    }
    fn expand_final(&self, x: &[f64; 4]) -> Option<FinalExpansion<4>> {
        let mut out = FinalExpansion { cost_x: [0.0, 0.0, 0.0, 1.0], cost_xx: [[0.0; 4]; 4] };
        for (i, c) in self.misses(x) {
            out.cost_x[i] = self.multipliers[i] + self.price * c;
            out.cost_xx[i][i] = self.price;
        }
        Some(out)
    }
    fn limits(&self, k: usize) -> Limits<1> {
        let (lower, upper) = match k {
            0 => (0.1, 100.0),
            _ => self.motion.limits(),
        };
        Limits { lower: [lower], upper: [upper] }
    }
}

/// Solves from guesses of the last state, the duration and a constant control; the
/// target is met to 1e-6.
pub(crate) fn least_time<S: Motion>(
    motion: S,
    steps: usize,
    [first, last]: [[f64; 3]; 2],
    duration: f64,
    control: f64,
    settings: &Settings,
) -> (Homotopy<4, 1>, f64) {
    let mut problem = LeastTime { motion, steps, multipliers: vec![0.0; 3], price: 100.0 };
    let mut controls = vec![[control]; steps + EXTRA];
    controls[0] = [duration];
    // evenly from the first to the last state: no motion, the solver closes the gaps
    let at = |k: usize| {
        let share = k.saturating_sub(EXTRA) as f64 / steps as f64;
        let [a, b, c] = std::array::from_fn(|i| first[i] + share * (last[i] - first[i]));
        [a, b, c, duration]
    };
    let states: Vec<_> = (0..=steps + EXTRA).map(at).collect();
    let start = Start::Trajectory { states: &states, controls: &controls };
    let miss = |p: &LeastTime<S>, s: &Solution<4, 1>| {
        p.misses(&s.states[steps + EXTRA]).fold(0.0_f64, |most, (_, c)| most.max(c.abs()))
    };
    let prepare = |level: usize, p: &mut LeastTime<S>, before: Option<&Solution<4, 1>>| {
        if let Some(before) = before {
            let misses: Vec<_> = p.misses(&before.states[steps + EXTRA]).collect();
            for (i, c) in misses {
                p.multipliers[i] += p.price * c;
            }
            p.price = (p.price * 3.0).min(1e4);
        }
        level < 30
    };
    let done = homotopy(&mut problem, start, settings, 1e-6, prepare, miss).unwrap();
    let time = done.solution.states[steps + EXTRA][3];
    (done, time)
}
