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

/// The covariance of the times of one run with one more time among them, last in the matrix.
///
/// ```text
///   t = a t_i + (1 - a) t_j + b,   var b = a (1 - a) var(t_j - t_i),   a = (T_j - T)/(T_j - T_i)
/// ```
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | T, `T_i` | `more_s`, `times_s` | s |
/// | C | `covariance`, with rounding | s2 |
/// | r | `rounding_s` | s |
///
/// `t_i`, `t_j` are the times before and behind it, rounding left out; the clock starts without error. *Assumes* that
/// errors grow evenly between two eyes and come by chance there; for a random walk this is the walk itself. *Source*:
/// bridge of a random walk. *Checked by* `exact_one_more_time_of_a_walk`.
pub fn with_one_more(
    covariance: &DMatrix<f64>,
    times_s: &[f64],
    more_s: f64,
    rounding_s: f64,
) -> DMatrix<f64> {
    let (n, rounded_s2) = (times_s.len(), rounding_s * rounding_s / 12.0);
    let smooth = |i: usize, j: usize| covariance[(i, j)] - if i == j { rounded_s2 } else { 0.0 };
    let next = times_s.partition_point(|t| *t < more_s);
    let last = next == n;
    // behind the last time it is that one
    let after = next.min(n.saturating_sub(1));
    let before = after.checked_sub(1);
    let from_s = before.map_or(0.0, |i| times_s[i]);
    let a = if last { 0.0 } else { (times_s[after] - more_s) / (times_s[after] - from_s) };
    let with = |j: usize| a * before.map_or(0.0, |i| smooth(i, j)) + (1.0 - a) * smooth(after, j);
    let step = before.map_or(0.0, |i| smooth(i, i) - 2.0 * smooth(i, after)) + smooth(after, after);
    let both = a * before.map_or(0.0, &with) + (1.0 - a) * with(after);
    DMatrix::from_fn(n + 1, n + 1, |i, j| match (i < n, j < n) {
        (true, true) => covariance[(i, j)],
        (true, false) => with(i),
        (false, true) => with(j),
        (false, false) => both + a * (1.0 - a) * step.max(0.0) + rounded_s2,
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
