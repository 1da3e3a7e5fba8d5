//! One file for each command.

pub mod balance;
pub mod bow;
pub mod calibrate;
pub mod calibrated;
pub mod compare;
mod compare_choice;
mod compare_points;
mod compare_unknowns;
pub mod corners;
pub mod demo;
pub mod descend;
pub mod evening;
pub mod keys;
pub mod log;
pub mod losses;
pub mod notebook;
pub mod page;
mod page_evening;
mod page_evidence;
mod page_folder;
pub mod plausible;
pub mod ride;
pub mod rules;
pub mod runners;
pub mod shell;
pub mod steering;
pub mod sweep;
mod sweep_points;
mod sweep_results;
mod sweep_study;
mod sweep_table;
pub mod track;
mod track_ridden;
pub mod travel;
pub mod trial;
mod trial_analyse;
mod trial_drawn;
mod trial_next;
mod trial_pool;
mod unknowns;
pub mod weather;

use crate::files::{self, ReadSetup, ReadTrack};
use crate::plan_store::PlanStore;
use file_faults::{FileFault, lines};
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::notes::Note;
use sled_dynamics::riding::notes_read::read_notes;
use sled_dynamics::riding::pieces::Piece;
use sled_dynamics::riding::told_line::ToldPlace;
use sled_dynamics::setup::Setup;
use std::path::{Path, PathBuf};
use sweep_runner::rides::case::{Case, Model, Who};
use sweep_runner::rides::planner::Planned;
use sweep_runner::rides::prepared::{Attempt, Prepared, Ready};
use sweep_runner::rides::told::{beside_asked, piece_of};
use track_geometry::track::Track;

/// What is computed: a track, a set-up, and keys set on the command line.
#[derive(clap::Args)]
pub struct What {
    /// Folder of the track [default: the invented track Oskerdale, built in]
    #[arg(long, value_name = "DIR")]
    track: Option<PathBuf>,
    /// File of the set-up [default: the invented club's woman, built in]
    #[arg(long, value_name = "FILE")]
    setup: Option<PathBuf>,
    /// Set a key of the set-up (may be repeated); `sagitta keys` lists them
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub sets: Vec<String>,
    #[command(flatten)]
    stored: Stored,
}

/// Whether plans and tables of runners are kept from run to run.
#[derive(clap::Args)]
pub struct Stored {
    /// Plan rides and solve contacts anew, and keep none for the next time; the result is the same
    #[arg(long)]
    no_stored_plans: bool,
}

impl Stored {
    /// Where plans are kept.
    pub fn store(&self) -> PlanStore {
        if self.no_stored_plans { PlanStore::none() } else { PlanStore::of_user() }
    }
}

impl What {
    /// Reads track and set-up.
    pub fn read(&self) -> Result<(ReadTrack, ReadSetup), String> {
        let track = files::track(self.track.as_deref())?;
        let sets = self.sets.iter().map(|s| files::key_value(s)).collect::<Result<Vec<_>, _>>()?;
        Ok((track, files::setup(self.setup.as_deref(), &sets)?))
    }

    /// Folder of the track, where one is named.
    pub fn track(&self) -> Option<&Path> {
        self.track.as_deref()
    }

    /// Name and text of the file of the set-up.
    pub fn setup_text(&self) -> Result<(String, String), String> {
        files::setup_text(self.setup.as_deref())
    }

    /// Where plans are kept.
    pub fn store(&self) -> PlanStore {
        self.stored.store()
    }

    /// The same set-up with more keys set.
    pub fn with(&self, more: &[String]) -> Result<ReadSetup, String> {
        let all = self.sets.iter().chain(more);
        let sets = all.map(|s| files::key_value(s)).collect::<Result<Vec<_>, _>>()?;
        files::setup(self.setup.as_deref(), &sets)
    }
}

/// What a command ends with: its exit status, or why it could not be done.
pub type Done = Result<u8, String>;

/// Plans a ride, or reads it from the store; says that it plans.
pub fn plan(track: &ReadTrack, ready: &Ready<'_>, lag_s: f64, store: &PlanStore) -> Result<Planned, String> {
    store.plan(&track.sha256, ready.setup, lag_s, || {
        tell!("planning the ride ...");
        ready.plan(lag_s, None).map_err(|e| e.to_string())
    })
}

/// A set-up with its planned ride.
pub fn planned<'a>(
    track: &'a ReadTrack,
    setup: &'a Setup,
    store: &PlanStore,
) -> Result<Prepared<'a>, String> {
    planned_at(track, setup, setup.pilot.lag_s, store)
}

/// A set-up with the ride that an athlete of this lag plans for it.
pub fn planned_at<'a>(
    track: &'a ReadTrack,
    setup: &'a Setup,
    lag_s: f64,
    store: &PlanStore,
) -> Result<Prepared<'a>, String> {
    let ready = Ready::new(&track.track, setup).map_err(|e| e.to_string())?;
    let found = plan(track, &ready, lag_s, store)?;
    Prepared::new(ready, found, lag_s).map_err(|e| e.to_string())
}

/// Another set-up, ridden by the plan of one as it is.
pub fn by_the_plan_of<'a>(one: &Prepared<'a>, setup: &'a Setup, lag_s: f64) -> Result<Prepared<'a>, String> {
    let ready = Ready::new(one.ready.track, setup).map_err(|e| e.to_string())?;
    Prepared::new(ready, one.planned.clone(), lag_s).map_err(|e| e.to_string())
}

/// Another set-up with its planned ride, found from that of a neighbour.
pub fn ridden_by<'a>(neighbour: &Prepared<'a>, setup: &'a Setup) -> Result<Prepared<'a>, String> {
    let lag_s = setup.pilot.lag_s;
    let ready = Ready::new(neighbour.ready.track, setup).map_err(|e| e.to_string())?;
    let found = ready.plan(lag_s, Some(&neighbour.planned.plan)).map_err(|e| e.to_string())?;
    Prepared::new(ready, found, lag_s).map_err(|e| e.to_string())
}

/// How a descent is computed.
#[derive(Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum ModelName {
    /// Held on the reference line with constant friction
    Guided,
    /// A point without friction, left to itself
    Frictionless,
    /// On runners; a first pilot follows the reference line and plans nothing
    FirstPilot,
    /// On runners; nobody steers
    HandsOff,
    /// On runners; an athlete who plans the ride and makes no mistake (some seconds, then kept)
    Planned,
}

/// A descent, and what it was computed by in words.
pub(crate) fn ridden(
    track: &ReadTrack,
    setup: &Setup,
    name: ModelName,
    detail: Detail,
    store: &PlanStore,
) -> Result<(Descent, &'static str), String> {
    let precision = Precision::default();
    let model = match name {
        ModelName::Guided => Model::Guided,
        ModelName::Frictionless => Model::FrictionlessPoint,
        ModelName::FirstPilot => Model::Runners(Who::FirstPilot),
        ModelName::HandsOff => Model::Runners(Who::HandsOff),
        ModelName::Planned => {
            let descent = planned(track, setup, store)?.descent(&Attempt::perfect(), precision, detail);
            return Ok((descent, Model::Runners(Who::Planned).label()));
        }
    };
    let label = model.label();
    let case = Case { track: &track.track, setup, model, precision, detail };
    Ok((case.descent().map_err(|e| e.to_string())?, label))
}

/// The notes in a file.
pub fn noted(path: &Path, track: &Track) -> Result<Vec<Note>, String> {
    let text = files::read_text(path)?;
    read_notes(&path.display().to_string(), &text, track).map_err(|f| refused("these notes", &f))
}

/// Faults of what people said, all of them.
pub fn refused(what: &str, faults: &[FileFault]) -> String {
    format!("{what} cannot be used\n{}", lines(faults))
}

/// The notes as pieces of the planned ride; every note that cannot be ridden is told.
pub fn noted_pieces(prepared: &Prepared<'_>, notes: &[Note]) -> Result<Vec<Piece>, String> {
    let (mut pieces, mut cannot) = (vec![], vec![]);
    for note in notes {
        match piece_of(prepared, note) {
            Ok(piece) => pieces.push(piece),
            Err(why) => cannot.push(why),
        }
    }
    if cannot.is_empty() {
        Ok(pieces)
    } else {
        Err(format!("these notes cannot be ridden\n{}", cannot.join("\n")))
    }
}

/// Of every told place what was asked and what was ridden.
pub fn told_beside(prepared: &Prepared<'_>, pieces: &[Piece], descent: &Descent) -> String {
    let places: Vec<ToldPlace> = pieces.iter().filter_map(|p| p.told).collect();
    let told = beside_asked(prepared, &places, &descent.trace);
    told.iter().map(|m| format!("  {}\n", m.words())).collect()
}
