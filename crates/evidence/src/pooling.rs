//! Runs of a team: what set-ups do for each athlete, pulled towards the team as far as the runs of all say.

use crate::decision::{BAND_95, Belief, normal_cdf};
use crate::linear_normal::{LinearBelief, Slopes};
use crate::run_place::{DRIFT_SD_S, ICE_SD_S_PER_C, START_SD_S_PER_S, places_in_day};
use crate::sheet::{Day, TimedRun};
use nalgebra::{DMatrix, DVector};
use numerics::least_squares::weighted_linear;
use numerics::roots::brent;

mod grid;

pub use grid::Between;
use grid::{Mixture, over_spreads};

/// Standard deviation of the prior of how far set-ups differ between athletes, and between weeks (s): half of a normal
/// distribution, assumed.
pub const BETWEEN_SD_S: f64 = 0.10;
/// Greatest difference between athletes, or weeks, that is tried (s).
const MOST_BETWEEN_S: f64 = 0.4;
/// Steps of the grid of each.
const STEPS: usize = 12;
/// Degrees of freedom below which the spread of a run is not taken from the runs: assumed.
const LEAST_FREEDOM: usize = 6;

/// A difference from the first set-up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effect {
    /// Mean and standard deviation (s).
    pub belief: Belief,
    /// Band of 95 % (s).
    pub band_s: (f64, f64),
    /// Chance that this set-up is the fastest of all `[-]`.
    pub best: f64,
}

/// What the runs say of one athlete.
#[derive(Clone, Debug, PartialEq)]
pub struct OfAthlete {
    /// Name.
    pub name: String,
    /// Runs that count.
    pub runs: usize,
    /// By the own runs alone, one for each set-up; none where they determine nothing. That of the first is zero.
    pub raw: Vec<Option<Belief>>,
    /// With those of the team.
    pub pooled: Vec<Effect>,
}

/// What the runs of a team say.
#[derive(Clone, Debug, PartialEq)]
pub struct Team {
    /// Set-ups; differences are from the first.
    pub set_ups: Vec<String>,
    /// Weeks with runs.
    pub weeks: usize,
    /// Spread of a run (s) and its degrees of freedom; none where it was given.
    pub spread_s: (f64, Option<usize>),
    /// Whole team, an athlete like these in a week like these.
    pub team: Vec<Effect>,
    /// Athlete by athlete.
    pub athletes: Vec<OfAthlete>,
    /// Between athletes; none with one.
    pub between_athletes: Option<Between>,
    /// Between weeks; none with one.
    pub between_weeks: Option<Between>,
    /// What the runs of one athlete with one set-up would be pulled by towards the team: least and greatest weight that
    /// the team has in an athlete's own difference `[-]`.
    pub weight_of_team: (f64, f64),
}

/// Week of a day, counted from one Monday on.
pub(crate) fn week_of((year, month, day): Day) -> i64 {
    // days since 1970-01-01, a Thursday; years begin in March
    let (y, m) = if month > 2 { (i64::from(year), month - 3) } else { (i64::from(year) - 1, month + 9) };
    let days = 365 * y + y.div_euclid(4) - y.div_euclid(100)
        + y.div_euclid(400)
        + i64::from((153 * m + 2) / 5 + day)
        - 1
        - 719_468;
    (days + 3).div_euclid(7)
}

/// Rows of the model, and which column is what.
struct Model {
    rows: Vec<(DVector<f64>, f64)>,
    /// Athlete's day and set-up of each row.
    cells: Vec<usize>,
    set_ups: usize,
    athletes: usize,
    weeks: usize,
    fixed: Vec<(f64, f64)>,
}

fn place<T: PartialEq>(list: &mut Vec<T>, item: T) -> usize {
    list.iter().position(|x| *x == item).unwrap_or_else(|| {
        list.push(item);
        list.len() - 1
    })
}

impl Model {
    /// Columns: differences from the first set-up, level of each athlete's day, drift of each day, start, ice, then what
    /// each set-up does beyond that for each athlete, and in each week.
    fn new(runs: &[&TimedRun], set_ups: &[String], athletes: &[String]) -> Option<Model> {
        let places = places_in_day(runs);
        let (mut blocks, mut days, mut weeks) = (vec![], vec![], vec![]);
        let of: Vec<[usize; 5]> = runs
            .iter()
            .map(|r| {
                let k = set_ups.iter().position(|s| Some(s) == r.set_up.as_ref())?;
                let i = athletes.iter().position(|a| Some(a) == r.athlete.as_ref())?;
                let block = place(&mut blocks, (i, r.date));
                let day = place(&mut days, r.date);
                Some([k, i, block, day, place(&mut weeks, r.date.map(week_of))])
            })
            .collect::<Option<_>>()?;
        let mean = |of: &dyn Fn(&TimedRun) -> Option<f64>| -> Option<f64> {
            let all: Option<Vec<f64>> = runs.iter().map(|r| of(r)).collect();
            all.map(|v| v.iter().sum::<f64>() / v.len() as f64)
        };
        let [start_s, ice_c] = [mean(&|r| r.start_s), mean(&|r| r.ice_c)];
        let level_s = mean(&|r| r.finish_s)?;
        let mut fixed = vec![(0.0, f64::INFINITY); set_ups.len() - 1 + blocks.len()];
        let drift = fixed.len();
        fixed.extend(vec![(0.0, DRIFT_SD_S); days.len()]);
        fixed.extend([(0.0, START_SD_S_PER_S), (0.0, ICE_SD_S_PER_C)]);
        // one athlete, or one week, differs from no other
        let counted = |n: usize| if n > 1 { n } else { 0 };
        let (own, weekly) = (counted(athletes.len()), counted(weeks.len()));
        let columns = fixed.len() + (own + weekly) * set_ups.len();
        let row = |(r, [k, i, block, day, week]): (&&TimedRun, &[usize; 5])| {
            let mut x = DVector::zeros(columns);
            if *k > 0 {
                x[k - 1] = 1.0;
            }
            x[set_ups.len() - 1 + block] = 1.0;
            let n = fixed.len();
            x[n - 2] = start_s.zip(r.start_s).map_or(0.0, |(m, v)| v - m);
            x[n - 1] = ice_c.zip(r.ice_c).map_or(0.0, |(m, v)| v - m);
            if own > 0 {
                x[n + i * set_ups.len() + k] = 1.0;
            }
            if weekly > 0 {
                x[n + (own + week) * set_ups.len() + k] = 1.0;
            }
            (x, *day)
        };
        let mut rows = vec![];
        for ((r, o), at) in runs.iter().zip(&of).zip(&places) {
            let (mut x, day) = row((r, o));
            x[drift + day] = *at;
            rows.push((x, r.finish_s? - level_s));
        }
        let mut cells = vec![];
        let cells = of.iter().map(|[k, _, block, ..]| place(&mut cells, (*block, *k))).collect();
        Some(Model { rows, cells, set_ups: set_ups.len(), athletes: own, weeks: weekly, fixed })
    }

    /// Beliefs at given differences between athletes and weeks: each set-up has half the variance of a difference.
    fn beliefs(&self, [athletes_s, weeks_s]: [f64; 2]) -> Vec<(f64, f64)> {
        let of = |between_s: f64| (0.0, between_s / std::f64::consts::SQRT_2);
        let mut all = self.fixed.clone();
        all.extend(vec![of(athletes_s); self.athletes * self.set_ups]);
        all.extend(vec![of(weeks_s); self.weeks * self.set_ups]);
        all
    }

    /// Spread that is left where every athlete's day has its own means of set-ups, and its degrees of freedom.
    fn spread_s(&self) -> Option<(f64, usize)> {
        let (n, cell) = (self.rows.len(), &self.cells);
        let cells = 1 + cell.iter().copied().max()?;
        let drifts: Vec<usize> = (0..self.fixed.len()).filter(|j| self.fixed[*j].1.is_finite()).collect();
        let live: Vec<usize> =
            drifts.into_iter().filter(|j| self.rows.iter().any(|(x, _)| x[*j].abs() > 1e-9)).collect();
        let design = |live: &[usize]| {
            DMatrix::from_fn(n, cells + live.len(), |i, j| {
                if j < cells { f64::from(u8::from(cell[i] == j)) } else { self.rows[i].0[live[j - cells]] }
            })
        };
        let values = DVector::from_iterator(n, self.rows.iter().map(|r| r.1));
        let ones = DVector::from_element(n, 1.0);
        let found = [live.as_slice(), &[]].iter().find_map(|live| {
            let fit = weighted_linear(&design(live), &values, &ones, 1e-8).ok()?;
            (fit.freedom >= LEAST_FREEDOM).then_some(fit)
        })?;
        Some(((found.chi_square / found.freedom as f64).sqrt(), found.freedom))
    }
}

/// Pools the runs of a team; those of other set-ups, without a finish or without an athlete take no part.
///
/// ```text
///   finish = level(athlete, day) + drift(day) place + c1 start + c2 ice
///            + d(set-up) + a(athlete, set-up) + w(week, set-up) + e
///   a ~ N(0, A/sqrt 2),  w ~ N(0, W/sqrt 2),   A, W ~ half of N(0, 0.1 s)
/// ```
///
/// A difference of two set-ups varies by A between athletes and by W between weeks. All is normal at given A and W; the
/// answer is a mean over a grid of them, weighed by prior and restricted likelihood.
///
/// *Valid for* set-ups of which two or more were ridden by one athlete on one day. *Assumes* a spread of a run that is
/// the same for all and known: from the runs where six degrees of freedom are left. *Source*: partial pooling,
/// *Gelman 2013* (5.4). *Checked by* `exact_balanced_shrinkage`, `published_eight_schools`, `published_coverage_of_a_team`.
pub fn pool(
    runs: &[TimedRun],
    set_ups: &[String],
    given_s: Option<f64>,
    usual_s: f64,
) -> Result<Team, String> {
    let named = |r: &&TimedRun| {
        r.finish_s.is_some() && r.athlete.is_some() && r.set_up.as_ref().is_some_and(|s| set_ups.contains(s))
    };
    let used: Vec<&TimedRun> = runs.iter().filter(named).collect();
    let mut athletes: Vec<String> = vec![];
    used.iter().filter_map(|r| r.athlete.clone()).for_each(|a| {
        place(&mut athletes, a);
    });
    if set_ups.len() < 2 || used.len() < 4 {
        return Err(format!(
            "{} runs of {} set-ups have athlete and finish; allowed: four runs of two set-ups, or more",
            used.len(),
            set_ups.len()
        ));
    }
    let model = Model::new(&used, set_ups, &athletes).ok_or("the runs cannot be laid out")?;
    let own = model.spread_s();
    let spread_s = match (given_s, own) {
        (Some(given), _) => (given, None),
        (None, Some((found, freedom))) => (found.max(1e-3), Some(freedom)),
        (None, None) => (usual_s, None),
    };
    let rows: Vec<_> = model.rows.iter().map(|(x, y)| (x.clone(), *y, spread_s.0)).collect();
    let steps = |n: usize| if n > 0 { STEPS } else { 0 };
    let prior = |between_s: f64| -0.5 * (between_s / BETWEEN_SD_S).powi(2);
    let beliefs = |s: [f64; 2]| model.beliefs(s);
    let sizes = [steps(model.athletes), steps(model.weeks)];
    let mixture = over_spreads(&rows, beliefs, sizes, MOST_BETWEEN_S, prior)
        .ok_or("no athlete has ridden two of these set-ups on one day: the runs cannot tell them apart")?;
    let n = model.fixed.len();
    let column = |columns: &[usize]| {
        let mut c = DVector::zeros(model.rows[0].0.len());
        columns.iter().for_each(|j| c[*j] = 1.0);
        c
    };
    // time with set-up k for athlete i, from the level
    let time = |i: Option<usize>, k: usize| {
        let mut columns = vec![];
        columns.extend((k > 0).then(|| k - 1));
        columns.extend(i.filter(|_| model.athletes > 0).map(|i| n + i * set_ups.len() + k));
        column(&columns)
    };
    let effects = |i: Option<usize>| -> Vec<Effect> {
        let times: Vec<DVector<f64>> = (0..set_ups.len()).map(|k| time(i, k)).collect();
        let best = mixture.chances_of_least(&times);
        (0..set_ups.len()).map(|k| mixture.effect(&(&times[k] - &times[0]), best[k])).collect()
    };
    let raw = |name: &String| -> Vec<Option<Belief>> {
        let mine: Vec<&TimedRun> =
            used.iter().copied().filter(|r| r.athlete.as_ref() == Some(name)).collect();
        alone(&mine, set_ups, name, spread_s.0)
    };
    let athletes: Vec<OfAthlete> = athletes
        .iter()
        .enumerate()
        .map(|(i, name)| OfAthlete {
            name: name.clone(),
            runs: used.iter().filter(|r| r.athlete.as_ref() == Some(name)).count(),
            raw: raw(name),
            pooled: effects(Some(i)),
        })
        .collect();
    let between = |which: usize, n: usize| (n > 0).then(|| mixture.between(which));
    let weights = mixture.between_mean_s(0);
    let weight = |b: &Belief| b.sd_s * b.sd_s / (b.sd_s * b.sd_s + weights * weights);
    let all: Vec<f64> = athletes.iter().flat_map(|a| a.raw.iter().skip(1).flatten()).map(weight).collect();
    Ok(Team {
        set_ups: set_ups.to_vec(),
        weeks: model.weeks.max(1),
        spread_s,
        team: effects(None),
        between_athletes: between(0, model.athletes),
        between_weeks: between(1, model.weeks),
        weight_of_team: (
            all.iter().copied().fold(f64::INFINITY, f64::min),
            all.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        ),
        athletes,
    })
}

/// Differences by the runs of one athlete alone.
fn alone(runs: &[&TimedRun], set_ups: &[String], name: &String, spread_s: f64) -> Vec<Option<Belief>> {
    let mut known: Vec<String> = set_ups.to_vec();
    known.retain(|s| runs.iter().any(|r| r.set_up.as_ref() == Some(s)));
    let slopes = (known.first() == set_ups.first())
        .then(|| {
            let model = Model::new(runs, &known, std::slice::from_ref(name))?;
            let mut belief = LinearBelief::before(&model.beliefs([0.0; 2])[..model.fixed.len()]);
            let own = |x: &DVector<f64>| x.rows(0, model.fixed.len()).into_owned();
            model.rows.iter().for_each(|(x, y)| belief.learn(&own(x), *y, spread_s));
            belief.slopes()
        })
        .flatten();
    let of = |set_up: &String| -> Option<Belief> {
        let Slopes { mean, covariance } = slopes.as_ref()?;
        match known.iter().position(|s| s == set_up)? {
            0 => Some(Belief { mean_s: 0.0, sd_s: 0.0 }),
            k => Some(Belief { mean_s: mean[k - 1], sd_s: covariance[(k - 1, k - 1)].sqrt() }),
        }
    };
    set_ups.iter().map(of).collect()
}

impl Mixture {
    /// A straight quantity with its band.
    fn effect(&self, of: &DVector<f64>, best: f64) -> Effect {
        let parts: Vec<(f64, f64, f64)> = self
            .parts
            .iter()
            .map(|p| {
                (p.weight, p.slopes.mean.dot(of), (of.dot(&(&p.slopes.covariance * of))).max(0.0).sqrt())
            })
            .collect();
        let mean_s = parts.iter().map(|p| p.0 * p.1).sum::<f64>();
        let variance = parts.iter().map(|p| p.0 * (p.2 * p.2 + (p.1 - mean_s).powi(2))).sum::<f64>();
        let belief = Belief { mean_s, sd_s: variance.sqrt() };
        if belief.sd_s < 1e-12 {
            return Effect { belief, band_s: (mean_s, mean_s), best };
        }
        let share = |x: f64| parts.iter().map(|p| p.0 * normal_cdf((x - p.1) / p.2.max(1e-12))).sum::<f64>();
        let reach = 12.0 * belief.sd_s;
        let at = |q: f64, usual: f64| {
            brent(mean_s - reach, mean_s + reach, 1e-9, |x| share(x) - q)
                .unwrap_or(mean_s + usual * belief.sd_s)
        };
        Effect { belief, band_s: (at(0.025, -BAND_95), at(0.975, BAND_95)), best }
    }
}

#[cfg(test)]
mod tests;
