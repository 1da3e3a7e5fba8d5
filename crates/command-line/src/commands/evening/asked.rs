//! From the plan of an evening and the files it names to what is asked.

use super::past::{Wanted, facts as past_runs};
use crate::commands::bow::caliper::{Calipers, name as side_name, warnings};
use crate::commands::calibrated::{Used, put_on};
use crate::commands::rules::{Rules, rules};
use crate::files::{self, ReadTrack, read_table, read_text};
use ice_contact::runner::Bow;
use sled_bench::bow_fit::BowFit;
use sled_bench::rules::Class;
use sled_bench::runner_files::{read_runners_csv, read_runners_toml};
use sled_bench::runner_record::{KEYS, RunnerRecord};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys::{LONGEST_NAME, set};
use std::path::{Path, PathBuf};
use sweep_runner::evening::plan_file::{PlanFile, read_plan_file};
use sweep_runner::evening::ridden::{mean_mm, with_bows};
use sweep_runner::evening::{Pair, Question};
use track_geometry::toml_keys::Placed;

/// A plan with all that it names.
pub struct Asked {
    /// The plan as typed.
    pub plan: PlanFile,
    /// The track.
    pub track: ReadTrack,
    /// What is asked.
    pub question: Question,
    /// Fits of the readings, left and right; none where the bow is only stated.
    pub fits: [Option<BowFit>; 2],
    /// Where the present bow is from.
    pub bow_from: String,
    /// What is to be known of the readings.
    pub notes: Vec<String>,
    /// True where the readings are in doubt.
    pub doubtful: bool,
    /// The rules by season.
    pub rules: Rules,
    /// The calibration that all set-ups are computed with.
    pub used: Option<Used>,
    /// What past runs were: label and value.
    pub past: Vec<[String; 2]>,
}

/// Reads a plan and what it names.
pub fn read_asked(file: &str, text: &str, folder: &Path) -> Result<Asked, String> {
    let mut plan = read_plan_file(file, text).map_err(|f| {
        format!("this plan cannot be used; `sagitta evening --example` prints one to begin with\n{f}")
    })?;
    let beside = |name: &String| -> PathBuf { folder.join(name) };
    let track = files::track(plan.track.as_ref().map(|t| files::track_beside(folder, t)).as_deref())?;
    let mut base = files::setup(plan.setup.as_ref().map(beside).as_deref(), &[])?.setup;
    for (key, value) in &plan.forecast {
        set(&mut base, key, *value).map_err(|f| format!("{file}: {}: {}", f.key(), f.problem))?;
    }
    let used = match plan.calibration.as_ref().map(beside) {
        Some(path) => {
            let mut used = put_on(&path, &track, &mut base)?;
            plan.skill = used.skilled(&plan.skill);
            Some(used)
        }
        None => None,
    };
    if let (Some(used), Some(_)) = (&used, &plan.library) {
        used.goes_with_a_bag().map_err(|why| format!("{file}: {why}"))?;
    }
    let past = match plan.notebook.as_ref().map(beside) {
        Some(path) => {
            let wanted = Wanted {
                track: &track.track.data.name,
                setup: &base.name,
                pair: plan.pairs.first().map(|p| p.value.as_str()),
                athlete: plan.athlete.as_deref(),
            };
            past_runs(&path, &wanted)?
        }
        None => vec![],
    };
    let mut pairs = match &plan.library {
        None => {
            vec![Pair { name: "on the sled".into(), setup: base.clone(), unknown: vec![], measured: true }]
        }
        Some(library) => {
            let library = beside(library);
            let records = read_library(&library)?;
            in_the_bag(file, &plan.pairs, &library.display().to_string(), &records, &base)?
        }
    };
    let on_the_sled = pairs[0].setup.clone();
    let unused = not_used(&plan, plan.library.as_ref().map(beside).as_deref())?;
    let (mut fits, mut notes, mut doubtful) = ([None, None], vec![], false);
    let (mut bow_now, mut bow_from) = (
        [on_the_sled.runners.left, on_the_sled.runners.right],
        "as the set-up says, not measured".to_string(),
    );
    if let Some(mm) = plan.bow_now_mm {
        bow_now = bows_of(&on_the_sled, &[("runners.bow_mm", mm)])?;
        bow_from = "as the plan says, not measured".into();
    }
    if let Some(readings) = &plan.readings {
        let reference = plan.readings_without_bow.as_ref().map(beside);
        let calipers = Calipers { reference, millimetres: false };
        let pair = calipers.fit(&beside(readings), &on_the_sled)?;
        (notes, doubtful) = warnings(&pair);
        for (bow, fit) in bow_now.iter_mut().zip(pair.fits.iter()) {
            match fit {
                // a reading may stand its error behind straight, which no set-up may; a micrometre is finer than it is
                Some(fit) => {
                    let [front, rear] =
                        [fit.bow.front_m, fit.bow.rear_m].map(|m| (1e6 * m.max(0.0)).round() / 1e3);
                    let keys = [("runners.left.bow_front_mm", front), ("runners.left.bow_rear_mm", rear)];
                    *bow = bows_of(&on_the_sled, &keys)?[0];
                }
                None => notes.push("one runner was not read; its bow is that of the set-up".into()),
            }
        }
        fits = pair.fits;
        bow_from = "from tonight's readings".into();
    }
    for pair in &mut pairs {
        pair.setup = with_bows(&pair.setup, &bow_now);
    }
    let now_mm = mean_mm(&bow_now);
    let even = plan.readings.is_none() && bow_now[0] == bow_now[1] && bow_now[0].front_m == bow_now[0].rear_m;
    let others = plan.other_bows_mm(now_mm, even);
    let other = |mm: &f64| bows_of(&on_the_sled, &[("runners.bow_mm", *mm)]);
    let mut bows: Vec<[Bow; 2]> = others.iter().map(other).collect::<Result<_, _>>()?;
    let now = bows.iter().take_while(|b| mean_mm(b) < now_mm).count();
    bows.insert(now, bow_now);
    let ices_c = plan.ices_c(base.ice.temperature_c);
    let question = Question {
        pairs,
        bows,
        now,
        ices_c,
        air_spreads: plan.air_spreads.clone(),
        most_mass_kg: plan.rules.most_mass_kg,
        scratches: plan.scratches.clone(),
    };
    notes.extend(unused);
    let class = plan.rules.women.map(|w| if w { Class::Women } else { Class::Men });
    let rules = rules(plan.rules.file.as_ref().map(beside).as_deref(), plan.rules.season.as_deref(), class)?;
    Ok(Asked { plan, track, question, fits, bow_from, notes, doubtful, rules, used, past })
}

/// Bows as a set-up has them with these keys, to the last bit: a plan may differ by milliseconds for one bit of bow.
pub(in crate::commands) fn bows_of(base: &Setup, keys: &[(&str, f64)]) -> Result<[Bow; 2], String> {
    let mut setup = base.clone();
    for (key, value) in keys {
        set(&mut setup, key, *value).map_err(|f| format!("{}: {}", f.key(), f.problem))?;
    }
    Ok([setup.runners.left, setup.runners.right])
}

/// What the library records of the pairs in the bag and no reckoning uses, a line for each.
fn not_used(plan: &PlanFile, library: Option<&Path>) -> Result<Vec<String>, String> {
    let Some(library) = library else { return Ok(vec![]) };
    let records = read_library(library)?;
    let told = |r: &RunnerRecord| {
        let numbers =
            KEYS.iter().enumerate().filter(|(i, k)| k.setup_key.is_none() && r.numbers[*i].value.is_some());
        let mut all: Vec<&str> = numbers.map(|(_, k)| k.doc).collect();
        for (what, text) in [("scratches in words", &r.scratches), ("history", &r.history)] {
            if !text.is_empty() {
                all.push(what);
            }
        }
        (!all.is_empty())
            .then(|| format!("recorded of pair {}, and the model cannot use it: {}", r.pair, all.join(", ")))
    };
    let in_bag = records.iter().filter(|r| plan.pairs.iter().any(|p| p.value == r.pair));
    Ok(in_bag.filter_map(told).collect())
}

/// The pairs of a library.
pub(in crate::commands) fn read_library(library: &Path) -> Result<Vec<RunnerRecord>, String> {
    let name = library.display().to_string();
    let is_toml = library.extension().is_some_and(|e| e.eq_ignore_ascii_case("toml"));
    let text = if is_toml { read_text(library)? } else { read_table(library)? };
    let read = if is_toml { read_runners_toml(&name, &text) } else { read_runners_csv(&name, &text) };
    read.map_err(|found| {
        let told: Vec<String> = found.iter().map(ToString::to_string).collect();
        format!("these runners cannot be used\n{}", told.join("\n"))
    })
}

/// The pairs of a plan, each on the set-up; `name` is that of their library.
pub(in crate::commands) fn in_the_bag(
    file: &str,
    wanted: &[Placed<String>],
    name: &str,
    records: &[RunnerRecord],
    base: &Setup,
) -> Result<Vec<Pair>, String> {
    let names = || records.iter().map(|r| r.pair.as_str()).collect::<Vec<_>>().join(", ");
    if wanted.is_empty() {
        return Err(format!(
            "{file} (pairs): a library without pairs; allowed: pairs = [...], the first on the sled, of {}",
            names()
        ));
    }
    let mut pairs = Vec::new();
    let mut faults = Vec::new();
    for (i, wanted) in wanted.iter().enumerate() {
        match records.iter().find(|r| r.pair == wanted.value) {
            None => faults.push(format!(
                "{}: no pair \"{}\" in {name}; allowed: {}",
                wanted.place,
                wanted.value,
                names()
            )),
            Some(record) => match with_record(base, record, i == 0) {
                Ok(pair) => pairs.push(pair),
                Err(why) => faults.push(format!("pair {} cannot be put on: {why}", record.pair)),
            },
        }
    }
    if faults.is_empty() { Ok(pairs) } else { Err(faults.join("\n")) }
}

/// A pair on the set-up. What the library does not know of a pair on the sled is as the set-up says; of any other pair it
/// is taken as usual, since what the set-up says belongs to the pair on the sled.
fn with_record(base: &Setup, record: &RunnerRecord, on_the_sled: bool) -> Result<Pair, String> {
    let mut setup = base.clone();
    let (mut unknown, mut measured) = (Vec::new(), on_the_sled);
    for (i, key) in KEYS.iter().enumerate() {
        let (Some(path), Some(r)) = (key.setup_key, record.reckoned(i)) else { continue };
        if r.known {
            measured = true;
        } else {
            unknown.push(key.doc);
        }
        if r.known || !on_the_sled {
            set(&mut setup, path, r.value).map_err(|f| format!("{}: {}", f.key(), f.problem))?;
        }
    }
    setup.name = name_with_pair(&setup.name, &record.pair);
    Ok(Pair { name: record.pair.clone(), setup, unknown, measured })
}

/// The name of a set-up with a pair put on, no longer than a name may be: the stem gives way.
pub(in crate::commands) fn name_with_pair(name: &str, pair: &str) -> String {
    let stem = name.rsplit_once(", pair ").map_or(name, |(stem, _)| stem);
    let pair = format!(", pair {pair}");
    let room = LONGEST_NAME.saturating_sub(pair.chars().count());
    stem.chars().take(room).chain(pair.chars()).take(LONGEST_NAME).collect()
}

/// What is not known of a pair.
pub fn unknown_words(pair: &Pair) -> String {
    match (pair.measured, pair.unknown.len()) {
        (false, _) => "nothing measured of this pair: taken as a usual one, not advised".into(),
        (_, 0) => "all measured".into(),
        (_, n) => format!("{n} of its numbers not measured"),
    }
}

/// Left or right in words.
pub fn side(way: &crate::commands::bow::target::Way) -> &'static str {
    side_name(way.side)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_a_name_with_its_pair_is_no_longer_than_a_name_may_be() {
        assert_eq!(name_with_pair("Club's woman, pair A", "B"), "Club's woman, pair B");
        // 80 letters: 30 of the stem and 50 of the pair; a pair longer than a name is cut itself
        let (stem, pair) = ("s".repeat(78), "p".repeat(43));
        assert_eq!(name_with_pair(&stem, &pair), format!("{}, pair {pair}", "s".repeat(30)));
        assert_eq!(name_with_pair(&stem, &"p".repeat(90)), format!(", pair {}", "p".repeat(73)));
    }
}
