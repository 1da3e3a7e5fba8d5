//! Exponential and normal tail of several numbers at once, side by side: the same few operations on each, so
//! that a processor can work on them together.

/// 1 / ln 2.
const PER_LN_2: f64 = std::f64::consts::LOG2_E;
/// ln 2 in two parts: the first has few enough digits that its multiples are exact.
const LN_2: [f64; 2] = [6.931_471_803_691_238e-1, 1.908_214_929_270_587_7e-10];
/// Added and taken away again, this rounds to a whole number, which stands in the lowest bits in between.
const ROUND: f64 = 6_755_399_441_055_744.0;
/// Inverse factorials from 1 to 1/11!.
const INVERSE_FACTORIAL: [f64; 12] = [
    1.0,
    1.0,
    0.5,
    1.0 / 6.0,
    1.0 / 24.0,
    1.0 / 120.0,
    1.0 / 720.0,
    1.0 / 5_040.0,
    1.0 / 40_320.0,
    1.0 / 362_880.0,
    1.0 / 3_628_800.0,
    1.0 / 39_916_800.0,
];

/// Polynomials with coefficients from the lowest power: four interleaved sums in x^4, which do not wait for each
/// other. The number of coefficients is a multiple of four.
#[inline(never)]
fn polynomial<const N: usize>(coefficients: &[f64], x: &[f64; N]) -> [f64; N] {
    let x2 = x.map(|x| x * x);
    let x4 = x2.map(|x| x * x);
    let mut sums = [[0.0; N]; 4];
    for group in coefficients.chunks_exact(4).rev() {
        for (sum, c) in sums.iter_mut().zip(group) {
            for n in 0..N {
                sum[n] = sum[n] * x4[n] + c;
            }
        }
    }
    let [a, b, c, d] = sums;
    std::array::from_fn(|n| (a[n] + b[n] * x[n]) + x2[n] * (c[n] + d[n] * x[n]))
}

/// Exponentials of numbers from -700 to 700; relative error 1e-14.
///
/// ```text
/// exp x = 2^k exp r,  k = round(x / ln 2),  |r| <= ln 2 / 2, by its Taylor sum to r^11
/// ```
///
/// Checked by: `exact_exponentials_and_tails`.
#[inline(never)]
pub(crate) fn exp<const N: usize>(x: &[f64; N]) -> [f64; N] {
    let shifted = x.map(|x| x * PER_LN_2 + ROUND);
    let mut rest = [0.0; N];
    for n in 0..N {
        let k = shifted[n] - ROUND;
        rest[n] = (x[n] - k * LN_2[0]) - k * LN_2[1];
    }
    let mut out = polynomial(&INVERSE_FACTORIAL, &rest);
    for n in 0..N {
        // k into the exponent
        out[n] = f64::from_bits(out[n].to_bits().wrapping_add(shifted[n].to_bits() << 52));
    }
    out
}

/// Greatest argument of [`half_erfc`].
pub(crate) const FARTHEST: f64 = 4.25;
/// Coefficients of [`half_erfc`], lowest power first: its own fit at the Chebyshev points.
const TAIL: [f64; 16] = [
    4.995206474556917e-05,
    0.09305547603875702,
    0.10268534721605721,
    0.0428710413644119,
    0.2404677275510844,
    -0.335011942112068,
    0.7397916442971019,
    -0.8175284254120676,
    0.7046553828768272,
    -0.3334467005023676,
    0.05660065355801268,
    0.009280042404946896,
    -0.0034701993457152878,
    0.0,
    0.0,
    0.0,
];

/// Half the complementary error function of numbers from 0 to [`FARTHEST`]; error 3e-13.
///
/// ```text
/// erfc(x) / 2 = exp(-x^2) P(t),  t = 1 / (1 + x/3)
/// ```
///
/// Checked by: `exact_exponentials_and_tails`.
#[inline(never)]
pub(crate) fn half_erfc<const N: usize>(x: &[f64; N]) -> [f64; N] {
    let bell = exp(&x.map(|x| -(x * x)));
    let t = x.map(|x| 3.0 / (3.0 + x));
    let mut out = polynomial(&TAIL, &t);
    for n in 0..N {
        out[n] *= bell[n];
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_exponentials_and_tails() {
        for i in 0..=1000 {
            let x = f64::from(i) * 4.25e-3;
            let [tail, twice] = half_erfc(&[x, 0.5 * x]);
            // against the mathematical library; the error of the fit
            approx::assert_abs_diff_eq!(tail, 0.5 * libm::erfc(x), epsilon = 4e-13);
            approx::assert_abs_diff_eq!(twice, 0.5 * libm::erfc(0.5 * x), epsilon = 4e-13);
            for y in [x, -x, -160.0 * x, 160.0 * x] {
                // rounding, and the thirteenth power of ln 2 / 2 over 12!
                approx::assert_relative_eq!(exp(&[y])[0], y.exp(), max_relative = 2e-14);
            }
        }
    }
}
