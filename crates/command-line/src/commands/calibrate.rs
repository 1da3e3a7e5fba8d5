//! `sagitta calibrate`: a model fitted to the runs of a timing sheet, and whether to believe it.

mod drawn;
mod edge;
mod errors_told;
mod fitted;
pub mod for_page;
mod judged;
mod report;
pub mod run;
pub(super) mod runs;
mod told_apart;
mod would_help;
mod written;

use super::compare::skill;
use super::{What, planned_at, ridden_by};
use crate::files::{read_table, sha256};
use crate::number::within;
use crate::words::every_fault;
use edge::EdgeCurve;
use errors_told::{ErrorsTold, errors_told};
use evidence::calibration::checking::{
    FLAG_RUN, RunCheck, SectionCheck, far_starts, run_check, section_checks,
};
use evidence::calibration::predicted::{Predicted, predict_from_others};
use evidence::calibration::solve::fit;
use evidence::calibration::{Fit, FitFailure, Measured, Unknown};
use evidence::sheet::read::read_sheet;
use evidence::sheet::{Sheet, TimedRun};
use fitted::{Course, Layout, Parameter, question};
use judged::{Verdict, verdict};
use nalgebra::DMatrix;
use runs::Reading;
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::pilot::Steering;
use sled_dynamics::motion::precision::{Detail, Pair, Precision};
use sled_dynamics::riding::errors_of_ride::Skill;
use sled_dynamics::setup::Setup;
use std::path::PathBuf;
use sweep_runner::plausible::with_errors;
use sweep_runner::rides::ensemble::RIDES;
use sweep_runner::rides::level_losses::LevelLosses;
use sweep_runner::rides::levelled::{Levelled, MORE_FRICTION, Ridden};
use sweep_runner::rides::prepared::{Attempt, Prepared, Ready};
use would_help::{Decision, decision};

/// Options of `calibrate`.
#[derive(clap::Args)]
pub struct Options {
    /// Timing sheet: a row for each run, `docs/trials.md`; intermediates by the names of the track's eyes
    #[arg(value_name = "SHEET.csv")]
    sheet: PathBuf,
    #[command(flatten)]
    what: What,
    /// What to fit beside an entry speed for each run; edge, the radius of the groove's edges, plans a ride at four radii
    #[arg(long, value_enum, value_delimiter = ',', default_values = ["friction", "drag"])]
    fit: Vec<Parameter>,
    /// Spread of the finish from run to run that comes from athlete and ice, not from the push (s)
    /// [default: 0.2 % of the finish]
    #[arg(long, value_name = "S", allow_hyphen_values = true, value_parser = within(0.001, 5.0, "s"))]
    spread: Option<f64>,
    /// Take the spread from the sheet itself: runs of one set-up on one day, spread of the push included
    #[arg(long, conflicts_with = "spread")]
    spread_of_sheet: bool,
    /// Who rode: what an athlete of this level loses against the planned ride, and how that spreads from run to run,
    /// by simulated rides: novice, club, national, elite
    #[arg(long, value_name = "LEVEL", conflicts_with_all = ["spread", "spread_of_sheet"])]
    skill: Option<String>,
    /// Eye of the track where the speed trap stands; without it the speeds of the sheet are not used
    #[arg(long, value_name = "EYE")]
    trap_at: Option<String>,
    /// Only the runs with this set-up, as the sheet names it
    #[arg(long, value_name = "NAME")]
    only: Option<String>,
    /// Leave a run out, by its name (may be repeated)
    #[arg(long, value_name = "RUN")]
    leave_out: Vec<String>,
    /// Use the good rows of a sheet that has faulty ones
    #[arg(long, visible_alias = "use-good-rows")]
    keep_good_rows: bool,
    /// Write into this folder: calibration.toml for `--calibration`, samples for `compare --unknowns`, three pictures
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Residuals beyond so many times their error are ringed, as in the table.
const FAR: f64 = 2.576;
/// Width afterwards over that before from which the runs say little of an unknown `[-]`: assumed.
const SAYS_LITTLE: f64 = 0.9;

/// Standard error of the time from the timed place before to a timed place (s); the first is from the start.
fn section_error_s(covariance_s2: &DMatrix<f64>, place: usize) -> f64 {
    let of = |i: usize, j: usize| covariance_s2[(i, j)];
    let square = match place.checked_sub(1) {
        Some(before) => of(place, place) - 2.0 * of(place, before) + of(before, before),
        None => of(0, 0),
    };
    square.max(0.0).sqrt()
}

/// A calibration, and what it is made from.
pub struct Found<'a> {
    /// Name of the sheet.
    sheet: String,
    /// Sheet, track and set-up file.
    sha256: [String; 3],
    /// Keys set on the command line.
    sets: Vec<String>,
    /// The model and the runs.
    course: Course<'a>,
    layout: Layout,
    spread_s: f64,
    /// Level of skill, where one was told; the model knows what it loses.
    level: Option<&'static str>,
    last_digit_s: f64,
    unknowns: Vec<Unknown>,
    /// Without priors and line losses.
    least_squares: Result<Fit, FitFailure>,
    fit: Fit,
    /// Whether it fits.
    verdict: Verdict,
    /// What the scatter says of the athlete, where a level was told.
    errors: Option<ErrorsTold>,
    runs: Vec<Option<RunCheck>>,
    far_starts: Vec<Option<f64>>,
    sections: Vec<SectionCheck>,
    predicted: Vec<Result<Predicted, FitFailure>>,
    decision: Option<Decision>,
}

impl Found<'_> {
    /// Sections that are out of line in all runs.
    fn slow_sections(&self) -> Vec<&SectionCheck> {
        let limit = self.verdict.section_limit;
        self.sections.iter().filter(|s| s.times_error.abs() > limit).collect()
    }

    /// How much slower than fitted a run is in each section (s): place among the eyes that are used, seconds, and whether
    /// that is far out; over a missing eye the next section holds both.
    fn in_sections(&self, run: usize, used: &[usize]) -> Vec<(usize, f64, bool)> {
        let timed = &self.course.runs[run];
        let mut before_s = 0.0;
        let of = |(place, eye): (usize, &usize)| {
            let i = timed.eyes.iter().take(timed.measured.times).position(|e| e == eye)?;
            let late_s = timed.measured.values[i] - self.fit.predicted[run][i];
            let here_s = late_s - before_s;
            before_s = late_s;
            let far = here_s.abs() > FAR * section_error_s(&timed.measured.covariance, i);
            Some((place, here_s, far))
        };
        used.iter().enumerate().filter_map(of).collect()
    }

    /// What the level of skill loses, in a line with its end; nothing without one.
    fn level_words(&self) -> String {
        self.level.zip(self.course.losses).map_or(String::new(), |(name, losses)| {
            format!(
                "skill: rides of the level {name}, {} of {} finished, lose {:.2} +-{:.2} % against the planned ride; the level is assumed\n",
                losses.finished,
                losses.rides,
                100.0 * losses.share(),
                100.0 * losses.share_differs
            )
        })
    }

    /// Whether model, priors and errors go with the runs.
    fn fits(&self) -> bool {
        self.verdict.chance.is_none_or(|c| c >= FLAG_RUN) && self.slow_sections().is_empty()
    }
}

/// Reads, fits and checks; what is found is told to `then`, with the sheet and what was left aside.
fn with_found<T>(
    o: &Options,
    then: impl FnOnce(&Found<'_>, &Sheet, &[String]) -> Result<T, String>,
) -> Result<T, String> {
    let file = o.sheet.display().to_string();
    let text = read_table(&o.sheet)?;
    let sheet = read_sheet(&file, &text).map_err(every_fault)?;
    if !sheet.faults.is_empty() {
        let faults = every_fault(sheet.faults.clone());
        if !o.keep_good_rows {
            let good = sheet.runs.len();
            return Err(format!("{faults}\nrows without a fault: {good}; --keep-good-rows uses them alone"));
        }
        tell!("rows left out:\n{faults}");
    }
    let rows = chosen(o, &sheet)?;
    let skill = o.skill.as_deref().map(skill).transpose()?;
    let (track, setup) = o.what.read()?;
    let spread_s = match (o.spread, o.spread_of_sheet.then(|| sheet.spread_s())) {
        (None, Some(None)) => {
            return Err(format!("{file}: no set-up has two runs on a day: no spread to take"));
        }
        (None, Some(Some((spread_s, _)))) => Some(spread_s.max(0.001)),
        (given, _) => given,
    };
    let trap = o.trap_at.as_deref();
    let reading = Reading { file: &file, track: &track.track, setup: &setup.setup, spread_s, trap };
    let mut runs = reading.runs(&sheet, &rows).map_err(every_fault)?;
    let lag_s = skill.map_or(setup.setup.pilot.lag_s, |s| s.lag_s);
    let own = planned_at(&track, &setup.setup, lag_s, &o.what.store())?;
    let levelled = levelled(&own, &setup.setup, &rows)?;
    let losses = skill.map(|s| losses_of(&own, &s)).transpose()?;
    if let Some(losses) = &losses {
        runs.spread_by(losses);
    }
    let edge = o.fit.contains(&Parameter::Edge).then(|| EdgeCurve::new(&own)).transpose()?;
    let course = Course::new(&track.track, &levelled, &setup.setup, &runs.timed)
        .losing(losses.as_ref())
        .with_edge(edge.as_ref());
    let sections = track.track.data.eyes.iter().skip(2).map(|e| e.name.clone()).collect();
    let mut parameters: Vec<Parameter> = vec![];
    for p in &o.fit {
        if !parameters.contains(p) {
            parameters.push(*p);
        }
    }
    let layout = Layout { parameters, sections };
    let sha256 = [sha256(&[&text]), track.sha256.clone(), setup.sha256.clone()];
    let from = (runs.spread_s, runs.last_digit_s, runs.entry_m_s);
    let found = found(course, layout, from).map_err(|why| {
        format!("{file}: {why}; is the sheet of {}, and with this set-up?", track.track.data.name)
    })?;
    let level = skill.map(|s| s.name);
    let found = Found { sheet: file, sha256, sets: o.what.sets.clone(), level, ..found };
    then(&found, &sheet, &runs.aside)
}

/// The rows that are fitted.
fn chosen<'s>(o: &Options, sheet: &'s Sheet) -> Result<Vec<&'s TimedRun>, String> {
    if let Some(only) = o.only.as_ref().filter(|n| !sheet.set_ups().contains(n)) {
        return Err(format!("--only {only}: not on the sheet; allowed are {}", sheet.set_ups().join(", ")));
    }
    for name in &o.leave_out {
        if !sheet.runs.iter().any(|r| r.name == *name) {
            let all: Vec<&str> = sheet.runs.iter().map(|r| r.name.as_str()).collect();
            return Err(format!("--leave-out {name}: no such run; allowed are {}", all.join(", ")));
        }
    }
    let mine = |r: &&TimedRun| {
        let set_up = o.only.is_none() || o.only == r.set_up;
        set_up && !o.leave_out.contains(&r.name)
    };
    Ok(sheet.runs.iter().filter(mine).collect())
}

/// The guided estimate at the level of the planned ride; its friction at the ends of the sheet's ice temperatures, too.
fn levelled(own: &Prepared<'_>, setup: &Setup, rows: &[&TimedRun]) -> Result<Levelled, String> {
    let (ridden, launch) = ridden_with_more(own);
    let own_c = setup.ice.temperature_c;
    let mut others: Vec<(f64, Descent)> = vec![];
    let ice: Vec<f64> = rows.iter().filter_map(|r| r.ice_c).collect();
    let ends = [
        ice.iter().copied().fold(f64::INFINITY, f64::min),
        ice.iter().copied().fold(f64::NEG_INFINITY, f64::max),
    ];
    for ice_c in ends {
        if ice_c.is_finite() && (ice_c - own_c).abs() > ICE_C && others.iter().all(|o| o.0 != ice_c) {
            // an end on the same side as another that lies further out is not needed
            let further = ends
                .iter()
                .any(|e| (e - own_c) * (ice_c - own_c) > 0.0 && (e - own_c).abs() > (ice_c - own_c).abs());
            if further {
                continue;
            }
            let mut other = setup.clone();
            other.ice.temperature_c = ice_c;
            other.pilot.lag_s = own.ride.lag_s();
            let descent =
                on_other_ice(own, &other).map_err(|why| format!("on ice of {ice_c} degC: {why}"))?;
            others.push((ice_c, descent));
        }
    }
    Levelled::new(own.ready.track, setup, &launch, &ridden, &others).map_err(|e| e.to_string())
}

/// Rides of each athlete that tell what a level of skill loses. Their spread hangs on a few slow ones: of 200 it was 0.6
/// or 1.1 s.
const RIDES_OF_LEVEL: usize = 600;
/// Seed of those rides.
const SEED_OF_LEVEL: u64 = 1;
/// Errors of an athlete over those of the level, standard deviation of the logarithm: assumed; the range of the plausible
/// set, 0.6 to 2, has 0.35.
const ERRORS_SD: f64 = 0.3;

/// Its athletes at three points of that normal distribution (Gauss and Hermite): logarithm of their errors over those of
/// the level, and weight `[-]`.
const ATHLETES: [(f64, f64); 3] = [(-OUT, 1.0 / 6.0), (0.0, 2.0 / 3.0), (OUT, 1.0 / 6.0)];
/// The outer ones: 3^(1/2) standard deviations.
const OUT: f64 = 1.732_050_807_568_877_2 * ERRORS_SD;

/// What a level of skill loses against a planned ride.
fn losses_of(own: &Prepared<'_>, skill: &Skill) -> Result<LevelLosses, String> {
    let athletes = ATHLETES.map(|(log_factor, weight)| (with_errors(log_factor.exp(), skill), weight));
    LevelLosses::of_athletes(own, &athletes, SEED_OF_LEVEL, RIDES_OF_LEVEL, RIDES).ok_or_else(|| {
        format!(
            "--skill {}: too few of {RIDES_OF_LEVEL} rides finish to tell what that level loses",
            skill.name
        )
    })
}

/// Precision of the rides that the estimate is brought to.
const PRECISION: Precision = Precision { pair: Pair::Fifth, tolerance: 1e-8, greatest_step_m: 2.0 };

/// The planned ride on ice of another temperature: with the same steering where that comes down untouched, else planned
/// anew.
fn on_other_ice(own: &Prepared<'_>, other: &Setup) -> Result<Descent, String> {
    let lag_s = other.pilot.lag_s;
    let ready = Ready::new(own.ready.track, other).map_err(|e| e.to_string())?;
    let same = Prepared::new(ready, own.planned.clone(), lag_s).map_err(|e| e.to_string())?;
    let descent = same.descent(&Attempt::perfect(), PRECISION, Detail::Bare);
    if descent.finish_time_s.is_some() && descent.touches() == 0 {
        return Ok(descent);
    }
    Ok(ridden_by(own, other)?.descent(&Attempt::perfect(), PRECISION, Detail::Bare))
}

/// A planned ride, the same on ice with a little more friction, and its launch.
fn ridden_with_more(own: &Prepared<'_>) -> (Ridden, Launch) {
    let mut on_slower = own.clone();
    let factor = MORE_FRICTION * own.ready.setup.ice.friction_factor;
    on_slower.ready.ice = own.ready.ice.with_friction_factor(factor);
    let of = |prepared: &Prepared<'_>| prepared.descent(&Attempt::perfect(), PRECISION, Detail::Bare);
    (Ridden { own: of(own), slower: of(&on_slower) }, own.ready.launch)
}

/// A difference of ice temperature that is not worth a plan of its own (degC): assumed.
const ICE_C: f64 = 0.2;

/// Fits and checks.
fn found<'a>(
    course: Course<'a>,
    layout: Layout,
    (spread_s, last_digit_s, entry_m_s): (f64, f64, f64),
) -> Result<Found<'a>, FitFailure> {
    let measured: Vec<Measured> = course.runs.iter().map(|r| r.measured.clone()).collect();
    let plain = layout.plain();
    let alone = course.unknowns(&plain, entry_m_s, false);
    let of_plain = |r: usize, x: &[f64]| course.values(&plain, r, x);
    let least_squares = fit(&question(&alone, &measured, &of_plain));
    let unknowns = course.unknowns(&layout, entry_m_s, true);
    let predict = |r: usize, x: &[f64]| course.values(&layout, r, x);
    let asked = question(&unknowns, &measured, &predict);
    let fit = fit(&asked)?;
    let verdict = verdict(&course, &fit, &unknowns, &measured);
    let errors = errors_told(&course, layout.line(), &fit, &unknowns, &measured);
    let runs = measured.iter().enumerate().map(|(r, m)| run_check(&fit, m, r)).collect();
    let starts: Vec<Option<f64>> = course.runs.iter().map(|r| r.start_s).collect();
    let others = measured.len() > 1;
    let predicted = (0..measured.len())
        .filter(|_| others)
        .map(|r| predict_from_others(&asked, &fit, r, usize::from(starts[r].is_some())))
        .collect();
    let sections = section_checks(&fit, &measured);
    let decision = decision(&course, &layout, &fit, &unknowns, last_digit_s);
    Ok(Found {
        sheet: String::new(),
        sha256: Default::default(),
        sets: vec![],
        spread_s,
        level: None,
        last_digit_s,
        least_squares,
        verdict,
        errors,
        runs,
        far_starts: far_starts(&starts),
        sections,
        predicted,
        decision,
        unknowns,
        fit,
        layout,
        course,
    })
}

#[cfg(test)]
mod coverage;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod weeks;
