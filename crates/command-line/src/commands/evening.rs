//! `sagitta evening`: what to set tonight, why, and one page to carry.

pub(super) mod asked;
pub(super) mod bench;
pub(super) mod numbers;
mod over;
pub(super) mod page;
mod past;
mod sheet;
pub(super) mod tables;
mod told;

use super::{Done, Stored};
use crate::files::{self, Output, read_text};
use crate::interrupt::{self, INTERRUPTED};
use crate::plan_store::PlanStore;
use crate::progress::Progress;
use crate::words::{ABSOLUTE, CAUTION, numbers as number_table, say, table};
use asked::read_asked;
use sled_dynamics::setup::Setup;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};
use sweep_runner::evening::ridden::{Tonight, with_bows};
use sweep_runner::evening::{Evening, evening, steps};
use told::{DECIDE, Told};

/// A plan to begin with.
const EXAMPLE: &str = include_str!("evening/example.toml");

/// Options of `evening`.
#[derive(clap::Args)]
pub struct Options {
    /// The plan of the evening: track, set-up, pairs in the bag, bow, forecast, hours
    #[arg(value_name = "PLAN.toml", required_unless_present = "example")]
    plan: Option<PathBuf>,
    /// Print a plan with comments, to begin with
    #[arg(long, conflicts_with_all = ["plan", "out"])]
    example: bool,
    /// Write into this folder: sheet.html (one A4 page), report.html, evening.json, and the set-ups now and as advised
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    stored: Stored,
}

/// Reads the plan, answers, prints and writes.
pub fn evening_command(o: &Options) -> Done {
    let Some(path) = o.plan.as_ref().filter(|_| !o.example) else {
        say(EXAMPLE)?;
        return Ok(0);
    };
    let (asked, found, over) = of_plan(path, &o.stored.store())?;
    let q = &asked.question;
    let words = told::told(&asked, &found, over.as_ref());
    if let Some(out) = &o.out {
        let now = with_bows(&q.pairs[0].setup, &q.bows[q.now]);
        let mut outputs = vec![
            Output::new("sheet.html", sheet::sheet(&words)),
            Output::new("report.html", sheet::report(&words)),
            Output::new("evening.json", numbers::numbers(&asked, &found, over.as_ref())),
            files::setup_output("setup-now.toml", &now)?,
        ];
        // none is written where none is advised
        if let Some(advised) = found.advised() {
            outputs.push(files::setup_output("setup-advised.toml", &advised.setup)?);
        }
        files::write_all(out, &outputs)?;
        tell!("written to {}", out.display());
    }
    say(&screen(&words))?;
    Ok(status(&asked, &found))
}

/// Reads a plan, and plans and rides what it asks, with progress.
fn of_plan(path: &Path, store: &PlanStore) -> Result<(asked::Asked, Evening, Option<over::Over>), String> {
    let folder = path.parent().unwrap_or(Path::new(""));
    let asked = read_asked(&path.display().to_string(), &read_text(path)?, folder)?;
    let q = &asked.question;
    tell!("planning and riding up to {} set-ups ...", steps(q));
    let progress = Mutex::new(Progress::new(steps(q), "set-ups"));
    let done = || {
        // before it is told, since a reader may ask for it at once
        interrupt::has_something(true);
        progress.lock().unwrap_or_else(PoisonError::into_inner).done(1);
    };
    let (found, over) = found(&asked, store, &interrupt::asked, &done);
    drop(progress);
    interrupt::has_something(false);
    Ok((asked, found, over))
}

/// An evening as a page for a phone has it.
pub struct Finished {
    /// The track.
    pub track: files::ReadTrack,
    /// The set-up now, and as advised; the same where nothing is to be changed.
    pub setups: [Setup; 2],
    /// Who rides, rides of each set-up and seed of the mistakes.
    pub ridden: (&'static str, u32, u64),
    /// The short report.
    pub report: String,
}

/// Answers the evening of a plan for a page.
pub fn finished(path: &Path, store: &PlanStore) -> Result<Finished, String> {
    let (asked, found, over) = of_plan(path, store)?;
    if !found.whole {
        return Err("interrupted: nothing is written".into());
    }
    let report = screen(&told::told(&asked, &found, over.as_ref()));
    let q = &asked.question;
    let now = with_bows(&q.pairs[0].setup, &q.bows[q.now]);
    let advised = found.advised().map_or_else(|| now.clone(), |r| r.setup.clone());
    let plan = &asked.plan;
    let ridden = (plan.skill.name, u32::try_from(plan.rides).unwrap_or(u32::MAX), plan.seed);
    Ok(Finished { track: asked.track, setups: [now, advised], ridden, report })
}

/// Plans and rides what is asked, and what a calibration leaves open of the answer.
fn found(
    asked: &asked::Asked,
    store: &PlanStore,
    stop: &(dyn Fn() -> bool + Sync),
    done: &(dyn Fn() + Sync),
) -> (Evening, Option<over::Over>) {
    let (plan, track) = (&asked.plan, &asked.track);
    let lag_s = plan.skill.lag_s;
    let tonight = Tonight {
        track: &track.track,
        skill: &plan.skill,
        seed: plan.seed,
        rides: plan.rides,
        most_lost: plan.most_lost,
        plan: &|ready| {
            let make = || ready.plan(lag_s, None).map_err(|e| e.to_string());
            store.plan(&track.sha256, ready.setup, lag_s, make)
        },
        stop,
        done,
    };
    let found = evening(&tonight, &asked.question);
    let over = if stop() { None } else { over::over(asked, &tonight, &found) };
    (found, over)
}

/// The short report and the sheet of a plan in a folder; told how many set-ups are done, and of how many at most.
pub fn answered(
    folder: &Path,
    text: &str,
    store: &PlanStore,
    stop: &(dyn Fn() -> bool + Sync),
    done: &(dyn Fn(usize, usize) + Sync),
) -> Result<(String, String), String> {
    let asked = read_asked("the plan", text, folder)?;
    let all = steps(&asked.question);
    let count = AtomicUsize::new(0);
    done(0, all);
    let (found, over) = found(&asked, store, stop, &|| done(count.fetch_add(1, Ordering::Relaxed) + 1, all));
    let words = told::told(&asked, &found, over.as_ref());
    Ok((screen(&words), sheet::sheet(&words)))
}

fn status(asked: &asked::Asked, found: &Evening) -> u8 {
    if !found.whole {
        return INTERRUPTED;
    }
    u8::from(found.advised.is_none() || asked.doubtful)
}

/// The short report.
fn screen(t: &Told) -> String {
    let mut text = format!("{}\n{}\n\n{}\n", t.title, t.with, t.advice);
    for why in &t.why {
        text += &format!("  {why}\n");
    }
    text += "\n";
    // where saddle and ballast stay is on the page alone
    for [label, value] in t.facts.iter().filter(|f| f[0] != told::SADDLE) {
        text += &format!("{label}: {value}\n");
    }
    if let Some(bench) = &t.bench {
        text += "\nAt the bench; mm are the advance of the screws, and every turn of the key begins at 12 o'clock\n";
        text += &bench.without;
        for [runner, screw, now, wanted, reads, turn] in &bench.screws {
            let (before, after) =
                if screw == "front" { (format!("{runner}: "), "; ") } else { (String::new(), "\n") };
            text += &format!("{before}{screw} {now} to {wanted} mm (caliper there {reads}), {turn}{after}");
        }
        if !bench.without.is_empty() {
            text += "\n";
        }
    }
    let pick = |rows: &[Vec<String>], columns: &[usize]| -> Vec<Vec<String>> {
        rows.iter().map(|r| columns.iter().map(|c| r[*c].clone()).collect()).collect()
    };
    let named = |header: &[&'static str], columns: &[usize]| -> Vec<&'static str> {
        columns.iter().map(|c| header[*c]).collect()
    };
    let mut add = |header: &[&'static str], rows: &[Vec<String>], columns: &[usize]| {
        if !rows.is_empty() {
            text += &format!("\n{}\n", number_table(&named(header, columns), pick(rows, columns)));
        }
    };
    add(&tables::BOWS, &t.bows, &[0, 2, 3, 5, 6, 7]);
    add(&tables::PAIRS, &t.pairs, &[0, 1, 2, 3, 4]);
    add(&tables::ICES, &t.ices, &[0, 1, 2, 3, 4]);
    add(&tables::HOURS, &t.hours, &[0, 1, 2, 4, 5]);
    if !t.plan_of_hours.is_empty() {
        text += &format!("{} (* {})\n", t.plan_of_hours, sheet::STAR);
    }
    if !t.presses.is_empty() {
        text += &format!(
            "\n{}\n",
            table(&["press that matters most", "missed costs"], t.presses.iter().map(|p| p.to_vec()))
        );
    }
    text += "\n";
    text += &format!("{}\n", t.rules.join("; "));
    if !t.notes.is_empty() {
        text += &format!("{}\n", t.notes.join("; "));
    }
    format!("{text}{DECIDE} {ABSOLUTE}\n{CAUTION}\n")
}
