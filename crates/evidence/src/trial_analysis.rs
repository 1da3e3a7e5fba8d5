//! What real A/B runs say: difference with band, raw and adjusted for drift, start and ice; with a prior.

use crate::decision::Belief;
use crate::paired_power::{FALSE_ALARM, two_sided_t};
use crate::sheet::TimedRun;
use nalgebra::{DMatrix, DVector};
use numerics::least_squares::weighted_linear;
use statrs::distribution::{Continuous, StudentsT};

/// Something that changes from run to run beside the set-up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Covariate {
    /// Ice that changes through the day: number of the run in its day, or time of day where every run has one.
    Drift,
    /// Start time.
    Start,
    /// Temperature of the ice.
    Ice,
    /// Another day.
    Day,
}

impl Covariate {
    /// In words, with the unit of its coefficient.
    pub fn words(self) -> &'static str {
        match self {
            Covariate::Drift => "ice drift, s per run (or per hour)",
            Covariate::Start => "start time, s per s",
            Covariate::Ice => "ice temperature, s per degC",
            Covariate::Day => "another day, s",
        }
    }
}

/// A difference B less A from runs.
#[derive(Clone, Debug, PartialEq)]
pub struct Difference {
    /// Estimate (s).
    pub value_s: f64,
    /// Standard error (s).
    pub error_s: f64,
    /// Degrees of freedom of the error.
    pub freedom: usize,
    /// Spread of one run that is left (s).
    pub spread_s: f64,
    /// Covariates in the model with coefficient and standard error.
    pub covariates: Vec<(Covariate, f64, f64)>,
}

impl Difference {
    /// Band of 95 % (s), by Student's distribution.
    pub fn band_s(&self) -> (f64, f64) {
        let half = two_sided_t(self.freedom as f64, FALSE_ALARM) * self.error_s;
        (self.value_s - half, self.value_s + half)
    }
}

/// Raw and adjusted.
#[derive(Clone, Debug, PartialEq)]
pub struct Analysis {
    /// Runs with A and with B.
    pub runs: [usize; 2],
    /// Difference of means.
    pub raw: Difference,
    /// Difference at equal covariates; none where no covariate can be used.
    pub adjusted: Option<Difference>,
    /// Covariates that were left out, with the reason.
    pub left_out: Vec<(Covariate, &'static str)>,
}

/// Degrees of freedom that are kept for the spread: fewer, and a band means nothing. Assumed.
const LEAST_FREEDOM: usize = 4;

/// Fits `finish = mean + d [B] + sum c_k x_k` by least squares, with the spread from the residuals.
fn fit(finish_s: &[f64], columns: &[(Option<Covariate>, Vec<f64>)]) -> Option<Difference> {
    let (n, k) = (finish_s.len(), columns.len() + 1);
    if n < k + 1 {
        return None;
    }
    let matrix = DMatrix::from_fn(n, k, |i, j| if j == 0 { 1.0 } else { columns[j - 1].1[i] });
    let values = DVector::from_column_slice(finish_s);
    let fit = weighted_linear(&matrix, &values, &DVector::from_element(n, 1.0), 1e-8).ok()?;
    let variance = fit.chi_square / fit.freedom as f64;
    let error = |j: usize| (variance * fit.covariance[(j, j)]).sqrt();
    let covariates = columns
        .iter()
        .enumerate()
        .filter_map(|(j, (c, _))| c.map(|c| (c, fit.unknowns[j + 1], error(j + 1))));
    Some(Difference {
        value_s: fit.unknowns[1],
        error_s: error(1),
        freedom: fit.freedom,
        spread_s: variance.sqrt(),
        covariates: covariates.collect(),
    })
}

/// Difference of two set-ups from their runs; runs of other set-ups and without a finish take no part.
///
/// ```text
///   finish = m + d [B] + c1 drift + c2 start + c3 ice + days + e,   e normal, independent, one spread
///   d +- t_(0.975, f) se,   f = runs less unknowns
/// ```
///
/// Covariates come in the order day, start, drift, ice, as long as four degrees of freedom are left: the start moves a finish
/// most, and a good order of runs takes care of the drift.
///
/// *Assumes* straight effects, the same for both set-ups. *Source*: least squares, textbook.
/// *Checked by* `exact_a_planted_difference_is_recovered`, `published_coverage_of_the_band`.
pub fn analyse(runs: &[TimedRun], a: &str, b: &str) -> Result<Analysis, String> {
    let named = |r: &&TimedRun, name: &str| r.set_up.as_deref() == Some(name) && r.finish_s.is_some();
    let used: Vec<&TimedRun> = runs.iter().filter(|r| named(r, a) || named(r, b)).collect();
    let is_b: Vec<f64> = used.iter().map(|r| f64::from(u8::from(r.set_up.as_deref() == Some(b)))).collect();
    let with_b = is_b.iter().filter(|x| **x == 1.0).count();
    let counts = [used.len() - with_b, with_b];
    if counts.contains(&0) || used.len() < 4 {
        return Err(format!(
            "{} runs with {a} and {} with {b} have a finish; allowed: four or more, both among them",
            counts[0], counts[1]
        ));
    }
    let finish_s: Vec<f64> = used.iter().filter_map(|r| r.finish_s).collect();
    let raw = fit(&finish_s, &[(None, is_b.clone())]).ok_or("the runs determine no difference")?;
    let mut columns = vec![(None, is_b)];
    let mut left_out = vec![];
    let mut days: Vec<_> = used.iter().map(|r| r.date).collect();
    days.sort_unstable();
    days.dedup();
    for day in days.iter().skip(1) {
        let there = used.iter().map(|r| f64::from(u8::from(r.date == *day))).collect();
        columns.push((Some(Covariate::Day), there));
    }
    for covariate in [Covariate::Start, Covariate::Drift, Covariate::Ice] {
        match values_of(covariate, &used) {
            None => left_out.push((covariate, "not every run has it")),
            Some(x) if x.iter().all(|v| (v - x[0]).abs() < 1e-9) => {
                left_out.push((covariate, "the same in every run"));
            }
            Some(x) => {
                if finish_s.len() < columns.len() + 2 + LEAST_FREEDOM {
                    left_out.push((covariate, "too few runs for it"));
                    continue;
                }
                columns.push((Some(covariate), x));
                if fit(&finish_s, &columns).is_none() {
                    columns.pop();
                    left_out.push((covariate, "cannot be told from the others"));
                }
            }
        }
    }
    let adjusted = (columns.len() > 1).then(|| fit(&finish_s, &columns)).flatten();
    Ok(Analysis { runs: counts, raw, adjusted, left_out })
}

/// A covariate of every run, about its mean.
fn values_of(covariate: Covariate, runs: &[&TimedRun]) -> Option<Vec<f64>> {
    let clocks: Option<Vec<f64>> = runs.iter().map(|r| r.clock_h).collect();
    let values: Option<Vec<f64>> = match (covariate, clocks) {
        (Covariate::Drift, Some(clocks)) => Some(clocks),
        (Covariate::Drift, None) => {
            let place = |i: usize| runs[..i].iter().filter(|r| r.date == runs[i].date).count() as f64;
            Some((0..runs.len()).map(place).collect())
        }
        (Covariate::Start, _) => runs.iter().map(|r| r.start_s).collect(),
        (Covariate::Ice, _) => runs.iter().map(|r| r.ice_c).collect(),
        (Covariate::Day, _) => None,
    };
    let values = values?;
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    Some(values.iter().map(|v| v - mean).collect())
}

/// What is believed of the difference after the runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Combined {
    /// Mean and standard deviation.
    pub belief: Belief,
    /// Band of 95 % (s).
    pub band_s: (f64, f64),
    /// Chance that B is faster `[-]`.
    pub second_faster: f64,
}

/// Points of the grid on which prior and runs are multiplied.
const GRID: usize = 8001;

/// Normal prior times Student's likelihood of the runs, on a grid; without a prior the likelihood alone.
///
/// ```text
///   p(d) ~ N(d; m, s) t_f((v - d)/se)
/// ```
///
/// *Assumes* a flat prior for the spread. *Source*: *Gelman 2013*. *Checked by* `exact_much_data_is_normal_and_normal`,
/// `exact_without_a_prior_it_is_students`.
pub fn combine(difference: &Difference, prior: Option<Belief>) -> Option<Combined> {
    let law = StudentsT::new(0.0, 1.0, difference.freedom as f64).ok()?;
    let error_s = difference.error_s.max(1e-9);
    let wide = 60.0 * error_s;
    let (low, high) = (difference.value_s - wide, difference.value_s + wide);
    let (from, to) = match prior.filter(|p| p.sd_s > 0.0) {
        None => (low, high),
        Some(p) => {
            let reach = 8.0 * p.sd_s;
            let near = (p.mean_s - difference.value_s).abs() < 0.5 * wide;
            // a wide prior would make the grid coarse; far from the runs the prior alone bounds it
            let (least, most) = if near { (low, high) } else { (f64::NEG_INFINITY, f64::INFINITY) };
            ((p.mean_s - reach).max(least), (p.mean_s + reach).min(most))
        }
    };
    let width = (to - from) / (GRID - 1) as f64;
    let at = |i: usize| from + width * i as f64;
    let log_weight = |d: f64| {
        let own = law.ln_pdf((difference.value_s - d) / error_s);
        let before = prior.filter(|p| p.sd_s > 0.0).map_or(0.0, |p| -0.5 * ((d - p.mean_s) / p.sd_s).powi(2));
        own + before
    };
    let logs: Vec<f64> = (0..GRID).map(|i| log_weight(at(i))).collect();
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
    let total: f64 = weights.iter().sum();
    let mean_s = weights.iter().enumerate().map(|(i, w)| w * at(i)).sum::<f64>() / total;
    let variance = weights.iter().enumerate().map(|(i, w)| w * (at(i) - mean_s).powi(2)).sum::<f64>() / total;
    // share below a value: each point stands for its cell
    let below = |d: f64| {
        let parts =
            weights.iter().enumerate().map(|(i, w)| w * (((d - at(i)) / width + 0.5).clamp(0.0, 1.0)));
        parts.sum::<f64>() / total
    };
    let quantile = |share: f64| numerics::roots::brent(from - width, to + width, 1e-9, |d| below(d) - share);
    Some(Combined {
        belief: Belief { mean_s, sd_s: variance.sqrt() },
        band_s: (quantile(0.025)?, quantile(0.975)?),
        second_faster: below(0.0),
    })
}

#[cfg(test)]
mod tests;
