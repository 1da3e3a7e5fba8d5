//! Samples as tables: all that were tried with the reason of each refusal, and those that are kept.

use super::bounds::{BOWS_M, TESTS, Test, best};
use super::tried::{OfPlanned, OverBow, Trial, Tried};
use super::{Sample, UNKNOWNS};
use file_faults::FileFault;

/// A kept sample as a table tells it.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// Its number.
    pub(crate) number: usize,
    /// Its seed.
    pub(crate) seed: u64,
    /// Its values.
    pub sample: Sample,
}

/// Names of the figures of a planned ride, in order.
const OF_PLANNED: [&str; 5] =
    ["ice_share", "mean_over_fall", "greatest_over_mean", "drag_elasticity", "guest_way"];
/// Columns before the values.
const BEFORE: [&str; 3] = ["sample", "seed", "inputs"];
const MISSED: &str = "missed";
const WHY: &str = "why";
/// Between several misses.
const BETWEEN: &str = "; ";

fn line(cells: impl IntoIterator<Item = String>) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    // a writer into memory does not fail
    let _ = writer.write_record(cells.into_iter().collect::<Vec<_>>());
    writer.into_inner().map(|bytes| String::from_utf8_lossy(&bytes).into_owned()).unwrap_or_default()
}

/// The header of the table of all samples.
///
/// `ride_1_` stands before the figures of the planned ride of the first track and set-up, `bows_1_` before those of
/// the rides over bow there.
pub fn header(trial: &Trial<'_>) -> String {
    let mut cells: Vec<String> = BEFORE.map(String::from).to_vec();
    cells.extend(UNKNOWNS.iter().map(|u| u.name.to_string()));
    cells.extend([MISSED, WHY, "bob_friction"].map(String::from));
    for pair in 1..=trial.pairs.len() {
        cells.extend(OF_PLANNED.map(|name| format!("ride_{pair}_{name}")));
    }
    for pair in 1..=trial.over_bow.min(trial.pairs.len()) {
        for skill in ["elite", "club"] {
            cells.push(format!("bows_{pair}_{skill}_best_mm"));
            for bow_m in BOWS_M {
                let at = format!("bows_{pair}_{skill}_{}_mm", 1e3 * bow_m);
                cells.extend(["median_s", "sd_s", "lost"].map(|name| format!("{at}_{name}")));
            }
        }
    }
    line(cells)
}

/// The row of a sample; `inputs` names what it was tried on, so that a table is gone on with by the same alone.
pub fn row(trial: &Trial<'_>, inputs: &str, tried: &Tried) -> String {
    let number = |v: Option<f64>| v.map_or(String::new(), |v| v.to_string());
    let mut cells = vec![tried.number.to_string(), trial.seed.to_string(), inputs.to_string()];
    cells.extend(tried.sample.0.iter().map(ToString::to_string));
    let missed: Vec<String> = tried.missed.iter().map(ToString::to_string).collect();
    cells.push(missed.join(BETWEEN));
    cells.push(tried.why.replace(['\n', '\r'], " "));
    cells.push(number(tried.bob_friction));
    for p in &tried.planned {
        let OfPlanned { ice_share, mean_over_fall, greatest_over_mean, drag_elasticity, guest_way } = *p;
        cells.extend([ice_share, mean_over_fall, greatest_over_mean, drag_elasticity, guest_way].map(number));
    }
    for OverBow { elite, club } in &tried.over_bow {
        for skill in [elite, club] {
            cells.push(number(best(skill).map(|i| 1e3 * BOWS_M[i])));
            for i in 0..BOWS_M.len() {
                let at = skill.get(i);
                cells.push(at.map_or(String::new(), |a| {
                    if a.median_s.is_finite() { a.median_s.to_string() } else { "lost".into() }
                }));
                cells.push(number(at.and_then(|a| a.sd_s)));
                cells.push(number(at.map(|a| a.lost)));
            }
        }
    }
    line(cells)
}

/// The table of the kept samples, from that of all; a row whose test is not told is not kept.
pub fn kept_table(all: &str) -> String {
    let mut text =
        line(BEFORE[..2].iter().map(ToString::to_string).chain(UNKNOWNS.iter().map(|u| u.name.to_string())));
    let values = BEFORE.len()..BEFORE.len() + UNKNOWNS.len();
    let mut reader = csv::Reader::from_reader(all.as_bytes());
    for record in reader.records().filter_map(Result::ok) {
        if record.get(values.end) == Some("") {
            let places = (0..2).chain(values.clone());
            text += &line(places.map(|i| record.get(i).unwrap_or("").to_string()));
        }
    }
    text
}

/// How many samples of a table of all missed each test, in the order of the tests, and how many were kept.
pub fn counts(all: &str) -> (Vec<(Test, usize)>, usize) {
    let mut reader = csv::Reader::from_reader(all.as_bytes());
    let place = BEFORE.len() + UNKNOWNS.len();
    let missed: Vec<String> = reader
        .records()
        .filter_map(Result::ok)
        .filter_map(|record| record.get(place).map(String::from))
        .collect();
    let count = |words: &str| missed.iter().filter(|m| m.split(BETWEEN).any(|one| one == words)).count();
    (TESTS.iter().map(|(test, words)| (*test, count(words))).collect(), count(""))
}

/// Reads a table of kept samples; every fault of it.
pub fn read_kept(file: &str, text: &str) -> Result<Vec<Kept>, Vec<FileFault>> {
    let names = || BEFORE[..2].iter().copied().chain(UNKNOWNS.iter().map(|u| u.name));
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let fault =
        |at: (u64, usize), key: &str, got: &str, allowed: &str| FileFault::at(file, at, key, got, allowed);
    let header = reader.headers().cloned().unwrap_or_default();
    let wrong = names().enumerate().find(|(i, name)| header.get(*i) != Some(*name));
    if let Some((i, _)) = wrong {
        // one fault for all: the columns behind are out of place as well
        let all = names().collect::<Vec<_>>().join(", ");
        let got = format!("\"{}\"", header.get(i).unwrap_or(""));
        let allowed = format!("the columns that `sagitta plausible` writes: {all}");
        return Err(vec![fault((1, i + 1), "heading", &got, &allowed)]);
    }
    let mut faults = Vec::new();
    let mut kept = Vec::new();
    for (record, line) in reader.records().zip(2..) {
        let record = match record {
            Ok(record) => record,
            Err(e) => {
                faults.push(fault((line, 0), "line", &e.to_string(), "CSV"));
                continue;
            }
        };
        let (number, seed) = (record.get(0).and_then(|t| t.parse().ok()), record.get(1));
        let seed = seed.and_then(|t| t.parse().ok());
        if number.is_none() || seed.is_none() {
            faults.push(fault((line, 0), "sample", "no number or no seed", "both, as whole numbers"));
        }
        let mut values = Vec::with_capacity(UNKNOWNS.len());
        for (j, unknown) in UNKNOWNS.iter().enumerate() {
            let read = record.get(j + 2).unwrap_or("");
            let value = read.parse::<f64>().ok().filter(|v| (unknown.low..=unknown.high).contains(v));
            match value {
                Some(value) => values.push(value),
                None => {
                    let allowed = format!("{} to {}", unknown.low, unknown.high);
                    faults.push(fault((line, j + 3), unknown.name, &format!("\"{read}\""), &allowed));
                }
            }
        }
        if let (Some(number), Some(seed)) = (number, seed) {
            kept.push(Kept { number, seed, sample: Sample(values) });
        }
    }
    if faults.is_empty() { Ok(kept) } else { Err(faults) }
}
