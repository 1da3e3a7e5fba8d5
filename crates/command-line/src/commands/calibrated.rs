//! `--calibration`: what runs said of friction, drag and edges, put on what a command computes with, and the band it leaves.

use crate::files::{ReadSetup, ReadTrack, read_text};
use crate::interrupt;
use crate::progress::Progress;
use sled_dynamics::riding::errors_of_ride::Skill;
use sled_dynamics::setup::Setup;
use std::path::{Path, PathBuf};
use sweep_runner::plausible::calibrated::{Calibration, read_calibration};
use sweep_runner::plausible::chosen::chosen;
use sweep_runner::plausible::keyed::Set;
use sweep_runner::plausible::points::{Axis, Band};
use track_geometry::track::Track;

/// The option.
#[derive(clap::Args)]
pub struct CalibrationOption {
    /// Use what was fitted to runs (friction, drag, edge radius, errors of the athlete): calibration.toml of `calibrate --out`;
    /// also prints the band that the runs leave
    #[arg(long, value_name = "FILE")]
    calibration: Option<PathBuf>,
}

/// The option to ask over what nobody has measured.
#[derive(Clone, Copy, clap::Args)]
pub struct UnmeasuredOption {
    /// Also try a few values of what nobody has measured, for the numbers that matter most (takes a minute or more)
    #[arg(long)]
    pub unmeasured: bool,
}

/// What its points stand for.
pub const UNMEASURED: &str = "what nobody has measured";

impl UnmeasuredOption {
    /// The axes that are worth it, where it is asked for: of several set-ups the last less the first; what the calibration
    /// sets is left out.
    pub fn axes(
        &self,
        track: &Track,
        setups: &[&Setup],
        used: Option<&Used>,
        of_rides: &[&str],
    ) -> Option<Vec<Axis>> {
        let known = used.map_or(&[][..], |u| &u.calibration.keys);
        let told = used.is_some_and(|u| u.errors_told);
        let of_rides: Vec<&str> =
            of_rides.iter().copied().filter(|name| !(told && *name == "skill.error_factor")).collect();
        self.unmeasured.then(|| chosen(track, setups, known, &of_rides))
    }
}

/// A calibration put on a set-up, and what is to be said of it.
pub struct Used {
    /// The calibration.
    pub calibration: Calibration,
    /// What it sets and what differs, lines with their ends.
    pub words: String,
    /// Whether rides have the errors that it tells.
    errors_told: bool,
}

/// Reads a calibration: its file, or the table of samples or the folder that it lies beside or in.
pub fn read(path: &Path) -> Result<Calibration, String> {
    let csv = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("csv"));
    let file = match () {
        () if path.is_dir() => path.join("calibration.toml"),
        () if csv => path.with_extension("toml"),
        () => path.to_path_buf(),
    };
    let text = read_text(&file).map_err(|why| {
        if csv {
            format!("{why}; the samples alone do not say what was ridden, keep both files together")
        } else {
            why
        }
    })?;
    read_calibration(&file.display().to_string(), &text)
}

/// A set-up with one of the sets of a calibration.
fn on(set: &Set, setup: &Setup) -> Result<Setup, String> {
    set.on(setup).map_err(|why| format!("the calibration cannot be put on {}: {why}", setup.name))
}

impl CalibrationOption {
    /// Names none.
    pub fn none() -> CalibrationOption {
        CalibrationOption { calibration: None }
    }

    /// Whether one is named.
    pub fn is_named(&self) -> bool {
        self.calibration.is_some()
    }

    /// Reads it and puts it on the set-up, if it goes with it and the track.
    pub fn put_on(&self, track: &ReadTrack, read: &mut ReadSetup) -> Result<Option<Used>, String> {
        self.calibration.as_deref().map(|path| put_on(path, track, &mut read.setup)).transpose()
    }
}

/// Reads a calibration and puts it on the set-up, if it goes with it and the track.
pub fn put_on(path: &Path, track: &ReadTrack, setup: &mut Setup) -> Result<Used, String> {
    let calibration = read(path)?;
    let refused = |why| format!("{}: {why}", path.display());
    calibration.goes_with_track(&track.track.data.name, &track.sha256).map_err(refused)?;
    let warned = calibration.goes_with(setup).map_err(refused)?;
    *setup = on(&calibration.middle(), setup)?;
    let mut words = format!("{}\n", calibration.words());
    words += &warned.map_or(String::new(), |w| format!("{w}\n"));
    Ok(Used { calibration, words, errors_told: false })
}

impl Used {
    /// Puts it on a set-up that is compared with the one that it goes with.
    pub fn put_on_other(&self, setup: &mut Setup) -> Result<(), String> {
        self.calibration.goes_with_other(setup)?;
        *setup = on(&self.calibration.middle(), setup)?;
        Ok(())
    }

    /// Whether it goes with a bag of several pairs: what it sets of runners is that of the one pair that was ridden.
    pub fn goes_with_a_bag(&self) -> Result<(), String> {
        match self.calibration.keys.iter().find(|key| key.starts_with("runners.")) {
            Some(key) => Err(format!(
                "the calibration sets {key} of the pair that was ridden, and the library has others: calibrate without \
                 --fit edge, or leave out the library"
            )),
            None => Ok(()),
        }
    }

    /// The level of skill that rides have, and a line on it: to be asked once, before anything is ridden.
    pub fn skilled(&mut self, level: &Skill) -> Skill {
        self.words += &self.calibration.words_of_rides(level);
        self.errors_told = self.calibration.knows_errors_of(level);
        self.calibration.skilled(level)
    }

    /// The axes of its points for rides with mistakes of a level.
    pub fn axes_of_rides(&self, level: &Skill) -> Vec<Axis> {
        self.calibration.axes_of_rides(level)
    }

    /// The axes of its points for rides without mistakes.
    pub fn axes(&self) -> &[Axis] {
        &self.calibration.axes
    }

    /// What it sets, as on a command line.
    pub fn sets(&self) -> Vec<String> {
        let c = &self.calibration;
        c.keys.iter().zip(&c.mean).map(|(key, value)| format!("{key}={value}")).collect()
    }
}

/// Whatever is asked at the two points of every axis. Says how far it is; what an interruption leaves out is not asked.
pub fn at_points_of_each<T>(
    axes: &[Axis],
    what: &'static str,
    mut answer: impl FnMut(&Set) -> T,
) -> Vec<[T; 2]> {
    let mut progress = Progress::new(2 * axes.len(), what);
    let mut all = vec![];
    for axis in axes {
        if interrupt::asked() {
            break;
        }
        all.push([0, 1].map(|i| {
            let answer = answer(&axis.ends[i]);
            progress.done(1);
            answer
        }));
    }
    all
}

/// An answer at the two points of every axis; not a number where there is none, or where it was not asked any more.
pub fn at_points(axes: &[Axis], answer: impl Fn(&Set) -> Option<f64>) -> Vec<[f64; 2]> {
    let mut all = at_points_of_each(axes, "points", |set| answer(set).unwrap_or(f64::NAN));
    all.resize(axes.len(), [f64::NAN; 2]);
    all
}

/// The band that a calibration leaves a time, one line with its end.
pub fn time_words(band: &Band, over: &str) -> String {
    if band.sd.is_infinite() {
        return format!("over {over}: no band, since the sled loses control at one of its points\n");
    }
    let [low, high] = band.ends();
    format!("over {over}: 95 % band {low:.3} s to {high:.3} s\n")
}
