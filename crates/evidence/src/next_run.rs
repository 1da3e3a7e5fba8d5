//! Which run next: the one that is expected to help the choice of set-up most, given the runs so far and what is
//! believed; and in which rank the set-ups stand.

use crate::decision::{Belief, normal_cdf, value_of_knowing_s};
use crate::linear_normal::{LinearBelief, Slopes};
use crate::run_place::{DRIFT_SD_S, ICE_SD_S_PER_C, START_SD_S_PER_S, places_in_day};
use crate::sheet::TimedRun;
use nalgebra::{Cholesky, DMatrix, DVector};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use statrs::distribution::{Continuous, Normal};

/// Plans of the runs that are left, at most: with more the look ahead is shorter.
const MOST_PLANS: usize = 2500;
/// Draws that the value of a plan over three and more set-ups is a mean of.
const DRAWS: usize = 600;
/// Draws that the chances of ranks are shares of: an error of 0.35 % at most.
const RANK_DRAWS: usize = 20_000;
/// Standard deviation of the level of a day (s): so wide that it says nothing.
const DAY_SD_S: f64 = 10.0;

/// What is known beside the runs.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// Names of the set-ups.
    pub set_ups: Vec<String>,
    /// What is believed of the time with each less that with the first; that of the first is not looked at.
    pub beliefs: Vec<Belief>,
    /// Spread of one run (s), taken as known.
    pub spread_s: f64,
    /// Standard deviation of the drift of the ice (s per run).
    pub drift_sd_s: f64,
    /// The next run is the first of another day.
    pub new_day: bool,
}

/// What is believed of the set-ups, and what a run would change.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// Means and covariance of everything: set-ups first.
    slopes: Slopes,
    set_ups: usize,
    days: usize,
    next_day: usize,
    next_place: f64,
    spread_s: f64,
}

/// Beliefs about set-ups from those about differences: the first has half the least variance, so that differences have
/// the standard deviations that were stated and no set-up is special.
fn alone(beliefs: &[Belief]) -> Vec<(f64, f64)> {
    let least = beliefs.iter().skip(1).map(|b| b.sd_s * b.sd_s).fold(f64::INFINITY, f64::min);
    let first = 0.5 * if least.is_finite() { least } else { 1.0 };
    let of = |(k, b): (usize, &Belief)| {
        if k == 0 { (0.0, first.sqrt()) } else { (b.mean_s, (b.sd_s * b.sd_s - first).max(1e-12).sqrt()) }
    };
    beliefs.iter().enumerate().map(of).collect()
}

impl State {
    /// What is believed after the runs; those of other set-ups and without a finish take no part.
    ///
    /// ```text
    ///   finish = day + set-up + c drift + c1 start + c2 ice + e
    /// ```
    ///
    /// The drift counts the runs of the day. *Assumes* normal beliefs, normal runs of a known spread, straight effects.
    /// *Checked by* `exact_wide_beliefs_are_the_analysis_of_a_trial`.
    pub fn after(runs: &[TimedRun], known: &Known) -> Option<State> {
        let set_ups = known.set_ups.len();
        let place_of = |r: &TimedRun| known.set_ups.iter().position(|s| Some(s) == r.set_up.as_ref());
        let timed: Vec<&TimedRun> = runs.iter().filter(|r| r.finish_s.is_some()).collect();
        let places = places_in_day(&timed);
        let mut dates: Vec<_> = timed.iter().map(|r| r.date).collect();
        dates.dedup();
        dates.sort_unstable();
        dates.dedup();
        let days = (dates.len() + usize::from(known.new_day)).max(1);
        let mut beliefs = alone(&known.beliefs);
        beliefs.extend(vec![(0.0, DAY_SD_S); days]);
        beliefs.extend([(0.0, known.drift_sd_s), (0.0, START_SD_S_PER_S), (0.0, ICE_SD_S_PER_C)]);
        let mut belief = LinearBelief::before(&beliefs);
        let used: Vec<usize> = (0..timed.len()).filter(|i| place_of(timed[*i]).is_some()).collect();
        let mean = |of: &dyn Fn(&TimedRun) -> Option<f64>| -> Option<f64> {
            let all: Option<Vec<f64>> = used.iter().map(|i| of(timed[*i])).collect();
            all.filter(|v| !v.is_empty()).map(|v| v.iter().sum::<f64>() / v.len() as f64)
        };
        // a covariate that a run lacks takes no part
        let [start_s, ice_c] = [mean(&|r| r.start_s), mean(&|r| r.ice_c)];
        let level_s = mean(&|r| r.finish_s).unwrap_or(0.0);
        for i in &used {
            let run = timed[*i];
            let mut row = DVector::zeros(beliefs.len());
            row[place_of(run)?] = 1.0;
            row[set_ups + dates.iter().position(|d| *d == run.date)?] = 1.0;
            row[set_ups + days] = places[*i];
            row[set_ups + days + 1] = start_s.zip(run.start_s).map_or(0.0, |(m, v)| v - m);
            row[set_ups + days + 2] = ice_c.zip(run.ice_c).map_or(0.0, |(m, v)| v - m);
            belief.learn(&row, run.finish_s? - level_s, known.spread_s);
        }
        // the day of the last row goes on
        let next_day = match (known.new_day, timed.last()) {
            (true, _) | (false, None) => days - 1,
            (false, Some(last)) => dates.iter().position(|d| *d == last.date)?,
        };
        let today = timed.iter().zip(&places).filter(|(r, _)| !known.new_day && r.date == dates[next_day]);
        let next_place = today.map(|(_, p)| p + 1.0).fold(0.0, f64::max);
        Some(State {
            slopes: belief.slopes()?,
            set_ups,
            days,
            next_day,
            next_place,
            spread_s: known.spread_s,
        })
    }

    /// Means of the set-ups (s), from one level.
    pub(crate) fn means_s(&self) -> Vec<f64> {
        self.slopes.mean.as_slice()[..self.set_ups].to_vec()
    }

    /// What is believed of the time with one less that with another.
    pub fn difference(&self, of: usize, less: usize) -> Belief {
        let (m, v) = (&self.slopes.mean, &self.slopes.covariance);
        let variance = v[(of, of)] + v[(less, less)] - 2.0 * v[(of, less)];
        Belief { mean_s: m[of] - m[less], sd_s: variance.max(0.0).sqrt() }
    }

    /// The set-up to choose now: the least mean, of equal ones the first.
    pub fn best(&self) -> usize {
        let means = self.means_s();
        (0..means.len()).min_by(|a, b| means[*a].total_cmp(&means[*b])).unwrap_or(0)
    }

    fn row(&self, set_up: usize, ahead: usize) -> DVector<f64> {
        let mut row = DVector::zeros(self.slopes.mean.len());
        row[set_up] = 1.0;
        row[self.set_ups + self.next_day] = 1.0;
        row[self.set_ups + self.days] = self.next_place + ahead as f64;
        row
    }

    /// What one more run with a set-up is worth on average for the choice (s), if it is the last one.
    ///
    /// ```text
    ///   b = V x / sqrt(x^T V x + s^2)      means after the run: m + b Z, Z ~ N(0, 1)
    ///   worth = min m - E min(m + b Z)
    /// ```
    ///
    /// The expectation is exact: the least of straight lines is one line after another.
    ///
    /// *Source*: *Frazier 2009*, from memory. *Checked by* `exact_worth_of_one_run_of_two`.
    pub fn worth_of_one_s(&self, set_up: usize) -> f64 {
        let row = self.row(set_up, 0);
        let along = &self.slopes.covariance * &row;
        let scale = (row.dot(&along) + self.spread_s * self.spread_s).sqrt();
        let lines: Vec<(f64, f64)> =
            (0..self.set_ups).map(|k| (self.slopes.mean[k], along[k] / scale)).collect();
        let least = lines.iter().map(|l| l.0).fold(f64::INFINITY, f64::min);
        (least - least_of_lines(&lines)).max(0.0)
    }

    /// What the runs that are left are worth on average for the choice (s), by the set-up of the first of them, each
    /// followed by the best plan of the others; and those plans.
    ///
    /// Before they are ridden the means after the runs are normal, with the variance that the runs take away:
    ///
    /// ```text
    ///   means after ~ N(m, V - V'),   worth = min m - E min(means after)
    /// ```
    ///
    /// *Source*: preposterior analysis, *Raiffa 1961*. *Assumes* a plan that no outcome changes; whoever asks again
    /// after each run loses nothing by that. *Checked by* `exact_two_set_ups_are_ridden_in_the_safest_order`,
    /// `published_never_worse_than_a_fixed_order`.
    pub fn worth_of_plans_s(&self, runs: usize) -> Vec<(f64, Vec<usize>)> {
        let mut ahead = 0;
        while ahead < runs && self.set_ups.pow(ahead as u32 + 1) <= MOST_PLANS {
            ahead += 1;
        }
        let mut search = Search {
            state: self,
            ahead: ahead.max(1),
            draws: normal_draws(self.set_ups, DRAWS),
            best: vec![(-1.0, vec![]); self.set_ups],
        };
        search.try_all(&mut vec![], &self.slopes.covariance);
        search.best
    }

    /// Chance of each rank for each set-up, `[set-up][rank]`, the fastest first; equal times share.
    ///
    /// *Source*: shares of 20 000 seeded draws from the normal belief. *Checked by* `published_chance_of_the_best_of_three`.
    pub fn ranks(&self) -> Vec<Vec<f64>> {
        let covariance = self.slopes.covariance.view((0, 0), (self.set_ups, self.set_ups)).into_owned();
        rank_chances(&self.means_s(), &covariance)
    }
}

/// Chance of each rank for normal times; `[which][rank]`.
pub(crate) fn rank_chances(means: &[f64], covariance: &DMatrix<f64>) -> Vec<Vec<f64>> {
    let n = means.len();
    let root = root_of(covariance);
    let mut chances = vec![vec![0.0; n]; n];
    for draw in normal_draws(n, RANK_DRAWS) {
        let times = DVector::from_column_slice(means) + &root * draw;
        let mut order: Vec<usize> = (0..n).collect();
        order.sort_by(|a, b| times[*a].total_cmp(&times[*b]));
        for (rank, k) in order.iter().enumerate() {
            chances[*k][rank] += 1.0 / RANK_DRAWS as f64;
        }
    }
    chances
}

/// A square root of a covariance, also of one that is not of full rank.
fn root_of(covariance: &DMatrix<f64>) -> DMatrix<f64> {
    match Cholesky::new(covariance.clone()) {
        Some(factor) => factor.l(),
        None => {
            let parts = covariance.clone().symmetric_eigen();
            let roots = parts.eigenvalues.map(|v| v.max(0.0).sqrt());
            parts.eigenvectors * DMatrix::from_diagonal(&roots)
        }
    }
}

/// Seeded normal numbers, each with its mirror.
fn normal_draws(dimensions: usize, count: usize) -> Vec<DVector<f64>> {
    let mut random = ChaCha8Rng::seed_from_u64(1);
    let mut all = Vec::with_capacity(count);
    for _ in 0..count.div_ceil(2) {
        let z = DVector::from_fn(dimensions, |_, _| StandardNormal.sample(&mut random));
        all.push(-&z);
        all.push(z);
    }
    all
}

struct Search<'a> {
    state: &'a State,
    ahead: usize,
    draws: Vec<DVector<f64>>,
    best: Vec<(f64, Vec<usize>)>,
}

impl Search<'_> {
    fn try_all(&mut self, plan: &mut Vec<usize>, covariance: &DMatrix<f64>) {
        if plan.len() == self.ahead {
            let worth_s = self.worth_s(covariance);
            let best = &mut self.best[plan[0]];
            // of equal plans the one with fewer changes of set-up: less to do between runs
            let changes = |p: &[usize]| p.windows(2).filter(|w| w[0] != w[1]).count();
            let equal = (worth_s - best.0).abs() < 1e-9;
            if worth_s > best.0 + 1e-9 || (equal && changes(plan) < changes(&best.1)) {
                *best = (worth_s, plan.clone());
            }
            return;
        }
        for k in 0..self.state.set_ups {
            let row = self.state.row(k, plan.len());
            let after = Slopes::covariance_after(covariance, &row, self.state.spread_s);
            plan.push(k);
            self.try_all(plan, &after);
            plan.pop();
        }
    }

    fn worth_s(&self, after: &DMatrix<f64>) -> f64 {
        let (state, n) = (self.state, self.state.set_ups);
        let moved = state.slopes.covariance.view((0, 0), (n, n)) - after.view((0, 0), (n, n));
        if n == 2 {
            let variance = moved[(0, 0)] + moved[(1, 1)] - 2.0 * moved[(0, 1)];
            let mean_s = state.slopes.mean[1] - state.slopes.mean[0];
            return value_of_knowing_s(Belief { mean_s, sd_s: variance.max(0.0).sqrt() });
        }
        let (means, root) = (state.slopes.mean.rows(0, n), root_of(&moved));
        let now = means.min();
        let mean =
            self.draws.iter().map(|z| (means + &root * z).min()).sum::<f64>() / self.draws.len() as f64;
        (now - mean).max(0.0)
    }
}

/// Mean of the least of lines `a + b Z` over a standard normal Z.
fn least_of_lines(lines: &[(f64, f64)]) -> f64 {
    // from the left the line with the greatest slope is least; then the one that crosses it first
    let mut at = f64::NEG_INFINITY;
    let start = |x: &&(f64, f64), y: &&(f64, f64)| x.1.total_cmp(&y.1).then(y.0.total_cmp(&x.0));
    let Some(mut line) = lines.iter().max_by(start).copied() else { return 0.0 };
    let density = |z: f64| {
        if z.is_finite() { Normal::standard().pdf(z) } else { 0.0 }
    };
    let share = |z: f64| {
        if z.is_finite() { normal_cdf(z) } else { f64::from(u8::from(z > 0.0)) }
    };
    let mut sum = 0.0;
    loop {
        let crossings =
            lines.iter().filter(|l| l.1 < line.1 - 1e-15).map(|l| ((l.0 - line.0) / (line.1 - l.1), *l));
        let next = crossings.min_by(|x, y| x.0.total_cmp(&y.0).then(x.1.1.total_cmp(&y.1.1)));
        let until = next.map_or(f64::INFINITY, |n| n.0.max(at));
        sum += line.0 * (share(until) - share(at)) + line.1 * (density(at) - density(until));
        match next {
            None => return sum,
            Some((_, other)) => (at, line) = (until, other),
        }
    }
}

/// The drift that is believed where nothing else is said.
pub const USUAL_DRIFT_SD_S: f64 = DRIFT_SD_S;

#[cfg(test)]
mod tests;
