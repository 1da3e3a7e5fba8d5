//! A study read with all that it names, its sidecar, and what is told of its whole table.

use super::Done;
use super::calibrated::{CalibrationOption, UNMEASURED, UnmeasuredOption, Used};
use super::sweep_points::over_points;
use super::sweep_results::results;
use crate::files;
use crate::interrupt;
use sled_dynamics::setup::write::write_setup;
use std::path::Path;
use sweep_runner::plausible::chosen::{OF_PLANS, flat_friction, for_the_estimate};
use sweep_runner::plausible::keyed::Set;
use sweep_runner::study::Study;
use sweep_runner::study::file::{StudyModel, read_study};
use sweep_runner::study::shards::Shard;
use sweep_runner::study::sidecar::{MadeBy, Sidecar, SweepInputs};
use sweep_runner::study::sweep::rows_in_order;
use sweep_runner::study::table::{header, row};

/// Version of the program, with its commit.
pub const VERSION: &str = env!("SAGITTA_VERSION");

/// A study read with all that it names.
pub struct ReadStudy {
    /// The study as checked.
    pub study: Study,
    /// What it was made from.
    pub inputs: SweepInputs,
    /// The study file as it was named.
    file: String,
    /// The calibration that is put on the base set-up.
    used: Option<Used>,
}

impl ReadStudy {
    /// From the texts of study and set-up; a set-up without text is the one that the study names.
    pub fn of(
        file: String,
        text: String,
        setup_text: Option<String>,
        calibration: &CalibrationOption,
    ) -> Result<ReadStudy, String> {
        let refused = |f| format!("this study cannot be used\n{f}");
        let read = read_study(&file, &text).map_err(refused)?;
        let folder = Path::new(&file).with_file_name("");
        let beside = |named: &Option<String>| named.as_ref().map(|n| folder.join(n));
        let track = read.track.as_ref().map(|t| files::track_beside(&folder, t));
        let track = files::track(track.as_deref())?;
        let mut setup = match setup_text {
            Some(text) => files::setup_of(read.setup.as_deref().unwrap_or("the set-up"), text, &[])?,
            None => files::setup(beside(&read.setup).as_deref(), &[])?,
        };
        let mut used = calibration.put_on(&track, &mut setup)?;
        if let Some(used) = &mut used {
            if used.calibration.tells_errors() {
                used.words += "the errors of the athlete are those of the study, not of the calibration\n";
            }
            let fitted = &used.calibration.keys;
            if let Some((key, ..)) = read.set.iter().find(|(q, ..)| fitted.contains(&q.path())) {
                return Err(format!(
                    "{file} (set): sets {}, which the calibration sets; leave one out",
                    key.path()
                ));
            }
            // the sidecar holds what the cases are computed with
            setup.text = write_setup(&setup.setup);
            setup.sha256 = files::sha256(&[&setup.text]);
        }
        let inputs = SweepInputs {
            study_sha256: files::sha256(&[&text]),
            track: track.track.data.name.clone(),
            track_sha256: track.sha256,
            setup: setup.setup.name.clone(),
            setup_sha256: setup.sha256,
            study_text: text,
            setup_text: setup.text,
        };
        let study = Study::new(read, track.track, setup.setup).map_err(refused)?;
        Ok(ReadStudy { study, inputs, file, used })
    }

    /// The sidecar of a shard's table, finished or not.
    pub fn sidecar(&self, shard: Shard, table_sha256: Option<String>) -> String {
        let made_by = MadeBy { command: command_line(), study_file: self.file.clone() };
        let new = Sidecar::new(&self.study, &shard.to_string(), VERSION, self.inputs.clone(), made_by);
        Sidecar { table_sha256, ..new }.json()
    }
}

impl ReadStudy {
    /// What the calibration, and what nobody has measured, leave open of a whole table.
    fn over_points(&self, table: &str, threads: usize, unmeasured: UnmeasuredOption) -> String {
        let tabled = |study: &Study| {
            let (cases, mut table, mut rows) = (Shard::WHOLE.cases(study.cases()), header(study), 0);
            let base = study.base(&cases, &|_| ());
            let made = |case| row(study, case, &study.made(case, &base));
            let failed = |case| row(study, case, &Err("the program failed at this case".into()));
            let add = |_, row: &str| {
                table += row;
                rows += 1;
                Ok::<(), std::io::Error>(())
            };
            rows_in_order(&cases, threads, made, failed, || !interrupt::asked(), add).ok()?;
            (rows == cases.len()).then_some(table)
        };
        let setup = &self.study.setup;
        let guided = self.study.file.model == StudyModel::Guided;
        let flat = if guided { flat_friction(setup) } else { None };
        // the guided estimate sees runners and ice by their friction alone
        let on = |set: &Set, study: &Study| {
            let there = set.on(&study.setup).ok()?;
            match (flat, set) {
                (Some(flat), Set::Single(_)) => for_the_estimate(&there, flat),
                _ => Some(there),
            }
        };
        let of_rides: &[&str] = if guided { &[] } else { &OF_PLANS };
        let unmeasured = unmeasured.axes(&self.study.track, &[setup], self.used.as_ref(), of_rides);
        let calibrated = self.used.as_ref().map(|u| (u.axes().to_vec(), u.calibration.over()));
        let all = calibrated.into_iter().chain(unmeasured.map(|axes| (axes, UNMEASURED)));
        let each = all.map(|(axes, over)| over_points(&self.study, table, &axes, over, &on, &tabled));
        each.collect::<Vec<_>>().join("\n")
    }

    /// Tells a whole table.
    pub fn told(
        &self,
        table: &str,
        out: Option<&Path>,
        threads: usize,
        unmeasured: UnmeasuredOption,
    ) -> Done {
        let with = self.used.as_ref().map_or("", |u| &u.words);
        results(&self.study, table, out, (with, &self.over_points(table, threads, unmeasured)))
    }
}

/// The command line as a shell takes it.
fn command_line() -> String {
    let quoted = |word: String| {
        let plain = word.chars().all(|c| c.is_alphanumeric() || "-_=./,:+".contains(c));
        if plain && !word.is_empty() { word } else { format!("'{}'", word.replace('\'', "'\\''")) }
    };
    std::iter::once("sagitta".to_string())
        .chain(std::env::args_os().skip(1).map(|a| quoted(a.to_string_lossy().into())))
        .collect::<Vec<_>>()
        .join(" ")
}
