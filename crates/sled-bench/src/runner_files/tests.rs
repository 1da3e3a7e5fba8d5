//! Checks of runner records in files.

use super::*;
use crate::runner_record::NUMBERS;

/// Line, column (0: none) and key of a fault.
fn place_of(fault: &FileFault) -> (usize, usize, &str) {
    let place = &fault.place;
    (place.line.unwrap_or(0), place.column.unwrap_or(0), place.key.as_deref().unwrap_or(""))
}

fn awkward() -> Vec<RunnerRecord> {
    let mut a = RunnerRecord {
        pair: "pair \"A\", long".into(),
        scratches: "one, 3 cm,\nright runner".into(),
        history: "re-ground: 2nd time \\ new; caf\u{e9}".into(),
        ..RunnerRecord::default()
    };
    // digits that binary fractions lack, and every number of one record
    for (i, q) in a.numbers.iter_mut().enumerate() {
        let key = &KEYS[i];
        q.value = Some(key.least + (key.most - key.least) * 0.1 / 3.0);
        q.error = Some(0.1 + 0.2 * i as f64 / 7.0);
    }
    // nothing known but the name; an error without a value
    let b = RunnerRecord { pair: "B".into(), ..RunnerRecord::default() };
    let mut c = RunnerRecord { pair: "C".into(), ..RunnerRecord::default() };
    c.numbers[2].error = Some(0.3);
    c.numbers[7].value = Some(0.0);
    // what a reader of CSV takes for a comment, and a spreadsheet for formulas
    let d = RunnerRecord { pair: "#1".into(), history: "- bought used".into(), ..RunnerRecord::default() };
    let e = RunnerRecord { pair: "=1+1".into(), scratches: "@left".into(), ..RunnerRecord::default() };
    vec![a, b, c, d, e]
}

#[test]
fn exact_records_go_through_both_files_without_loss() {
    let records = awkward();
    let toml = write_runners_toml(&records);
    assert_eq!(read_runners_toml("a.toml", &toml).expect("good"), records, "{toml}");
    let csv = write_runners_csv(&records);
    let back = read_runners_csv("a.csv", &csv).expect("good");
    assert_eq!(back, records, "{csv}");
    assert!(
        csv.contains("\n\"#1\",") && csv.contains("\n'=1+1,") && csv.contains(",'- bought used"),
        "{csv}"
    );
    // and the texts are the same bytes the second time
    assert_eq!(write_runners_csv(&back), csv);
    assert_eq!(write_runners_toml(&back), toml);
}

#[test]
fn exact_every_fault_of_a_csv_with_its_place() {
    let text = "pair,diameter_mm,roughness_um,roughness_error_um\n,16,0.2,\nA,-16,abc,-1\nA,16,nan,0.1\n";
    let found = read_runners_csv("r.csv", text).expect_err("bad");
    let got: Vec<_> = found.iter().map(place_of).collect();
    let wanted = [
        (2, 1, "pair"),
        (3, 2, "diameter_mm"),
        (3, 3, "roughness_um"),
        (3, 4, "roughness_error_um"),
        (4, 3, "roughness_um"),
        (4, 1, "pair"),
    ];
    assert_eq!(got, wanted);
    let found = read_runners_csv("r.csv", "pair,colour\nA,red\n").expect_err("bad");
    assert_eq!((place_of(&found[0]).0, place_of(&found[0]).1, found[0].got.as_str()), (1, 2, "colour"));
    let found = read_runners_csv("r.csv", "pair,diameter_mm,diameter_mm\nA,16,15\n").expect_err("twice");
    assert_eq!((found.len(), place_of(&found[0]).0, place_of(&found[0]).1), (1, 1, 3));
    let long = format!("pair,history\nA,{}\n", "x".repeat(501));
    let found = read_runners_csv("r.csv", &long).expect_err("long");
    assert_eq!(place_of(&found[0]), (2, 2, "history"));
    assert!(read_runners_csv("r.csv", "").is_err());
    let found = read_runners_csv("r.csv", "pair,history\nA\u{1b}[2J,new\n").expect_err("escape");
    assert_eq!(place_of(&found[0]), (2, 1, "pair"));
    assert!(!found[0].to_string().contains('\u{1b}'), "{}", found[0]);
}

#[test]
fn exact_every_fault_of_a_toml_with_its_place() {
    let text = "colour = 1\n[[pair]]\nname = \"A\"\ndiameter_mm = \"16\"\nroughness_um = -1\nshine = 2\n";
    let found = read_runners_toml("r.toml", text).expect_err("bad");
    let mut got: Vec<_> = found.iter().map(place_of).collect();
    got.sort_unstable();
    assert_eq!(got, [(1, 1, "key"), (4, 15, "diameter_mm"), (5, 16, "roughness_um"), (6, 9, "key")]);
    let found =
        read_runners_toml("r.toml", "[[pair]]\nname = \"A\"\ndiameter_mm = 15,9\n").expect_err("comma");
    assert_eq!((found.len(), place_of(&found[0]).0), (1, 3));
    assert!(read_runners_toml("r.toml", "").expect_err("empty")[0].to_string().contains("no pairs"));
    assert_eq!(NUMBERS, KEYS.len());
}
