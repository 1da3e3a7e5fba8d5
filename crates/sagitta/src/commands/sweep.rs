//! `sagitta sweep`: the cases of a study, and tables of shards made one.

use super::Done;
use super::sweep_results::results;
use crate::files::{self, Output, read_text};
use crate::interrupt::{self, INTERRUPTED};
use crate::number::within;
use crate::progress::Progress;
use crate::words::say;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use sweep_runner::study::Study;
use sweep_runner::study::file::read_study;
use sweep_runner::study::shards::{Shard, kept, merged};
use sweep_runner::study::sidecar::{Sidecar, SweepInputs};
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
    #[arg(value_name = "STUDY.toml", required = true)]
    study: Option<PathBuf>,
    /// Folder of the table and pictures; one that was interrupted is finished. Without it only the summary is printed
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Cases at a time [default: the number of cores]
    #[arg(long, value_name = "N", allow_hyphen_values = true, value_parser = within(1, MOST_THREADS, ""))]
    threads: Option<usize>,
    /// Only the i-th of n shares of the cases, for several machines; `sweep merge` makes them one
    #[arg(long, value_name = "i/n", default_value = "1/1")]
    shard: Shard,
}

/// Commands about tables of sweeps.
#[derive(clap::Subcommand)]
enum SweepCommand {
    /// Make the tables of all shards of a study one, the same as without shards
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
    match (&o.command, &o.study, &o.out) {
        (Some(SweepCommand::Merge { study, shards, out }), ..) => merge(study, shards, out),
        (None, Some(study), out) => compute(study, out.as_deref(), o),
        _ => Err("sweep needs a study".into()),
    }
}

/// A study read with all that it names.
struct ReadStudy {
    study: Study,
    inputs: SweepInputs,
}

fn read(path: &Path) -> Result<ReadStudy, String> {
    let name = path.display().to_string();
    let text = read_text(path)?;
    let refused = |f| format!("this study cannot be used\n{f}");
    let file = read_study(&name, &text).map_err(refused)?;
    let beside = |named: &Option<String>| named.as_ref().map(|n| path.with_file_name("").join(n));
    let track = files::track(beside(&file.track).as_deref())?;
    let setup = files::setup(beside(&file.setup).as_deref(), &[])?;
    let inputs = SweepInputs {
        study_sha256: files::sha256(&[&text]),
        track: track.track.data.name.clone(),
        track_sha256: track.sha256,
        setup: setup.setup.name.clone(),
        setup_sha256: setup.sha256,
    };
    let study = Study::new(file, track.track, setup.setup).map_err(refused)?;
    Ok(ReadStudy { study, inputs })
}

/// Names of a shard's table and sidecar, without ending.
fn stem(shard: Shard) -> String {
    if shard.of == 1 { "sweep".into() } else { format!("sweep-{}-of-{}", shard.nth, shard.of) }
}

fn sidecar(read: &ReadStudy, shard: Shard) -> String {
    let version = env!("SAGITTA_VERSION");
    Sidecar::new(&read.study, &shard.to_string(), version, read.inputs.clone()).json()
}

/// True if this very sidecar is there already; an error if another one is.
fn same_study(path: &Path, table: &Path, sidecar: &str) -> Result<bool, String> {
    let there = path.exists();
    let rows = fs::metadata(table).is_ok_and(|m| m.len() > 0);
    if (there && read_text(path)? != sidecar) || (!there && rows) {
        return Err(format!(
            "{}: holds the table of another study, or of other inputs, or of another version of the program; \
             take another folder for --out",
            path.with_file_name("").display()
        ));
    }
    Ok(there)
}

fn compute(path: &Path, out: Option<&Path>, o: &Options) -> Done {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let threads = o.threads.unwrap_or(cores);
    // planning shares the same number of threads; a pool that is there already is as good
    let _ = rayon::ThreadPoolBuilder::new().num_threads(threads).build_global();
    let read = read(path)?;
    let study = &read.study;
    let cases = o.shard.cases(study.cases());
    let head = header(study);
    let Some(out) = out else {
        if o.shard != Shard::WHOLE {
            return Err("--shard needs --out DIR".into());
        }
        let mut table = head.into_bytes();
        let made = fill(study, &cases, threads, &mut table).map_err(|e| e.to_string())?;
        let table = String::from_utf8_lossy(&table);
        return if made < cases.len() { partial(study, &table) } else { results(study, &table, None) };
    };
    let text = sidecar(&read, o.shard);
    let (json, table) = (format!("{}.json", stem(o.shard)), out.join(format!("{}.csv", stem(o.shard))));
    let fail = |e: std::io::Error| format!("{}: cannot be written: {e}", table.display());
    same_study(&out.join(&json), &table, &text)?;
    fs::create_dir_all(out).map_err(fail)?;
    let mut file = locked(&table)?;
    // another sweep may have begun and ended before this one had the table for itself
    if !same_study(&out.join(&json), &table, &text)? {
        files::write_all(out, &[Output::new(&json, text)])?;
    }
    let mut before = Vec::new();
    file.read_to_end(&mut before).map_err(fail)?;
    let (bytes, rows) = kept(&String::from_utf8(before).unwrap_or_default(), &head, &cases);
    file.set_len(bytes as u64).map_err(fail)?;
    file.seek(SeekFrom::End(0)).map_err(fail)?;
    if bytes == 0 {
        file.write_all(head.as_bytes()).map_err(fail)?;
    }
    if rows > 0 {
        eprintln!("{rows} of {} cases are there already", cases.len());
    }
    let made = rows + fill(study, &cases[rows..], threads, &mut file).map_err(fail)?;
    file.sync_all().map_err(fail)?;
    let mut whole = String::new();
    file.rewind().and_then(|()| file.read_to_string(&mut whole)).map_err(fail)?;
    if made < cases.len() {
        let (many, name) = (cases.len(), table.display());
        eprintln!("{made} of {many} cases are in {name}; the same command goes on from there");
        return if o.shard.of > 1 { Ok(INTERRUPTED) } else { partial(study, &whole) };
    }
    if o.shard.of > 1 {
        eprintln!("{} cases in {}; `sagitta sweep merge` makes the shards one", cases.len(), table.display());
        return Ok(u8::from(whole.lines().any(|l| l.contains(",failed,"))));
    }
    results(study, &whole, Some(out))
}

/// What the cases say that were finished before it was interrupted.
fn partial(study: &Study, table: &str) -> Done {
    let made = table.lines().count().saturating_sub(1);
    if made > 0 {
        let all = study.cases();
        say(&format!("interrupted: what follows is of the first {made} of {all} cases only\n\n"))?;
        results(study, table, None)?;
    }
    Ok(INTERRUPTED)
}

/// The table, opened for this sweep alone as long as it is held.
fn locked(table: &Path) -> Result<File, String> {
    let mut open = OpenOptions::new();
    let file = open.create(true).read(true).write(true).truncate(false).open(table);
    let file = file.map_err(|e| format!("{}: cannot be written: {e}", table.display()))?;
    match file.try_lock() {
        Err(TryLockError::WouldBlock) => Err(format!(
            "{}: another sweep is writing this table at this moment; wait for it, or take another folder for --out",
            table.display()
        )),
        // a file system without locks is used as it is
        Ok(()) | Err(TryLockError::Error(_)) => Ok(file),
    }
}

/// Computes cases and writes their rows until it is interrupted; gives how many.
fn fill(
    study: &Study,
    cases: &[usize],
    threads: usize,
    file: &mut (impl Write + Send),
) -> std::io::Result<usize> {
    if cases.is_empty() {
        return Ok(0);
    }
    let base = study.base(cases, &|words| eprintln!("{words} ..."));
    let (mut progress, mut rows) = (Progress::new(cases.len(), "cases"), 0);
    interrupt::has_something(true);
    let made = rows_in_order(
        cases,
        threads,
        |case| row(study, case, &study.made(case, &base)),
        |case| row(study, case, &Err("the program failed at this case".into())),
        || !interrupt::asked(),
        |_, text| {
            file.write_all(text.as_bytes())?;
            rows += 1;
            progress.done(1);
            Ok(())
        },
    );
    interrupt::has_something(false);
    made.map(|()| rows)
}

fn merge(path: &Path, folders: &[PathBuf], out: &Path) -> Done {
    let read = read(path)?;
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
        if read_text(&beside)? != sidecar(&read, *shard) {
            return Err(format!(
                "{}: is of another study, of other inputs or of another version of the program",
                beside.display()
            ));
        }
        tables.push(read_text(table)?);
    }
    let whole = merged(&tables, read.study.cases()).map_err(|e| {
        let names: Vec<String> = found.iter().map(|(t, _)| t.display().to_string()).collect();
        format!("these tables make no whole: {e}\n{}", names.join("\n"))
    })?;
    let text = sidecar(&read, Shard::WHOLE);
    let place = out.join("sweep.csv");
    same_study(&out.join("sweep.json"), &place, &text)?;
    let _alone = if place.exists() { Some(locked(&place)?) } else { None };
    files::write_all(out, &[Output::new("sweep.json", text), Output::new("sweep.csv", whole.clone())])?;
    results(&read.study, &whole, Some(out))
}
