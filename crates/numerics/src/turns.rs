//! Sine and cosine of several angles in turns at once, without a branch.

use std::f64::consts::TAU;

/// Adding it rounds to a whole number, which is then in the low bits.
const ROUNDS: f64 = 6_755_399_441_055_744.0; // 1.5 * 2^52

/// Taylor's numbers of `sin(2 pi r) / r` and `cos(2 pi r)` over `r^2`, |r| up to a quarter: the first term left out is
/// below 1e-14.
const TERMS: usize = 10;
const SIN: [f64; TERMS] = taylor(1);
const COS: [f64; TERMS] = taylor(0);

const fn taylor(first: usize) -> [f64; TERMS] {
    let mut out = [0.0; TERMS];
    let mut term = if first == 1 { TAU } else { 1.0 };
    let mut i = 0;
    while i < TERMS {
        out[i] = term;
        let n = (2 * i + first) as f64;
        term *= -TAU * TAU / ((n + 1.0) * (n + 2.0));
        i += 1;
    }
    out
}

/// Sine and cosine of `turns` full turns each, to 1e-13 up to a million of them.
#[inline]
pub fn sin_cos_turns<const N: usize>(turns: [f64; N]) -> ([f64; N], [f64; N]) {
    let (mut sin, mut cos) = ([0.0; N], [0.0; N]);
    for i in 0..N {
        // half turns change the sign only
        let halves = 2.0 * turns[i] + ROUNDS;
        let rest = turns[i] - 0.5 * (halves - ROUNDS);
        let sign = halves.to_bits() << 63;
        let square = rest * rest;
        let (mut s, mut c) = (SIN[TERMS - 1], COS[TERMS - 1]);
        for n in (0..TERMS - 1).rev() {
            s = s * square + SIN[n];
            c = c * square + COS[n];
        }
        sin[i] = f64::from_bits((s * rest).to_bits() ^ sign);
        cos[i] = f64::from_bits(c.to_bits() ^ sign);
    }
    (sin, cos)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_turns_are_those_of_the_standard_library() {
        for i in 0..400_000 {
            // all quarters and their neighbourhoods, both signs, and far out
            let near = f64::from(i - 200_000) * 1.25e-5;
            let far = f64::from(i) * 2.5 - 5e5 + near;
            let turns = [near, far, 0.25 * f64::from(i - 200_000), 1e-12 * near];
            let (sin, cos) = sin_cos_turns(turns);
            for (k, turns) in turns.into_iter().enumerate() {
                let (s, c) = (TAU * turns.fract()).sin_cos();
                approx::assert_abs_diff_eq!(sin[k], s, epsilon = 1e-13);
                approx::assert_abs_diff_eq!(cos[k], c, epsilon = 1e-13);
            }
        }
    }
}
