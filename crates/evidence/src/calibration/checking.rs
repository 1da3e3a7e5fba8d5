//! Does the model fit? Residuals by run and section, and what is out of line with a reason.

use super::{Fit, Measured, Unknown};
use nalgebra::{Cholesky, DMatrix, DVector};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// A run is flagged when chance alone would put it further off in fewer cases than this share `[-]`: common practice.
pub const FLAG_RUN: f64 = 0.01;
/// One delay explains a flagged run when without it chance gives a worse fit at least this often `[-]`.
pub(crate) const EXPLAINED: f64 = 0.05;
/// Sections are flagged together: chance flags one of a right model in so many sheets, about as often as one of six runs
/// `[-]`.
pub(crate) const FLAG_SECTION: f64 = 0.05;
/// A start this far from the median of the others is far off (s), at least: assumed.
pub(crate) const FAR_START_S: f64 = 0.10;

/// Chance that a sum of so many squares of standard normal numbers is greater `[-]`.
pub(crate) fn chi_square_beyond(sum: f64, freedom: usize) -> f64 {
    ChiSquared::new(freedom as f64).map_or(f64::NAN, |d| d.sf(sum))
}

impl Fit {
    /// Chance of a worse fit if model, priors and errors are right `[-]`.
    ///
    /// With priors the least sum of squares, priors among it, has as many degrees of freedom as there are values: each
    /// unknown brings as many priors as it takes. Without priors they are values less unknowns.
    pub fn chance_of_worse(&self, unknowns: &[Unknown]) -> Option<f64> {
        let free = unknowns.iter().filter(|u| u.prior.is_none()).count();
        let freedom = self.values.checked_sub(free).filter(|n| *n > 0)?;
        Some(chi_square_beyond(self.chi_square + self.prior_chi_square, freedom))
    }
}

/// A time lost or won in one section, and more of it on the way behind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Delay {
    /// Place from which on the run is late.
    pub from: usize,
    /// By how much there (s); negative is early.
    pub delay_s: f64,
    /// Its standard error (s).
    pub error_s: f64,
    /// How much more it is late at its last time, growing with the time since (s); 0 where that is not needed.
    pub later_s: f64,
    /// Chance of a worse fit of the run without the delay `[-]`.
    pub(crate) left: f64,
}

/// How well one run goes with the others.
#[derive(Clone, Debug, PartialEq)]
pub struct RunCheck {
    /// Sum of squares of the run against what the others predict of it.
    pub(crate) chi_square: f64,
    /// Chance of more, if the model is right `[-]`.
    pub chance: f64,
    /// The delay that explains most.
    pub(crate) delay: Option<Delay>,
}

impl RunCheck {
    /// Whether the run is out of line.
    pub fn flagged(&self) -> bool {
        self.chance < FLAG_RUN
    }

    /// The delay, where it alone explains a flagged run.
    pub fn explained(&self) -> Option<Delay> {
        self.delay.filter(|d| self.flagged() && d.left >= EXPLAINED)
    }
}

/// Every time of a run from a place on, later by one second, whitened.
fn step(run: &Measured, from: usize) -> Option<DVector<f64>> {
    late(run, |i| f64::from(u8::from(i >= from)))
}

/// Times of a run later by so many seconds each, whitened.
fn late(run: &Measured, by: impl Fn(usize) -> f64) -> Option<DVector<f64>> {
    let late = DVector::from_fn(run.values.len(), |i, _| if i < run.times { by(i) } else { 0.0 });
    Cholesky::new(run.covariance.clone())?.l().solve_lower_triangular(&late)
}

/// The delays of a run that explain most: in one section alone, and with more behind it. `weights` is the inverse of the
/// covariance of the run against what the others predict, whitened, and `w` its product with how far the run is off.
fn delays(run: &Measured, weights: &DMatrix<f64>, w: &DVector<f64>, chi_square: f64) -> Vec<Delay> {
    let last = run.times - 1;
    let freedom = |used: usize| w.len().saturating_sub(used).max(1);
    let mut all = vec![];
    for from in 1..run.times {
        let Some(d) = step(run, from) else { continue };
        let (told, weight) = (d.dot(w), d.dot(&(weights * &d)));
        if !(weight > 0.0) {
            continue;
        }
        let left = chi_square_beyond((chi_square - told * told / weight).max(0.0), freedom(1));
        let (delay_s, error_s) = (told / weight, 1.0 / weight.sqrt());
        all.push(Delay { from, delay_s, error_s, later_s: 0.0, left });
        let way_s = run.values[last] - run.values[from];
        let grown = late(run, |i| if i > from { (run.values[i] - run.values[from]) / way_s } else { 0.0 });
        let Some(g) = grown.filter(|_| from < last) else { continue };
        let both = DMatrix::from_columns(&[d, g]);
        let curvature = both.transpose() * weights * &both;
        let Some(found) = Cholesky::new(curvature) else { continue };
        let told = both.transpose() * w;
        let x = found.solve(&told);
        let left = chi_square_beyond((chi_square - told.dot(&x)).max(0.0), freedom(2));
        let error_s = found.inverse()[(0, 0)].sqrt();
        all.push(Delay { from, delay_s: x[0], error_s, later_s: x[1], left });
    }
    all
}

/// A run against what the others say of it.
///
/// ```text
///   w^T (I - A X A^T)^-1 w     w, A: whitened residual and slopes of the run, X: covariance of the fit
/// ```
///
/// *Assumes* a model that is straight over the posterior; then this is the sum of squares of the run predicted from all
/// the others. *Source*: residual of a case left out, linear algebra (Woodbury). *Checked by*
/// `exact_left_out_run_by_both_ways`, `exact_a_delay_is_one_more_unknown`.
pub fn run_check(fit: &Fit, run: &Measured, r: usize) -> Option<RunCheck> {
    let (w, a) = (&fit.whitened[r], &fit.slopes[r]);
    let n = w.len();
    let weights = DMatrix::identity(n, n) - a * &fit.covariance * a.transpose();
    let chi_square = w.dot(&Cholesky::new(weights.clone())?.solve(w));
    let all = delays(run, &weights, w, chi_square);
    // the simplest that explains the run, else what explains most
    let best = |plain: bool| {
        all.iter().filter(|d| !plain || d.later_s == 0.0).max_by(|a, b| a.left.total_cmp(&b.left)).copied()
    };
    let delay = best(true).filter(|d| d.left >= EXPLAINED).or_else(|| best(false));
    Some(RunCheck { chi_square, chance: chi_square_beyond(chi_square, n), delay })
}

/// How far all runs together are late in one section.
#[derive(Clone, Debug, PartialEq)]
pub struct SectionCheck {
    /// The place where the section ends.
    pub to: String,
    /// How late all runs are there that were not late before (s), beyond what the model and its unknowns give.
    pub delay_s: f64,
    /// Over its standard error `[-]`.
    pub times_error: f64,
}

/// The test of one section: what a delay of one second that is the same in all runs does, unknowns and priors allowed for.
pub(super) struct SectionTest {
    to: String,
    /// Whitened, for each run that was timed there.
    steps: Vec<(usize, DVector<f64>)>,
    /// The same by the unknowns.
    shared: DVector<f64>,
    weight: f64,
}

impl SectionTest {
    /// How late whitened residuals are in the section (s), with the weight of that, less what unknowns that are off by so
    /// much take.
    fn told(&self, whitened: &[DVector<f64>], off: &DVector<f64>) -> f64 {
        self.steps.iter().map(|(r, d)| d.dot(&whitened[*r])).sum::<f64>() - self.shared.dot(off)
    }

    /// The same over its standard error `[-]`.
    pub(super) fn times_error(&self, whitened: &[DVector<f64>], off: &DVector<f64>) -> f64 {
        self.told(whitened, off) / self.weight.sqrt()
    }
}

/// The tests of all sections that can be tested.
pub(super) fn section_tests(fit: &Fit, runs: &[Measured]) -> Vec<SectionTest> {
    let mut places: Vec<&String> = vec![];
    for place in runs.iter().flat_map(|r| r.places.iter().take(r.times).skip(1)) {
        if !places.contains(&place) {
            places.push(place);
        }
    }
    let test = |place: &&String| {
        let (mut steps, mut own) = (vec![], 0.0);
        let mut shared = DVector::zeros(fit.estimates.len());
        for (r, run) in runs.iter().enumerate() {
            let Some(from) = run.places.iter().take(run.times).position(|p| p == *place).filter(|f| *f > 0)
            else {
                continue;
            };
            let d = step(run, from)?;
            own += d.norm_squared();
            shared += fit.slopes[r].tr_mul(&d);
            steps.push((r, d));
        }
        let weight = own - (&fit.covariance * &shared).dot(&shared);
        let fine = weight > 1e-9 * own && weight > 0.0;
        fine.then(|| SectionTest { to: (*place).clone(), steps, shared, weight })
    };
    places.iter().filter_map(test).collect()
}

/// Every section, tested for a delay that is the same in all runs: score of the whole fit.
///
/// *Source*: score test of a linear model. *Checked by* `exact_a_slow_section_is_found`.
pub fn section_checks(fit: &Fit, runs: &[Measured]) -> Vec<SectionCheck> {
    let nothing = DVector::zeros(fit.estimates.len());
    let check = |t: SectionTest| SectionCheck {
        delay_s: t.told(&fit.whitened, &nothing) / t.weight,
        times_error: t.times_error(&fit.whitened, &nothing),
        to: t.to,
    };
    section_tests(fit, runs).into_iter().map(check).collect()
}

/// Times of its error beyond which one of so many sections is flagged.
pub fn section_limit(sections: usize) -> f64 {
    let one = FLAG_SECTION / (2.0 * sections.max(1) as f64);
    statrs::distribution::Normal::standard().inverse_cdf(1.0 - one)
}

/// Starts far from the median of the others (s): value less median. By the median of the distances, and
/// [`FAR_START_S`] at least.
///
/// *Source*: 3.5 times the scaled median distance, *Iglewicz 1993* (from memory). *Checked by*
/// `exact_a_bad_push_is_far_from_the_others`.
pub fn far_starts(starts_s: &[Option<f64>]) -> Vec<Option<f64>> {
    let median = |mut v: Vec<f64>| {
        v.sort_by(f64::total_cmp);
        let n = v.len();
        (n > 0).then(|| 0.5 * (v[(n - 1) / 2] + v[n / 2]))
    };
    let far = |i: usize| {
        let own = starts_s[i]?;
        let others: Vec<f64> = (0..starts_s.len()).filter(|k| *k != i).filter_map(|k| starts_s[k]).collect();
        let middle = median(others.clone()).filter(|_| others.len() >= 3)?;
        let distance = median(others.iter().map(|o| (o - middle).abs()).collect())?;
        let limit = (3.5 * 1.4826 * distance).max(FAR_START_S);
        Some(own - middle).filter(|d| d.abs() > limit)
    };
    (0..starts_s.len()).map(far).collect()
}
