//! `sagitta sweep` with rides with mistakes: what they add to the table, and what it refuses of them.

use crate::cli::sagitta;
use std::fs;
use std::path::Path;
use sweep_runner::sweep_table::SweepTable;

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
    let none = ["entry_m", "entry_yaw_rad", "timing_s", "amount", "aim_m", "miss", "start_s"];
    let set: String = none.iter().map(|k| format!("\"skill.{k}\" = 0\n")).collect();
    let rest = format!("[rides]\nper_case = 3\nskill = \"elite\"\n[set]\n{set}{DESIGN}");
    let (status, said, table) = swept(&rest, &[]);
    assert_eq!(status, Some(0), "{said}");
    let table = SweepTable::read(&table).unwrap();
    let of = |name: &str| -> Vec<f64> { table.numbers(name).into_iter().map(Option::unwrap).collect() };
    let planned = of("finish_time_s");
    for name in ["p10_time_s", "median_time_s", "mean_time_s", "p90_time_s", "worst_tenth_time_s"] {
        for (a, b) in of(name).iter().zip(&planned) {
            assert!((a - b).abs() < 1e-4, "{name}: {a}, {b}"); // rides are promised to about 0.01 ms
        }
    }
    assert_eq!((of("lost_share"), of("walls_a_ride")), (vec![0.0; 2], vec![0.0; 2]));
    assert!(of("sd_time_s").iter().all(|sd| *sd < 1e-12)); // the same ride three times
    assert!(of("lost_share_error").iter().all(|e| *e > 0.0)); // three rides tell little
}

#[test]
fn cli_rides_have_the_same_bytes_at_any_number_of_threads() {
    let axes =
        "[[axis]]\nkey = \"skill.level\"\nlist = [\"novice\", \"elite\"]\n[outputs]\npictures = \"no\"\n";
    let rest = format!("[rides]\nper_case = 4\n{DESIGN}{axes}");
    let (status, said, one) = swept(&rest, &["--threads", "1"]);
    assert_eq!(status, Some(0), "{said}");
    assert!(said.contains("the same mistakes in every case"), "{said}");
    assert_eq!(one, swept(&rest, &["--threads", "2"]).2);
    // the novice's rides spread more than those of the elite, on both ices
    let table = SweepTable::read(&one).unwrap();
    assert_eq!(table.texts("skill.level"), ["novice", "elite", "novice", "elite"]);
    let spread = table.numbers("sd_time_s");
    for pair in spread.chunks(2) {
        assert!(pair[0].unwrap() > pair[1].unwrap(), "{spread:?}");
    }
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
        (format!("[rides]\nper_case = 0\n{DESIGN}"), "read 0, allowed a whole number from 1 to 100000"),
        (
            format!("[rides]\nper_case = 2\n{}", axis("skill.level", "\"master\"")),
            "allowed \"novice\", \"club\"",
        ),
    ] {
        let (status, said, table) = swept(&rest, &[]);
        assert_eq!((status, table.as_str()), (Some(2), ""), "{said}");
        assert!(said.contains(told), "missing \"{told}\" in\n{said}");
    }
}
