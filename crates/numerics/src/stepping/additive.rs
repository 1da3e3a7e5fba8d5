//! An additive pair of order 4(3): a part of two rates that dies away fast is taken implicitly, all else explicitly.
//!
//! ```text
//!   y' = f(x, y) = [f - A (y - y_0)] + A (y - y_0),        A: slopes of two rates by their two states, else zero
//!   Y_i = y_0 + h sum_(j<i) [ e_ij (f_j - A (Y_j - y_0)) + a_ij A (Y_j - y_0) ] + h g A (Y_i - y_0)
//!   y_1 = y_0 + h sum b_j f_j
//! ```
//!
//! Any `A` gives the order; a true one lets steps be longer than an explicit pair, which must follow the fast part, may
//! take. Each stage solves two equations for the two states; no step is repeated for it.
//! *Source*: ARK4(3)6L\[2\]SA of Kennedy and Carpenter, Appl. Numer. Math. 44 (2003) 139. *Checked by*
//! `order_four_with_a_fast_part`, `exact_conditions_of_the_additive_pair`, `exact_a_fast_part_dies_away`.

use super::{System, Trial};

/// Stages that are evaluated in an attempt; the first one is known.
pub(super) const EVALUATED: usize = 5;
/// Part of a stage's own rates in it.
pub(super) const G: f64 = 0.25;
/// Where the stages behind the first lie.
pub(super) const C: [f64; EVALUATED] = [0.5, 83.0 / 250.0, 31.0 / 50.0, 17.0 / 20.0, 1.0];
/// What the stages take of the explicit rates before them.
pub(super) const EXPLICIT: [[f64; EVALUATED]; EVALUATED] = [
    [0.5, 0.0, 0.0, 0.0, 0.0],
    [13861.0 / 62500.0, 6889.0 / 62500.0, 0.0, 0.0, 0.0],
    [
        -116_923_316_275.0 / 2_393_684_061_468.0,
        -2_731_218_467_317.0 / 15_368_042_101_831.0,
        9_408_046_702_089.0 / 11_113_171_139_209.0,
        0.0,
        0.0,
    ],
    [
        -451_086_348_788.0 / 2_902_428_689_909.0,
        -2_682_348_792_572.0 / 7_519_795_681_897.0,
        12_662_868_775_082.0 / 11_960_479_115_383.0,
        3_355_817_975_965.0 / 11_060_851_509_271.0,
        0.0,
    ],
    [
        647_845_179_188.0 / 3_216_320_057_751.0,
        73_281_519_250.0 / 8_382_639_484_533.0,
        552_539_513_391.0 / 3_454_668_386_233.0,
        3_354_512_671_639.0 / 8_306_763_924_573.0,
        4040.0 / 17871.0,
    ],
];
/// What they take of the implicit rates before them.
pub(super) const IMPLICIT: [[f64; EVALUATED]; EVALUATED] = [
    [0.25, 0.0, 0.0, 0.0, 0.0],
    [8611.0 / 62500.0, -1743.0 / 31250.0, 0.0, 0.0, 0.0],
    [5_012_029.0 / 34_652_500.0, -654_441.0 / 2_922_500.0, 174_375.0 / 388_108.0, 0.0, 0.0],
    [
        15_267_082_809.0 / 155_376_265_600.0,
        -71_443_401.0 / 120_774_400.0,
        730_878_875.0 / 902_184_768.0,
        2_285_395.0 / 8_070_912.0,
        0.0,
    ],
    [82889.0 / 524_892.0, 0.0, 15625.0 / 83664.0, 69875.0 / 102_672.0, -2260.0 / 8211.0],
];
/// What the step takes of the rates.
pub(super) const B: [f64; 6] =
    [82889.0 / 524_892.0, 0.0, 15625.0 / 83664.0, 69875.0 / 102_672.0, -2260.0 / 8211.0, G];
/// What the step of order 3 beside it takes.
pub(super) const BESIDE: [f64; 6] = [
    4_586_570_599.0 / 29_645_900_160.0,
    0.0,
    178_811_875.0 / 945_068_544.0,
    814_220_225.0 / 1_159_782_912.0,
    -3_700_637.0 / 11_593_932.0,
    61727.0 / 225_920.0,
];
/// Weights of the rates in the estimate of the error.
pub(super) const ERROR: [f64; 7] = [
    B[0] - BESIDE[0],
    B[1] - BESIDE[1],
    B[2] - BESIDE[2],
    B[3] - BESIDE[3],
    B[4] - BESIDE[4],
    B[5] - BESIDE[5],
    0.0,
];

/// A step of length `h` from `y`, whose rates are `k0`, with the places and slopes of what dies away fast. The rates at
/// its end are left open.
pub(super) fn attempt<const N: usize, S: System<N>>(
    system: &mut S,
    x: f64,
    h: f64,
    y: &[f64; N],
    k0: &[f64; N],
    (at, slope): ([usize; 2], [[f64; 2]; 2]),
) -> Trial<N> {
    let mut k = [[0.0; N]; 7];
    k[0] = *k0;
    // 1 - h g A of the two states, solved by Cramer's rule
    let (a, b) = (1.0 - h * G * slope[0][0], -h * G * slope[0][1]);
    let (c, d) = (-h * G * slope[1][0], 1.0 - h * G * slope[1][1]);
    let per = 1.0 / (a * d - b * c);
    // A (Y - y_0) of the stages so far
    let mut linear = [[0.0; 2]; EVALUATED + 1];
    let mut stage = *y;
    for s in 0..EVALUATED {
        for i in 0..N {
            let mut sum = EXPLICIT[s][0] * k[0][i];
            for j in 1..=s {
                sum += EXPLICIT[s][j] * k[j][i];
            }
            stage[i] = y[i] + h * sum;
        }
        let mut beside = [0.0; 2];
        for n in 0..2 {
            let mut sum = 0.0;
            for j in 1..=s {
                sum += (IMPLICIT[s][j] - EXPLICIT[s][j]) * linear[j][n];
            }
            beside[n] = stage[at[n]] - y[at[n]] + h * sum;
        }
        let solved = [(d * beside[0] - b * beside[1]) * per, (a * beside[1] - c * beside[0]) * per];
        for n in 0..2 {
            stage[at[n]] = y[at[n]] + solved[n];
            linear[s + 1][n] = slope[n][0] * solved[0] + slope[n][1] * solved[1];
        }
        k[s + 1] = system.rates(x + C[s] * h, &stage);
    }
    let mut y1 = *y;
    for i in 0..N {
        let mut sum = 0.0;
        for j in 0..=EVALUATED {
            sum += B[j] * k[j][i];
        }
        y1[i] += h * sum;
    }
    Trial { k, y1 }
}

#[cfg(test)]
mod tests;
