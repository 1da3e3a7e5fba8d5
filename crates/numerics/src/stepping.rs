//! Runge-Kutta stepping with dense output, on states that live on the stack: an explicit pair of order 5(4), and an
//! additive one of order 4(3) where a system names a part of its rates that dies away fast.
//!
//! Steps end on the knots that the caller gives, so that no step straddles a kink of the right-hand side.

mod additive;
mod explicit;

/// What to integrate.
pub trait System<const N: usize> {
    /// The derivatives at `x`.
    fn rates(&mut self, x: f64, y: &[f64; N]) -> [f64; N];

    /// The states in which something dies away fast, where that is to be taken implicitly; always or never.
    fn fast(&self) -> Option<Fast> {
        None
    }

    /// Called after each accepted step; may stop it short or end the integration.
    fn accepted(&mut self, step: &Dense<N>) -> Next {
        let _ = step;
        Next::Go
    }
}

/// Two states of which a part dies away fast, each by its own rate and that of the other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fast {
    /// Their places in the state.
    pub at: [usize; 2],
    /// How far to go aside for the slopes of their rates.
    pub by: [f64; 2],
}

impl Fast {
    /// Slopes of the two rates by the two states, `[i][j]` of the rate `i` by the state `j`; `rates` are those at `y`.
    fn slopes<const N: usize, S: System<N>>(
        &self,
        system: &mut S,
        x: f64,
        y: &[f64; N],
        rates: &[f64; N],
    ) -> [[f64; 2]; 2] {
        let mut slopes = [[0.0; 2]; 2];
        for j in 0..2 {
            let mut aside = *y;
            aside[self.at[j]] += self.by[j];
            let there = system.rates(x, &aside);
            for i in 0..2 {
                slopes[i][j] = (there[self.at[i]] - rates[self.at[i]]) / self.by[j];
            }
        }
        slopes
    }
}

/// What happens after an accepted step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Next {
    /// Go on.
    Go,
    /// Cut the step at this abscissa and go on from there with a fresh derivative.
    Restart(f64),
    /// End here, at this abscissa.
    Stop(f64),
}

/// How to choose the steps.
#[derive(Clone, Copy, Debug)]
pub enum Steps<'a, const N: usize> {
    /// By the estimated error of a step, each component against its tolerance;
    /// an infinite tolerance leaves a component out.
    Adaptive {
        /// Error allowed per step, component by component.
        tolerance: [f64; N],
        /// Length of the first step.
        first: f64,
        /// Greatest step.
        greatest: f64,
    },
    /// From one node to the next of a given grid; knots are ignored.
    Grid(&'a [f64]),
}

/// How the integration ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum End {
    /// At the last knot.
    Reached,
    /// Where `accepted` asked for it.
    Stopped,
    /// The step became too small to go on, or a rate was not a number.
    StepTooSmall,
}

/// The result of an integration.
#[derive(Clone, Copy, Debug)]
pub struct Outcome<const N: usize> {
    /// Abscissa reached.
    pub x: f64,
    /// State there.
    pub y: [f64; N],
    /// How it ended.
    pub end: End,
    /// Accepted steps.
    pub(crate) steps: usize,
    /// Evaluations of the rates.
    pub evaluations: usize,
}

/// One accepted step and its continuous extension.
#[derive(Clone, Copy, Debug)]
pub struct Dense<const N: usize> {
    /// Start of the step.
    pub x0: f64,
    /// Length of the step.
    pub(crate) h: f64,
    /// State at the start.
    pub y0: [f64; N],
    /// State at the end.
    pub y1: [f64; N],
    r: [[f64; N]; 4],
}

impl<const N: usize> Dense<N> {
    /// End of the step.
    pub fn x1(&self) -> f64 {
        self.x0 + self.h
    }

    /// The state anywhere in the step.
    pub fn at(&self, x: f64) -> [f64; N] {
        let t = (x - self.x0) / self.h;
        let v = 1.0 - t;
        let mut y = self.y0;
        for (i, y) in y.iter_mut().enumerate() {
            *y += t * (self.r[0][i] + v * (self.r[1][i] + t * (self.r[2][i] + v * self.r[3][i])));
        }
        y
    }
}

/// One attempted step: its rates at the stages, the last of them at its end, and the state there.
struct Trial<const N: usize> {
    k: [[f64; N]; 7],
    y1: [f64; N],
}

impl<const N: usize> Trial<N> {
    fn error(&self, weights: &[f64; 7], h: f64, tolerance: &[f64; N]) -> f64 {
        let mut worst: f64 = 0.0;
        for i in 0..N {
            if tolerance[i].is_finite() {
                let mut e = 0.0;
                for j in 0..7 {
                    e += weights[j] * self.k[j][i];
                }
                let ratio = (h * e / tolerance[i]).abs();
                // a rate that is not a number must reject the step
                worst = if ratio.is_nan() { f64::INFINITY } else { worst.max(ratio) };
            }
        }
        worst
    }

    /// The step with the cubic through its ends and the rates there.
    fn hermite(&self, x0: f64, h: f64, y0: &[f64; N]) -> Dense<N> {
        let mut r = [[0.0; N]; 4];
        for i in 0..N {
            let rise = self.y1[i] - y0[i];
            let bend = h * self.k[0][i] - rise;
            r[0][i] = rise;
            r[1][i] = bend;
            r[2][i] = rise - h * self.k[6][i] - bend;
        }
        Dense { x0, h, y0: *y0, y1: self.y1, r }
    }
}

/// How a pair chooses the next step from its error: of the order of the estimate, and by proportional-integral
/// control as in Hairer and Wanner II, section IV.2.
struct Control {
    after_error: f64,
    by_error: f64,
    by_last: f64,
}
const EXPLICIT: Control = Control { after_error: -0.2, by_error: -0.17, by_last: 0.04 };
const ADDITIVE: Control = Control { after_error: -0.25, by_error: -0.21, by_last: 0.05 };
/// The slopes of the fast part are taken anew after as many steps, and after each that was too long.
const SLOPES_KEPT: usize = 2;

/// Integrates from the first knot to the last. With [`Steps::Grid`] the grid replaces the knots.
pub fn integrate<const N: usize, S: System<N>>(
    system: &mut S,
    y0: [f64; N],
    knots: &[f64],
    steps: Steps<'_, N>,
) -> Outcome<N> {
    let (stations, mut h_wanted, greatest) = match steps {
        Steps::Adaptive { first, greatest, .. } => (knots, first, greatest),
        Steps::Grid(grid) => (grid, f64::INFINITY, f64::INFINITY),
    };
    let mut out = Outcome { x: stations[0], y: y0, end: End::Reached, steps: 0, evaluations: 1 };
    let mut k0 = system.rates(out.x, &out.y);
    let mut last_error: f64 = 1e-4;
    let fast = system.fast();
    let control = if fast.is_some() { ADDITIVE } else { EXPLICIT };
    // slopes of the fast part, and how many steps ago they were taken
    let (mut slopes, mut since) = ([[0.0; 2]; 2], SLOPES_KEPT);
    for &knot in &stations[1..] {
        while out.x < knot {
            let left = knot - out.x;
            let wanted = h_wanted.min(greatest);
            // equal shares up to the knot, so that no sliver is left
            let h = if wanted >= left { left } else { left / (left / wanted).ceil() };
            let landing = if h == left { knot } else { out.x + h };
            if let Some(fast) = &fast
                && since >= SLOPES_KEPT
            {
                (slopes, since) = (fast.slopes(system, out.x, &out.y, &k0), 0);
                out.evaluations += 2;
            }
            let (mut trial, weights, evaluated) = match &fast {
                None => {
                    let trial = explicit::attempt(system, out.x, h, &out.y, &k0);
                    (trial, &explicit::ERROR, explicit::EVALUATED)
                }
                Some(fast) => {
                    let trial = additive::attempt(system, out.x, h, &out.y, &k0, (fast.at, slopes));
                    (trial, &additive::ERROR, additive::EVALUATED)
                }
            };
            out.evaluations += evaluated;
            if let Steps::Adaptive { tolerance, .. } = &steps {
                let error = trial.error(weights, h, tolerance);
                if error > 1.0 {
                    if since > 0 {
                        since = SLOPES_KEPT;
                    }
                    h_wanted = h * (0.9 * error.powf(control.after_error)).clamp(0.1, 0.8);
                    if !(h_wanted > 1e-12 * knot.abs().max(1e-3)) {
                        out.end = End::StepTooSmall;
                        return out;
                    }
                    continue;
                }
                let error = error.max(1e-6);
                let grow = 0.9 * error.powf(control.by_error) * last_error.powf(control.by_last);
                h_wanted = h * grow.clamp(0.3, 5.0);
                last_error = error;
            } else if trial.y1.iter().any(|v| v.is_nan()) {
                out.end = End::StepTooSmall;
                return out;
            }
            let dense = match fast {
                None => explicit::dense(&trial, out.x, h, &out.y),
                Some(_) => {
                    trial.k[6] = system.rates(landing, &trial.y1);
                    out.evaluations += 1;
                    trial.hermite(out.x, h, &out.y)
                }
            };
            since += 1;
            out.steps += 1;
            match system.accepted(&dense) {
                Next::Go => {
                    out.x = landing;
                    out.y = trial.y1;
                    k0 = trial.k[6];
                }
                Next::Restart(at) => {
                    out.y = if at >= landing { trial.y1 } else { dense.at(at) };
                    out.x = at.min(landing);
                    k0 = system.rates(out.x, &out.y);
                    out.evaluations += 1;
                }
                Next::Stop(at) => {
                    out.y = if at >= landing { trial.y1 } else { dense.at(at) };
                    out.x = at.min(landing);
                    out.end = End::Stopped;
                    return out;
                }
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Oscillator;
    impl System<2> for Oscillator {
        fn rates(&mut self, _x: f64, y: &[f64; 2]) -> [f64; 2] {
            [y[1], -y[0]]
        }
    }

    /// y' = -2 x y^2, y(0) = 1: y = 1/(1 + x^2).
    struct Bell(f64);
    impl System<1> for Bell {
        fn rates(&mut self, x: f64, y: &[f64; 1]) -> [f64; 1] {
            [-2.0 * x * y[0] * y[0]]
        }
        fn accepted(&mut self, d: &Dense<1>) -> Next {
            let x = d.x0 + 0.37 * d.h;
            self.0 = self.0.max((d.at(x)[0] - 1.0 / (1.0 + x * x)).abs());
            Next::Go
        }
    }

    fn grid_error(n: usize) -> (f64, f64) {
        let grid: Vec<f64> = (0..=n).map(|i| 2.0 * i as f64 / n as f64).collect();
        let mut bell = Bell(0.0);
        let out = integrate(&mut bell, [1.0], &grid, Steps::Grid(&grid));
        ((out.y[0] - 0.2).abs(), bell.0)
    }

    #[test]
    fn order_five_and_dense_four() {
        let (coarse, fine) = (grid_error(40), grid_error(80));
        // theory 32 at the ends of steps and, of local order 5, inside them; half an order of slack
        let (ends, inside) = (coarse.0 / fine.0, coarse.1 / fine.1);
        assert!(ends > 22.0 && ends < 46.0, "{ends}");
        assert!(inside > 22.0 && inside < 46.0, "{inside}");
    }

    #[test]
    fn order_tolerance_bounds_the_error() {
        let run = |tolerance: f64| {
            let steps = Steps::Adaptive { tolerance: [tolerance; 2], first: 0.1, greatest: 1.0 };
            let out = integrate(&mut Oscillator, [1.0, 0.0], &[0.0, 7.3, 20.0], steps);
            assert_eq!(out.end, End::Reached);
            (out.y[0] - 20.0_f64.cos()).abs()
        };
        // local error control: the global error follows the tolerance within a factor of the length
        assert!(run(1e-6) < 2e-5);
        assert!(run(1e-10) < 2e-9);
        assert!(run(1e-10) < 1e-3 * run(1e-6));
    }

    #[test]
    fn exact_stop_and_restart() {
        struct Stop(usize);
        impl System<2> for Stop {
            fn rates(&mut self, x: f64, y: &[f64; 2]) -> [f64; 2] {
                Oscillator.rates(x, y)
            }
            fn accepted(&mut self, d: &Dense<2>) -> Next {
                if d.x0 < 0.5 && d.x1() > 0.5 {
                    self.0 += 1;
                    return Next::Restart(0.5);
                }
                if d.x1() > 1.25 { Next::Stop(1.25) } else { Next::Go }
            }
        }
        let mut s = Stop(0);
        let steps = Steps::Adaptive { tolerance: [1e-9; 2], first: 0.1, greatest: 1.0 };
        let out = integrate(&mut s, [1.0, 0.0], &[0.0, 9.0], steps);
        assert_eq!((out.x, out.end, s.0), (1.25, End::Stopped, 1));
        assert!((out.y[0] - 1.25_f64.cos()).abs() < 1e-7); // dense output of order 4 at this tolerance
    }

    #[test]
    fn a_rate_that_is_not_a_number_ends_the_integration() {
        struct Bad;
        impl System<1> for Bad {
            fn rates(&mut self, x: f64, _y: &[f64; 1]) -> [f64; 1] {
                [if x > 0.5 { f64::NAN } else { 1.0 }]
            }
        }
        let steps = Steps::Adaptive { tolerance: [1e-9], first: 0.1, greatest: 1.0 };
        let out = integrate(&mut Bad, [0.0], &[0.0, 1.0], steps);
        assert_eq!(out.end, End::StepTooSmall);
        assert!(out.x <= 0.5);
    }
}
