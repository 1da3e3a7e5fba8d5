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

    /// Mean of the slowest tenth (s).
    ///
    /// ```text
    ///   m + s phi(z) / 0.1,   Phi(z) = 0.9
    /// ```
    ///
    /// *Source*: mean of a truncated normal, *Johnson 1995*. *Checked by* `published_choice_of_two`.
    pub(crate) fn worst_tenth_s(&self) -> f64 {
        let z = StandardNormal::standard().inverse_cdf(0.9);
        self.mean_s + self.sd_s * phi(z) / 0.1
    }

    /// Belief after a measurement of the same quantity with a standard error; both normal, weights by variance.
    ///
    /// *Source*: normal prior and normal likelihood. *Checked by* `exact_two_equal_errors_meet_in_the_middle`.
    pub(crate) fn after(&self, measured_s: f64, error_s: f64) -> Belief {
        if !error_s.is_finite() {
            return *self;
        }
        let (prior, likelihood) = (self.sd_s * self.sd_s, error_s * error_s);
        if prior + likelihood == 0.0 {
            return *self;
        }
        let weight = prior / (prior + likelihood);
        Belief {
            mean_s: self.mean_s + weight * (measured_s - self.mean_s),
            sd_s: (weight * likelihood).sqrt(),
        }
    }
}

/// Chance that B is faster than A, when both times are uncertain and independent `[-]`.
pub(crate) fn second_faster(a: Belief, b: Belief) -> f64 {
    Belief { mean_s: b.mean_s - a.mean_s, sd_s: a.sd_s.hypot(b.sd_s) }.below_zero()
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
    fn published_choice_of_two() {
        let (a, b) = (of(55.20, 0.05), of(55.15, 0.20));
        // computed independently; rounding
        approx::assert_abs_diff_eq!(second_faster(a, b), 0.5958174220427449, epsilon = 1e-12);
        approx::assert_abs_diff_eq!(a.worst_tenth_s(), 55.28774916596625, epsilon = 1e-10);
        approx::assert_abs_diff_eq!(b.worst_tenth_s(), 55.500996663864974, epsilon = 1e-10);
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
    fn exact_two_equal_errors_meet_in_the_middle() {
        let after = of(0.0, 0.1).after(0.2, 0.1);
        approx::assert_abs_diff_eq!(after.mean_s, 0.1, epsilon = 1e-15); // rounding
        approx::assert_abs_diff_eq!(after.sd_s, 0.1 / 2f64.sqrt(), epsilon = 1e-15); // rounding
        assert_eq!(of(0.3, 0.1).after(9.0, f64::INFINITY), of(0.3, 0.1));
    }

    #[test]
    fn exact_words_change_at_their_thresholds() {
        assert_eq!(words_of_chance(0.975), "B is faster");
        assert_eq!(words_of_chance(0.9749), "B is probably faster");
        assert_eq!(words_of_chance(0.5), "cannot tell");
        assert_eq!(words_of_chance(0.02), "A is faster");
    }
}
