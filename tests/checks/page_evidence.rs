//! What the page tells of lines, sheets and trials beside what the commands print: the same numbers.

use crate::page::{CLUB, TRACK, cells, printed, told_of, words};
use serde_json::Value;
use std::path::Path;

/// The set-up of the controls when these were asked.
const MOVED: [&str; 6] = ["--track", TRACK, "--set", CLUB, "--set", "runners.bow_mm=2.5"];
const SHEET: &str = "tests/page/quillmere-sheet.csv";

/// As printed: a plain minus and `+-`.
fn plain(text: &str) -> String {
    text.replace('\u{2212}', "-").replace('\u{b1}', "+-")
}

fn with(before: &[&str], after: &[&str]) -> Vec<String> {
    before.iter().chain(&MOVED).chain(after).map(|s| (*s).to_string()).collect()
}

fn asked(arguments: &[String]) -> String {
    printed(&arguments.iter().map(String::as_str).collect::<Vec<_>>())
}

/// Every row of a table of the page stands in what was printed.
fn every_row(table: &Value, text: &str) -> usize {
    let lines: Vec<Vec<String>> = text.lines().map(cells).collect();
    let rows = table.as_array().unwrap();
    for row in rows {
        let row: Vec<String> = row.as_array().unwrap().iter().map(|c| plain(c.as_str().unwrap())).collect();
        let there = |line: &Vec<String>| {
            line.iter().filter(|c| !c.is_empty()).eq(row.iter().filter(|c| !c.is_empty()))
        };
        // a long head is broken into words by no blank of its own
        let joined = row.join(" ");
        let as_words = |line: &&str| line.split_whitespace().eq(joined.split_whitespace());
        assert!(lines.iter().any(there) || text.lines().any(|l| as_words(&l)), "{row:?}\n{text}");
    }
    rows.len()
}

fn every_word(list: &Value, text: &str) {
    let one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in list.as_array().unwrap() {
        let words = plain(words.as_str().unwrap());
        let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(one_line.contains(&words), "{words}\n{text}");
    }
}

pub fn the_line_is_that_of_losses(told: &Value, out: &Path) {
    let line = out.join("line.csv");
    let text = asked(&with(&["losses"], &["--line", line.to_str().unwrap()]));
    let met = plain(&words(told, "/line/met"));
    let (aim, beside) = met.split_once(". station").unwrap();
    let (aim, band) = aim.rsplit_once(": ").unwrap();
    assert!(text.contains(&format!("  {aim}; {band}\n    station{beside}")), "{met}\n{text}");
    let losses = told.pointer("/line/losses").unwrap();
    assert!(every_row(losses, &text) > 12, "{losses}");
    let verdict = plain(&words(told, "/line/verdict"));
    let gap = verdict.split(' ').next().unwrap();
    assert!(text.contains(&format!("gap {gap} ms")), "{verdict}\n{text}");
    let doing = words(told, "/line/doing");
    let error = doing.split("numerical error ").nth(1).unwrap().split(',').next().unwrap();
    assert!(
        text.contains(&format!("its numerical error {}", error.replace(" ms", " ms,"))),
        "{doing}\n{text}"
    );
    let corners = told.pointer("/line/corners").unwrap().as_array().unwrap();
    let six = corners.iter().find(|c| c[0] == "6").unwrap();
    assert!(six[2].as_str().unwrap().contains(" | "), "the told corner differs: {six}");
    // a place off the ice is refused in the words of the command
    let mut more = std::fs::read_to_string(&line).unwrap();
    more += "6,entry,3.5,,0.1\n";
    std::fs::write(out.join("off.csv"), more).unwrap();
    let arguments = with(&["losses"], &["--line", out.join("off.csv").to_str().unwrap()]);
    let refused = told_of(&arguments.iter().map(String::as_str).collect::<Vec<_>>());
    let why = plain(&words(told, "/line/refused"));
    assert!(why.contains("there is no such ice there") && refused.contains(&why), "{why}\n{refused}");
    // a what-if in words
    let text = asked(&with(&["losses"], &["--what-if", "2 m late into corner 6"]));
    let said: Vec<String> = (0..3).map(|i| plain(&words(told, &format!("/line/what_if/{i}")))).collect();
    let row = text.lines().map(cells).find(|c| c.len() == 4 && c[0].starts_with("corner 6: late")).unwrap();
    assert!(said[0].starts_with(&format!("{} ms", row[1])), "{said:?}\n{text}");
    assert!(text.contains(&format!("understood: {}", said[1])), "{said:?}\n{text}");
    assert!(said[2].contains(&format!("size: {} ms", row[2])), "{said:?}\n{text}");
}

pub fn the_sheet_is_that_of_calibrate(told: &Value) {
    for (name, after) in [("sheet", &[][..]), ("sheet_without", &["--leave-out", "3"])] {
        let text = asked(&with(&["calibrate", SHEET], after));
        let part = |what: &str| told.pointer(&format!("/{name}/{what}")).unwrap().clone();
        let tables = part("tables");
        let rows: Vec<usize> = tables.as_array().unwrap().iter().map(|t| every_row(t, &text)).collect();
        // residuals, unknowns, predictions, helps; each with a head
        let runs = 4 - after.len() / 2;
        assert_eq!(rows.len(), 4, "{rows:?}");
        assert_eq!([rows[0], rows[2]], [runs + 1; 2], "{rows:?}");
        assert_eq!(part("bands"), runs, "the chart has every run");
        assert!(rows[1] > 2 + runs && rows[3] > 4, "{rows:?}");
        every_word(&Value::from(vec![part("verdict"), part("together")]), &text);
        let flags = part("flags");
        every_word(&Value::from(flags.as_str().unwrap().lines().collect::<Vec<_>>()), &text);
        let parts = part("words");
        // the sheet is named as it was dropped, without its folder
        every_word(&parts, &text.replace(SHEET, "quillmere-sheet.csv"));
        assert!(parts.as_array().unwrap().len() > 8);
        let flagged = part("flagged").as_array().unwrap().len();
        assert_eq!(flagged > 0, text.lines().any(|l| l.starts_with("run ") && l.contains(':')), "{text}");
    }
    let fault = words(told, "/sheet_faults");
    assert!(fault.contains("line 2, column 2") && fault.contains("abc"), "{fault}");
}

pub fn the_trial_is_that_of_trial_plan(told: &Value) {
    for (name, runs) in [("trial", "6"), ("trial_more", "40")] {
        let options = ["--difference=-0.02", "--difference-sd=0.05", "--spread=0.165", "--worth=0.01"];
        let arguments = [&["trial", "plan", "--runs", runs][..], &options].concat();
        let text = printed(&arguments);
        let part = |what: &str| told.pointer(&format!("/{name}/{what}")).unwrap().clone();
        let tables = part("tables");
        assert_eq!(tables.as_array().unwrap().len(), 2, "questions and orders");
        for table in tables.as_array().unwrap() {
            assert!(every_row(table, &text) >= 2);
        }
        every_word(&Value::from(vec![part("advice"), part("head")]), &text);
        every_word(&part("words"), &text);
    }
    assert!(words(told, "/trial/advice").contains("Do not run this test"));
    let fault = words(told, "/trial_fault");
    assert!(fault.contains("spread of a run 99") && fault.contains("0.005 to 5 s"), "{fault}");
}
