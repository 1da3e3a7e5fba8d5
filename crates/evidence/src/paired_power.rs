//! What a number of A/B pairs can show: power, pairs needed, least difference.

use numerics::quadrature::gauss_8;
use numerics::roots::brent;
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};
use statrs::function::gamma::ln_gamma;

/// Chance of a false alarm that every test here allows, both sides together `[-]`: common practice.
pub const FALSE_ALARM: f64 = 0.05;
/// Power that counts as "shows": 80 % `[-]`, common practice.
pub const USUAL_POWER: f64 = 0.80;

/// Value of Student's t that is exceeded on both sides together with this chance; infinite below one
/// degree of freedom.
pub(crate) fn two_sided_t(freedom: f64, chance: f64) -> f64 {
    if freedom < 1.0 {
        return f64::INFINITY;
    }
    StudentsT::new(0.0, 1.0, freedom).map_or(f64::INFINITY, |t| t.inverse_cdf(1.0 - 0.5 * chance))
}

/// P(T > t) for noncentral t.
///
/// ```text
///   T = (Z + d) / S,   S = sqrt(chi2_f / f)
///   P(T > t) = int_0^inf Phi(d - t s) p(s) ds,   p(s) = 2 (f/2)^(f/2) / Gamma(f/2) s^(f-1) exp(-f s^2/2)
/// ```
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | d | `shift` | - |
/// | f | `freedom` | - |
/// | t | `t` | - |
///
/// *Valid for* one degree of freedom and more, also broken numbers. *Assumes* nothing beyond the definition.
/// *Source*: definition of noncentral t (*Johnson 1995*), the integral over s taken by Gauss-Legendre steps.
/// *Checked by* `exact_noncentral_t_without_shift_is_students`, `published_pairs_needed`.
pub(crate) fn noncentral_t_above(t: f64, freedom: f64, shift: f64) -> f64 {
    let Ok(normal) = Normal::new(0.0, 1.0) else { return f64::NAN };
    let half = 0.5 * freedom;
    let constant = std::f64::consts::LN_2 + half * half.ln() - ln_gamma(half);
    let density = |s: f64| (constant + (freedom - 1.0) * s.ln() - half * s * s).exp();
    // beyond ten standard deviations of S, 1/sqrt(2 f), nothing is left
    let spread = 10.0 / (2.0 * freedom).sqrt();
    let (from, to) = ((1.0 - spread).max(0.0), 1.0 + spread);
    let steps = 60;
    let width = (to - from) / f64::from(steps);
    let part = |k: i32| {
        let a = from + width * f64::from(k);
        gauss_8(a, a + width, |s| normal.cdf(shift - t * s) * density(s))
    };
    (0..steps).map(part).sum()
}

/// Chance that a two-sided paired t-test of `pairs` pairs tells a difference of `effect` standard deviations
/// *of the differences* `[-]`.
///
/// ```text
///   power = P(|T| > t_(1 - alpha/2, n-1)),   T noncentral t with n - 1 degrees of freedom and shift d sqrt(n)
/// ```
///
/// *Valid for* two pairs and more. *Assumes* normal differences, independent from pair to pair.
/// *Source*: *Cohen 1988*. *Checked by* `published_pairs_needed`, `exact_power_without_a_difference`.
pub fn paired_power(pairs: f64, effect: f64, false_alarm: f64) -> f64 {
    if !(pairs >= 2.0) {
        return 0.0;
    }
    let (freedom, shift) = (pairs - 1.0, effect.abs() * pairs.sqrt());
    let limit = two_sided_t(freedom, false_alarm);
    (noncentral_t_above(limit, freedom, shift) + noncentral_t_above(limit, freedom, -shift)).clamp(0.0, 1.0)
}

/// Standard deviation of the difference of two runs (s), of which each spreads by `spread_s`.
pub fn pair_spread_s(spread_s: f64) -> f64 {
    std::f64::consts::SQRT_2 * spread_s
}

/// Pairs that a paired test needs for a power, not rounded; `None` beyond ten million.
pub fn pairs_needed(effect: f64, power: f64, false_alarm: f64) -> Option<f64> {
    let (least, most) = (2.0, 1e7);
    let lacking = |n: f64| paired_power(n, effect, false_alarm) - power;
    if lacking(least) >= 0.0 {
        return Some(least);
    }
    brent(least, most, 1e-9, lacking)
}

/// Least effect that a number of pairs shows with a power, in standard deviations of the differences.
pub(crate) fn least_effect(pairs: usize, power: f64, false_alarm: f64) -> Option<f64> {
    if pairs < 2 {
        return None;
    }
    brent(0.0, 1e4, 1e-10, |d| paired_power(pairs as f64, d, false_alarm) - power)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_pairs_needed() {
        // computed independently, alpha 0.05 two-sided, powers 0.80 and 0.90; six digits are asked for
        let known =
            [(0.2, [198.150821, 264.613685]), (0.5, [33.367131, 43.995481]), (1.0, [9.937851, 12.585460])];
        for (effect, wanted) in known {
            for (power, wanted) in [0.8, 0.9].into_iter().zip(wanted) {
                let got = pairs_needed(effect, power, 0.05).unwrap();
                // six digits; the known values leave out the far tail, 1e-7 of the power at most
                approx::assert_relative_eq!(got, wanted, max_relative = 5e-7);
            }
        }
    }

    #[test]
    fn exact_noncentral_t_without_shift_is_students() {
        for freedom in [1.0, 2.0, 5.5, 30.0, 400.0] {
            for t in [0.0, 0.7, 2.1, 4.0] {
                let wanted = 1.0 - StudentsT::new(0.0, 1.0, freedom).unwrap().cdf(t);
                // the quadrature
                approx::assert_abs_diff_eq!(noncentral_t_above(t, freedom, 0.0), wanted, epsilon = 1e-9);
            }
        }
    }

    #[test]
    fn exact_power_without_a_difference() {
        for pairs in [2.0, 3.0, 10.0, 200.0] {
            // the false alarm itself; quadrature
            approx::assert_abs_diff_eq!(paired_power(pairs, 0.0, 0.05), 0.05, epsilon = 1e-8);
        }
        assert_eq!(paired_power(1.0, 3.0, 0.05), 0.0); // one pair has no spread
    }

    #[test]
    fn published_what_a_spread_of_0165_s_needs() {
        // job description of a trial: 0.165 s from run to run, 80 %: 173 pairs for 0.05 s, 45 for 0.10, 13 for 0.20
        let sd = pair_spread_s(0.165);
        let need = |d: f64| pairs_needed(d / sd, 0.8, 0.05).unwrap().ceil();
        assert_eq!([need(0.05), need(0.10), need(0.20)], [173.0, 45.0, 13.0]);
        // and three pairs resolve 0.76 s
        let least = sd * least_effect(3, 0.8, 0.05).unwrap();
        approx::assert_abs_diff_eq!(least, 0.76, epsilon = 0.005); // two digits are given
    }
}
