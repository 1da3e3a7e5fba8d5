//! Two set-ups told apart ride by ride: the same mistakes with both, and what their differences say.
//!
//! ```text
//!   d_i   = time with the first - time with the second;  lost with the first alone: +infinity, with the second
//!           alone: -infinity, with both: 0
//!   time  : median of all d_i; band of 95 % from the k-th smallest to the k-th greatest d_i,
//!           k the greatest with P(B < k) <= 0.025,  B binomial (n, 1/2)
//!   losses: of the a + b rides lost with one set-up alone, a are lost with the first;
//!           more beyond chance where P(B >= a) <= 0.025,  B binomial (a + b, 1/2)
//! ```
//!
//! The verdict, in words:
//! 1. *faster*: the whole band lies below zero, widened by the numerical error of both times; *slower*: above.
//! 2. Never *faster* where more rides are lost than with the other, beyond chance: then it *loses control more often*.
//!    So it is, too, where the times cannot be told apart.
//! 3. Never *faster* where more rides are lost than with the other and more than 5 % of all: then it *cannot tell*.
//!    Where the other loses as many or more, it is told as *ahead*, and that it loses too many.
//! 4. The other set-up is held to the same rules.
//!
//! *Valid for* six rides and more; fewer give no band. *Assumes* that rides are independent of each other, and that
//! a lost ride is slower than any that finishes. The median asks which set-up is faster in most rides, not what a rare
//! bad ride costs: that is in P90 and in the share lost. *Source*: sign test and its band for a median, Dixon and
//! Mood, J. Am. Stat. Assoc. 41 (1946) 557; losses, McNemar, Psychometrika 12 (1947) 153, in its exact form; 5 % is
//! assumed. *Checked by* `published_band_of_a_median`, `exact_lost_rides_are_the_slower`,
//! `exact_never_faster_by_losing_more`.

use crate::rides::ensemble::Ensemble;
use crate::rides::figures::{Figure, mean, quantile, rank_s, share_error};
use statrs::distribution::{Binomial, DiscreteCDF};
use std::cmp::Ordering;

/// Probability left out at each end of a band `[-]`.
const TAIL: f64 = 0.025;
/// A set-up that loses more of all rides than this and more than the other is never called faster `[-]`, assumed.
pub const ALLOWED_LOST: f64 = 0.05;

/// What two ensembles with the same seeds say of two set-ups, the first less the second.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paired {
    /// Rides with the same mistakes, lost ones among them.
    pub pairs: usize,
    /// Median of their differences of time (s), lost rides the slower; infinite where it falls among those; none
    /// without a ride.
    pub median_s: Option<f64>,
    /// Its band of 95 %, of all comparisons together (s); an end may be infinite; none below six rides.
    pub band_s: Option<(f64, f64)>,
    /// Rides that finish with both.
    pub(crate) finished_pairs: usize,
    /// Mean of the differences over those alone (s): never to be shown without the losses.
    pub(crate) mean_finished_s: Option<Figure>,
    /// Rides lost with the first, and with the second.
    pub lost: [usize; 2],
    /// Rides lost with the first alone, and with the second alone.
    pub(crate) lost_alone: [usize; 2],
    /// Share of rides in which the first is faster, equal times counted half; a lost ride is the slower one `[-]`.
    pub first_faster: Figure,
}

/// What the pairs say of the first set-up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Verdict {
    /// Faster in the median.
    Faster,
    /// Slower in the median.
    Slower,
    /// The same time in every ride.
    Same,
    /// The band holds zero, there are too few pairs for a band, or more is lost than is allowed.
    CannotTell,
    /// Loses control more often than the other, and is not slower in the median.
    LosesMore,
    /// Loses control less often than the other, and is not faster in the median.
    LosesLess,
}

impl Verdict {
    /// In words.
    fn words(self) -> &'static str {
        match self {
            Verdict::Faster => "faster",
            Verdict::Slower => "slower",
            Verdict::Same => "the same",
            Verdict::CannotTell => "cannot tell",
            Verdict::LosesMore => "loses control more often",
            Verdict::LosesLess => "loses control less often",
        }
    }
}

/// Rank from either end, counted from 1, of the values between which the median of `n` lies but for `tail` at each end.
fn band_rank(n: usize, tail: f64) -> Option<usize> {
    let coin = Binomial::new(0.5, n as u64).ok()?;
    // the greatest rank that leaves no more than the tail outside
    let (mut fits, mut too_high) = (0, n / 2 + 1);
    while fits + 1 < too_high {
        let rank = fits + (too_high - fits) / 2;
        if coin.cdf(rank as u64 - 1) <= tail { fits = rank } else { too_high = rank }
    }
    (fits > 0).then_some(fits)
}

impl Paired {
    /// True where the set-up at a place (0 the first) loses more rides than the other, beyond chance.
    pub fn loses_more(&self, place: usize) -> bool {
        let (more, less) = (self.lost_alone[place], self.lost_alone[1 - place]);
        let beyond = |coin: Binomial| more > less && coin.sf(more as u64 - 1) <= TAIL;
        Binomial::new(0.5, (more + less) as u64).is_ok_and(beyond)
    }

    /// True where that set-up loses more of all rides than is allowed.
    pub(crate) fn is_out(&self, place: usize) -> bool {
        self.lost[place] as f64 > ALLOWED_LOST * self.pairs as f64
    }

    /// True where that set-up loses more rides than the other and more than is allowed.
    pub(crate) fn loses_too_many(&self, place: usize) -> bool {
        self.lost[place] > self.lost[1 - place] && self.is_out(place)
    }

    /// The verdict on the first in words; what loses more rides than is allowed is never called faster.
    pub(crate) fn verdict_words(&self, verdict: Verdict) -> &'static str {
        match verdict {
            Verdict::Faster if self.is_out(0) => "ahead, loses too many",
            verdict => verdict.words(),
        }
    }

    /// Whether the band, widened by the numerical error of both times (s) where that is known, lies below zero, and
    /// above, whatever is lost.
    pub(crate) fn times_apart(&self, numerical_s: f64) -> [bool; 2] {
        let numerical_s = if numerical_s.is_finite() { numerical_s } else { 0.0 };
        self.band_s.map_or([false; 2], |(low, high)| [high + numerical_s < 0.0, low - numerical_s > 0.0])
    }

    /// What the band says, widened by the numerical error of both times (s) where that is known, and the losses.
    pub(crate) fn verdict(&self, numerical_s: f64) -> Verdict {
        if self.pairs > 0 && self.first_faster.error == 0.0 {
            return Verdict::Same;
        }
        let [below, above] = self.times_apart(numerical_s);
        if below && !self.loses_more(0) {
            if self.loses_too_many(0) { Verdict::CannotTell } else { Verdict::Faster }
        } else if above && !self.loses_more(1) {
            if self.loses_too_many(1) { Verdict::CannotTell } else { Verdict::Slower }
        } else if self.loses_more(0) {
            Verdict::LosesMore
        } else if self.loses_more(1) {
            Verdict::LosesLess
        } else {
            Verdict::CannotTell
        }
    }
}

/// Ride by ride, the first less the second.
pub fn paired(a: &Ensemble, b: &Ensemble) -> Paired {
    paired_among(a, b, 1)
}

/// The same where the second is compared with `many` others: the bands of all of them hold together with 95 %, each
/// with one `many`-th of what is left out. *Source*: Bonferroni's inequality; Dunn, J. Am. Stat. Assoc. 56 (1961) 52.
///
/// Checked by: `exact_band_among_many_is_wider`.
pub(crate) fn paired_among(a: &Ensemble, b: &Ensemble, many: usize) -> Paired {
    let tail = TAIL / many.max(1) as f64;
    let both: Vec<(f64, f64)> = a.rides.iter().zip(&b.rides).map(|(a, b)| (rank_s(a), rank_s(b))).collect();
    let finished: Vec<f64> = both.iter().map(|(a, b)| a - b).filter(|d| d.is_finite()).collect();
    let order = |(a, b): &(f64, f64)| a.total_cmp(b);
    let less = |pair: &(f64, f64)| if order(pair) == Ordering::Equal { 0.0 } else { pair.0 - pair.1 };
    let mut all: Vec<f64> = both.iter().map(less).collect();
    all.sort_by(f64::total_cmp);
    let wins = both.iter().map(|pair| match order(pair) {
        Ordering::Less => 1.0,
        Ordering::Equal => 0.5,
        Ordering::Greater => 0.0,
    });
    let n = both.len() as f64;
    let value = wins.sum::<f64>() / n;
    // the same in every ride is no draw that might have come out otherwise
    let error = match both.iter().all(|pair| order(pair) == Ordering::Equal) {
        _ if both.is_empty() => f64::NAN,
        true => 0.0,
        false => share_error(value, n),
    };
    let count = |lost: &dyn Fn(&(f64, f64)) -> bool| both.iter().filter(|pair| lost(pair)).count();
    Paired {
        pairs: both.len(),
        median_s: (!all.is_empty()).then(|| middle(&all)),
        band_s: band_rank(all.len(), tail).map(|k| (all[k - 1], all[all.len() - k])),
        finished_pairs: finished.len(),
        mean_finished_s: mean(&finished),
        lost: [count(&|p| p.0.is_infinite()), count(&|p| p.1.is_infinite())],
        lost_alone: [
            count(&|p| p.0.is_infinite() && p.1.is_finite()),
            count(&|p| p.1.is_infinite() && p.0.is_finite()),
        ],
        first_faster: Figure { value, error },
    }
}

/// Median of sorted differences; between a ride lost with one and a ride lost with the other it is zero.
fn middle(sorted: &[f64]) -> f64 {
    let (low, high) = (sorted[(sorted.len() - 1) / 2], sorted[sorted.len() / 2]);
    if low == -high { 0.0 } else { quantile(sorted, 0.5) }
}

#[cfg(test)]
mod tests;
