//! Explicit Runge-Kutta stepping with dense output, on states that live on the stack.
//!
//! | pair | source | inside a step | evaluations a step |
//! |---|---|---|---|
//! | order 5(4) | Dormand and Prince, J. Comput. Appl. Math. 6 (1980) 19 | order 4: Hairer, Norsett and Wanner, *Solving Ordinary Differential Equations I*, section II.6 | 6 |
//! | order 3(2) | Bogacki and Shampine, Appl. Math. Lett. 2 (1989) 321 | order 3: Hermite's cubic | 3 |
//!
//! Steps end on the knots that the caller gives, so that no step straddles a kink of the right-hand
//! side. Where knots lie so near to each other that they, and not the error, make the steps short, the
//! pair of order 3 is the cheaper one.

mod formulas;

use formulas::{FIFTH, THIRD};

/// What to integrate.
pub trait System<const N: usize> {
    /// The derivatives at `x`.
    fn rates(&mut self, x: f64, y: &[f64; N]) -> [f64; N];

    /// Called after each accepted step; may stop it short or end the integration.
    fn accepted(&mut self, step: &Dense<N>) -> Next {
        let _ = step;
        Next::Go
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

/// A pair of formulas: the one that steps, and the one that tells its error.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Pair {
    /// Dormand and Prince, order 5(4).
    #[default]
    Fifth,
    /// Bogacki and Shampine, order 3(2).
    Third,
}

/// How to choose the steps.
#[derive(Clone, Copy, Debug)]
pub enum Steps<'a, const N: usize> {
    /// By the estimated error of a step, each component against its tolerance;
    /// an infinite tolerance leaves a component out.
    Adaptive {
        /// The formulas.
        pair: Pair,
        /// Error allowed per step, component by component.
        tolerance: [f64; N],
        /// Length of the first step.
        first: f64,
        /// Greatest step.
        greatest: f64,
    },
    /// From one node to the next of a given grid, by the pair of order 5; knots are ignored.
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

/// Integrates from the first knot to the last. With [`Steps::Grid`] the grid replaces the knots.
pub fn integrate<const N: usize, S: System<N>>(
    system: &mut S,
    y0: [f64; N],
    knots: &[f64],
    steps: Steps<'_, N>,
) -> Outcome<N> {
    let (formulas, stations, mut h_wanted, greatest) = match steps {
        Steps::Adaptive { pair: Pair::Fifth, first, greatest, .. } => (&FIFTH, knots, first, greatest),
        Steps::Adaptive { pair: Pair::Third, first, greatest, .. } => (&THIRD, knots, first, greatest),
        Steps::Grid(grid) => (&FIFTH, grid, f64::INFINITY, f64::INFINITY),
    };
    let mut out = Outcome { x: stations[0], y: y0, end: End::Reached, steps: 0, evaluations: 1 };
    let mut k0 = system.rates(out.x, &out.y);
    let mut last_error: f64 = 1e-4;
    for &knot in &stations[1..] {
        while out.x < knot {
            let left = knot - out.x;
            let wanted = h_wanted.min(greatest);
            // equal shares up to the knot, so that no sliver is left
            let h = if wanted >= left { left } else { left / (left / wanted).ceil() };
            let landing = if h == left { knot } else { out.x + h };
            let trial = formulas.attempt(system, out.x, h, &out.y, &k0);
            out.evaluations += formulas.stages;
            if let Steps::Adaptive { tolerance, .. } = &steps {
                let error = formulas.error(&trial, h, tolerance);
                if error > 1.0 {
                    h_wanted = h * (0.9 * error.powf(formulas.smaller)).clamp(0.1, 0.8);
                    if !(h_wanted > 1e-12 * knot.abs().max(1e-3)) {
                        out.end = End::StepTooSmall;
                        return out;
                    }
                    continue;
                }
                // proportional-integral control, Hairer and Wanner II, section IV.2
                let error = error.max(1e-6);
                let grow = 0.9 * error.powf(formulas.next[0]) * last_error.powf(formulas.next[1]);
                h_wanted = h * grow.clamp(0.3, 5.0);
                last_error = error;
            } else if trial.y1.iter().any(|v| v.is_nan()) {
                out.end = End::StepTooSmall;
                return out;
            }
            let dense = formulas.dense(&trial, out.x, h, &out.y);
            out.steps += 1;
            match system.accepted(&dense) {
                Next::Go => {
                    out.x = landing;
                    out.y = trial.y1;
                    k0 = trial.k[formulas.stages];
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
    fn order_three_and_inside_three() {
        let error = |n: usize| {
            let grid: Vec<f64> = (0..=n).map(|i| 2.0 * i as f64 / n as f64).collect();
            let mut bell = Bell(0.0);
            // a tolerance that refuses nothing, so that the steps are those of the knots
            let steps = Steps::Adaptive { pair: Pair::Third, tolerance: [1e9], first: 1.0, greatest: 1.0 };
            let out = integrate(&mut bell, [1.0], &grid, steps);
            assert_eq!(out.evaluations, 3 * n + 1);
            ((out.y[0] - 0.2).abs(), bell.0)
        };
        let (coarse, fine) = (error(40), error(80));
        // theory 8 at the ends of steps, and inside, where the ends' error leads; half an order of slack
        let (ends, inside) = (coarse.0 / fine.0, coarse.1 / fine.1);
        assert!(ends > 5.6 && ends < 11.4, "{ends}");
        assert!(inside > 5.6 && inside < 11.4, "{inside}");
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
        let run = |pair: Pair, tolerance: f64| {
            let steps = Steps::Adaptive { pair, tolerance: [tolerance; 2], first: 0.1, greatest: 1.0 };
            let out = integrate(&mut Oscillator, [1.0, 0.0], &[0.0, 7.3, 20.0], steps);
            assert_eq!(out.end, End::Reached);
            (out.y[0] - 20.0_f64.cos()).abs()
        };
        // local error control: the global error follows the tolerance within a factor of the length
        for pair in [Pair::Fifth, Pair::Third] {
            assert!(run(pair, 1e-6) < 2e-5);
            assert!(run(pair, 1e-10) < 2e-9);
            assert!(run(pair, 1e-10) < 1e-3 * run(pair, 1e-6));
        }
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
        let steps = Steps::Adaptive { pair: Pair::Fifth, tolerance: [1e-9; 2], first: 0.1, greatest: 1.0 };
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
        let steps = Steps::Adaptive { pair: Pair::Fifth, tolerance: [1e-9], first: 0.1, greatest: 1.0 };
        let out = integrate(&mut Bad, [0.0], &[0.0, 1.0], steps);
        assert_eq!(out.end, End::StepTooSmall);
        assert!(out.x <= 0.5);
    }
}
