//! Whatever stands in a file: no reader panics, none lets through what is no number, and every fault names its place.

use evidence::motion_log::read_log;
use evidence::notebook::Notebook;
use evidence::questions::read_questions;
use evidence::sheet::read::read_sheet;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngSeed, TestRunner};
use sled_bench::readings::{ReadingRules, parse_readings};
use sled_bench::rules::reading::read_rules;
use sled_bench::runner_files::{read_runners_csv, read_runners_toml};
use sled_dynamics::riding::line_file::read_line;
use sled_dynamics::riding::notes_read::read_notes;
use sled_dynamics::riding::ride_file::{RideFor, read_ride};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::file::read_setup;
use std::fmt::{Debug, Display};
use std::fs::read_to_string;
use sweep_runner::evening::plan_file::read_plan_file;
use sweep_runner::evening::travel_file::read_travel_file;
use sweep_runner::plausible::calibrated::read_calibration;
use sweep_runner::plausible::keyed::read_keyed;
use sweep_runner::plausible::table::read_kept;
use sweep_runner::study::file::read_study;
use track_geometry::corner_list::read_corner_list;
use track_geometry::track::Track;
use track_geometry::track_builder::build_track;
use track_geometry::track_file::read_track;

/// Name of the file that is read, in every message.
const FILE: &str = "mine.txt";
/// Texts changed for each reader.
const CASES: u32 = 120;
/// What is put into texts: numbers that are none or too large, marks of the formats, letters of other kinds.
const BITS: [&str; 26] = [
    "NaN",
    "inf",
    "-inf",
    "-1",
    "0",
    "-0",
    "1e300",
    "1e-300",
    "-1e9",
    "999999999999999999999",
    "1,5",
    "",
    " ",
    ",",
    ";",
    "\"",
    "'",
    "\n",
    "\r\n",
    "=",
    "[",
    "]]",
    "#",
    "\u{e4}",
    "\u{1b}",
    "\u{feff}",
];

/// What came of a text: the value as it is printed for a programmer, or the faults.
type Read = Result<String, Vec<String>>;

fn told<T: Debug, E: Display>(read: Result<T, E>) -> Read {
    read.map(|v| format!("{v:?}")).map_err(|e| e.to_string().lines().map(String::from).collect())
}

fn each<T: Debug, E: Display>(read: Result<T, Vec<E>>) -> Read {
    read.map(|v| format!("{v:?}")).map_err(|all| all.iter().map(ToString::to_string).collect())
}

fn shipped(name: &str) -> String {
    read_to_string(format!("{}/../../{name}", env!("CARGO_MANIFEST_DIR"))).expect("it is there")
}

/// One change: where, as a share of the text; how; with what.
type Change = (f64, u8, prop::sample::Index);

fn changed(text: &str, changes: &[Change]) -> String {
    let mut text = text.to_string();
    for (share, how, bit) in changes {
        let mut at = ((text.len() as f64 * share) as usize).min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        let bit = BITS[bit.index(BITS.len())];
        let number = |c: char| c.is_ascii_digit() || c == '.' || c == '-';
        match how {
            0 => text.insert_str(at, bit),
            1 => {
                if let Some(c) = text[at..].chars().next() {
                    text.replace_range(at..at + c.len_utf8(), bit);
                }
            }
            // the next line twice, or not at all
            2 | 3 => {
                let from = text[..at].rfind('\n').map_or(0, |i| i + 1);
                let to = text[at..].find('\n').map_or(text.len(), |i| at + i + 1);
                let line = text[from..to].to_string();
                if *how == 2 { text.insert_str(from, &line) } else { text.replace_range(from..to, "") }
            }
            4 => text.truncate(at),
            // the next number is another one
            _ => {
                if let Some(from) = text[at..].find(number).map(|i| at + i) {
                    let to = text[from..].find(|c| !number(c)).map_or(text.len(), |i| from + i);
                    text.replace_range(from..to, bit);
                }
            }
        }
    }
    text
}

/// No case of a text read wrongly, or the least one that is.
fn holds(text: &str, read: impl Fn(&str) -> Read) {
    let config = Config {
        cases: CASES,
        failure_persistence: None,
        // the same texts each time
        rng_seed: RngSeed::Fixed(1),
        ..Config::default()
    };
    let change = (0.0..1.0_f64, 0..10_u8, any::<prop::sample::Index>());
    let changes = prop::collection::vec(change, 0..4);
    let result = TestRunner::new(config).run(&changes, |changes| {
        match read(&changed(text, &changes)) {
            Ok(value) => {
                for none in ["NaN", "inf", "-inf"] {
                    for (before, after) in [("(", ")"), (": ", ","), (": ", " }"), ("[", ","), (", ", "]")] {
                        let number = format!("{before}{none}{after}");
                        prop_assert!(!value.contains(&number), "{number} in {value}");
                    }
                }
            }
            Err(faults) => {
                prop_assert!(!faults.is_empty());
                for fault in faults {
                    prop_assert!(fault.contains(FILE), "{fault}");
                }
            }
        }
        Ok(())
    });
    if let Err(why) = result {
        panic!("{why}");
    }
}

fn quillmere() -> Track {
    let texts = ["track.toml", "stations.csv"].map(|n| shipped(&format!("tracks/quillmere/{n}")));
    let read = read_track("track.toml", &texts[0], "stations.csv", &texts[1]).expect("shipped");
    Track::new(read.track).expect("shipped")
}

/// A track of both texts, and its surface at every third of a metre.
fn track(words: &str, table: &str) -> Read {
    let read = read_track(FILE, words, FILE, table);
    let read = read.map_err(|f| f.to_string().lines().map(String::from).collect::<Vec<_>>())?;
    let track = Track::new(read.track).map_err(|e| vec![format!("{FILE}: {e}")])?;
    let (first_m, last_m) = track.surface.range_m();
    let mut heights = vec![];
    for i in 0..=200 {
        let at = track.surface.station(first_m + (last_m - first_m) * f64::from(i) / 200.0);
        heights.push([at.lowest_m(), at.height_m(at.left_edge[0]), at.height_m(at.right_edge[0])]);
    }
    Ok(format!("{:?} {heights:?}", track.data))
}

#[test]
fn exact_a_value_over_several_lines_is_told_on_one() {
    // found by fuzzing: the second line of such a fault named no file
    let several = "\"\"\"a\nb\"\"\"";
    let with = |name: &str, key: &str| {
        let text = shipped(name);
        let line = text.lines().find(|l| l.starts_with(key)).expect("it is there");
        text.replacen(line, &format!("{key} = {several}"), 1)
    };
    let reads: [Read; 5] = [
        told(read_setup(FILE, &with("examples/clubs-woman.toml", "roughness_um"), &[])),
        told(read_study(FILE, &with("examples/which-bow.toml", "seed"))),
        told(read_plan_file(FILE, &with("examples/evening.toml", "rides"))),
        told(read_travel_file(FILE, &with("examples/travel.toml", "rides"))),
        track(&with("tracks/quillmere/track.toml", "altitude_m"), &shipped("tracks/quillmere/stations.csv")),
    ];
    let notebook = told(Notebook::read(FILE, "entry,\"my\nown\",\"my\nown\"\n1,2,3\n"));
    for read in reads.into_iter().chain([notebook]) {
        let faults = read.expect_err("refused");
        assert!(faults.iter().all(|f| f.starts_with(FILE)), "{faults:?}");
        assert!(faults.iter().any(|f| f.contains("\\n")), "{faults:?}");
    }
}

#[test]
fn exact_tracks_of_any_text_are_read_or_refused_with_a_place() {
    // every tenth row is as good and quicker
    let (words, table) = (shipped("tracks/quillmere/track.toml"), shipped("tracks/quillmere/stations.csv"));
    let row = |(i, _): &(usize, &str)| i % 10 == 1 || *i == 0;
    let mut rows: Vec<&str> = table.lines().enumerate().filter(row).map(|(_, l)| l).collect();
    rows.extend(table.lines().last());
    let table = rows.join("\n") + "\n";
    holds(&table, |text| track(&words, text));
    holds(&words, |text| track(text, &table));
    let list = shipped("tracks/quillmere/corner_list.toml");
    holds(&list, |text| {
        let list = read_corner_list(FILE, text);
        // what is built knows the name of the list alone, and the caller that of the file
        told(list.and_then(|mut l| {
            l.name = FILE.into();
            build_track(&l)
        }))
    });
}

#[test]
fn exact_set_ups_and_runners_of_any_text_are_read_or_refused_with_a_place() {
    holds(&shipped("examples/clubs-woman.toml"), |text| told(read_setup(FILE, text, &[])));
    holds(&shipped("examples/runners.toml"), |text| each(read_runners_toml(FILE, text)));
    let records = read_runners_toml(FILE, &shipped("examples/runners.toml")).expect("shipped");
    let csv = sled_bench::runner_files::write_runners_csv(&records);
    holds(&csv, |text| each(read_runners_csv(FILE, text)));
    holds(&shipped("examples/rules.toml"), |text| each(read_rules(FILE, text)));
    let rules = ReadingRules::of(&Setup::with_defaults("a").runners.both, false);
    holds(&shipped("examples/readings.csv"), |text| each(parse_readings(FILE, text, &rules)));
}

#[test]
fn exact_rides_and_runs_of_any_text_are_read_or_refused_with_a_place() {
    let track = quillmere();
    holds(&shipped("examples/notes.txt"), |text| each(read_notes(FILE, text, &track)));
    let line =
        "corner,position,offset_m,height_m,band_m\n6,entry,0.2,,0.1\n6,highest,,1.6,0.2\n3,exit,-0.1,,\n";
    holds(line, |text| each(read_line(FILE, text, &track)));
    holds(&shipped("examples/timing-sheet.csv"), |text| {
        // rows that are no runs are faults beside the runs
        let sheet =
            read_sheet(FILE, text).map_err(|all| all.iter().map(ToString::to_string).collect::<Vec<_>>())?;
        let faults: Vec<String> = sheet.faults.iter().map(ToString::to_string).collect();
        if faults.is_empty() { Ok(format!("{:?}", sheet.runs)) } else { Err(faults) }
    });
    holds(&shipped("examples/log.csv"), |text| each(read_log(FILE, text)));
    let here = RideFor { track: "Quillmere", setup_sha256: "0123", finish_m: track.finish_m() };
    holds(&shipped("tests/fuzz/seeds/ride.csv"), |text| each(read_ride(FILE, text, &here)));
    let book =
        "entry,date,run,finish_s,notes\n1,2026-01-02,1,56.29,\"two, or three\"\n2,2026-01-02,2,55.9,=1+1\n";
    holds(book, |text| told(Notebook::read(FILE, text)));
}

#[test]
fn exact_studies_and_plans_of_any_text_are_read_or_refused_with_a_place() {
    for study in ["bow-and-ice", "which-bow", "what-a-step-is-worth"] {
        holds(&shipped(&format!("examples/{study}.toml")), |text| told(read_study(FILE, text)));
    }
    holds(&shipped("examples/questions.toml"), |text| each(read_questions(FILE, text)));
    holds(&shipped("tests/fuzz/seeds/calibration.toml"), |text| told(read_calibration(FILE, text)));
    holds(&shipped("tests/fuzz/seeds/samples.csv"), |text| each(read_keyed(FILE, text)));
    holds(&shipped("tests/fuzz/seeds/plausible.csv"), |text| each(read_kept(FILE, text)));
    holds(&shipped("examples/evening.toml"), |text| told(read_plan_file(FILE, text)));
    holds(&shipped("examples/travel.toml"), |text| told(read_travel_file(FILE, text)));
}
