//! An answer asked over the plausible set: its band, in how many sets it agrees, and which unknown decides.

use crate::rides::figures::quantile;
use libm::sqrt;
use statrs::distribution::{ContinuousCDF, Normal};

/// Share of sets left out at each end of the band `[-]`.
pub const LEFT_OUT: f64 = 0.05;
/// Standard normal number beyond which the greatest of so many rank correlations lies by chance in one case of twenty:
/// Bonferroni, 1 - 0.05/(2 x unknowns); 2.935 for fifteen.
fn beyond_chance(unknowns: usize) -> f64 {
    Normal::standard().inverse_cdf(1.0 - 0.05 / (2.0 * unknowns.max(1) as f64))
}

/// Fewer sets name no unknown.
const FEWEST_SETS: usize = 10;

/// What a difference does over the plausible set.
#[derive(Clone, Debug, PartialEq)]
pub struct OverSets {
    /// Sets that have an answer.
    pub sets: usize,
    /// Median of the differences (s); infinite where it falls among lost rides.
    pub median_s: f64,
    /// From where to where nine in ten sets lie (s); an end may be infinite.
    pub band_s: (f64, f64),
    /// Share of sets below zero, and above `[-]`.
    pub signs: [f64; 2],
    /// Unknown with the greatest rank correlation, and that correlation `[-]`; none where chance alone gives as much.
    pub decides: Option<(&'static str, f64)>,
}

/// Differences over rows of values, one each, with a name for each column; infinite where one of the two is lost.
pub fn over_rows(names: &[&'static str], rows: &[&[f64]], differences_s: &[f64]) -> Option<OverSets> {
    let known: Vec<(&[f64], f64)> =
        rows.iter().copied().zip(differences_s.iter().copied()).filter(|(_, d)| !d.is_nan()).collect();
    let n = known.len();
    if n == 0 {
        return None;
    }
    let differences: Vec<f64> = known.iter().map(|(_, d)| *d).collect();
    let mut sorted = differences.clone();
    sorted.sort_by(f64::total_cmp);
    let at = |share: f64| {
        let value = quantile(&sorted, share);
        if !value.is_nan() {
            return value;
        }
        // above a set lost with the other: among those, or half the way to one lost with this
        let next = sorted[((share * (n - 1) as f64) as usize + 1).min(n - 1)];
        if next == f64::INFINITY { 0.0 } else { f64::NEG_INFINITY }
    };
    let share =
        |side: &dyn Fn(f64) -> bool| differences.iter().filter(|d| side(**d)).count() as f64 / n as f64;
    let beyond = beyond_chance(names.len());
    let decides = names
        .iter()
        .enumerate()
        .filter_map(|(i, name)| {
            let values: Vec<f64> =
                known.iter().map(|(row, _)| row.get(i).copied().unwrap_or(f64::NAN)).collect();
            rank_correlation(&values, &differences).map(|r| (*name, r))
        })
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
        .filter(|(_, r)| n >= FEWEST_SETS && r.abs() > beyond / sqrt(n as f64 - 1.0));
    Some(OverSets {
        sets: n,
        median_s: at(0.5),
        band_s: (at(LEFT_OUT), at(1.0 - LEFT_OUT)),
        signs: [share(&|d| d < 0.0), share(&|d| d > 0.0)],
        decides,
    })
}

/// Rank of each value from 1, equal ones sharing the mean of theirs.
fn ranks(values: &[f64]) -> Vec<f64> {
    let mean_rank = |v: &f64| {
        let below = values.iter().filter(|w| w.total_cmp(v).is_lt()).count();
        let same = values.iter().filter(|w| w.total_cmp(v).is_eq()).count();
        below as f64 + 0.5 * (same as f64 + 1.0)
    };
    values.iter().map(mean_rank).collect()
}

/// Rank correlation: the correlation of the ranks; none where one of both never changes.
///
/// *Valid for*: any two series of equal length, infinite values too. *Assumes* nothing of their form; without any
/// tie its standard deviation is 1/sqrt(n - 1) by chance. *Source*: Spearman, Am. J. Psychol. 15 (1904) 72, from
/// memory. *Checked by* `exact_rank_correlation_by_hand`.
pub(crate) fn rank_correlation(a: &[f64], b: &[f64]) -> Option<f64> {
    let n = a.len().min(b.len());
    let middle = 0.5 * (n as f64 + 1.0);
    let (a, b) = (ranks(&a[..n]), ranks(&b[..n]));
    let sum = |x: &[f64], y: &[f64]| x.iter().zip(y).map(|(x, y)| (x - middle) * (y - middle)).sum::<f64>();
    let scale = sqrt(sum(&a, &a) * sum(&b, &b));
    (scale > 0.0).then(|| sum(&a, &b) / scale)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plausible::{Sample, UNKNOWNS};

    /// Differences over samples, one each; infinite where one of the two is lost.
    fn over_sets(samples: &[Sample], differences_s: &[f64]) -> Option<OverSets> {
        let names: Vec<&'static str> = UNKNOWNS.iter().map(|u| u.name).collect();
        let rows: Vec<&[f64]> = samples.iter().map(|s| s.0.as_slice()).collect();
        over_rows(&names, &rows, differences_s)
    }

    #[test]
    fn exact_rank_correlation_by_hand() {
        // ranks 1 2 3 4 against 2 1 4 3: 1 - 6 * 4 / (4 * 15) = 0.6
        let r = rank_correlation(&[1.0, 5.0, 7.0, 90.0], &[0.2, 0.1, f64::INFINITY, 0.3]);
        approx::assert_relative_eq!(r.unwrap(), 0.6, max_relative = 1e-15); // rounding
        assert_eq!(rank_correlation(&[1.0, 2.0, 3.0], &[9.0, 8.0, 1.0]), Some(-1.0));
        // ties share a rank: 1 2.5 2.5 4 against 1 2 3 4: 4.5 / sqrt(4.5 * 5)
        let r = rank_correlation(&[1.0, 2.0, 2.0, 3.0], &[1.0, 2.0, 3.0, 4.0]);
        approx::assert_relative_eq!(r.unwrap(), 4.5 / 22.5_f64.sqrt(), max_relative = 1e-15);
        assert_eq!(rank_correlation(&[2.0, 2.0, 2.0], &[1.0, 2.0, 3.0]), None);
    }

    #[test]
    fn exact_the_unknown_that_makes_the_difference_decides() {
        let samples: Vec<Sample> = (0..40).map(|i| Sample::of(2, i)).collect();
        let unevenness = UNKNOWNS.iter().position(|u| u.name == "ice.unevenness_um").unwrap();
        let made: Vec<f64> = samples.iter().map(|s| s.0[unevenness] - 20.0).collect();
        let told = over_sets(&samples, &made).unwrap();
        assert_eq!(told.decides, Some(("ice.unevenness_um", 1.0)));
        let below = made.iter().filter(|d| **d < 0.0).count() as f64 / 40.0;
        assert_eq!((told.sets, told.signs), (40, [below, 1.0 - below]));
        assert!(told.band_s.0 < told.median_s && told.median_s < told.band_s.1);
        // five sets name none, whatever their correlation
        assert_eq!(over_sets(&samples[..5], &made[..5]).unwrap().decides, None);
    }

    #[test]
    fn exact_lost_sets_stay_and_unknown_ones_are_left_out() {
        let samples: Vec<Sample> = (0..5).map(|i| Sample::of(2, i)).collect();
        let told = over_sets(&samples, &[0.1, f64::INFINITY, f64::NAN, f64::INFINITY, 0.2]).unwrap();
        assert_eq!((told.sets, told.signs, told.band_s.1), (4, [0.0, 1.0], f64::INFINITY));
        assert_eq!(over_sets(&samples[..1], &[f64::NAN]), None);
        let both = over_sets(&samples[..2], &[f64::INFINITY, f64::NEG_INFINITY]).unwrap();
        assert_eq!(both.median_s, 0.0);
        let other = over_sets(&samples[..2], &[0.1, f64::NEG_INFINITY]).unwrap();
        assert_eq!(other.median_s, f64::NEG_INFINITY);
    }
}
