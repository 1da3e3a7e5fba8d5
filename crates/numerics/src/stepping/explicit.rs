//! The explicit pair of order 5(4) and its continuous extension of order 4.
//!
//! *Source*: Dormand and Prince, J. Comput. Appl. Math. 6 (1980) 19; extension in Hairer, Norsett and Wanner, *Solving
//! Ordinary Differential Equations I*, section II.6. *Checked by* `order_five_and_dense_four`.

use super::{Dense, System, Trial};

const C: [f64; 6] = [0.2, 0.3, 0.8, 8.0 / 9.0, 1.0, 1.0];
const A: [[f64; 6]; 6] = [
    [0.2, 0.0, 0.0, 0.0, 0.0, 0.0],
    [3.0 / 40.0, 9.0 / 40.0, 0.0, 0.0, 0.0, 0.0],
    [44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0, 0.0, 0.0, 0.0],
    [19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0, 0.0, 0.0],
    [9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0, 0.0],
    [35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0],
];
/// Weights of the rates in the estimate of the error.
pub(super) const ERROR: [f64; 7] =
    [71.0 / 57600.0, 0.0, -71.0 / 16695.0, 71.0 / 1920.0, -17253.0 / 339_200.0, 22.0 / 525.0, -1.0 / 40.0];
const D: [f64; 7] = [
    -12_715_105_075.0 / 11_282_082_432.0,
    0.0,
    87_487_479_700.0 / 32_700_410_799.0,
    -10_690_763_975.0 / 1_880_347_072.0,
    701_980_252_875.0 / 199_316_789_632.0,
    -1_453_857_185.0 / 822_651_844.0,
    69_997_945.0 / 29_380_423.0,
];

/// Stages that are evaluated in an attempt; the first one is known.
pub(super) const EVALUATED: usize = 6;

/// A step of length `h` from `y`, whose rates are `k0`. The last rates are those at its end.
pub(super) fn attempt<const N: usize, S: System<N>>(
    system: &mut S,
    x: f64,
    h: f64,
    y: &[f64; N],
    k0: &[f64; N],
) -> Trial<N> {
    let mut k = [[0.0; N]; 7];
    k[0] = *k0;
    let mut stage = *y;
    for s in 0..EVALUATED {
        for i in 0..N {
            let mut sum = A[s][0] * k[0][i];
            for j in 1..=s {
                sum += A[s][j] * k[j][i];
            }
            stage[i] = y[i] + h * sum;
        }
        k[s + 1] = system.rates(x + C[s] * h, &stage);
    }
    Trial { k, y1: stage }
}

/// The step with its continuous extension.
pub(super) fn dense<const N: usize>(trial: &Trial<N>, x0: f64, h: f64, y0: &[f64; N]) -> Dense<N> {
    let mut dense = trial.hermite(x0, h, y0);
    for i in 0..N {
        let mut sum = 0.0;
        for j in 0..7 {
            sum += D[j] * trial.k[j][i];
        }
        dense.r[3][i] = h * sum;
    }
    dense
}
