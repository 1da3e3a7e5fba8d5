//! `sagitta sweep` with rides with mistakes: what they add to the table, and what it refuses of them.

use crate::cli::sagitta;
use std::fs;
use std::path::Path;
use sweep_runner::study::table::SweepTable;

/// Sweeps a study on Quillmere; gives exit status, what was said, and the table if there is one.
fn swept(rest: &str, more: &[&str]) -> (Option<i32>, String, String) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").canonicalize().unwrap();
    let root = root.display();
    let folder = tempfile::tempdir().unwrap();
    let study = folder.path().join("study.toml");
    let head = format!(
        "name = \"rides\"\ntrack = \"{root}/tracks/quillmere\"\nsetup = \"{root}/examples/clubs-man.toml\"\n\
         model = \"planned\"\nseed = 3\n"
    );
    fs::write(&study, head + rest).unwrap();
    let (study, out) = (study.display().to_string(), folder.path().join("out"));
    let out_text = out.display().to_string();
    let output =
        sagitta(&[&["sweep", study.as_str(), "--out", out_text.as_str()], more].concat()).output().unwrap();
    let said = [output.stdout, output.stderr].map(|t| String::from_utf8(t).unwrap()).concat();
    let table = fs::read_to_string(out.join("sweep.csv")).unwrap_or_default();
    (output.status.code(), said, table)
}

/// One axis that leaves everything else as it is.
const DESIGN: &str = "[design]\nkind = \"grid\"\n[[axis]]\nkey = \"ice.temperature_c\"\nlist = [-5, -9]\n";

#[test]
fn cli_rides_without_spread_are_the_ride_without_mistakes() {
    let none = [
        "entry_m",
        "entry_yaw_rad",
        "timing_s",
        "amount",
        "aim_m",
        "miss",
        "start_s",
        "sight_m",
        "sight_rad",
        "unseen_m",
        "unseen_rad",
        "disturbance_n_m",
    ];
    let set: String = none.iter().map(|k| format!("\"skill.{k}\" = 0\n")).collect();
    let rest = format!("[rides]\nper_case = 3\nskill = \"elite\"\n[set]\n{set}{DESIGN}");
    let (status, said, table) = swept(&rest, &[]);
    assert_eq!(status, Some(0), "{said}");
    let table = SweepTable::read(&table).unwrap();
    let of = |name: &str| -> Vec<f64> { table.numbers(name).into_iter().map(Option::unwrap).collect() };
    let planned = of("finish_time_s");
    for name in ["p10_time_s", "median_time_s", "mean_finished_time_s", "p90_time_s", "worst_tenth_time_s"] {
        for (a, b) in of(name).iter().zip(&planned) {
            assert!((a - b).abs() < 1e-4, "{name}: {a}, {b}"); // rides are promised to about 0.01 ms
        }
    }
    assert_eq!((of("lost_share"), of("touches_a_ride")), (vec![0.0; 2], vec![0.0; 2]));
    assert_eq!(table.texts("among_lost"), ["", ""]);
    assert!(of("sd_finished_time_s").iter().all(|sd| *sd < 1e-12)); // the same ride three times
    assert!(of("lost_share_error").iter().all(|e| *e > 0.0)); // three rides tell little
}

#[test]
fn cli_rides_have_the_same_bytes_at_any_number_of_threads() {
    let axes =
        "[[axis]]\nkey = \"skill.level\"\nlist = [\"novice\", \"elite\"]\n[outputs]\npictures = \"no\"\n";
    let rest = format!("[rides]\nper_case = 8\n{DESIGN}{axes}");
    let (status, said, one) = swept(&rest, &["--threads", "1"]);
    assert_eq!(status, Some(0), "{said}");
    assert!(said.contains("the same mistakes in every case"), "{said}");
    assert_eq!(one, swept(&rest, &["--threads", "2"]).2);
    // the novice's rides spread more than those of the elite, on both ices
    let table = SweepTable::read(&one).unwrap();
    assert_eq!(table.texts("skill.level"), ["novice", "elite", "novice", "elite"]);
    let spread = table.numbers("sd_finished_time_s");
    for pair in spread.chunks(2) {
        assert!(pair[0].unwrap() > pair[1].unwrap(), "{spread:?}");
    }
}

#[test]
fn cli_rides_of_one_case_are_told_from_the_base_set_up() {
    // the first case is the base set-up itself, the second has another bow; the club's man has 4 mm
    // with small errors, so that no ride is lost and the sums can be checked
    let design = "[rides]\nper_case = 40\nskill = \"elite\"\n[set]\n\"skill.aim_m\" = 0.02\n\
        \"skill.miss\" = 0\n\"skill.timing_s\" = 0.02\n[design]\nkind = \"grid\"\n[[axis]]\n\
        key = \"runners.bow_mm\"\nlist = [4, 4.3]\n";
    let (status, said, two) = swept(design, &["--threads", "2"]);
    assert_eq!(status, Some(0), "{said}");
    let table = SweepTable::read(&two).unwrap();
    let of = |name: &str| table.numbers(name);
    // the same set-up, the same mistakes: the same to the last bit
    assert_eq!(table.texts("against_reference")[0], "the same");
    for name in [
        "difference_s",
        "mean_finished_difference_s",
        "difference_low_s",
        "difference_high_s",
        "lost_more_share",
    ] {
        assert_eq!(of(name)[0], Some(0.0), "{name}");
    }
    assert_eq!(
        (of("faster_share")[0], of("faster_share_error")[0], of("pairs")[0]),
        (Some(0.5), Some(0.0), Some(40.0))
    );
    // the elite loses no ride here, so that the difference of the means is the mean of the differences
    assert_eq!((of("pairs")[1], of("finished_pairs")[1]), (Some(40.0), Some(40.0)));
    let mean = of("mean_finished_time_s");
    let apart = mean[1].unwrap() - mean[0].unwrap();
    assert!((of("mean_finished_difference_s")[1].unwrap() - apart).abs() < 1e-12); // rounding of sums of forty times of 50 s
    // the same mistakes cancel: the band is narrower than that of two independent medians
    let [low, high] = ["difference_low_s", "difference_high_s"].map(|name| of(name)[1].unwrap());
    let alone = of("median_time_error_s");
    let independent = alone[0].unwrap().hypot(alone[1].unwrap());
    let told = of("difference_s")[1].unwrap();
    assert!(low <= told && told <= high && high - low < 2.0 * 1.96 * 0.8 * independent);
    assert!(said.contains("ride by ride against the base set-up,"), "{said}");
    // the same bytes where the rides of one case after the other share one thread, or eight
    assert_eq!(two, swept(design, &["--threads", "1"]).2);
    assert_eq!(two, swept(design, &["--threads", "8"]).2);
}

#[test]
fn cli_each_case_is_told_from_the_base_set_up_in_its_own_conditions() {
    let rest = "[rides]\nper_case = 4\n[design]\nkind = \"grid\"\n[[axis]]\nkey = \"runners.bow_mm\"\nlist = [4, 4.2]\n\
        [[axis]]\nkey = \"ice.temperature_c\"\nlist = [-4, -9]\n[outputs]\npictures = \"no\"\n";
    let (status, said, table) = swept(rest, &[]);
    assert_eq!(status, Some(0), "{said}");
    let table = SweepTable::read(&table).unwrap();
    // the base bow is the same as the base on either ice, though the ice of neither is that of the set-up
    assert_eq!(table.texts("ice.temperature_c"), ["-4", "-9", "-4", "-9"]);
    assert_eq!(table.texts("against_reference")[..2], ["the same", "the same"]);
    assert_ne!(table.numbers("difference_s")[2], table.numbers("difference_s")[3]);
    assert!(said.contains("the base set-up in the conditions of the case"), "{said}");
}

#[test]
fn exact_a_kept_ride_is_the_base_plan_on_another_set_up() {
    use sled_dynamics::motion::precision::{Detail, Precision};
    use sweep_runner::rides::prepared::{Attempt, Prepared, Ready};
    use sweep_runner::study::Study;
    use sweep_runner::study::file::read_study;
    let (track, base) = (crate::made::shipped("quillmere"), crate::made::setup("clubs-man", &[]));
    let study = |plan: &str| {
        let text = format!(
            "name = \"kept\"\nmodel = \"planned\"\nseed = 1\n[rides]\nplan = \"{plan}\"\n[design]\nkind = \"grid\"\n\
             [[axis]]\nkey = \"runners.bow_mm\"\nlist = [4, 5]\n"
        );
        Study::new(read_study("kept.toml", &text).unwrap(), track.clone(), base.clone()).unwrap()
    };
    let times = |study: &Study| -> Vec<f64> {
        let base = study.base(&[0, 1], &|_| ());
        (0..2).map(|case| study.made(case, &base).unwrap().descent.finish_time_s.unwrap()).collect()
    };
    let (kept, planned) = (times(&study("base")), times(&study("each-case")));
    // by hand: the plan of the base set-up, ridden on the other
    let lag_s = base.pilot.lag_s;
    let plan = Ready::new(&track, &base).unwrap().plan(lag_s, None).unwrap();
    for (bow_mm, told) in [4.0, 5.0].into_iter().zip(&kept) {
        let mut other = base.clone();
        sled_dynamics::setup::keys::set(&mut other, "runners.bow_mm", bow_mm).unwrap();
        let ridden = Prepared::new(Ready::new(&track, &other).unwrap(), plan.clone(), lag_s).unwrap();
        let descent = ridden.descent(&Attempt::perfect(), Precision::default(), Detail::Bare);
        assert_eq!(descent.finish_time_s, Some(*told), "{bow_mm} mm");
    }
    // on the base set-up planning again finds hardly anything, on another it finds time
    assert!((kept[0] - planned[0]).abs() < 6e-3, "{kept:?} {planned:?}"); // a plan that goes on from another finds up to 4 ms
    assert!(planned[1] < kept[1] - 2e-3, "{kept:?} {planned:?}");
}

#[test]
fn cli_rides_that_change_nothing_are_refused() {
    let axis = |key: &str, list: &str| format!("{DESIGN}[[axis]]\nkey = \"{key}\"\nlist = [{list}]\n");
    for (rest, told) in [
        (axis("skill.level", "\"club\""), "skill.level changes nothing here; it needs [rides] with per_case"),
        (
            format!("[rides]\nper_case = 2\n{}", axis("pilot.lag_s", "0.2")),
            "pilot.lag_s changes nothing here; it needs skill.lag_s in its place",
        ),
        (
            format!("[set]\n\"skill.aim_m\" = 0.1\n{DESIGN}"),
            "skill.aim_m changes nothing here; it needs [rides] with per_case",
        ),
        (format!("[rides]\nper_case = 0\n{DESIGN}"), "got 0; allowed: a whole number from 1 to 100000"),
        (
            format!("[rides]\nper_case = 2\n{}", axis("skill.level", "\"master\"")),
            "allowed: \"novice\", \"club\"",
        ),
    ] {
        let (status, said, table) = swept(&rest, &[]);
        assert_eq!((status, table.as_str()), (Some(2), ""), "{said}");
        assert!(said.contains(told), "missing \"{told}\" in\n{said}");
    }
}

#[test]
fn exact_more_conditions_than_are_ridden_are_said() {
    use sweep_runner::study::Study;
    use sweep_runner::study::against::Against;
    use sweep_runner::study::file::read_study;
    use sweep_runner::study::report::report;
    let (track, base) = (crate::made::shipped("quillmere"), crate::made::setup("clubs-man", &[]));
    let study = |points: usize| {
        let text = format!(
            "name = \"many\"\nmodel = \"planned\"\nseed = 1\n[rides]\nper_case = 6\n[design]\nkind = \"sobol\"\n\
             points = {points}\n[[axis]]\nkey = \"runners.bow_mm\"\nfrom = 3\nto = 5\n\
             [[axis]]\nkey = \"ice.temperature_c\"\nfrom = -9\nto = -3\n"
        );
        Study::new(read_study("many.toml", &text).unwrap(), track.clone(), base.clone()).unwrap()
    };
    // each point has ice of its own: 32 are ridden, 33 are not
    let (few, many) = (study(32), study(33));
    assert_eq!(few.against(), Against::BaseInConditions);
    assert_eq!(many.against(), Against::BaseBeyondConditions);
    let table = SweepTable::read("case,outcome,finish_time_s,median_time_s\n").unwrap();
    let said = |study: &Study| report(study, &table).notes.join("\n");
    assert!(said(&many).contains("warning: the cases have more than 32 conditions"), "{}", said(&many));
    assert!(!said(&few).contains("warning"), "{}", said(&few));
}
