//! `sagitta travel`: a week before: which bow to start from, which two pairs to take, what to measure first.

mod asked;
mod before_leaving;
mod numbers;
mod sheet;
mod told;

use super::{Done, Stored};
use crate::files::{self, Output, read_text};
use crate::interrupt::{self, INTERRUPTED};
use crate::progress::Progress;
use crate::words::{ABSOLUTE, CAUTION, numbers as number_table, say};
use asked::read_asked;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use sweep_runner::evening::ridden::Tonight;
use sweep_runner::evening::travel::{Travel, steps, travel};
use told::{AthleteTold, Told};

/// A plan to begin with.
const EXAMPLE: &str = include_str!("travel/example.toml");

/// Options of `travel`.
#[derive(clap::Args)]
pub struct Options {
    /// The plan: track, athletes with their pairs, bows, ice, training runs
    #[arg(value_name = "PLAN.toml", required_unless_present = "example")]
    plan: Option<PathBuf>,
    /// Print a plan with comments, to begin with
    #[arg(long, conflicts_with_all = ["plan", "out"])]
    example: bool,
    /// Write into this folder: travel.html (one A4 page), travel.json, and a set-up for each athlete to start from
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    stored: Stored,
}

/// Reads the plan, answers, prints and writes.
pub fn travel_command(o: &Options) -> Done {
    let Some(path) = o.plan.as_ref().filter(|_| !o.example) else {
        say(EXAMPLE)?;
        return Ok(0);
    };
    let folder = path.parent().unwrap_or(Path::new(""));
    let asked = read_asked(&path.display().to_string(), &read_text(path)?, folder)?;
    let store = o.stored.store();
    let many: usize = asked.athletes.iter().map(|a| steps(&a.traveller)).sum();
    tell!("planning and riding up to {many} set-ups ...");
    let progress = Mutex::new(Progress::new(many, "set-ups"));
    let done = || {
        // before it is told, since a reader may ask for it at once
        interrupt::has_something(true);
        progress.lock().unwrap_or_else(PoisonError::into_inner).done(1);
    };
    let mut found: Vec<Travel> = vec![];
    for athlete in &asked.athletes {
        let lag_s = athlete.said.skill.lag_s;
        let tonight = Tonight {
            track: &asked.track.track,
            skill: &athlete.said.skill,
            seed: asked.plan.seed,
            rides: asked.plan.rides,
            most_lost: asked.plan.most_lost,
            plan: &|ready| {
                let make = || ready.plan(lag_s, None).map_err(|e| e.to_string());
                store.plan(&asked.track.sha256, ready.setup, lag_s, make)
            },
            stop: &interrupt::asked,
            done: &done,
        };
        found.push(travel(&tonight, &athlete.traveller));
    }
    drop(progress);
    interrupt::has_something(false);
    let words = told::told(&asked, &found);
    if let Some(out) = &o.out {
        let mut outputs = vec![
            Output::new("travel.html", sheet::sheet(&words)),
            Output::new("travel.json", numbers::numbers(&asked, &found)),
        ];
        for (i, (athlete, found)) in asked.athletes.iter().zip(&found).enumerate() {
            // none is written where none is advised
            if let Some(setup) = told::to_start_from(athlete, found) {
                outputs.push(files::setup_output(&format!("setup-{}.toml", i + 1), &setup)?);
            }
        }
        files::write_all(out, &outputs)?;
        tell!("written to {}", out.display());
    }
    say(&screen(&words))?;
    if found.iter().any(|f| !f.whole) {
        return Ok(INTERRUPTED);
    }
    Ok(u8::from(found.iter().any(|f| f.take.is_empty())))
}

fn screen(t: &Told) -> String {
    let mut text = format!("{}\n{}\n", t.title, t.with);
    for AthleteTold { name, advice, why, ices, pairs, tests, measure, rules } in &t.athletes {
        text += &format!("\n{name}\n{advice}\n");
        for why in why {
            text += &format!("  {why}\n");
        }
        let header: Vec<&str> = told::PAIRS.iter().copied().chain(ices.iter().map(String::as_str)).collect();
        if !pairs.is_empty() {
            text += &format!("\n{}\n", number_table(&header, pairs.iter().cloned()));
        }
        if !tests.is_empty() {
            text += &format!("\n{}\n", number_table(&told::TESTS, tests.iter().cloned()));
        }
        if !measure.is_empty() {
            text += "\nmeasure before leaving\n";
            for (i, what) in measure.iter().enumerate() {
                text += &format!("  {}. {what}\n", i + 1);
            }
        }
        text += &format!("\n{}\n", rules.join("; "));
    }
    text += &format!("\n{}\n", t.notes.join("\n"));
    format!("{text}{} {ABSOLUTE}\n{CAUTION}\n", told::DECIDE)
}
