//! The two pairs of formulas: what one step does, how wrong it is, and what lies inside it.

use super::{Dense, System};

/// The coefficients of a pair whose last stage is the first of the next step.
pub(super) struct Formulas {
    /// Stages after the first.
    pub(super) stages: usize,
    /// Places of these stages, and the weights that make them.
    c: [f64; 6],
    a: [[f64; 6]; 6],
    /// Weights of the error, and of what Hermite's cubic lacks inside a step.
    error: [f64; 7],
    inside: [f64; 7],
    /// Exponents that make a step smaller, and that choose the next by this error and the last one.
    pub(super) smaller: f64,
    pub(super) next: [f64; 2],
}

pub(super) const FIFTH: Formulas = Formulas {
    stages: 6,
    c: [0.2, 0.3, 0.8, 8.0 / 9.0, 1.0, 1.0],
    a: [
        [0.2, 0.0, 0.0, 0.0, 0.0, 0.0],
        [3.0 / 40.0, 9.0 / 40.0, 0.0, 0.0, 0.0, 0.0],
        [44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0, 0.0, 0.0, 0.0],
        [19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0, 0.0, 0.0],
        [9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0, 0.0],
        [35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0],
    ],
    error: [
        71.0 / 57600.0,
        0.0,
        -71.0 / 16695.0,
        71.0 / 1920.0,
        -17253.0 / 339_200.0,
        22.0 / 525.0,
        -1.0 / 40.0,
    ],
    inside: [
        -12_715_105_075.0 / 11_282_082_432.0,
        0.0,
        87_487_479_700.0 / 32_700_410_799.0,
        -10_690_763_975.0 / 1_880_347_072.0,
        701_980_252_875.0 / 199_316_789_632.0,
        -1_453_857_185.0 / 822_651_844.0,
        69_997_945.0 / 29_380_423.0,
    ],
    smaller: -0.2,
    next: [-0.17, 0.04],
};

pub(super) const THIRD: Formulas = Formulas {
    stages: 3,
    c: [0.5, 0.75, 1.0, 0.0, 0.0, 0.0],
    a: [
        [0.5, 0.0, 0.0, 0.0, 0.0, 0.0],
        [0.0, 0.75, 0.0, 0.0, 0.0, 0.0],
        [2.0 / 9.0, 1.0 / 3.0, 4.0 / 9.0, 0.0, 0.0, 0.0],
        [0.0; 6],
        [0.0; 6],
        [0.0; 6],
    ],
    error: [-5.0 / 72.0, 1.0 / 12.0, 1.0 / 9.0, -1.0 / 8.0, 0.0, 0.0, 0.0],
    inside: [0.0; 7],
    smaller: -1.0 / 3.0,
    next: [-0.28, 0.07],
};

/// One step that was tried: rates at its stages, and the state at its end.
pub(super) struct Trial<const N: usize> {
    pub(super) k: [[f64; N]; 7],
    pub(super) y1: [f64; N],
}

impl Formulas {
    #[inline]
    pub(super) fn attempt<const N: usize, S: System<N>>(
        &self,
        system: &mut S,
        x: f64,
        h: f64,
        y: &[f64; N],
        k0: &[f64; N],
    ) -> Trial<N> {
        let mut k = [[0.0; N]; 7];
        k[0] = *k0;
        let mut stage = *y;
        for s in 0..self.stages {
            let mut sum = k[0].map(|rate| self.a[s][0] * rate);
            for j in 1..=s {
                for i in 0..N {
                    sum[i] += self.a[s][j] * k[j][i];
                }
            }
            for i in 0..N {
                stage[i] = y[i] + h * sum[i];
            }
            k[s + 1] = system.rates(x + self.c[s] * h, &stage);
        }
        Trial { k, y1: stage }
    }

    /// Greatest error of a trial over its tolerance.
    pub(super) fn error<const N: usize>(&self, trial: &Trial<N>, h: f64, tolerance: &[f64; N]) -> f64 {
        let mut e = [0.0; N];
        for j in 0..=self.stages {
            for i in 0..N {
                e[i] += self.error[j] * trial.k[j][i];
            }
        }
        let mut worst: f64 = 0.0;
        for i in 0..N {
            if tolerance[i].is_finite() {
                let ratio = (h * e[i] / tolerance[i]).abs();
                // a rate that is not a number must reject the step
                worst = if ratio.is_nan() { f64::INFINITY } else { worst.max(ratio) };
            }
        }
        worst
    }

    pub(super) fn dense<const N: usize>(&self, trial: &Trial<N>, x0: f64, h: f64, y0: &[f64; N]) -> Dense<N> {
        let mut r = [[0.0; N]; 4];
        for j in 0..=self.stages {
            for i in 0..N {
                r[3][i] += self.inside[j] * trial.k[j][i];
            }
        }
        for i in 0..N {
            let rise = trial.y1[i] - y0[i];
            let bend = h * trial.k[0][i] - rise;
            r[0][i] = rise;
            r[1][i] = bend;
            r[2][i] = rise - h * trial.k[self.stages][i] - bend;
            r[3][i] *= h;
        }
        Dense { x0, h, y0: *y0, y1: trial.y1, r }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Conditions that every pair meets for x' = x^k: Butcher, *Numerical Methods for Ordinary Differential
    /// Equations*; the orders are those of the papers named above.
    #[test]
    fn exact_quadrature_of_both_pairs() {
        for (formulas, order) in [(&FIFTH, 5), (&THIRD, 3)] {
            let n = formulas.stages;
            let places: Vec<f64> = std::iter::once(0.0).chain(formulas.c[..n].iter().copied()).collect();
            for s in 0..n {
                let row: f64 = formulas.a[s][..=s].iter().sum();
                approx::assert_abs_diff_eq!(row, formulas.c[s], epsilon = 1e-14);
            }
            let sum = |weights: &[f64], k: i32| -> f64 {
                weights.iter().zip(&places).map(|(w, x)| w * x.powi(k)).sum()
            };
            // the last stage lies at the end of the step: its row is the step
            for k in 0..order {
                let whole = sum(&formulas.a[n - 1][..n], k);
                approx::assert_abs_diff_eq!(whole, 1.0 / f64::from(k + 1), epsilon = 1e-14);
            }
            // the other formula is one order lower: they differ from x^(order - 1) on, and not before
            for k in 0..order - 1 {
                approx::assert_abs_diff_eq!(sum(&formulas.error[..=n], k), 0.0, epsilon = 1e-14);
            }
            assert!(sum(&formulas.error[..=n], order - 1).abs() > 1e-5);
        }
    }
}
