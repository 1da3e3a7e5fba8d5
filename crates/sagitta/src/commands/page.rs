//! `sagitta page`: the sled bench in a browser on this machine.

use super::page_evidence::Served;
use super::{Done, What, page_evening, page_evidence};
use crate::files::{self, Output};
use crate::number::within;
use crate::words::{ABSOLUTE, CAUTION, say};
use page::asked::{Asked, AskedFile, AskedSetup, RIDES};
use page::{Desk, Door, Given, serve, written};
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
    /// Serve nothing: write the set-up with its keys set, against the same without them, as one page for a phone
    #[arg(long, value_name = "FILE.html", conflicts_with = "port")]
    write: Option<PathBuf>,
    /// With --write: compare with the set-up in this file
    #[arg(long, value_name = "FILE", requires = "write")]
    against: Option<PathBuf>,
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

/// Writes a finished comparison as one file.
fn write(o: &Options, desk: &Desk, sets: Vec<(String, String)>, path: &Path) -> Done {
    let skill = super::compare::skill(&o.skill)?.name.to_string();
    let other = match &o.against {
        None => None,
        Some(file) => Some(AskedFile { name: file.display().to_string(), text: files::read_text(file)? }),
    };
    if other.is_none() && sets.is_empty() {
        return Err("nothing to compare: give --set KEY=VALUE or --against FILE".into());
    }
    let of = |file, sets| AskedSetup { file, sets, skill: skill.clone() };
    let asked = Asked {
        window: "write".into(),
        number: 1,
        here: of(None, sets),
        pinned: of(other, vec![]),
        rides: o.rides,
        seed: o.seed,
    };
    tell!("planning and riding two set-ups ...");
    let page = written(desk, &asked)?;
    let name = path.file_name().ok_or_else(|| format!("--write {}: this is no file", path.display()))?;
    let folder = path.parent().filter(|f| !f.as_os_str().is_empty()).unwrap_or(Path::new("."));
    files::write_all(folder, &[Output::new(&name.to_string_lossy(), page)])?;
    tell!("written to {}", path.display());
    Ok(0)
}

/// Serves until it is interrupted.
pub fn page_command(o: &Options) -> Done {
    let (track, _) = o.what.read()?;
    let (name, text) = o.what.setup_text()?;
    let sets = o.what.sets.iter().map(|s| files::key_value(s)).collect::<Result<Vec<_>, _>>()?;
    for d in &track.doubts {
        tell!("doubtful: {d}");
    }
    let (store, track_sha256) = (o.what.store(), track.sha256);
    let (folder, evenings_store) = (o.what.track().map(Path::to_path_buf), o.what.store());
    let served = Served { track: folder.clone(), no_stored_plans: o.what.stored.no_stored_plans };
    let of_trials = served.clone();
    let plan = move |ready: &Ready<'_>, lag_s: f64| {
        let make = || ready.plan(lag_s, None).map_err(|e| e.to_string());
        store.plan(&track_sha256, ready.setup, lag_s, make)
    };
    let desk = Desk::new(Given {
        track: track.track,
        setup: AskedFile { name, text },
        sets: sets.clone(),
        plan: Box::new(plan),
        evenings: Arc::new(move |texts, done, stop| {
            page_evening::evening(texts, folder.as_deref(), &evenings_store, done, stop)
        }),
        readings: Arc::new(page_evening::readings),
        evening_plan: page_evening::PLAN.into(),
        design_speeds: Arc::new(page_evidence::design_speeds),
        calibrations: Arc::new(move |setup, asked| served.calibrated(setup, asked)),
        trial_plans: Arc::new(move |setup, asked| of_trials.trial(setup, asked)),
        cautions: vec![CAUTION.into(), ABSOLUTE.into()],
        version: env!("SAGITTA_VERSION").into(),
    });
    if let Some(path) = &o.write {
        return write(o, &desk, sets, path);
    }
    let door = Door::open(o.port)?;
    say(&format!("http://{}/\n", door.address))?;
    tell!("open this address in a browser on this machine; Ctrl-C ends the page");
    serve(door, &desk)?;
    Ok(0)
}
