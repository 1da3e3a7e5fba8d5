//! `sagitta page`: the sled bench in a browser on this machine.

use super::page_evidence::Served;
use super::{Done, What, evening, page_evening, page_evidence, runners, track_ridden};
use crate::files::{self, Output, ReadTrack};
use crate::number::within;
use crate::words::{ABSOLUTE, CAUTION, say};
use page::asked::{Asked, AskedFile, AskedSetup, RIDES};
use page::{Desk, Door, Given, serve, written};
use sled_dynamics::setup::write::write_setup;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use sweep_runner::rides::prepared::Ready;

/// Options of `page`.
#[derive(clap::Args)]
pub struct Options {
    #[command(flatten)]
    what: What,
    /// Port on this machine; 0 takes one that is free
    #[arg(long, default_value_t = 8017, allow_hyphen_values = true, value_parser = within(0_u16, u16::MAX, ""))]
    port: u16,
    /// Do not serve: write the set-up with its keys set, against the same without them, as one page for a phone
    #[arg(long, value_name = "FILE.html", conflicts_with = "port")]
    write: Option<PathBuf>,
    /// With --write: compare with the set-up in this file
    #[arg(long, value_name = "FILE", requires = "write")]
    against: Option<PathBuf>,
    /// With --write: the evening of this plan: its report, and the advised set-up against the present one
    #[arg(long, value_name = "PLAN.toml", requires = "write",
          conflicts_with_all = ["against", "skill", "rides", "seed", "track", "setup", "sets"])]
    evening: Option<PathBuf>,
    /// With --write: skill of the athlete who rides: novice, club, national or elite
    #[arg(long, default_value = "club", requires = "write")]
    skill: String,
    /// With --write: rides of each set-up, all with the same mistakes
    #[arg(long, default_value_t = 60, allow_hyphen_values = true, requires = "write",
          value_parser = within(*RIDES.start(), *RIDES.end(), ""))]
    rides: u32,
    /// With --write: seed of the mistakes
    #[arg(long, default_value_t = 1, allow_hyphen_values = true, requires = "write", value_parser = within(0, u64::MAX, ""))]
    seed: u64,
}

/// What a finished comparison compares.
fn compared(o: &Options, sets: Vec<(String, String)>) -> Result<Asked, String> {
    let skill = super::compare::skill(&o.skill)?.name.to_string();
    let other = match &o.against {
        None => None,
        Some(file) => Some(AskedFile { name: file.display().to_string(), text: files::read_text(file)? }),
    };
    if other.is_none() && sets.is_empty() {
        return Err("nothing to compare: give --set KEY=VALUE or --against FILE".into());
    }
    let of = |file, sets| AskedSetup { file, sets, skill: skill.clone() };
    let (here, pinned) = (of(None, sets), of(other, vec![]));
    Ok(Asked { window: "write".into(), number: 1, here, pinned, rides: o.rides, seed: o.seed })
}

/// Writes a finished comparison as one file; of an evening with its report.
fn write(desk: &Desk, asked: &Asked, report: Option<&str>, path: &Path) -> Done {
    tell!("planning and riding two set-ups ...");
    let page = written(desk, asked, report)?;
    let name = path.file_name().ok_or_else(|| format!("--write {}: this is no file", path.display()))?;
    let folder = path.parent().filter(|f| !f.as_os_str().is_empty()).unwrap_or(Path::new("."));
    files::write_all(folder, &[Output::new(&name.to_string_lossy(), page)])?;
    tell!("written to {}", path.display());
    Ok(0)
}

/// Writes the evening of a plan.
fn write_evening(o: &Options, plan: &Path, path: &Path) -> Done {
    let evening::Finished { track, setups, ridden: (skill, rides, seed), report } =
        evening::finished(plan, &o.what.store())?;
    let [now, advised] = setups.map(|s| write_setup(&s));
    let of = |name: &str, text: &String| AskedSetup {
        file: Some(AskedFile { name: name.into(), text: text.clone() }),
        sets: vec![],
        skill: skill.into(),
    };
    let (here, pinned) = (of("setup-advised.toml", &advised), of("setup-now.toml", &now));
    let asked = Asked { window: "write".into(), number: 1, here, pinned, rides, seed };
    let desk = desk(o, track, AskedFile { name: "setup-now.toml".into(), text: now }, vec![]);
    write(&desk, &asked, Some(&report), path)
}

/// Serves until it is interrupted.
pub fn page_command(o: &Options) -> Done {
    if let (Some(plan), Some(path)) = (&o.evening, &o.write) {
        return write_evening(o, plan, path);
    }
    let (track, _) = o.what.read()?;
    let (name, text) = o.what.setup_text()?;
    let sets = o.what.sets.iter().map(|s| files::key_value(s)).collect::<Result<Vec<_>, _>>()?;
    for d in &track.doubts {
        tell!("doubtful: {d}");
    }
    let desk = desk(o, track, AskedFile { name, text }, sets.clone());
    if let Some(path) = &o.write {
        return write(&desk, &compared(o, sets)?, None, path);
    }
    let door = Door::open(o.port)?;
    say(&format!("http://{}/\n", door.address))?;
    tell!("open this address in a browser on this machine; Ctrl-C ends the page");
    serve(door, &desk)?;
    Ok(0)
}

/// The desk for a track and the set-up that the page begins with.
fn desk(o: &Options, track: ReadTrack, setup: AskedFile, sets: Vec<(String, String)>) -> Arc<Desk> {
    let (store, track_sha256) = (o.what.store(), track.sha256);
    let (folder, evenings_store) = (o.what.track().map(Path::to_path_buf), o.what.store());
    let served = Served { track: folder.clone(), no_stored_plans: o.what.stored.no_stored_plans };
    let of_trials = served.clone();
    let plan = move |ready: &Ready<'_>, lag_s: f64| {
        let make = || ready.plan(lag_s, None).map_err(|e| e.to_string());
        store.plan(&track_sha256, ready.setup, lag_s, make)
    };
    Desk::new(Given {
        track: track.track,
        setup,
        sets,
        plan: Box::new(plan),
        evenings: Arc::new(move |texts, done, stop| {
            page_evening::evening(texts, folder.as_deref(), &evenings_store, done, stop)
        }),
        readings: Arc::new(page_evening::readings),
        evening_plan: page_evening::PLAN.into(),
        design_speeds: Arc::new(page_evidence::design_speeds),
        pairs: Arc::new(runners::pairs),
        left_alone: Arc::new(track_ridden::warnings),
        calibrations: Arc::new(move |setup, asked| served.calibrated(setup, asked)),
        analyses: Arc::new(page_evidence::analysed),
        trial_plans: Arc::new(move |setup, asked| of_trials.trial(setup, asked)),
        cautions: vec![CAUTION.into(), ABSOLUTE.into()],
        version: env!("SAGITTA_VERSION").into(),
    })
}
