//! The one rule of choice over the runs of a sweep: that it is the rule, and that nothing is lost on the way.

use crate::cli::sagitta;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use sweep_runner::rides::choice::{Candidate, Standing, choose};
use sweep_runner::rides::paired::ALLOWED_LOST;
use sweep_runner::study::Study;
use sweep_runner::study::file::read_study;
use sweep_runner::study::report::report;
use sweep_runner::study::table::{SweepTable, header, row};

/// A study of bows on two ices, the bows out of their order.
fn text(per_case: usize, bows: &str) -> String {
    format!(
        "name = \"choice\"\nmodel = \"planned\"\nseed = 3\n[rides]\nper_case = {per_case}\n[outputs]\npictures = \"no\"\n\
         [design]\nkind = \"grid\"\n[[axis]]\nkey = \"runners.bow_mm\"\nlist = [{bows}]\n\
         [[axis]]\nkey = \"ice.temperature_c\"\nlist = [-4, -9]\n"
    )
}

fn study(per_case: usize, bows: &str) -> Study {
    let (track, base) = (crate::made::shipped("quillmere"), crate::made::setup("clubs-man", &[]));
    Study::new(read_study("choice.toml", &text(per_case, bows)).unwrap(), track, base).unwrap()
}

#[test]
fn exact_the_choice_of_a_sweep_is_the_rule_on_its_rides() {
    let study = study(12, "4, 1, 5");
    let base = study.base(&[0, 1, 2, 3, 4, 5], &|_| {});
    let made: Vec<_> = (0..6).map(|case| study.made(case, &base)).collect();
    let mut table = header(&study);
    made.iter().enumerate().for_each(|(case, made)| table += &row(&study, case, made));
    let said = report(&study, &SweepTable::read(&table).unwrap());
    let notes = said.notes.join("\n");
    let (name, figures) = said.figures.unwrap();
    assert_eq!(name, "choice.csv");
    let figures = SweepTable::read(&figures).unwrap();
    // the rides themselves, by bow: 1, 4, 5 mm are the cases 1, 0, 2 of the first axis; the club's man has 4 mm
    let mut told = Vec::new();
    for (ice, name) in [(0, "-4"), (1, "-9")] {
        let cases = [2 + ice, ice, 4 + ice];
        let candidates = cases.map(|c| {
            let made = made[c].as_ref().unwrap();
            Candidate {
                rides: made.ensemble.as_ref(),
                numerical_s: made.descent.numerical_error_s,
                by_plan_s: 0.0,
            }
        });
        let choice = choose(&candidates, Some(1), ALLOWED_LOST);
        let words = choice.words(&["1 mm", "4 mm", "5 mm"].map(String::from), ALLOWED_LOST);
        let head =
            format!("choice of runners.bow_mm, ice.temperature_c {name}, 4 mm being on the sled: {words}");
        assert!(notes.contains(head.trim_end()), "missing {head} in\n{notes}");
        for (i, case) in cases.into_iter().enumerate() {
            let (word, behind_s) = match choice.standings[i] {
                Standing::Front => ("front", Some(0.0)),
                Standing::Alike { behind_s } => ("alike", Some(behind_s)),
                Standing::Slower { behind_s } => ("slower", Some(behind_s)),
                Standing::LosesMore { behind_s } => ("loses more", Some(behind_s)),
                Standing::Out { .. } => ("out", None),
                Standing::NoRide => ("no ride", None),
            };
            assert_eq!(figures.texts("standing")[case], word);
            assert_eq!(figures.numbers("behind_s")[case], behind_s.filter(|s| s.is_finite()));
            assert_eq!(figures.texts("advised")[case] == "yes", choice.advised == Some(i));
            told.push(word);
        }
    }
    // 1 mm is slower by half a second here, so that the rule has something to tell
    assert!(told.contains(&"front") && told.iter().any(|w| *w != "front" && *w != "alike"), "{told:?}");
}

#[test]
fn exact_too_many_rides_are_not_kept_and_said() {
    let table = SweepTable::read("case,outcome,finish_time_s,median_time_s\n").unwrap();
    let of = |per_case, bows| {
        let study = study(per_case, bows);
        (report(&study, &table).notes.join("\n"), header(&study).contains("ride_times_s"))
    };
    // five bows on two ices: a million rides, and ten more
    let (said, kept) = of(100_000, "1, 2, 3, 4, 5");
    assert!(kept && !said.contains("no choice"), "{said}");
    let (said, kept) = of(100_000, "1, 2, 3, 4, 5, 6");
    assert!(!kept && said.contains("no choice of runners.bow_mm: more than 1000000 rides"), "{said}");
    // five rides give no band
    let (said, kept) = of(5, "1, 2");
    assert!(!kept && !said.contains("choice"), "{said}");
}

#[test]
fn cli_the_choice_is_the_same_from_shards_and_of_a_table_that_is_there() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").canonicalize().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let place = |name: &str| folder.path().join(name).display().to_string();
    let beside = format!(
        "track = \"{0}/tracks/quillmere\"\nsetup = \"{0}/examples/clubs-man.toml\"\n",
        root.display()
    );
    fs::write(place("study.toml"), beside + &text(6, "4, 3")).unwrap();
    let run = |arguments: &[&str]| {
        let output = sagitta(&[&["sweep"], arguments].concat()).output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    };
    let (study, whole, shards, merged) =
        (place("study.toml"), place("whole"), place("shards"), place("merged"));
    let said = run(&[&study, "--out", &whole]);
    assert_eq!(said.matches("\nchoice of runners.bow_mm, ").count(), 2, "{said}");
    // nothing is ridden any more: all is in the table
    assert_eq!(run(&[&study, "--out", &whole]), said);
    for shard in ["1/2", "2/2"] {
        run(&[&study, "--out", &shards, "--shard", shard]);
    }
    assert_eq!(run(&["merge", &study, &shards, "--out", &merged]), said);
    let files = |of: &str| -> BTreeMap<String, Vec<u8>> {
        let names = ["sweep.csv", "choice.csv"].map(|n| (n.to_string(), Path::new(of).join(n)));
        names.into_iter().map(|(name, path)| (name, fs::read(path).unwrap())).collect()
    };
    assert_eq!(files(&whole), files(&merged));
    let sidecar: serde_json::Value =
        serde_json::from_slice(&fs::read(Path::new(&whole).join("sweep.json")).unwrap()).unwrap();
    for (field, file) in [("columns", "sweep.csv"), ("figure_columns", "choice.csv")] {
        let named: Vec<&str> =
            sidecar[field].as_array().unwrap().iter().map(|c| c["name"].as_str().unwrap()).collect();
        let text = String::from_utf8(files(&whole)[file].clone()).unwrap();
        assert_eq!(text.lines().next().unwrap(), named.join(","));
        assert_eq!(text.lines().count(), 5);
    }
}
