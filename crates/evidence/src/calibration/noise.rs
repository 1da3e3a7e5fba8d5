//! How far a run may lie from a model that is right: athlete and ice along the way, and rounding.

use nalgebra::DMatrix;

/// Covariance of the times of one run.
///
/// ```text
///   C_ij = s^2 min(t_i, t_j)/T + [i = j] r^2/12
/// ```
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | t | `times_s` from the first eye | s |
/// | s | `spread_s`, standard deviation of the finish from run to run | s |
/// | T | `finish_s`, the time at which it is s | s |
/// | r | `rounding_s`, last digit of the sheet | s |
///
/// *Valid for* times that rise. *Assumes* that what athlete and ice do in one section is independent of what they do in
/// the next, and grows with the time spent there (a random walk); a touch or a skid is no such noise. *Source*: assumed;
/// variance of an even rounding error. *Checked by* `exact_noise_along_a_run`.
pub fn run_covariance(times_s: &[f64], finish_s: f64, spread_s: f64, rounding_s: f64) -> DMatrix<f64> {
    let n = times_s.len();
    DMatrix::from_fn(n, n, |i, j| {
        let walk = spread_s * spread_s * times_s[i].min(times_s[j]) / finish_s;
        if i == j { walk + rounding_s * rounding_s / 12.0 } else { walk }
    })
}

/// The last digit that times were written with (s): 0.1, 0.01, 0.001 or less, the coarsest that holds them all.
pub fn last_digit_s(times_s: &[f64]) -> f64 {
    let digits = (1..=6).find(|d| {
        let scale = 10f64.powi(*d);
        times_s.iter().all(|t| (t * scale - (t * scale).round()).abs() < 1e-4)
    });
    10f64.powi(-digits.unwrap_or(6))
}
