//! Stabilised explicit Runge-Kutta steps of second order: few stages for motions of which a part dies away fast.
//!
//! ```text
//!   Y_1 = Y_0 + m_1 h F_0
//!   Y_j = (1 - p_j - q_j) Y_0 + p_j Y_(j-1) + q_j Y_(j-2) + m_j h F_(j-1) + g_j h F_0,   j = 2 .. s
//! ```
//!
//! With s stages a rate of decay of up to 0.65 (s^2 - 1) over the length of the step is stable, where the classical
//! fourth order needs a step for every 2.8. *Source*: Runge-Kutta-Chebyshev method, Sommeijer, Shampine and Verwer,
//! J. Comput. Appl. Math. 88 (1998) 315, damping 2/13. *Checked by* `order_two_for_every_number_of_stages`,
//! `exact_decay_within_the_limit_dies_away`.

/// Damping: what keeps stable steps off the edge of stability.
const DAMPING: f64 = 2.0 / 13.0;
/// Fewest and most stages.
const STAGES: [usize; 2] = [2, 20];

/// One stage: what its value takes of those before it, and of their rates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stage {
    /// Where in the step its rate is taken `[-]`.
    pub at: f64,
    /// Part of the value before it.
    pub last: f64,
    /// Part of the value before that one.
    pub before: f64,
    /// Part of the rate at the value before it.
    pub rate: f64,
    /// Part of the rate at the start.
    pub first_rate: f64,
}

/// Coefficients for a number of stages: one entry for each value behind the start, the last at the end of the step.
#[derive(Clone, Debug, PartialEq)]
pub struct Stabilised(Vec<Stage>);

/// Chebyshev polynomials up to degree `n` at `x`, with first and second derivatives.
fn chebyshev(n: usize, x: f64) -> Vec<[f64; 3]> {
    let mut all = vec![[1.0, 0.0, 0.0], [x, 1.0, 0.0]];
    for j in 2..=n {
        let ([a, a1, a2], [b, b1, b2]) = (all[j - 1], all[j - 2]);
        all.push([2.0 * x * a - b, 2.0 * (a + x * a1) - b1, 2.0 * (2.0 * a1 + x * a2) - b2]);
    }
    all
}

impl Stabilised {
    /// A step of `stages` evaluations of the rates, held to 2 to 20.
    pub fn new(stages: usize) -> Stabilised {
        let s = stages.clamp(STAGES[0], STAGES[1]);
        let w0 = 1.0 + DAMPING / (s * s) as f64;
        let t = chebyshev(s, w0);
        let w1 = t[s][1] / t[s][2];
        let b = |j: usize| {
            let j = j.max(2);
            t[j][2] / (t[j][1] * t[j][1])
        };
        let at = |j: usize| if j == 1 { w1 * t[2][2] / t[2][1] / t[2][1] } else { w1 * t[j][2] / t[j][1] };
        let first = Stage { at: at(1), last: 1.0, before: 0.0, rate: b(1) * w1, first_rate: 0.0 };
        let others = (2..=s).map(|j| {
            let rate = 2.0 * b(j) * w1 / b(j - 1);
            Stage {
                at: at(j),
                last: 2.0 * b(j) * w0 / b(j - 1),
                before: -b(j) / b(j - 2),
                rate,
                first_rate: -(1.0 - b(j - 1) * t[j - 1][0]) * rate,
            }
        });
        Stabilised(std::iter::once(first).chain(others).collect())
    }

    /// The stages for a decay that takes the motion down by `exp(-decay)` over a step.
    pub fn for_decay(decay: f64) -> Stabilised {
        let per = 2.0 / 3.0 * (1.0 - 2.0 / 15.0 * DAMPING);
        Stabilised::new((decay / per + 1.0).sqrt().ceil() as usize)
    }

    /// The values behind the start, one by one.
    pub fn stages(&self) -> &[Stage] {
        &self.0
    }

    /// Where in the step the rates are taken `[-]`: at its start, then at all values but the last.
    pub fn rates_at(&self) -> impl Iterator<Item = f64> {
        let inner = self.0.split_last().map_or(&[][..], |(_, inner)| inner);
        std::iter::once(0.0).chain(inner.iter().map(|stage| stage.at))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One step of y' = f(x, y).
    fn step(stages: usize, x: f64, y: f64, h: f64, f: impl Fn(f64, f64) -> f64) -> f64 {
        let method = Stabilised::new(stages);
        let first = f(x, y);
        let (mut last, mut before, mut rate) = (y, y, first);
        for (i, s) in method.stages().iter().enumerate() {
            let next = (1.0 - s.last - s.before) * y
                + s.last * last
                + s.before * before
                + h * (s.rate * rate + s.first_rate * first);
            (before, last) = (last, next);
            if i + 1 < method.stages().len() {
                rate = f(x + h * s.at, last);
            }
        }
        last
    }

    #[test]
    fn order_two_for_every_number_of_stages() {
        // y' = -2 x y^2, y(0) = 1: y = 1/(1 + x^2)
        let error = |stages: usize, steps: usize| {
            let h = 2.0 / steps as f64;
            let mut y = 1.0;
            for i in 0..steps {
                y = step(stages, i as f64 * h, y, h, |x, y| -2.0 * x * y * y);
            }
            (y - 0.2_f64).abs()
        };
        for stages in [2, 3, 4, 5, 8, 13] {
            let ratio = error(stages, 80) / error(stages, 160);
            // theory 4; a tenth for the next order
            assert!((ratio - 4.0).abs() < 0.4, "{stages} stages: {ratio}");
        }
    }

    #[test]
    fn exact_decay_within_the_limit_dies_away() {
        for decay in [0.5, 3.0, 6.0, 15.0, 60.0] {
            let stages = Stabilised::for_decay(decay).stages().len();
            let left = step(stages, 0.0, 1.0, 1.0, |_, y| -decay * y);
            // the method promises 1 - damping / 3 beyond the first dip
            assert!(left.abs() < 0.96, "{decay}: {left} with {stages} stages");
        }
        // and not far beyond it
        let beyond = step(4, 0.0, 1.0, 1.0, |_, y| -12.0 * y);
        assert!(beyond.abs() > 1.0, "{beyond}");
    }
}
