//! Choices under uncertainty in closed form: which is faster, what a test is worth.

use statrs::distribution::{Continuous, ContinuousCDF, Normal as StandardNormal};

/// A normal belief about a time or a difference of times.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belief {
    /// Mean (s).
    pub mean_s: f64,
    /// Standard deviation (s), not below 0.
    pub sd_s: f64,
}

fn phi(x: f64) -> f64 {
    StandardNormal::standard().pdf(x)
}

/// Standard normal distribution function.
pub(crate) fn normal_cdf(x: f64) -> f64 {
    StandardNormal::standard().cdf(x)
}

/// Half-width of a band of 95 % over its standard deviation `[-]`.
pub const BAND_95: f64 = 1.959_963_984_540_054;

impl Belief {
    /// The band that holds 95 % (s).
    pub fn band_s(&self) -> (f64, f64) {
        (self.mean_s - BAND_95 * self.sd_s, self.mean_s + BAND_95 * self.sd_s)
    }

    /// Chance that the value lies below zero `[-]`: of a difference B less A, that B is faster.
    pub fn below_zero(&self) -> f64 {
        if self.sd_s > 0.0 {
            return normal_cdf(-self.mean_s / self.sd_s);
        }
        if self.mean_s == 0.0 { 0.5 } else { f64::from(u8::from(self.mean_s < 0.0)) }
    }
}

/// What it is worth on average to learn a difference before choosing the faster of two (s).
///
/// ```text
///   perfect : s (phi(u) - u Phi(-u)),   u = |m|/s
///   n pairs : the same with s' = s^2 / sqrt(s^2 + 2 r^2/n) for s
/// ```
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | m, s | `difference`, mean and standard deviation of the prior | s |
/// | r | `spread_s`, of one run | s |
/// | n | `pairs` | - |
///
/// *Valid for* one choice between two set-ups. *Assumes* a normal prior, normal runs of known spread.
/// *Source*: *Raiffa 1961*. *Checked by* `published_value_of_information`.
pub(crate) fn value_of_pairs_s(difference: Belief, pairs: usize, spread_s: f64) -> f64 {
    let s2 = difference.sd_s * difference.sd_s;
    if pairs == 0 || s2 == 0.0 {
        return 0.0;
    }
    let sd_s = s2 / (s2 + 2.0 * spread_s * spread_s / pairs as f64).sqrt();
    value_of_knowing_s(Belief { mean_s: difference.mean_s, sd_s })
}

/// What knowing the difference for certain is worth on average (s); see [`value_of_pairs_s`].
pub(crate) fn value_of_knowing_s(difference: Belief) -> f64 {
    if difference.sd_s == 0.0 {
        return 0.0;
    }
    let u = difference.mean_s.abs() / difference.sd_s;
    difference.sd_s * (phi(u) - u * normal_cdf(-u))
}

/// What a probability that B is faster is called.
///
/// Thresholds: 97.5, 90 and 75 % and the same on the other side; common practice, no source.
pub fn words_of_chance(second_faster: f64) -> &'static str {
    match second_faster {
        p if p >= 0.975 => "B is faster",
        p if p >= 0.90 => "B is probably faster",
        p if p >= 0.75 => "it leans towards B",
        p if p > 0.25 => "cannot tell",
        p if p > 0.10 => "it leans towards A",
        p if p > 0.025 => "A is probably faster",
        _ => "A is faster",
    }
}

/// The thresholds of [`words_of_chance`], said beside the words.
pub const THRESHOLDS: &str =
    "words: faster from 97.5 %, probably faster from 90 %, leans from 75 %, below that cannot tell";

#[cfg(test)]
mod tests {
    use super::*;

    fn of(mean_s: f64, sd_s: f64) -> Belief {
        Belief { mean_s, sd_s }
    }

    #[test]
    fn published_value_of_information() {
        // computed independently; the digits given
        approx::assert_abs_diff_eq!(value_of_knowing_s(of(0.0, 0.05)), 0.019947114, epsilon = 5e-10);
        approx::assert_abs_diff_eq!(value_of_knowing_s(of(0.05, 0.05)), 0.004165774, epsilon = 5e-10);
        approx::assert_abs_diff_eq!(value_of_pairs_s(of(0.02, 0.05), 3, 0.165), 0.001081281, epsilon = 5e-10);
        // the sign of the difference is only a name
        assert_eq!(value_of_pairs_s(of(-0.02, 0.05), 3, 0.165), value_of_pairs_s(of(0.02, 0.05), 3, 0.165));
    }

    #[test]
    fn exact_words_change_at_their_thresholds() {
        assert_eq!(words_of_chance(0.975), "B is faster");
        assert_eq!(words_of_chance(0.9749), "B is probably faster");
        assert_eq!(words_of_chance(0.5), "cannot tell");
        assert_eq!(words_of_chance(0.02), "A is faster");
    }
}
