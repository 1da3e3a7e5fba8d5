//! `sagitta steering`: rides that could have made the times of one run, and what they agree on.

mod told;

use super::calibrate::runs::Reading;
use super::compare::skill;
use super::trial_analyse::good_rows;
use super::{Done, What, planned_at};
use crate::number::within;
use crate::progress::Progress;
use crate::words::{every_fault, say};
use evidence::sheet::{Sheet, TimedRun};
use nalgebra::{Cholesky, DMatrix};
use sled_dynamics::motion::precision::Detail;
use sled_dynamics::setup::Sprint;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use sweep_runner::rides::ensemble::RIDES;
use sweep_runner::rides::inferred::{Against, At, BANK, Possible, Seen, bank, infer};
use sweep_runner::rides::mistakes::{Rider, routine_of};
use sweep_runner::rides::prepared::Attempt;
use track_geometry::track::Track;

/// Options of `steering`.
#[derive(clap::Args)]
#[command(after_help = "Example: sagitta steering examples/steering-sheet.csv --run 1")]
pub struct Options {
    /// Timing sheet, as for `calibrate`
    #[arg(value_name = "SHEET.csv")]
    sheet: PathBuf,
    /// The run to explain, by its name on the sheet
    #[arg(long, value_name = "NAME")]
    run: String,
    /// Its day, where several days have a run of this name
    #[arg(long, value_name = "YYYY-MM-DD")]
    date: Option<String>,
    #[command(flatten)]
    what: What,
    /// Skill of the athlete who rides: novice, club, national or elite
    #[arg(long, default_value = "national")]
    skill: String,
    /// Rides at most; more are ridden where few come near
    #[arg(long, default_value_t = 6400, allow_hyphen_values = true, value_parser = within(512_u32, 1_000_000, ""))]
    rides: u32,
    /// Seed of their mistakes
    #[arg(long, default_value_t = 1, allow_hyphen_values = true, value_parser = within(0, u64::MAX, ""))]
    seed: u64,
    /// How far model and eyes together may be off at the finish (s), assumed; higher up it is less
    #[arg(long, value_name = "S", default_value_t = 0.03, allow_hyphen_values = true, value_parser = within(0.001, 1.0, "s"))]
    noise: f64,
    /// How far the whole run may be faster or slower than the model, as on other ice (%), assumed
    #[arg(long, value_name = "PERCENT", default_value_t = 0.2, allow_hyphen_values = true, value_parser = within(0.0, 5.0, "%"))]
    level: f64,
    /// Eye at which the speed trap stands
    #[arg(long, value_name = "EYE")]
    trap_at: Option<String>,
    /// Use the good rows of a sheet that has faulty ones
    #[arg(long)]
    keep_good_rows: bool,
}

/// Reads, rides, weighs and prints.
pub fn steering(o: &Options) -> Done {
    let file = o.sheet.display().to_string();
    let skill = skill(&o.skill)?;
    let sheet = good_rows(&o.sheet, o.keep_good_rows)?;
    let row = the_run(o, &sheet)?;
    let (track, read) = o.what.read()?;
    let mut setup = read.setup.clone();
    let trap = o.trap_at.as_deref();
    let reading =
        Reading { file: &file, track: &track.track, setup: &read.setup, spread_s: Some(o.noise), trap };
    let runs = reading.runs(&sheet, &[row]).map_err(every_fault)?;
    let timed = runs.timed.first().ok_or_else(|| format!("{file}: run {} has no times", row.name))?;
    let seen = seen(
        timed.measured.values.clone(),
        &timed.eyes,
        timed.measured.times,
        &timed.measured.covariance,
        o,
    )?;
    // push and ice of this run
    if let Some(start_s) = row.start_s {
        setup.push.sprint = Sprint::StartTime(start_s);
    }
    if let Some(ice_c) = row.ice_c {
        setup.ice.temperature_c = ice_c;
    }
    let prepared = planned_at(&track, &setup, skill.lag_s, &o.what.store())?;
    let routine = routine_of(&prepared, &skill);
    let rider = Rider { prepared: &prepared, skill: &skill, routine: routine.as_ref(), seed: o.seed };
    let planned = prepared.descent(&Attempt::perfect(), RIDES, Detail::Bare);
    let against = Against::new(&rider).ok_or("the planned ride does not reach the finish")?;
    let progress = Mutex::new(Progress::new(o.rides as usize + BANK * seen.at.len(), "rides at most"));
    let ridden = || {
        if let Ok(mut progress) = progress.lock() {
            progress.done(1);
        }
    };
    let first = bank(&against, BANK, &ridden);
    if let Some(why) = far_off(&track.track, &seen, &first, o) {
        return Err(why);
    }
    let found = infer(&against, &seen, &first, o.rides as usize, &ridden).map_err(|eye| {
        let name = &track.track.data.eyes[eye].name;
        format!("run {}: no ride comes near at {name}; {}", row.name, told::WHAT_NEXT)
    })?;
    let question = told::Question { track: &track.track, row, planned: &planned, skill: &skill, seen: &seen };
    if !found.tells() {
        say(&told::too_few(&question, &found))?;
        return Ok(1);
    }
    say(&told::told(&question, &found))?;
    Ok(0)
}

/// The row that is asked about.
fn the_run<'s>(o: &Options, sheet: &'s Sheet) -> Result<&'s TimedRun, String> {
    let written = |r: &TimedRun| r.date.map(|(y, m, day)| format!("{y}-{m:02}-{day:02}"));
    // as on a sheet: 2026-01-20 or 20.1.2026
    let asked = o.date.as_ref().map(|d| match d.split('.').collect::<Vec<_>>().as_slice() {
        [day, m, y] => format!("{y}-{m:0>2}-{day:0>2}"),
        _ => d.clone(),
    });
    let of_day = |r: &&TimedRun| asked.is_none() || written(r) == asked;
    let found: Vec<&TimedRun> = sheet.runs.iter().filter(|r| r.name == o.run).filter(of_day).collect();
    match found.as_slice() {
        [one] => Ok(one),
        [] => {
            let named = |r: &TimedRun| match written(r).filter(|_| asked.is_some()) {
                Some(day) => format!("{} of {day}", r.name),
                None => r.name.clone(),
            };
            let all: Vec<String> = sheet.runs.iter().map(named).collect();
            let day = o.date.as_ref().map(|d| format!(" --date {d}")).unwrap_or_default();
            Err(format!("--run {}{day}: not on the sheet; allowed are {}", o.run, all.join(", ")))
        }
        _ => Err(format!("--run {}: on {} lines of the sheet; say the day by --date", o.run, found.len())),
    }
}

/// Values and the factor of the covariance of their errors, in the order of the eyes.
fn seen(
    values: Vec<f64>,
    eyes: &[usize],
    times: usize,
    covariance: &DMatrix<f64>,
    o: &Options,
) -> Result<Seen, String> {
    let share = 1e-2 * o.level;
    // a faster run has shorter times and greater speeds
    let moved: Vec<f64> =
        values.iter().enumerate().map(|(i, v)| if i < times { share * v } else { -share * v }).collect();
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by_key(|i| (eyes[*i], *i >= times));
    let whole = DMatrix::from_fn(values.len(), values.len(), |a, b| {
        let (i, j) = (order[a], order[b]);
        covariance[(i, j)] + moved[i] * moved[j]
    });
    let factor = Cholesky::new(whole).ok_or("the errors of the run have no covariance to work with")?.l();
    Ok(Seen {
        at: order.iter().map(|i| if *i < times { At::Time(eyes[*i]) } else { At::Speed(eyes[*i]) }).collect(),
        values: order.iter().map(|i| values[*i]).collect(),
        factor: factor.row_iter().map(|r| r.iter().copied().collect()).collect(),
    })
}

/// What to say where a time lies so far beside all rides that mistakes of this athlete do not explain it.
fn far_off(track: &Track, seen: &Seen, bank: &[Arc<Possible>], o: &Options) -> Option<String> {
    for (at, value) in seen.at.iter().zip(&seen.values) {
        let At::Time(eye) = *at else { continue };
        let times: Vec<f64> =
            bank.iter().filter_map(|r| r.descent.splits.get(eye)).map(|s| s.split_time_s).collect();
        let low = times.iter().copied().fold(f64::INFINITY, f64::min);
        let high = times.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        // beyond the rides by more than half their width and the errors
        let beyond = 0.5 * (high - low) + 3.0 * (o.noise + 1e-2 * o.level * value);
        if times.is_empty() || *value < low - beyond || *value > high + beyond {
            return Some(format!(
                "run {}, {}: timed {value:.2} s; the rides of this athlete and set-up take {low:.2} to {high:.2} s. Calibrate the \
                 model to the sheet first (`sagitta calibrate`), and give what it finds by --set",
                o.run, track.data.eyes[eye].name
            ));
        }
    }
    None
}
