//! Slips of the keyboard, files of another kind, tables as a spreadsheet saves them: what they are answered with.

use crate::refused::{ended, refusal, root, says};
use std::fs;
use std::time::{Duration, Instant};

#[test]
fn cli_a_file_of_another_kind_is_told_by_its_kind() {
    let folder = tempfile::tempdir().unwrap();
    let of = |name: &str, bytes: &[u8]| {
        let file = folder.path().join(name);
        fs::write(&file, bytes).unwrap();
        refusal(&["trial", "analyse", file.to_str().unwrap()])
    };
    says(&of("a.csv", b"\x89PNG\r\n\x1a\n\0"), &["a.csv: is a picture, not text"]);
    says(&of("b.csv", b"PK\x03\x04\xff"), &["b.csv: is a spreadsheet", "save the table as CSV (UTF-8)"]);
    says(&of("c.csv", b"\xff\xfer\0u\0n\0"), &["c.csv: is UTF-16 text; save it as UTF-8"]);
    let said = refusal(&["descend", "--setup", "examples/clubs-man"]);
    says(&said, &["no such file; nearest is examples/clubs-man.toml"]);
    says(&refusal(&["descend", "--setup", "tracks/quillmere"]), &["it is a folder; name a file"]);
    // one fault of nine lines is one line
    let said = refusal(&["descend", "--setup", "examples/timing-sheet.csv"]);
    says(&said, &["timing-sheet.csv, line 1", "not TOML", "(and so in 8 more lines)"]);
    assert_eq!(said.trim().lines().count(), 2, "{said}");
    let said = refusal(&["trial", "plan", "examples/timing-sheet.csv"]);
    says(&said, &["a list of questions is a TOML file", "--spread-of examples/timing-sheet.csv"]);
}

#[test]
fn cli_results_without_a_place_are_refused_before_the_work() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    fs::write(&book, "mine").unwrap();
    let (file, below, in_it) = (book.to_str().unwrap(), book.join("x"), folder.path().to_str().unwrap());
    let begun = Instant::now();
    for out in [file.to_string(), below.display().to_string()] {
        // minutes of work
        let said = refusal(&["compare", "--variant", "runners.bow_mm=2", "--rides", "100000", "--out", &out]);
        says(&said, &[&format!("--out {out}: cannot be written: {file} is a file; allowed: a folder")]);
    }
    let said = refusal(&["plausible", "--samples", "65536", "--out", in_it]);
    says(&said, &[&format!("--out {in_it}"), "a folder of that name is there; allowed: the name of a file"]);
    says(&refusal(&["page", &format!("--write={in_it}")]), &["--write", "allowed: the name of a file"]);
    assert!(begun.elapsed() < Duration::from_secs(30), "{:?}", begun.elapsed());
    assert_eq!(fs::read_to_string(&book).unwrap(), "mine");
}

#[test]
fn cli_slips_of_the_keyboard_are_answered_with_what_was_meant() {
    let said = refusal(&["descend", "--set", "runners.bow_mm", "=", "3"]);
    says(&said, &["KEY=VALUE has no blanks around its \"=\""]);
    says(&refusal(&["evening"]), &["no plan is named", "`sagitta evening --example`"]);
    let said = refusal(&["evening", "examples/clubs-woman.toml"]);
    says(&said, &["this plan cannot be used; `sagitta evening --example` prints one", "(sled): unknown key"]);
    let said = refusal(&["compare", "--variant", "runners.bow_mm=2", "--rides", "1e6"]);
    says(&said, &["--rides 1e6: allowed 2 to 100000, a whole number in digits"]);
    let said = refusal(&["balance", "--limit", "102kg"]);
    says(&said, &["--limit 102kg: allowed 30 to 300 kg, the number alone"]);
    says(&refusal(&["trial", "next"]), &["no set-ups", "--setups A,B"]);
    let steering = |date| ["steering", "examples/steering-sheet.csv", "--run", "1", "--date", date];
    says(
        &refusal(&steering("21.1.2026")),
        &["not on the sheet; allowed are 1 of 2026-01-20, 2 of 2026-01-20"],
    );
}

#[test]
fn cli_a_text_without_its_marks_and_half_a_key_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.toml");
    let shipped = fs::read_to_string(root().join("examples/clubs-woman.toml")).unwrap();
    fs::write(&file, shipped.replace("friction = \"film\"", "friction = film")).unwrap();
    let said = refusal(&["descend", "--setup", file.to_str().unwrap()]);
    says(&said, &["mine.toml, line 42", "a text stands in quotation marks, as in friction = \"film\""]);
    let set = |key: &str| refusal(&["descend", "--set", &format!("{key}=3")]);
    says(&set("left.bow"), &["(left.bow): no such key, nearest is runners.left.bow_front_mm"]);
    says(&set("bow"), &["(bow): no such key, nearest is runners.bow_mm"]);
    says(&set("drag"), &["(drag): no such key, nearest is air.drag_area_m2"]);
    // samples with a heading that is not theirs: one fault, not one for each column behind
    let samples = folder.path().join("samples.csv");
    fs::write(&samples, "sample,seed,runners.rough,runners.groove_width_mm\n1,1,0.2,1\n").unwrap();
    let two = ["compare", "--variant", "runners.bow_mm=2", "--unknowns", samples.to_str().unwrap()];
    let said = refusal(&two);
    says(
        &said,
        &["samples.csv, line 1, column 3 (heading): got \"runners.rough\"", "`sagitta plausible` writes"],
    );
    assert!(said.trim().lines().count() <= 3, "{said}");
}

#[test]
fn cli_a_bow_in_metres_is_told() {
    let meant = "0.004 mm is less than a caliper reads; bow is in millimetres, and 0.004 m is written 4";
    says(&refusal(&["bow", "target", "--bow", "0.004"]), &["--bow 0.004", meant]);
    says(&refusal(&["bow", "target", "--left", "4,0.004"]), &["--left 4,0.004", meant]);
    let (status, _, err) = ended(&["descend", "--model", "guided", "--set", "runners.bow_mm=0.004"]);
    assert!(status == Some(0) && err.contains(meant), "{err}");
    let (_, _, err) = ended(&["descend", "--model", "guided", "--set", "runners.bow_mm=0"]);
    assert!(!err.contains("millimetres"), "{err}");
}

#[test]
fn cli_a_runner_of_which_nothing_is_asked_stays_as_it_is() {
    let (status, out, err) = ended(&["bow", "target", "--left", "4"]);
    assert_eq!(status, Some(0), "{err}");
    says(&out, &["target: the left runner's bow as asked for; the right runner is left as it is"]);
    let stays = out.lines().filter(|l| l.trim_start().starts_with("right") && l.contains("as it is"));
    assert_eq!(stays.count(), 2, "{out}");
    let (_, out, _) = ended(&["bow", "target", "--bow", "4"]);
    assert!(out.contains("target: as asked for") && !out.contains("as it is"), "{out}");
}

#[test]
fn cli_a_sheet_that_a_spreadsheet_saved_is_read_as_it_was_meant() {
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(root().join("examples/timing-sheet.csv")).unwrap();
    let file = folder.path().join("sheet.csv");
    let analysed = |text: String| {
        fs::write(&file, text).unwrap();
        ended(&["trial", "analyse", file.to_str().unwrap()])
    };
    let (status, plain, err) = analysed(text.clone());
    assert_eq!(status, Some(0), "{err}");
    // a mark of UTF-8, empty columns at the right, empty rows at the end, line ends of Windows
    let ends: String = text.lines().map(|l| format!("{l},,\r\n")).collect();
    let (status, saved, err) = analysed(format!("\u{feff}{ends},,,,,,,,,\r\n,,,,,,,,,\r\n"));
    assert_eq!((status, &saved), (Some(0), &plain), "{err}");
    let (_, _, err) = analysed(text.replace(",55.42,", ",,"));
    says(&err, &["no finish time, so not counted: run 2 (line 3)"]);
    let (status, _, err) = analysed(text.replace(",55.42,", ",DNF,"));
    assert_eq!(status, Some(2));
    says(&err, &["line 3, column 7", "got DNF", "keeps its row, with that cell empty"]);
    let (_, _, err) = analysed(text.replacen("start s,eye 3 s,finish s", "finish s,eye 3 s,start s", 1));
    says(&err, &["are start and finish swapped", "more of this kind"]);
    assert!(err.lines().count() < 10, "{err}");
    let (_, _, err) = analysed(text.lines().skip(1).map(|l| format!("{l}\n")).collect());
    says(&err, &["line 1, column 1 (heading): got 1", "the first line of a sheet holds its headings"]);
}
