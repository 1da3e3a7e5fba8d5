//! `sagitta plausible`: samples of what nobody has measured, and those that meet what is published and practised.

use super::Done;
use crate::cache::program;
use crate::files::{self, Output, ReadSetup, ReadTrack, read_text};
use crate::interrupt::{self, INTERRUPTED};
use crate::number::within;
use crate::plan_store::setup_numbers_sha256;
use crate::progress::Progress;
use crate::words::{ABSOLUTE, CAUTION, numbers, say};
use sled_dynamics::setup::Setup;
use std::fs::OpenOptions;
use std::io::Write;
use std::path::{Path, PathBuf};
use sweep_runner::plausible::UNKNOWNS;
use sweep_runner::plausible::bounds::Test;
use sweep_runner::plausible::table::{counts, header, kept_table, row};
use sweep_runner::plausible::tried::{Trial, tried};
use sweep_runner::study::shards::kept;
use track_geometry::track::Track;

/// Most samples: the points of the sequence before it begins anew.
const MOST_SAMPLES: usize = 65_536;

/// Options of `plausible`.
#[derive(clap::Args)]
pub struct Options {
    /// Table of the samples that are kept; beside it NAME-all.csv, all samples with their figures and what each missed
    #[arg(long, value_name = "FILE.csv")]
    out: PathBuf,
    /// Samples
    #[arg(long, default_value_t = 100, allow_hyphen_values = true, value_parser = within(1, MOST_SAMPLES, ""))]
    samples: usize,
    /// Seed of samples and mistakes
    #[arg(long, default_value_t = 1, allow_hyphen_values = true, value_parser = within(0, u64::MAX, ""))]
    seed: u64,
    /// Folder of a track (may be repeated) [default: the invented track Oskerdale, built in]
    #[arg(long = "track", value_name = "DIR")]
    tracks: Vec<PathBuf>,
    /// File of a set-up (may be repeated) [default: the invented club's woman, built in]
    #[arg(long = "setup", value_name = "FILE")]
    setups: Vec<PathBuf>,
    /// Rides of each skill with each bow
    #[arg(long, default_value_t = 24, allow_hyphen_values = true, value_parser = within(6_usize, 10_000, ""))]
    rides: usize,
    /// Run the rides over bow with every set-up on every track, not only with the first set-up on the first track
    #[arg(long)]
    rides_on_all: bool,
    /// Go on after a missed test and list every miss: takes much longer, and shows which tests cannot be met together
    #[arg(long)]
    beyond_misses: bool,
}

/// All of a kind that were named, or the one that is built in.
fn all<T>(named: &[PathBuf], read: impl Fn(Option<&Path>) -> Result<T, String>) -> Result<Vec<T>, String> {
    if named.is_empty() {
        return Ok(vec![read(None)?]);
    }
    named.iter().map(|path| read(Some(path))).collect()
}

/// Tries samples, prints and writes.
pub fn plausible(o: &Options) -> Done {
    let tracks = all(&o.tracks, files::track)?;
    let setups = all(&o.setups, |path| files::setup(path, &[]))?;
    let pairs: Vec<(&Track, &Setup)> =
        tracks.iter().flat_map(|t| setups.iter().map(move |s| (&t.track, &s.setup))).collect();
    let over_bow = if o.rides_on_all { pairs.len() } else { 1 };
    let trial =
        Trial { pairs: &pairs, over_bow, rides: o.rides, seed: o.seed, beyond_misses: o.beyond_misses };
    let inputs = inputs(&tracks, &setups, &trial);
    let name = o.out.file_stem().map_or("plausible".into(), |s| s.to_string_lossy().into_owned());
    let place = o.out.with_file_name(format!("{name}-all.csv"));
    let mut table = begun(&place, &trial, &inputs, o.samples)?;
    let there = table.lines().count() - 1;
    if there > 0 {
        tell!("{there} of {} samples are there already", o.samples);
    }
    for (i, (track, setup)) in pairs.iter().enumerate() {
        tell!("{}: {}, {}", i + 1, track.data.name, setup.name);
    }
    let fail = |e: std::io::Error| format!("{}: cannot be written: {e}", place.display());
    let folder = o.out.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    files::write_all(folder, &[Output::new(&format!("{name}-all.csv"), table.clone())])?;
    let mut file = OpenOptions::new().append(true).open(&place).map_err(fail)?;
    let mut progress = Progress::new(o.samples - there, "samples");
    interrupt::has_something(true);
    let mut made = there;
    // one after the other: each plans and rides on all cores
    while made < o.samples && !interrupt::asked() {
        let text = row(&trial, &inputs, &tried(&trial, made));
        file.write_all(text.as_bytes()).and_then(|()| file.flush()).map_err(fail)?;
        table += &text;
        made += 1;
        progress.done(1);
    }
    drop(progress);
    interrupt::has_something(false);
    let named = o.out.file_name().map_or("plausible.csv".into(), |n| n.to_string_lossy().into_owned());
    files::write_all(folder, &[Output::new(&named, kept_table(&table))])?;
    tell!("kept samples in {}, all in {}", o.out.display(), place.display());
    let (text, many) = summary(&table, made, o);
    say(&text)?;
    Ok(if made < o.samples { INTERRUPTED } else { u8::from(many == 0) })
}

/// What samples are tried on, as twelve digits.
fn inputs(tracks: &[ReadTrack], setups: &[ReadSetup], trial: &Trial<'_>) -> String {
    let mut texts = vec![program()];
    texts.extend(tracks.iter().map(|t| t.sha256.clone()));
    texts.extend(setups.iter().map(|s| setup_numbers_sha256(&s.setup)));
    texts.push(format!("{} {} {} {}", trial.over_bow, trial.rides, trial.seed, trial.beyond_misses));
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    files::sha256(&texts)[..12].to_string()
}

/// What is there of the table of all samples, or its header; refused where it is of something else.
fn begun(place: &Path, trial: &Trial<'_>, inputs: &str, samples: usize) -> Result<String, String> {
    let head = header(trial);
    if !place.exists() {
        return Ok(head);
    }
    let text = read_text(place)?;
    let numbers: Vec<usize> = (0..samples).collect();
    let (bytes, rows) = kept(&text, &head, &numbers);
    let ours = |(i, line): (usize, &str)| line.starts_with(&format!("{i},{},{inputs},", trial.seed));
    if !text.is_empty() && (bytes == 0 || !text.lines().skip(1).take(rows).enumerate().all(ours)) {
        return Err(format!(
            "{}: holds samples of another seed, other inputs or another build of the program; take another file for \
             --out",
            place.display()
        ));
    }
    Ok(if bytes == 0 { head } else { text[..bytes].to_string() })
}

/// What was kept and what refused most.
fn summary(table: &str, made: usize, o: &Options) -> (String, usize) {
    let (missed, many) = counts(table);
    let mut left = made;
    let rows = missed.iter().map(|(test, missed)| {
        let cells = vec![test.to_string(), left.to_string(), missed.to_string()];
        // these two end a sample whatever else is asked
        if !o.beyond_misses || [Test::FitsTogether, Test::Planned].contains(test) {
            left -= missed;
        }
        cells
    });
    let tests = numbers(&["test, cheapest first", "samples asked", "missed"], rows.collect::<Vec<_>>());
    let text = format!(
        "{many} of {made} samples of {} unknowns are plausible, seed {}, {} rides of each skill with each bow\n\n{tests}\n\n\
         plausible is what cannot be ruled out by these tests; it is not measured\n{ABSOLUTE}\n{CAUTION}\n",
        UNKNOWNS.len(),
        o.seed,
        o.rides
    );
    (text, many)
}
