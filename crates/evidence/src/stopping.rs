//! When to stop a trial early, and what looking again and again costs.

use crate::paired_power::{FALSE_ALARM, two_sided_t};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// A look at a trial that is not finished.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// After so many pairs.
    pub pairs: usize,
    /// Stop when the mean difference is at least this many of its standard errors from zero `[-]`.
    pub limit_t: f64,
}

/// Looks that together keep the false alarm at 5 %.
///
/// ```text
///   limit of each of k looks = t_(1 - 0.05/(2 k), n - 1)
/// ```
///
/// *Valid for* any number of looks, from three pairs on. *Assumes* nothing of how the looks depend on each other, so
/// that it is on the safe side. *Source*: Bonferroni's inequality, common practice.
/// *Checked by* `exact_looks_keep_the_false_alarm`.
pub fn looks(pairs: usize) -> Vec<Look> {
    let every = (pairs / 4).max(1);
    let mut after: Vec<usize> = (1..=4).map(|k| pairs.saturating_sub(every * (4 - k))).collect();
    after.retain(|n| *n >= 3);
    after.dedup();
    let share = FALSE_ALARM / after.len().max(1) as f64;
    after.iter().map(|n| Look { pairs: *n, limit_t: two_sided_t(*n as f64 - 1.0, share) }).collect()
}

/// Share of trials without any difference that would be stopped with one of these looks, from a seeded sample `[-]`.
pub fn false_alarms(looks: &[Look], trials: usize, seed: u64) -> f64 {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let most = looks.iter().map(|l| l.pairs).max().unwrap_or(0);
    let mut stopped = 0;
    for _ in 0..trials {
        let (mut sum, mut squares, mut alarm) = (0.0, 0.0, false);
        for n in 1..=most {
            let x: f64 = StandardNormal.sample(&mut random);
            sum += x;
            squares += x * x;
            let count = n as f64;
            for look in looks.iter().filter(|l| l.pairs == n) {
                let mean = sum / count;
                let variance = (squares - count * mean * mean) / (count - 1.0);
                alarm |= mean.abs() > look.limit_t * (variance / count).sqrt();
            }
        }
        stopped += usize::from(alarm);
    }
    stopped as f64 / trials as f64
}

/// Looks after every pair from the third on, each at the plain limit of 95 %: what impatience does.
pub fn impatient(pairs: usize) -> Vec<Look> {
    (3..=pairs).map(|n| Look { pairs: n, limit_t: two_sided_t(n as f64 - 1.0, FALSE_ALARM) }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_looks_keep_the_false_alarm() {
        for pairs in [4, 8, 20] {
            let found = false_alarms(&looks(pairs), 20_000, 3);
            // at most 5 %, and three standard errors of the sample, 0.5 %
            assert!(found < 0.05 + 0.005, "{pairs}: {found}");
        }
        // looking after every pair up to twenty with the plain limit: far beyond 5 %, seed 3
        let found = false_alarms(&impatient(20), 20_000, 3);
        assert!((0.12..0.30).contains(&found), "{found}");
    }

    #[test]
    fn exact_one_look_has_the_plain_limit() {
        let one = looks(3);
        assert_eq!(one.len(), 1);
        // tables of Student's t: 4.303 with two degrees of freedom
        approx::assert_abs_diff_eq!(one[0].limit_t, 4.3027, epsilon = 1e-4);
        assert_eq!(looks(2), vec![]);
        // an impatient look has the same table: 4.303 at three pairs, 3.182 at four
        let limits: Vec<f64> = impatient(4).iter().map(|l| l.limit_t).collect();
        approx::assert_abs_diff_eq!(limits[0], 4.3027, epsilon = 1e-4);
        approx::assert_abs_diff_eq!(limits[1], 3.1824, epsilon = 1e-4);
    }
}
