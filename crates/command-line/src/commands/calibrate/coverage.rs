//! Do the bands hold the truth where athletes make mistakes? Weeks of the full simulator, fitted as `calibrate --skill`
//! fits a sheet.
//!
//! `CALIBRATION_WEEKS=200 cargo test --release -p command-line weeks_of_athletes -- --nocapture` prints the figures of 200
//! weeks of each level. `CALIBRATION_ERRORS_SD=0` plants athletes who are the level itself, `CALIBRATION_NO_SKILL=1`
//! fits without `--skill`, `CALIBRATION_WRONG=KEY=FACTOR` rides a sled that has this key off by the factor;
//! `CALIBRATION_FIT_EDGE=1` fits the edge radius, too.

use super::edge::EDGE;
use super::fitted::{CHECKED_WITHIN, Course, Layout, Parameter, question};
use super::weeks::{self, Planted};
use super::would_help::finish_slopes;
use super::*;
use crate::plan_store::PlanStore;
use evidence::calibration::checking::section_limit;
use evidence::calibration::worth::sd_of;
use evidence::decision::BAND_95;
use nalgebra::DVector;
use rayon::prelude::*;

/// Seed of truths and mistakes; that of the level's rides is another.
const SEED: u64 = 7;
/// Weeks between two printed lines.
const TOLD: usize = 20;
fn said<T: std::str::FromStr>(name: &str) -> Option<T> {
    std::env::var(name).ok().and_then(|v| v.parse().ok())
}

/// What the fit of a week says of its truth: how far off, in standard deviations, and whether it fits.
struct OfWeek {
    /// Friction factor, drag area, their sum at the finish, the finish of a run left out.
    off: [f64; 4],
    /// The edge radius, where it is fitted, and the width that the runs leave of what was believed.
    edge: Option<[f64; 2]>,
    /// The planted friction lies where the estimate was checked.
    near: bool,
    fits: bool,
    /// The same by chi-squared.
    by_chi_squared: bool,
}

fn fitted(
    levelled: &Levelled,
    (losses, edge): (Option<&LevelLosses>, Option<&EdgeCurve>),
    planted: &Planted,
    text: &str,
) -> Result<OfWeek, FitFailure> {
    let (track, setup) = weeks::read();
    let mut runs = weeks::runs(text);
    if let Some(losses) = losses {
        runs.spread_by(losses);
    }
    let course =
        Course::new(&track.track, levelled, &setup.setup, &runs.timed).losing(losses).with_edge(edge);
    let sections = track.track.data.eyes.iter().skip(2).map(|e| e.name.clone()).collect();
    let mut parameters = vec![Parameter::Friction, Parameter::Drag];
    parameters.extend(edge.map(|_| Parameter::Edge));
    let layout = Layout { parameters, sections };
    let measured: Vec<Measured> = runs.timed.iter().map(|r| r.measured.clone()).collect();
    let unknowns = course.unknowns(&layout, runs.entry_m_s, true);
    let predict = |r: usize, x: &[f64]| course.values(&layout, r, x);
    let asked = question(&unknowns, &measured, &predict);
    let fit = fit(&asked)?;
    let off = [fit.estimates[0] - planted.friction_factor, fit.estimates[1] - planted.drag_area_m2];
    let by = finish_slopes(&course, &layout, &fit, &unknowns).unwrap();
    let mut slopes = DVector::zeros(unknowns.len());
    (slopes[0], slopes[1]) = (by[0], by[1]);
    let sum = (by[0] * off[0] + by[1] * off[1]) / sd_of(&fit.covariance, &slopes);
    let near = (planted.friction_factor / setup.setup.ice.friction_factor - 1.0).abs() <= CHECKED_WITHIN;
    // the first run from the five others and its own start
    let other = predict_from_others(&asked, &fit, 0, 1)?;
    let left_out = (other.timed_s - other.time.mean_s) / other.time.sd_s;
    let fits_by = |chance: Option<f64>, limit: f64| {
        let slow = section_checks(&fit, &measured).iter().any(|s| s.times_error.abs() > limit);
        chance.is_none_or(|c| c >= FLAG_RUN) && !slow
    };
    let verdict = verdict(&course, &fit, &unknowns, &measured);
    let fits = fits_by(verdict.chance, verdict.section_limit);
    let limit = section_limit(track.track.data.eyes.len() - 2);
    let by_chi_squared = fits_by(fit.chance_of_worse(&unknowns), limit);
    let off_edge = |_| {
        let radius_mm = planted.wrong_by(EDGE) * Parameter::Edge.of(&setup.setup);
        let width = fit.narrowed(2, &unknowns[2]).unwrap_or(f64::NAN);
        [(fit.estimates[2] - radius_mm) / fit.error(2), width]
    };
    let edge = edge.map(off_edge);
    Ok(OfWeek {
        off: [off[0] / fit.error(0), off[1] / fit.error(1), sum, left_out],
        edge,
        near,
        fits,
        by_chi_squared,
    })
}

fn held<'w>(all: impl Iterator<Item = &'w OfWeek> + Clone) -> [usize; 4] {
    [0, 1, 2, 3].map(|j| all.clone().filter(|w| w.off[j].abs() < BAND_95).count())
}

fn told(level: &str, all: &[OfWeek]) -> String {
    let n = all.len() as f64;
    let mean = |j: usize| all.iter().map(|w| w.off[j]).sum::<f64>() / n;
    let sd = |j: usize| (all.iter().map(|w| (w.off[j] - mean(j)).powi(2)).sum::<f64>() / n).sqrt();
    let each = [0, 1, 2, 3].map(|j| format!("{:+.2} ±{:.2}", mean(j), sd(j)));
    let edges: Vec<[f64; 2]> = all.iter().filter_map(|w| w.edge).collect();
    let edge = format!(
        "edge {} of {}, off by {:+.2}, width left {:.2}; ",
        edges.iter().filter(|e| e[0].abs() < BAND_95).count(),
        edges.len(),
        edges.iter().map(|e| e[0]).sum::<f64>() / edges.len() as f64,
        edges.iter().map(|e| e[1]).sum::<f64>() / edges.len() as f64
    );
    let near: Vec<&OfWeek> = all.iter().filter(|w| w.near).collect();
    format!(
        "{level}, {n} weeks: inside their band friction, drag, sum, run left out {:?}; off by {}; {}fits {}, by chi-squared {}; \
         friction within 30 % of the set-up: {} weeks, {:?}",
        held(all.iter()),
        each.join(", "),
        if edges.is_empty() { "" } else { &edge },
        all.iter().filter(|w| w.fits).count(),
        all.iter().filter(|w| w.by_chi_squared).count(),
        near.len(),
        held(near.iter().copied())
    )
}

fn of_level(level: &str, many: usize) -> Vec<OfWeek> {
    let skill = skill(level).unwrap();
    let (track, setup) = weeks::read();
    let base = planned_at(track, &setup.setup, skill.lag_s, &PlanStore::none()).unwrap();
    let levelled = weeks::levelled_at(&base);
    let losses = losses_of(&base, &skill).unwrap();
    let losses = Some(&losses).filter(|_| std::env::var_os("CALIBRATION_NO_SKILL").is_none());
    let edge = std::env::var_os("CALIBRATION_FIT_EDGE").map(|_| EdgeCurve::new(&base).unwrap());
    let wrong = said::<String>("CALIBRATION_WRONG");
    let errors_sd = said("CALIBRATION_ERRORS_SD").unwrap_or(ERRORS_SD);
    let week = |week: usize| {
        let planted = Planted { wrong: wrong.clone(), ..weeks::truth(SEED, week, errors_sd) };
        let text = weeks::sheet(&base, &planted, &skill, SEED, week)?;
        // a failure is told as failure; such a week has no bands
        fitted(&levelled, (losses, edge.as_ref()), &planted, &text)
            .map_err(|why| tell!("{level}, week {week}: {why}"))
            .ok()
    };
    let mut all = vec![];
    let numbers: Vec<usize> = (0..many).collect();
    for some in numbers.chunks(TOLD) {
        all.extend(some.par_iter().map(|n| week(*n)).collect::<Vec<_>>().into_iter().flatten());
        tell!("{}", told(level, &all));
    }
    // some sleds have no planned ride, some sheets no fit
    assert!(10 * all.len() >= 9 * many, "{} of {many} weeks", all.len());
    all
}

#[test]
fn exact_bands_hold_the_truth_of_weeks_of_athletes_who_err() {
    let many = said("CALIBRATION_WEEKS").unwrap_or(10);
    let all: Vec<OfWeek> = ["club", "national"].into_iter().flat_map(|level| of_level(level, many)).collect();
    // 3.1 standard deviations of a binomial at 0.95: of 20 16 at least, fewer in 3 of 1000
    let n = all.len() as f64;
    let least = 0.95 * n - 3.1 * (0.95 * 0.05 * n).sqrt();
    let asked = ["CALIBRATION_NO_SKILL", "CALIBRATION_WRONG"].iter().all(|v| std::env::var_os(v).is_none());
    assert!(!asked || held(all.iter()).iter().all(|h| *h as f64 >= least), "{}", told("both", &all));
}
