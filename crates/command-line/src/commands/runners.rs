//! `sagitta runners`: the pairs of a runner library, what is known of them and what is only assumed.

mod put;
pub mod swing;

use super::{Done, What};
use crate::files::{self, Output, read_text};
use crate::words::{say, table};
use page::asked::AskedFile;
use page::pairs::PairTold;
use sled_bench::runner_files::{read_runners_csv, read_runners_toml, write_runners_csv, write_runners_toml};
use sled_bench::runner_record::{KEYS, RunnerRecord};
use std::path::{Path, PathBuf};

/// Options of `runners`.
#[derive(clap::Args)]
pub struct Options {
    /// The library: TOML with a table "pair" for each, or CSV with one line a pair
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Put this pair on the set-up: what changes, and what its unknown numbers leave open
    #[arg(long, value_name = "PAIR")]
    put: Option<String>,
    /// Also show how the unknown numbers move the planned time (a minute or two)
    #[arg(long, requires = "put")]
    planned: bool,
    #[command(flatten)]
    what: What,
    /// Write into this folder: the library in both forms, runners.toml and runners.csv; with --put the set-up with this
    /// pair and the bands
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Checks, lists and writes the library.
pub fn runners(o: &Options) -> Done {
    let name = o.file.display().to_string();
    let text = read_text(&o.file)?;
    let records = records(&name, &text)?;
    if let Some(pair) = &o.put {
        let Some(record) = records.iter().find(|r| r.pair == *pair) else {
            let names: Vec<&str> = records.iter().map(|r| r.pair.as_str()).collect();
            return Err(format!("--put {pair}: {name} has no such pair; allowed: {}", names.join(", ")));
        };
        return put::put(&o.what, record, o.planned, o.out.as_deref());
    }
    if o.what.track.is_some() || o.what.setup.is_some() || !o.what.sets.is_empty() {
        return Err("--track, --setup and --set go with --put: a list needs no set-up".into());
    }
    let pairs: Vec<&str> = records.iter().map(|r| r.pair.as_str()).collect();
    let header = [["number"].as_slice(), &pairs].concat();
    let rows = KEYS.iter().enumerate().map(|(i, key)| {
        let cells = records.iter().map(|r| cell(r, i));
        [key.key.to_string()].into_iter().chain(cells).collect()
    });
    let mut told = format!("{}\n\n", table(&header, rows));
    told += "value +- standard error; (in brackets): not known, and taken as this\n";
    for r in &records {
        for (what, words) in [("scratches", &r.scratches), ("history", &r.history)] {
            if !words.is_empty() {
                told += &format!("{}, {what}: {}\n", r.pair, words.replace('\n', " "));
            }
        }
    }
    say(&told)?;
    if let Some(out) = &o.out {
        let outputs = [
            Output::new("runners.toml", write_runners_toml(&records)),
            Output::new("runners.csv", write_runners_csv(&records)),
        ];
        files::write_all(out, &outputs)?;
        tell!("written to {}", out.display());
    }
    Ok(0)
}

fn records(name: &str, text: &str) -> Result<Vec<RunnerRecord>, String> {
    let is_toml = Path::new(name).extension().is_some_and(|e| e.eq_ignore_ascii_case("toml"));
    let read = if is_toml { read_runners_toml(name, text) } else { read_runners_csv(name, text) };
    read.map_err(|found| {
        let told: Vec<String> = found.iter().map(ToString::to_string).collect();
        format!("these runners cannot be used\n{}", told.join("\n"))
    })
}

/// The pairs of a library for the page, each with what --put sets.
pub fn pairs(file: &AskedFile) -> Result<Vec<PairTold>, String> {
    let told = |r: &RunnerRecord| {
        let unknown = KEYS.iter().enumerate().filter_map(|(i, key)| {
            let r = r.reckoned(i).filter(|_| key.setup_key.is_some())?;
            (!r.known).then_some(key.doc)
        });
        PairTold {
            name: r.pair.clone(),
            sets: r.settings().iter().map(|(key, value)| ((*key).to_string(), value.to_string())).collect(),
            unknown: unknown.collect::<Vec<_>>().join("; "),
        }
    };
    Ok(records(&file.name, &file.text)?.iter().map(told).collect())
}

fn cell(record: &RunnerRecord, number: usize) -> String {
    let Some(r) = record.reckoned(number) else { return String::new() };
    let words = format!("{} +- {}", r.value, r.error);
    if r.known { words } else { format!("({words})") }
}
