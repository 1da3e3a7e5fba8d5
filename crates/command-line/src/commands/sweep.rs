//! `sagitta sweep`: the cases of a study, and tables of shards made one.

use super::Done;
use super::calibrated::{CalibrationOption, UnmeasuredOption};
use super::sweep_results::results;
use super::sweep_study::{ReadStudy, VERSION};
use super::sweep_table::{Growing, locked};
use crate::files::{self, Output, read_text};
use crate::interrupt::{self, INTERRUPTED};
use crate::number::within;
use crate::progress::Progress;
use crate::words::say;
use std::fs;
use std::io::{Read, Seek};
use std::path::{Path, PathBuf};
use sweep_runner::study::Study;
use sweep_runner::study::shards::{NoMerge, Shard, damage, merged};
use sweep_runner::study::sidecar::differences;
use sweep_runner::study::sweep::rows_in_order;
use sweep_runner::study::table::{header, row};

/// Most threads.
const MOST_THREADS: usize = 1024;

/// Options of `sweep`.
#[derive(clap::Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub struct Options {
    #[command(subcommand)]
    command: Option<SweepCommand>,
    /// The study (TOML)
    #[arg(value_name = "STUDY.toml", required_unless_present = "again", conflicts_with = "again")]
    study: Option<PathBuf>,
    /// Compute the table that belongs to this sweep.json again, and say whether it has the same bytes
    #[arg(long, value_name = "SWEEP.json")]
    again: Option<PathBuf>,
    /// Folder of the table and pictures; an interrupted table is continued. Without it only the summary is printed
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Cases at a time [default: the number of cores]
    #[arg(long, value_name = "N", allow_hyphen_values = true, value_parser = within(1, MOST_THREADS, ""))]
    threads: Option<usize>,
    /// Only the i-th of n shares of the cases, for several machines; `sweep merge` joins them
    #[arg(long, value_name = "i/n", default_value = "1/1", conflicts_with = "again")]
    shard: Shard,
    #[command(flatten)]
    calibration: CalibrationOption,
    #[command(flatten)]
    unmeasured: UnmeasuredOption,
}

/// Commands about tables of sweeps.
#[derive(clap::Subcommand)]
enum SweepCommand {
    /// Join the tables of all shards of a study into one, the same as without shards
    Merge {
        /// The study (TOML)
        #[arg(value_name = "STUDY.toml")]
        study: PathBuf,
        /// Folders of the shards' tables; one folder may hold several
        #[arg(value_name = "DIR", required = true)]
        shards: Vec<PathBuf>,
        /// Folder to write the whole into
        #[arg(long, value_name = "DIR")]
        out: PathBuf,
    },
}

/// Computes the cases of a study, or merges tables.
pub fn sweep(o: &Options) -> Done {
    match (&o.command, &o.study, &o.again) {
        (Some(SweepCommand::Merge { study, shards, out }), ..) => merge(study, shards, out),
        (None, Some(study), _) => compute(&read(study, &o.calibration)?, o.shard, o).map(|(done, _)| done),
        (None, None, Some(sidecar)) => again(sidecar, o),
        _ => Err("sweep needs a study".into()),
    }
}

fn read(path: &Path, calibration: &CalibrationOption) -> Result<ReadStudy, String> {
    ReadStudy::of(path.display().to_string(), read_text(path)?, None, calibration)
}

/// Makes a table again from its sidecar; status 1 where its bytes are others.
fn again(path: &Path, o: &Options) -> Done {
    let cannot = |why: &str| format!("{}: {why}", path.display());
    let text = read_text(path)?;
    let old: serde_json::Value =
        serde_json::from_str(&text).map_err(|e| cannot(&format!("is no sidecar: {e}")))?;
    let words = |at: &str| old.pointer(at).and_then(|v| v.as_str()).map(String::from);
    let missing =
        || cannot("is no sidecar of a sweep with the text of its study; those of form 2 and later have it");
    let study_text = words("/inputs/study_text").ok_or_else(missing)?;
    let setup_text = words("/inputs/setup_text").ok_or_else(missing)?;
    let file = words("/made_by/study_file").ok_or_else(missing)?;
    let shard: Shard = words("/shard").ok_or_else(missing)?.parse().map_err(|e: String| cannot(&e))?;
    if words("/version").as_deref() != Some(VERSION) {
        let made = words("/version").unwrap_or_default();
        tell!("made by version {made}, this is {VERSION}: the bytes may differ");
    }
    let read = ReadStudy::of(file, study_text, Some(setup_text), &CalibrationOption::none())?;
    if words("/inputs/track_sha256").as_deref() != Some(&read.inputs.track_sha256) {
        let track = &read.inputs.track;
        return Err(cannot(&format!(
            "the track {track} is not the one that it was made on: its files changed"
        )));
    }
    let (done, sha256) = compute(&read, shard, o)?;
    match (words("/table_sha256"), sha256) {
        (_, None) => Ok(done),
        (None, Some(_)) => say("the table was not finished: nothing to compare with\n").map(|()| done),
        (Some(old), Some(new)) if old == new => say("the same bytes as before\n").map(|()| done),
        _ => say("other bytes than before\n").map(|()| 1),
    }
}

/// Names of a shard's table and sidecar, without ending.
fn stem(shard: Shard) -> String {
    if shard.of == 1 { "sweep".into() } else { format!("sweep-{}-of-{}", shard.nth, shard.of) }
}

/// The sidecar that is there, if it is of this very table; an error if another one is.
fn same_study(path: &Path, table: &Path, sidecar: &str) -> Result<Option<String>, String> {
    let rows = fs::metadata(table).is_ok_and(|m| m.len() > 0);
    let refused = |what: &str| {
        let folder = path.with_file_name("");
        Err(format!("{}: holds another table ({what}); take another folder for --out", folder.display()))
    };
    if !path.exists() {
        return if rows { refused("its sidecar is missing") } else { Ok(None) };
    }
    let there = read_text(path)?;
    match differences(&there, sidecar) {
        Some(differ) if differ.is_empty() => Ok(Some(there)),
        Some(differ) => refused(&format!("the sidecars differ in {}", differ.join(", "))),
        None => refused("its sidecar cannot be read"),
    }
}

/// That a table is not what was computed, with the first line that shows it.
fn changed(table: &Path, text: &str, head: &str, cases: &[usize]) -> String {
    let line = damage(text, head, cases);
    let line = line.map_or(String::new(), |(line, what)| format!("; line {line} {what}"));
    format!("{}: was changed after it was computed{line}", table.display())
}

/// What a sidecar says of the finished table.
fn finished_sha256(sidecar: &str) -> Option<String> {
    let read: serde_json::Value = serde_json::from_str(sidecar).ok()?;
    Some(read.get("table_sha256")?.as_str()?.to_string())
}

/// Computes the cases of a shard; gives the hash of the finished table, too.
fn compute(read: &ReadStudy, shard: Shard, o: &Options) -> Result<(u8, Option<String>), String> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let threads = o.threads.unwrap_or(cores);
    // planning shares the same number of threads; a pool that is there already is as good
    let _ = rayon::ThreadPoolBuilder::new().num_threads(threads).build_global();
    let study = &read.study;
    let cases = shard.cases(study.cases());
    let head = header(study);
    let Some(out) = o.out.as_deref() else {
        if shard != Shard::WHOLE {
            return Err("--shard needs --out DIR".into());
        }
        let mut table = head;
        let made = fill(study, &cases, threads, |row| {
            table += row;
            Ok(())
        });
        if made.map_err(|e| e.to_string())? < cases.len() {
            return partial(study, &table).map(|done| (done, None));
        }
        return read
            .told(&table, None, threads, o.unmeasured)
            .map(|done| (done, Some(files::sha256(&[&table]))));
    };
    let text = read.sidecar(shard, None);
    let stem = stem(shard);
    let (json, table) = (format!("{stem}.json"), out.join(format!("{stem}.csv")));
    let fail = |e: std::io::Error| format!("{}: cannot be written: {e}", table.display());
    same_study(&out.join(&json), &table, &text)?;
    fs::create_dir_all(out).map_err(fail)?;
    let mut file = locked(&table)?;
    // another sweep may have begun and ended before this one had the table for itself
    let there = same_study(&out.join(&json), &table, &text)?;
    if there.is_none() {
        files::write_all(out, &[Output::new(&json, text)])?;
    }
    let hashes = out.join(format!("{stem}.rows"));
    let mut whole = String::new();
    let sha256 = there.as_deref().and_then(finished_sha256);
    let sha256 = if let Some(sha256) = sha256 {
        file.read_to_string(&mut whole).map_err(fail)?;
        if files::sha256(&[&whole]) != sha256 {
            return Err(format!("{}; take another folder for --out", changed(&table, &whole, &head, &cases)));
        }
        tell!("all {} cases are there already", cases.len());
        sha256
    } else {
        let (mut growing, rows) = Growing::go_on(file, &hashes, &head, &cases)?;
        if rows > 0 {
            tell!("{rows} of {} cases are there already", cases.len());
        }
        let made = rows + fill(study, &cases[rows..], threads, |row| growing.add(row)).map_err(fail)?;
        growing.table.sync_all().map_err(fail)?;
        growing.table.rewind().and_then(|()| growing.table.read_to_string(&mut whole)).map_err(fail)?;
        if made < cases.len() {
            let (many, name) = (cases.len(), table.display());
            tell!("{made} of {many} cases are in {name}; the same command goes on from there");
            let done = if shard.of > 1 { INTERRUPTED } else { partial(study, &whole)? };
            return Ok((done, None));
        }
        let sha256 = files::sha256(&[&whole]);
        files::write_all(out, &[Output::new(&json, read.sidecar(shard, Some(sha256.clone())))])?;
        let _ = fs::remove_file(&hashes);
        sha256
    };
    if shard.of > 1 {
        tell!("{} cases in {}; `sagitta sweep merge` makes the shards one", cases.len(), table.display());
        return Ok((u8::from(whole.lines().any(|l| l.contains(",failed,"))), Some(sha256)));
    }
    read.told(&whole, Some(out), threads, o.unmeasured).map(|done| (done, Some(sha256)))
}

/// What the cases say that were finished before it was interrupted.
fn partial(study: &Study, table: &str) -> Done {
    let made = table.lines().count().saturating_sub(1);
    if made > 0 {
        let all = study.cases();
        say(&format!("interrupted: what follows is of the first {made} of {all} cases only\n\n"))?;
        results(study, table, None, ("", ""))?;
    }
    Ok(INTERRUPTED)
}

/// Computes cases and hands on their rows until it is interrupted; gives how many.
fn fill(
    study: &Study,
    cases: &[usize],
    threads: usize,
    mut add: impl FnMut(&str) -> std::io::Result<()> + Send,
) -> std::io::Result<usize> {
    if cases.is_empty() {
        return Ok(0);
    }
    let base = study.base(cases, &|words| tell!("{words} ..."));
    let (mut progress, mut rows) = (Progress::new(cases.len(), "cases"), 0);
    interrupt::has_something(true);
    let made = rows_in_order(
        cases,
        threads,
        |case| row(study, case, &study.made(case, &base)),
        |case| row(study, case, &Err("the program failed at this case".into())),
        || !interrupt::asked(),
        |_, text| {
            add(text)?;
            rows += 1;
            progress.done(1);
            Ok(())
        },
    );
    interrupt::has_something(false);
    made.map(|()| rows)
}

fn merge(path: &Path, folders: &[PathBuf], out: &Path) -> Done {
    let read = read(path, &CalibrationOption::none())?;
    let mut found: Vec<(PathBuf, Shard)> = Vec::new();
    for folder in folders {
        let entries =
            fs::read_dir(folder).map_err(|e| format!("{}: cannot be read: {e}", folder.display()))?;
        for entry in entries.filter_map(Result::ok) {
            let name = entry.file_name().to_string_lossy().to_string();
            let parts = name.strip_prefix("sweep-").and_then(|n| n.strip_suffix(".csv"));
            let shard = parts.and_then(|p| p.replace("-of-", "/").parse::<Shard>().ok());
            if let Some(shard) = shard {
                found.push((entry.path(), shard));
            }
        }
    }
    found.sort_by(|a, b| (a.1.of, a.1.nth, &a.0).cmp(&(b.1.of, b.1.nth, &b.0)));
    if found.is_empty() {
        return Err("no tables of shards (sweep-i-of-n.csv) in these folders".into());
    }
    let mut tables = Vec::new();
    for (table, shard) in &found {
        let beside = table.with_extension("json");
        let there = read_text(&beside)?;
        let differ = differences(&there, &read.sidecar(*shard, None)).unwrap_or(vec!["its text".into()]);
        if !differ.is_empty() {
            let differ = differ.join(", ");
            return Err(format!("{}: is of another table: it differs in {differ}", beside.display()));
        }
        let text = read_text(table)?;
        match finished_sha256(&there) {
            Some(sha256) if sha256 == files::sha256(&[&text]) => {}
            Some(_) => {
                let cases = shard.cases(read.study.cases());
                return Err(changed(table, &text, &header(&read.study), &cases));
            }
            None => {
                let done = text.lines().count().saturating_sub(1);
                let all = shard.cases(read.study.cases()).len();
                return Err(format!(
                    "{}: shard {shard} is not finished: {done} of {all} cases; its own `sagitta sweep` goes on with it",
                    table.display()
                ));
            }
        }
        tables.push(text);
    }
    let whole = merged(&tables, read.study.cases()).map_err(|e| {
        let names: Vec<String> = found.iter().map(|(t, _)| t.display().to_string()).collect();
        match e {
            NoMerge::Header { table } => {
                format!("{}, line 1: another header than {}", names[table], names[0])
            }
            NoMerge::Line { table, line } => {
                format!("{}, line {line}: no row, or a case twice", names[table])
            }
            NoMerge::Missing { .. } => format!("these tables make no whole: {e}\n{}", names.join("\n")),
        }
    })?;
    let text = read.sidecar(Shard::WHOLE, Some(files::sha256(&[&whole])));
    let place = out.join("sweep.csv");
    same_study(&out.join("sweep.json"), &place, &text)?;
    let _alone = if place.exists() { Some(locked(&place)?) } else { None };
    files::write_all(out, &[Output::new("sweep.json", text), Output::new("sweep.csv", whole.clone())])?;
    results(&read.study, &whole, Some(out), ("", ""))
}
