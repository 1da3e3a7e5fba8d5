//! Steering that is held from one decision to the next: the regulator of a sampled system, and how far a sight is
//! believed.
//!
//! ```text
//!   x_k+1 = A_k x_k + b_k d_k                             d held over the interval
//!   minimise  sum dt [ sum (x_i/a_i)^2 + (d/a_d)^2 ]
//!   S_k = Q + A' S A - A' S b (R + b' S b)^-1 b' S A,     d_k = -(R + b' S b)^-1 b' S A x_k
//!   L_k = P H' (H P H' + N)^-1,     P_k+1 = A (P - L H P) A' + W
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | a_i, a_d | `allowed`, `allowed_press`: deviations that count the same | of the state; - |
//! | H | `seen`: the states that are seen | - |
//! | N | `sight_variance`, of what is seen | of the state, squared |
//! | W | `shake_variance`, what an interval adds | of the state, squared |
//!
//! *Valid for* small deviations. *Source*: discrete Riccati equations of regulator and filter, e.g. Anderson and
//! Moore, *Optimal Control* (1990). *Checked by* `exact_regulator_and_sight_of_a_number`.

use nalgebra::{SMatrix, SVector};

/// One interval from decision to decision.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Interval<const N: usize> {
    /// How deviations go on.
    pub(crate) a: SMatrix<f64, N, N>,
    /// What a press held over the interval adds.
    pub(crate) b: SVector<f64, N>,
    /// Its length (s).
    pub(crate) length_s: f64,
}

/// Gains of the press on the deviations, interval by interval; add them up for the press.
pub(crate) fn press_gains<const N: usize>(
    intervals: &[Interval<N>],
    allowed: [f64; N],
    allowed_press: f64,
) -> Vec<SVector<f64, N>> {
    let weight = SVector::from(allowed.map(|a| 1.0 / (a * a)));
    let mut value = SMatrix::from_diagonal(&(weight * 0.1));
    let mut gains = vec![SVector::zeros(); intervals.len()];
    for (gain, i) in gains.iter_mut().zip(intervals).rev() {
        let vb = value * i.b;
        let row = (i.a.transpose() * vb) / (i.length_s / (allowed_press * allowed_press) + i.b.dot(&vb));
        *gain = -row;
        value = SMatrix::from_diagonal(&(weight * i.length_s)) + i.a.transpose() * value * i.a
            - (i.a.transpose() * vb) * row.transpose();
        value = (value + value.transpose()) * 0.5;
    }
    gains
}

/// How far each state follows what is seen beside the expected, at the start of each interval.
pub(crate) fn sight_gains<const N: usize, const M: usize>(
    intervals: &[Interval<N>],
    seen: [usize; M],
    sight_variance: [f64; M],
    first_variance: [f64; N],
    shake_variance: impl Fn(f64) -> [f64; N],
) -> Vec<SMatrix<f64, N, M>> {
    let look = SMatrix::<f64, M, N>::from_fn(|i, j| if seen[i] == j { 1.0 } else { 0.0 });
    let noise = SMatrix::<f64, M, M>::from_diagonal(&SVector::from(sight_variance));
    let mut spread = SMatrix::<f64, N, N>::from_diagonal(&SVector::from(first_variance));
    let believed = |i: &Interval<N>| {
        let across = spread * look.transpose();
        // a spread that cannot be turned round believes nothing
        let turned = (look * across + noise).try_inverse().unwrap_or_else(SMatrix::zeros);
        let gain = across * turned;
        let left = spread - gain * look * spread;
        let shaken = SMatrix::from_diagonal(&SVector::from(shake_variance(i.length_s)));
        spread = i.a * left * i.a.transpose() + shaken;
        spread = (spread + spread.transpose()) * 0.5;
        gain
    };
    intervals.iter().map(believed).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_regulator_and_sight_of_a_number() {
        // x' = x + d with all weights and variances one: S = P = (1 + sqrt 5)/2, gain S/(1 + S) = (sqrt 5 - 1)/2
        let one = Interval { a: SMatrix::from([[1.0]]), b: SVector::from([1.0]), length_s: 1.0 };
        let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
        let press = press_gains(&[one; 40], [1.0], 1.0);
        // each interval takes the rest down by (1 - golden)^2 = 0.15: rounding after forty
        approx::assert_abs_diff_eq!(press[0][0], -golden, epsilon = 1e-12);
        // one interval before the end, by hand: S = 0.1, row = 0.1/(1 + 0.1)
        approx::assert_abs_diff_eq!(press[39][0], -0.1 / 1.1, epsilon = 1e-15);
        let sight = sight_gains(&[one; 40], [0], [1.0], [2.0], |_| [1.0]);
        approx::assert_abs_diff_eq!(sight[0][(0, 0)], 2.0 / 3.0, epsilon = 1e-15);
        approx::assert_abs_diff_eq!(sight[39][(0, 0)], golden, epsilon = 1e-12);
    }

    #[test]
    fn exact_regulator_of_a_lag_by_hand() {
        // a = 0.5, b = 0.5, q = r = 1: S = 1 + S/4 - (S/4)^2/(1 + S/4), so (S/4) =: t gives 4 t = 1 + t - t^2/(1 + t),
        // 4 t^2 + 2 t - 1 = 0, t = (sqrt 5 - 1)/4, gain t/(1 + t)
        let one = Interval { a: SMatrix::from([[0.5]]), b: SVector::from([0.5]), length_s: 1.0 };
        let t = (5.0_f64.sqrt() - 1.0) / 4.0;
        let press = press_gains(&[one; 40], [1.0], 1.0);
        approx::assert_abs_diff_eq!(press[0][0], -t / (1.0 + t), epsilon = 1e-12); // rounding
    }
}
