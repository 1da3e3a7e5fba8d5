//! Every reader by name, and what comes of bytes there.

use evidence::motion_log::read_log;
use evidence::notebook::Notebook;
use evidence::questions::read_questions;
use evidence::sheet::read::read_sheet;
use numerics::checksum::fnv1a;
use page::asked::AskedFile;
use page::parsed::parsed;
use sled_bench::readings::{ReadingRules, parse_readings};
use sled_bench::rules::reading::read_rules;
use sled_bench::runner_files::{read_runners_csv, read_runners_toml};
use sled_dynamics::riding::line_file::read_line;
use sled_dynamics::riding::notes_read::read_notes;
use sled_dynamics::riding::ride_file::{RideFor, read_ride};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::file::read_setup;
use std::fmt::{Debug, Display};
use std::sync::LazyLock;
use sweep_runner::evening::plan_file::read_plan_file;
use sweep_runner::evening::travel_file::read_travel_file;
use sweep_runner::plausible::calibrated::read_calibration;
use sweep_runner::plausible::keyed::read_keyed;
use sweep_runner::plausible::table::read_kept;
use sweep_runner::rides::plan_bytes::read_plan;
use sweep_runner::study::file::read_study;
use sweep_runner::study::shards::{damage, kept, merged};
use sweep_runner::study::sidecar::differences;
use sweep_runner::study::table::SweepTable;
use track_geometry::corner_list::read_corner_list;
use track_geometry::track::Track;
use track_geometry::track_builder::build_track;
use track_geometry::track_file::read_track;

/// Name of the file that is read, in every message.
pub const FILE: &str = "mine.txt";
/// The set-up and the track that others are read beside.
const SETUP: &str = include_str!("../../../examples/clubs-woman.toml");
const WORDS: &str = include_str!("../../../tracks/quillmere/track.toml");
const STATIONS: &str = include_str!("../../../tracks/quillmere/stations.csv");

/// What came of bytes.
pub enum Read {
    /// A value as it is printed for a programmer.
    Value(String),
    /// Faults, each with the name of the file.
    Faults(Vec<String>),
    /// A refusal without a file, or bytes that are no text, which the program refuses before any reader.
    Refused,
}

/// A reader's name, and what it makes of bytes.
pub type Reader = (&'static str, fn(&[u8]) -> Read);

fn told<T: Debug, E: Display>(read: Result<T, E>) -> Read {
    match read {
        Ok(value) => Read::Value(format!("{value:?}")),
        Err(faults) => Read::Faults(faults.to_string().lines().map(String::from).collect()),
    }
}

fn each<T: Debug, E: Display>(read: Result<T, Vec<E>>) -> Read {
    match read {
        Ok(value) => Read::Value(format!("{value:?}")),
        Err(faults) => Read::Faults(faults.iter().map(ToString::to_string).collect()),
    }
}

/// Bytes as the program takes them: UTF-8 or nothing.
fn text(bytes: &[u8], read: impl Fn(&str) -> Read) -> Read {
    std::str::from_utf8(bytes).map_or(Read::Refused, read)
}

static TRACK: LazyLock<Track> = LazyLock::new(|| {
    let read = read_track("track.toml", WORDS, "stations.csv", STATIONS).expect("shipped");
    Track::new(read.track).expect("shipped")
});
static RULES: LazyLock<ReadingRules> =
    LazyLock::new(|| ReadingRules::of(&Setup::with_defaults("a").runners.both, false));
/// Every tenth row of the shipped table is as good and quicker.
static FEW_STATIONS: LazyLock<String> = LazyLock::new(|| {
    let last = STATIONS.lines().count() - 1;
    let row = |(i, _): &(usize, &str)| i % 10 == 1 || *i == 0 || *i == last;
    STATIONS.lines().enumerate().filter(row).map(|(_, l)| format!("{l}\n")).collect()
});

/// A track of both texts, and its surface along the way.
fn track(words: &str, table: &str) -> Read {
    let data = match read_track(FILE, words, FILE, table) {
        Ok(read) => read.track,
        Err(faults) => return told::<(), _>(Err(faults)),
    };
    let track = match Track::new(data) {
        Ok(track) => track,
        Err(why) => return Read::Faults(vec![format!("{FILE}: {why}")]),
    };
    let (first_m, last_m) = track.surface.range_m();
    let mut heights = vec![];
    for i in 0..=20 {
        let at = track.surface.station(first_m + (last_m - first_m) * f64::from(i) / 20.0);
        heights.push([at.lowest_m(), at.height_m(at.left_edge[0]), at.height_m(at.right_edge[0])]);
    }
    Read::Value(format!("{:?} {heights:?}", track.data))
}

fn sheet(text: &str) -> Read {
    match read_sheet(FILE, text) {
        // rows that are no runs are faults beside the runs
        Ok(sheet) if !sheet.faults.is_empty() => {
            Read::Faults(sheet.faults.iter().map(ToString::to_string).collect())
        }
        read => each(read.map(|sheet| sheet.runs)),
    }
}

fn request(bytes: &[u8], address: &str) -> Read {
    let first = AskedFile { name: FILE.into(), text: SETUP.into() };
    match parsed(address, bytes, &first, &TRACK) {
        Ok(value) => Read::Value(value),
        Err(why) if why.is_empty() => Read::Faults(vec![]),
        Err(_) => Read::Refused,
    }
}

/// A kept plan with a sum that fits, which no damaged file has: what lies behind it must not trust it.
fn kept_plan(bytes: &[u8]) -> Read {
    let whole = [bytes, &fnv1a(bytes).to_le_bytes()].concat();
    drop((read_plan(bytes), read_plan(&whole)));
    Read::Refused
}

/// Tables of sweeps and their shards, with the header that stands in them.
fn sweep(text: &str) -> Read {
    let head = text.split_inclusive('\n').next().unwrap_or("");
    let cases: Vec<usize> = (0..8).collect();
    let (bytes, rows) = kept(text, head, &cases);
    assert!(text.is_char_boundary(bytes) && rows <= cases.len());
    drop((damage(text, head, &cases), merged(&[text.into(), text.into()], 8), merged(&[text.into()], 3)));
    let Some(table) = SweepTable::read(text) else { return Read::Refused };
    let names = head.trim_end().split(',');
    Read::Value(names.map(|name| format!("{:?}", table.numbers(name))).collect())
}

/// All readers.
pub const READERS: [Reader; 35] = [
    ("set-up", |b| text(b, |t| told(read_setup(FILE, t, &[])))),
    ("track-words", |b| text(b, |t| track(t, &FEW_STATIONS))),
    ("track-table", |b| text(b, |t| track(WORDS, t))),
    ("corner-list", |b| {
        text(b, |t| {
            told(read_corner_list(FILE, t).and_then(|mut list| {
                // what is built knows the name of the list alone, and the caller that of the file
                list.name = FILE.into();
                build_track(&list)
            }))
        })
    }),
    ("runners-toml", |b| text(b, |t| each(read_runners_toml(FILE, t)))),
    ("runners-csv", |b| text(b, |t| each(read_runners_csv(FILE, t)))),
    ("rules", |b| text(b, |t| each(read_rules(FILE, t)))),
    ("readings", |b| text(b, |t| each(parse_readings(FILE, t, &RULES)))),
    ("notes", |b| text(b, |t| each(read_notes(FILE, t, &TRACK)))),
    ("line", |b| text(b, |t| each(read_line(FILE, t, &TRACK)))),
    ("ride", |b| {
        let here = RideFor { track: "Quillmere", setup_sha256: "0123", finish_m: TRACK.finish_m() };
        text(b, |t| each(read_ride(FILE, t, &here)))
    }),
    ("sheet", |b| text(b, sheet)),
    ("log", |b| text(b, |t| each(read_log(FILE, t)))),
    ("notebook", |b| text(b, |t| told(Notebook::read(FILE, t)))),
    ("questions", |b| text(b, |t| each(read_questions(FILE, t)))),
    ("study", |b| text(b, |t| told(read_study(FILE, t)))),
    ("evening", |b| text(b, |t| told(read_plan_file(FILE, t)))),
    ("travel", |b| text(b, |t| told(read_travel_file(FILE, t)))),
    ("calibration", |b| text(b, |t| told(read_calibration(FILE, t)))),
    ("samples", |b| text(b, |t| each(read_keyed(FILE, t)))),
    ("plausible", |b| text(b, |t| each(read_kept(FILE, t)))),
    ("sweep-table", |b| text(b, sweep)),
    ("sweep-sidecar", |b| {
        text(b, |t| {
            drop((differences(t, "{}"), differences(t, t)));
            Read::Refused
        })
    }),
    ("kept-plan", kept_plan),
    ("asked-rough", |b| request(b, "rough")),
    ("asked-setup", |b| request(b, "setup")),
    ("asked-contact", |b| request(b, "contact")),
    ("asked-ice", |b| request(b, "ice")),
    ("asked-place", |b| request(b, "place")),
    ("asked-line", |b| request(b, "line")),
    ("asked-evening", |b| request(b, "evening")),
    ("asked-calibration", |b| request(b, "calibration")),
    ("asked-trial", |b| request(b, "trial")),
    ("asked-check-track", |b| request(b, "check-track")),
    // the sizes and names of a request before its body are the web library's; what a key may be is ours
    ("set-up-keys", |b| {
        text(b, |t| {
            let sets: Vec<(String, String)> =
                t.lines().filter_map(|l| l.split_once('=')).map(|(k, v)| (k.into(), v.into())).collect();
            match read_setup(FILE, "", &sets) {
                Ok(setup) => Read::Value(format!("{setup:?}")),
                Err(_) => Read::Refused,
            }
        })
    }),
];
