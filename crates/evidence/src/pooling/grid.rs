//! A straight normal model whose spreads between groups are not known: a mean over a grid of them.

use crate::linear_normal::{LinearBelief, Slopes};
use nalgebra::{Cholesky, DMatrix, DVector};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// A spread below this counts as none (s).
const NONE_S: f64 = 1e-6;
/// Parts that weigh less than this are left out.
const LEAST_WEIGHT: f64 = 1e-6;
/// Draws that chances are shares of.
const DRAWS: f64 = 20_000.0;

/// How far set-ups differ from athlete to athlete, or from week to week.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Between {
    /// Mean (s).
    pub mean_s: f64,
    /// 95 % lie below (s).
    pub below_s: f64,
}

/// The posterior at one point of the grid.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Part {
    /// Share of the posterior `[-]`.
    pub(crate) weight: f64,
    /// Spreads between groups (s).
    pub(crate) spreads_s: [f64; 2],
    /// Slopes there.
    pub(crate) slopes: Slopes,
}

/// A posterior over a grid.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Mixture {
    /// Its parts.
    pub(crate) parts: Vec<Part>,
}

/// The posterior over spreads from 0 to `most`, in steps that grow, with the log of their prior density; a number of
/// steps of 0 leaves a spread at none. `None` where the rows determine no slopes.
///
/// Rows are `(row, value, standard deviation)`; `beliefs` gives those of the slopes at given spreads.
pub(crate) fn over_spreads(
    rows: &[(DVector<f64>, f64, f64)],
    beliefs: impl Fn([f64; 2]) -> Vec<(f64, f64)>,
    steps: [usize; 2],
    most: f64,
    prior: impl Fn(f64) -> f64,
) -> Option<Mixture> {
    // cells of the grid: the middle of each stands for it
    let cells = |n: usize| -> Vec<(f64, f64)> {
        if n == 0 {
            return vec![(NONE_S, 1.0)];
        }
        let edge = |i: usize| most * (i as f64 / n as f64).powi(2);
        (0..n).map(|i| (0.5 * (edge(i) + edge(i + 1)), edge(i + 1) - edge(i))).collect()
    };
    let mut found = vec![];
    for (first, width) in cells(steps[0]) {
        for (second, height) in cells(steps[1]) {
            let spreads_s = [first, second];
            let beliefs = beliefs(spreads_s);
            let mut belief = LinearBelief::before(&beliefs);
            rows.iter().for_each(|(row, value, sd)| belief.learn(row, *value, *sd));
            let slopes = belief.slopes()?;
            let log = belief.log_likelihood(&beliefs, rows)? + prior(first) + prior(second);
            found.push((log + (width * height).ln(), Part { weight: 0.0, spreads_s, slopes }));
        }
    }
    let top = found.iter().map(|f| f.0).fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = found.iter().map(|f| (f.0 - top).exp()).sum();
    let weighed = found.into_iter().map(|(log, part)| Part { weight: (log - top).exp() / total, ..part });
    Some(Mixture { parts: weighed.filter(|p| p.weight > LEAST_WEIGHT).collect() })
}

impl Mixture {
    /// Mean of a spread (s).
    pub(crate) fn between_mean_s(&self, which: usize) -> f64 {
        self.parts.iter().map(|p| p.weight * p.spreads_s[which]).sum()
    }

    /// A spread in numbers.
    pub(crate) fn between(&self, which: usize) -> Between {
        let mut all: Vec<(f64, f64)> = self.parts.iter().map(|p| (p.spreads_s[which], p.weight)).collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut sum = 0.0;
        let below = all.iter().find(|(_, w)| {
            sum += w;
            sum >= 0.95
        });
        Between { mean_s: self.between_mean_s(which), below_s: below.map_or(0.0, |b| b.0) }
    }

    /// Mean of a straight quantity.
    #[cfg(test)]
    pub(crate) fn mean(&self, of: &DVector<f64>) -> f64 {
        self.parts.iter().map(|p| p.weight * p.slopes.mean.dot(of)).sum()
    }

    /// Chance of each straight quantity to be the least, from seeded draws.
    pub(crate) fn chances_of_least(&self, of: &[DVector<f64>]) -> Vec<f64> {
        let n = of.len();
        let mut random = ChaCha8Rng::seed_from_u64(1);
        let (mut counts, mut drawn) = (vec![0.0; n], 0.0);
        let pick = DMatrix::from_fn(n, of[0].len(), |i, j| of[i][j]);
        for part in &self.parts {
            let mean = &pick * &part.slopes.mean;
            // the level of all is in none of them: a variance of nothing is given a trace
            let mut covariance = &pick * &part.slopes.covariance * pick.transpose();
            (0..n).for_each(|i| covariance[(i, i)] += 1e-14);
            let Some(root) = Cholesky::new(covariance) else { continue };
            for _ in 0..(part.weight * DRAWS).round() as usize {
                let z = DVector::from_fn(n, |_, _| StandardNormal.sample(&mut random));
                counts[(&mean + root.l() * z).imin()] += 1.0;
                drawn += 1.0;
            }
        }
        counts.iter().map(|c| c / f64::max(drawn, 1.0)).collect()
    }
}
