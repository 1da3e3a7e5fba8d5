//! What an ensemble of rides says in numbers. Lost rides are the slowest of all: they rank last in every figure of
//! order and stay in every resample. Only the mean and the spread are of the rides that finished; their names say
//! so, and the share lost stands beside them.
//!
//! *Valid for* rides with independent mistakes. *Assumes* that a ride that loses control is slower than any that
//! finishes. *Source*: order statistics and the bootstrap of percentiles, Efron, Ann. Stat. 7 (1979) 1; error of a
//! share, Agresti and Coull 1998. *Checked by* `exact_figures_by_hand`, `exact_lost_rides_rank_last`.

use crate::rides::ensemble::{Ensemble, RideRow};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha12Rng;

/// A figure and its sampling error (one standard error).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// The figure; infinite where a time falls among lost rides.
    pub value: f64,
    /// Its sampling error; infinite where it reaches in among lost rides.
    pub error: f64,
}

impl Figure {
    /// True where a time falls among lost rides.
    pub fn is_lost(&self) -> bool {
        self.value == f64::INFINITY
    }
}

/// What an ensemble says; none where there are too few rides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figures {
    /// Mean time of the rides that finished (s): never to be shown without the share lost.
    pub mean_finished_s: Option<Figure>,
    /// Standard deviation of the time of the rides that finished (s).
    pub sd_finished_s: Option<Figure>,
    /// Time that one ride in ten stays below (s), lost rides last.
    pub p10_s: Option<Figure>,
    /// Time that half of all rides stay below (s), lost rides last.
    pub median_s: Option<Figure>,
    /// Time that nine rides in ten stay below (s), lost rides last.
    pub p90_s: Option<Figure>,
    /// Mean of the slowest tenth of all rides (s); lost as soon as one ride is.
    pub worst_tenth_s: Option<Figure>,
    /// Walls and lips touched a ride `[-]`.
    pub touches: Figure,
    /// Lips touched a ride `[-]`.
    pub lip_touches: Figure,
    /// Share of rides that lose control `[-]`.
    pub lost: Figure,
}

/// Resamples of the bootstrap.
const RESAMPLES: u64 = 200;

/// Time of a ride for its rank (s): a lost one is slower than all.
pub(crate) fn rank_s(ride: &RideRow) -> f64 {
    ride.finish_time_s.unwrap_or(f64::INFINITY)
}

/// Mean of the slowest tenth of sorted times, at least one.
fn worst_tenth_s(sorted: &[f64]) -> f64 {
    let n = sorted.len().div_ceil(10);
    sorted[sorted.len() - n..].iter().sum::<f64>() / n as f64
}

/// The value that a share of sorted ones stays below, between its neighbours; infinite as soon as one that counts is.
pub fn quantile(sorted: &[f64], share: f64) -> f64 {
    let place = share * sorted.len().saturating_sub(1) as f64;
    let i = place as usize;
    let (low, part) = (sorted[i], place - i as f64);
    if part == 0.0 || sorted[i + 1] == low { low } else { low + part * (sorted[i + 1] - low) }
}

/// Mean and standard deviation (n - 1).
fn mean_and_sd(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let square = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>();
    (mean, if values.len() > 1 { (square / (n - 1.0)).sqrt() } else { f64::NAN })
}

/// Mean with its standard error.
pub(crate) fn mean(values: &[f64]) -> Option<Figure> {
    let (mean, sd) = mean_and_sd(values);
    (values.len() > 1).then(|| Figure { value: mean, error: sd / (values.len() as f64).sqrt() })
}

/// A statistic of sorted values with its standard error by the bootstrap: half the way from the 16th to the 84th
/// percentile of the resamples, which needs no mean over lost rides.
fn resampled(sorted: &[f64], statistic: impl Fn(&[f64]) -> f64) -> Option<Figure> {
    if sorted.len() < 2 {
        return None;
    }
    let value = statistic(sorted);
    let mut again = vec![0.0; sorted.len()];
    let mut all = Vec::with_capacity(RESAMPLES as usize);
    for resample in 0..RESAMPLES {
        let mut random = ChaCha12Rng::seed_from_u64(resample);
        for a in &mut again {
            *a = sorted[random.random_range(0..sorted.len())];
        }
        again.sort_by(f64::total_cmp);
        all.push(statistic(&again));
    }
    all.sort_by(f64::total_cmp);
    let [low, high] = [0.16, 0.84].map(|share| quantile(&all, share));
    // from a lost ride to a lost one there is no way to halve
    let error = if high.is_finite() && value.is_finite() { 0.5 * (high - low) } else { f64::INFINITY };
    Some(Figure { value, error })
}

/// Sampling error of a share of `n` rides, as if two more had ended each way (Agresti and Coull 1998): never zero.
pub(crate) fn share_error(share: f64, n: f64) -> f64 {
    let near = (share * n + 2.0) / (n + 4.0);
    (near * (1.0 - near) / (n + 4.0)).sqrt()
}

impl Ensemble {
    /// The figures of an ensemble.
    pub fn figures(&self) -> Figures {
        let n = self.rides.len().max(1) as f64;
        let mut ranks: Vec<f64> = self.rides.iter().map(rank_s).collect();
        ranks.sort_by(f64::total_cmp);
        let finished = &ranks[..ranks.partition_point(|t| t.is_finite())];
        let sd = mean_and_sd(finished).1;
        let of = |count: &dyn Fn(&RideRow) -> usize| {
            let counts: Vec<f64> = self.rides.iter().map(|r| count(r) as f64).collect();
            mean(&counts).unwrap_or(Figure { value: f64::NAN, error: f64::NAN })
        };
        let lost = (ranks.len() - finished.len()) as f64 / n;
        Figures {
            mean_finished_s: mean(finished),
            sd_finished_s: (finished.len() > 2)
                .then(|| Figure { value: sd, error: sd / (2.0 * (finished.len() as f64 - 1.0)).sqrt() }),
            p10_s: resampled(&ranks, |r| quantile(r, 0.1)),
            median_s: resampled(&ranks, |r| quantile(r, 0.5)),
            p90_s: resampled(&ranks, |r| quantile(r, 0.9)),
            worst_tenth_s: resampled(&ranks, worst_tenth_s),
            touches: of(&|r| r.touches),
            lip_touches: of(&|r| r.lip_touches),
            lost: Figure { value: lost, error: share_error(lost, n) },
        }
    }
}

#[cfg(test)]
mod tests;
