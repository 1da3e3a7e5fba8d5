//! A calibration, put to use: `calibration.toml` read, whether it goes with a track and a set-up, and what it moves.
//!
//! A calibration is made to be used with other bows, saddles and ballast, on other days. It holds for one track, one
//! athlete and one sled with its runners, since friction and drag stand for all of them. Where bow or weather differ it
//! is used and that is said; where anything else differs it is refused, and what differs is named.

use super::keyed::{Keyed, Set};
use super::points::{Axis, BAND_95, axes_of_posterior, axis_of_errors};
use super::with_errors;
use file_faults::{FileFault, line_and_column};
use nalgebra::DMatrix;
use serde::Deserialize;
use sled_dynamics::riding::errors_of_ride::Skill;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::file::read_setup;
use sled_dynamics::setup::keys::{find, get, keys};

/// What may differ and is only told: how a key begins, and what it is called.
const MADE_FOR: [(&str, &str); 12] = [
    ("runners.left.bow", "bow"),
    ("runners.right.bow", "bow"),
    ("sled.balance_point_mm", "saddle"),
    ("sled.ballast_kg", "ballast"),
    ("ice.temperature_c", "ice temperature"),
    ("ice.hardness_mpa", "hardness of the ice"),
    ("air.temperature_c", "air"),
    ("air.pressure_hpa", "air"),
    ("air.humidity_percent", "air"),
    ("air.posture_factor", "posture"),
    ("air.taping_factor", "taping"),
    ("push.", "push"),
];
/// What enters no descent without mistakes, or says how the key of a screw is turned.
const BESIDE: [&str; 3] = ["screws.", "pilot.lag_s", "ice.rut_factor"];
/// Numbers closer than this share are the same: what a file rounds.
const SAME: f64 = 1e-9;

/// What the scatter of runs said of an athlete: errors over those of a level of skill.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Errors {
    /// Name of the level.
    pub(crate) skill: String,
    /// Logarithm of the factor on its errors `[-]`.
    pub(crate) log_mean: f64,
    /// Standard deviation of that `[-]`.
    pub(crate) log_sd: f64,
}

/// What runs said of a model.
#[derive(Clone, Debug)]
pub struct Calibration {
    /// The sheet of the runs.
    pub(crate) sheet: String,
    /// Runs that were fitted.
    pub(crate) runs: usize,
    /// Name of the track.
    pub track: String,
    /// SHA-256 of its files.
    pub(crate) track_sha256: String,
    /// The set-up that was ridden.
    pub setup: Setup,
    /// Keys that were fitted.
    pub keys: Vec<&'static str>,
    /// Their estimates, in the units of the keys.
    pub mean: Vec<f64>,
    /// Their standard deviations, likewise.
    pub(crate) sd: Vec<f64>,
    /// What real lines lost against the planned one, as a share of the time, and its standard deviation `[-]`.
    pub line_loss: Option<[f64; 2]>,
    /// The axes of its points, without the errors of the athlete.
    pub axes: Vec<Axis>,
    /// The errors of the athlete, where a level was told.
    pub(crate) errors: Option<Errors>,
}

#[derive(Deserialize)]
struct File {
    sheet: String,
    runs: Vec<String>,
    track: String,
    track_sha256: String,
    setup_text: Option<String>,
    /// What the level of skill loses by itself, where one was told.
    #[serde(default)]
    level_loss: f64,
    skill: Option<String>,
    error_factor_log: Option<f64>,
    error_factor_log_sd: Option<f64>,
    covariance: Vec<Vec<f64>>,
    unknown: Vec<Found>,
}

#[derive(Deserialize)]
struct Found {
    name: String,
    key: Option<String>,
    estimate: f64,
    error: f64,
}

/// Reads `calibration.toml`; `file` is for messages.
pub fn read_calibration(file: &str, text: &str) -> Result<Calibration, String> {
    let refused_at = |at: (u64, usize), key: &str, got: &str| {
        FileFault::at(file, at, key, got, "a calibration.toml as `calibrate --out` writes it").to_string()
    };
    let refused = |key: &str, got: &str| refused_at((0, 0), key, got);
    let read: File = toml::from_str(text).map_err(|e| {
        let at = line_and_column(text, e.span().map_or(0, |s| s.start));
        refused_at(at, "calibration", &e.message().replace('\n', "; "))
    })?;
    let setup_text = read.setup_text.ok_or_else(|| {
        refused("setup_text", "none, so nothing says which set-up was ridden; calibrate again")
    })?;
    let setup = read_setup("setup_text", &setup_text, &[])
        .map_err(|f| refused("setup_text", &f.to_string().replace('\n', "; ")))?;
    let fitted: Vec<(usize, &Found, &str)> =
        read.unknown.iter().enumerate().filter_map(|(i, u)| Some((i, u, u.key.as_deref()?))).collect();
    let mut names = vec![];
    for (_, unknown, key) in &fitted {
        let known = find(key).ok().filter(|k| k.number().is_some_and(|n| n.check(unknown.estimate).is_ok()));
        let known = known.ok_or_else(|| {
            refused("key", &format!("{key} = {}, which no set-up may have", unknown.estimate))
        })?;
        names.push(known.path);
    }
    if names.is_empty() {
        return Err(refused("unknown", "no key of a set-up"));
    }
    let n = read.unknown.len();
    if read.covariance.len() != n || read.covariance.iter().any(|row| row.len() != n) {
        return Err(refused("covariance", &format!("other than {n} rows of {n}, one for each unknown")));
    }
    let mean: Vec<f64> = fitted.iter().map(|f| f.1.estimate).collect();
    let covariance =
        DMatrix::from_fn(names.len(), names.len(), |i, j| read.covariance[fitted[i].0][fitted[j].0]);
    // "friction factor" and "drag area m2" as people say it
    let words: Vec<&str> = fitted.iter().map(|f| f.1.name.split(' ').next().unwrap_or("")).collect();
    let axes = axes_of_posterior(&names, &words, &mean, &covariance)
        .ok_or_else(|| refused("covariance", "one that is not positive, so that it has no points"))?;
    let errors = match (read.skill, read.error_factor_log, read.error_factor_log_sd) {
        (Some(skill), Some(log_mean), Some(log_sd)) => Some(Errors { skill, log_mean, log_sd }),
        (_, None, None) => None,
        _ => return Err(refused("error_factor_log", "without skill or error_factor_log_sd")),
    };
    if let Some(e) = errors.as_ref().filter(|e| !(e.log_mean.abs() < 2.0 && (0.0..2.0).contains(&e.log_sd))) {
        return Err(refused("error_factor_log", &format!("{} and its spread {}", e.log_mean, e.log_sd)));
    }
    let line = read.unknown.iter().find(|u| u.name == "line loss, whole way");
    Ok(Calibration {
        sheet: read.sheet,
        runs: read.runs.len(),
        track: read.track,
        track_sha256: read.track_sha256,
        sd: (0..names.len()).map(|i| libm::sqrt(covariance[(i, i)])).collect(),
        line_loss: line.map(|l| [read.level_loss + l.estimate, l.error]),
        keys: names,
        setup,
        mean,
        axes,
        errors,
    })
}

/// A key that is not the same in two set-ups, with both values.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Differs {
    /// The key.
    pub(crate) key: &'static str,
    /// In the calibrated set-up, and in the one that is asked for; none where it does without.
    pub(crate) values: [Option<f64>; 2],
}

impl Differs {
    fn words(&self) -> String {
        let one = |v: Option<f64>| v.map_or("none".to_string(), |v| format!("{}", (1e6 * v).round() / 1e6));
        format!("{} {}, calibrated {}", self.key, one(self.values[1]), one(self.values[0]))
    }
}

/// The numbers that differ.
pub(crate) fn differences(calibrated: &Setup, asked: &Setup) -> Vec<Differs> {
    let same = |[a, b]: [Option<f64>; 2]| match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() <= SAME * a.abs().max(b.abs()),
        _ => a == b,
    };
    let all = keys().iter().filter(|k| !k.is_shorthand() && k.number().is_some());
    let all = all.map(|k| Differs { key: k.path, values: [get(calibrated, k.path), get(asked, k.path)] });
    all.filter(|d| !same(d.values)).collect()
}

impl Calibration {
    /// Whether it goes with a track; what differs, in words.
    pub fn goes_with_track(&self, name: &str, sha256: &str) -> Result<(), String> {
        if self.track_sha256 == sha256 {
            return Ok(());
        }
        let why = if self.track == name { "its files were changed since" } else { "another track" };
        Err(format!("this calibration is of {}, and {name} is asked for: {why}; calibrate there", self.track))
    }

    /// Whether it goes with a set-up: a sentence on what differs and is carried over, or why it is refused.
    pub fn goes_with(&self, asked: &Setup) -> Result<Option<String>, String> {
        let (mut told, mut refused): (Vec<&str>, Vec<String>) = (vec![], vec![]);
        for d in differences(&self.setup, asked) {
            if BESIDE.iter().any(|b| d.key.starts_with(b)) {
                continue;
            }
            match MADE_FOR.iter().find(|(begins, _)| d.key.starts_with(begins)) {
                Some((_, what)) if !told.contains(what) => told.push(what),
                Some(_) => {}
                None if self.keys.contains(&d.key) => {
                    refused.push(format!("{} (the calibration sets it: leave it as it was)", d.words()));
                }
                None => refused.push(d.words()),
            }
        }
        if self.setup.ice.friction != asked.ice.friction {
            refused.push("ice.friction is another law".into());
        }
        if !refused.is_empty() {
            return Err(format!(
                "this calibration is of the set-up \"{}\", and another is asked for: {}; it may differ in bow, saddle, \
                 ballast, push and weather alone, so calibrate with this set-up, or ask for that one",
                self.setup.name,
                refused.join("; ")
            ));
        }
        Ok((!told.is_empty()).then(|| {
            format!(
                "the calibrated set-up had another {}: what was fitted is carried over, which no run has checked",
                told.join(", ")
            )
        }))
    }

    /// A set-up that is compared with one that it goes with: refused where it sets what the calibration sets.
    pub fn goes_with_other(&self, asked: &Setup) -> Result<(), String> {
        let mine = differences(&self.setup, asked).into_iter().find(|d| self.keys.contains(&d.key));
        mine.map_or(Ok(()), |d| {
            Err(format!(
                "{}: the calibration sets it, so it cannot be compared; ask by air.taping_factor or \
                 air.posture_factor for less drag, by runners and ice for less friction, with a calibration that fits no \
                 edge radius for other edges",
                d.words()
            ))
        })
    }

    /// The middle of the posterior.
    pub fn middle(&self) -> Set {
        Set::Keyed(Keyed { number: 0, seed: 0, keys: self.keys.clone(), values: self.mean.clone() })
    }

    /// The errors of the athlete, if they are those of this level: a level that has been put to use keeps its name, so ask
    /// once.
    fn errors_of(&self, level: &Skill) -> Option<&Errors> {
        self.errors.as_ref().filter(|e| e.skill == level.name)
    }

    /// Whether it knows the errors of an athlete of this level.
    pub fn knows_errors_of(&self, level: &Skill) -> bool {
        self.errors_of(level).is_some()
    }

    /// Whether it tells the errors of an athlete.
    pub fn tells_errors(&self) -> bool {
        self.errors.is_some()
    }

    /// The level of skill that rides have: with the errors that the runs told of it.
    pub fn skilled(&self, level: &Skill) -> Skill {
        self.errors_of(level).map_or(*level, |e| with_errors(libm::exp(e.log_mean), level))
    }

    /// The axes of its points for rides with mistakes of a level.
    pub fn axes_of_rides(&self, level: &Skill) -> Vec<Axis> {
        let errors = self.errors_of(level).and_then(|e| axis_of_errors(e.log_sd));
        self.axes.iter().cloned().chain(errors).collect()
    }

    /// What it sets for rides of a level, in one line with its end; nothing where it knows no level.
    pub fn words_of_rides(&self, level: &Skill) -> String {
        let Some(e) = &self.errors else { return String::new() };
        if e.skill != level.name {
            return format!(
                "the calibration is of an athlete of the level {}; rides have the errors of the level {}\n",
                e.skill, level.name
            );
        }
        let [middle, low, high] =
            [0.0, -BAND_95, BAND_95].map(|side| libm::exp(e.log_mean + side * e.log_sd));
        format!(
            "rides have {middle:.2} times the errors of the level {}, 95 % band {low:.2} to {high:.2}\n",
            e.skill
        )
    }

    /// What it sets, in one line.
    pub fn words(&self) -> String {
        let each = self.keys.iter().zip(self.mean.iter().zip(&self.sd)).map(|(key, (mean, sd))| {
            let was = get(&self.setup, key).unwrap_or(f64::NAN);
            let digits = if *mean < 0.5 { 4 } else { 3 };
            format!("{key} {mean:.digits$} ±{sd:.digits$} (set-up {was})")
        });
        format!(
            "calibrated by {} run{} of {}: {}",
            self.runs,
            if self.runs == 1 { "" } else { "s" },
            self.sheet,
            each.collect::<Vec<_>>().join(", ")
        )
    }

    /// What the points stand for.
    pub fn over(&self) -> &'static str {
        "what the calibration leaves open"
    }
}

#[cfg(test)]
mod tests;
