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
    // planned and told beside each other, in one cell at least: the plan may have met the told height before
    let differs = |cell: &Value| cell.as_str().is_some_and(|c| c.contains(" | "));
    assert!(six.as_array().unwrap().iter().any(differs), "the told corner differs: {six}");
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
    let skilled = ["--fit=friction,drag,edge", "--skill=national", "--leave-out", "3"];
    let asks =
        [("sheet", &[][..], 4), ("sheet_without", &["--leave-out", "3"], 3), ("sheet_skilled", &skilled, 3)];
    for (name, after, runs) in asks {
        let text = asked(&with(&["calibrate", SHEET], after));
        let part = |what: &str| told.pointer(&format!("/{name}/{what}")).unwrap().clone();
        let tables = part("tables");
        let rows: Vec<usize> = tables.as_array().unwrap().iter().map(|t| every_row(t, &text)).collect();
        // residuals, unknowns, predictions, helps; each with a head
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

pub fn the_test_is_that_of_trial_analyse(told: &Value) {
    let timing = "examples/timing-sheet.csv";
    let believed = [timing, "--prior=-0.05", "--prior-sd=0.1"];
    let of_one = ["examples/team-sheet.csv", "--athlete", "R"];
    for (name, arguments) in
        [("test", &[timing][..]), ("test_believed", &believed[..]), ("test_of_one", &of_one[..])]
    {
        let text = printed(&[&["trial", "analyse"], arguments].concat());
        let part = |what: &str| told.pointer(&format!("/{name}/{what}")).unwrap().clone();
        let tables = part("tables");
        assert_eq!(tables.as_array().unwrap().len(), 1, "{tables}");
        let rows = every_row(&tables[0], &text);
        assert!(rows >= 2, "a head and the raw difference");
        every_word(&Value::from(vec![part("answer"), part("names")]), &text);
        every_word(&part("words"), &text);
        // and nothing of the report is left out but the caution, which stands below every view
        let shown = [part("words").as_array().unwrap().clone(), vec![part("answer"), part("names")]].concat();
        let shown = plain(&shown.iter().map(|w| w.as_str().unwrap()).collect::<Vec<_>>().join(" "));
        let shown: Vec<&str> = shown.split_whitespace().collect();
        let count =
            text.lines().filter(|l| !l.starts_with([' ', 'S'])).flat_map(str::split_whitespace).count();
        assert_eq!(shown.len(), count, "{shown:?}\n{text}");
        // a band for each row of the table, and for what was believed before and all together
        let bands = part("drawn")[0].as_u64().unwrap() as usize;
        assert_eq!(bands, rows - 1 + if name == "test_believed" { 2 } else { 0 });
    }
    let runs = told.pointer("/test/drawn/1").unwrap();
    assert_eq!(
        runs,
        &serde_json::json!([[55.61, 55.48, 55.66, 55.39], [55.42, 55.5, 55.31, 55.43]]),
        "A, then B"
    );
    assert!(words(told, "/test_fault").contains("line 2, column 2"), "{}", words(told, "/test_fault"));
    assert!(words(told, "/test_whose").contains("(P, Q, R): choose whose runs"), "in the words of the page");
}

/// What `track check` warns of on standard error, but for design speeds, which have a list of their own.
pub fn left_alone_is_that_of_track_check(told: &Value) {
    for (i, track) in ["tracks/oskerdale", TRACK].into_iter().enumerate() {
        let text = told_of(&["track", "check", track]);
        let warned: Vec<&str> =
            text.lines().filter(|l| l.starts_with("warning: ") && !l.contains("design speed")).collect();
        let alone = told.pointer(&format!("/track/alone/{i}")).unwrap();
        assert_eq!(alone["warnings"], Value::from(warned.clone()), "{text}");
        let doing = alone["doing"].as_str().unwrap();
        assert_eq!(doing.starts_with("No warning"), warned.is_empty(), "{doing}");
    }
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

/// The sheet of the page is the file that `evening` writes for the same set-up, readings and plan; printed, it is one page.
pub fn the_evening_is_that_of_evening(told: &Value, out: &Path) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let path = |p: &str| format!("{:?}", std::fs::canonicalize(root.join(p)).unwrap().display().to_string());
    let head = format!(
        "setup = \"saved.toml\"\ntrack = {}\nreadings = {}\nreadings_without_bow = {}\n",
        path(TRACK),
        path("examples/readings.csv"),
        path("examples/readings-without-bow.csv")
    );
    let plan = out.join("plan.toml");
    std::fs::write(&plan, head + &words(told, "/evening/plan")).unwrap();
    let written = out.join("evening");
    let text = printed(&["evening", plan.to_str().unwrap(), "--out", written.to_str().unwrap()]);
    let report = words(told, "/evening/report");
    // told as they were typed, not as files
    let bare =
        |text: &str| text.replace(root.to_str().unwrap(), "").split_whitespace().map(String::from).collect();
    let (a, b): (Vec<String>, Vec<String>) = (bare(&report), bare(&text));
    assert_eq!(a, b, "{report}\n{text}");
    let sheets =
        [out.join("sheet.html"), written.join("sheet.html")].map(|p| std::fs::read_to_string(p).unwrap());
    assert!(sheets[0] == sheets[1], "the sheet of the page differs from that of evening");
    let pdf = std::fs::read(out.join("sheet.pdf")).unwrap();
    assert!(pdf.starts_with(b"%PDF") && pdf.len() > 10_000);
    let pages = pdf.windows(12).filter(|w| w.starts_with(b"/Type /Page") && !w.ends_with(b"s")).count();
    assert_eq!(pages, 1, "one A4 page");
}

/// Texts of at least 4.5 to 1, none cut off or over another at 1280x720, every control named, reached by the tab key
/// and seen to be.
pub fn every_view_can_be_read_and_reached(told: &Value) {
    let seen = told["seen"].as_object().unwrap();
    assert_eq!(seen.len(), 4 * 9, "four sizes, nine views");
    let mut wrong = vec![];
    for (view, found) in seen {
        for (what, list) in found.as_object().unwrap() {
            let tab = what == "tab";
            let lists = if tab { vec![&list["missed"], &list["unseen"]] } else { vec![list] };
            assert!(!tab || list["reached"].as_u64().unwrap() > 20, "{view}: {list}");
            for found in lists.into_iter().flat_map(|l| l.as_array().unwrap()) {
                wrong.push(format!("{view}, {what}: {found}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{} faults\n{}", wrong.len(), wrong.join("\n"));
}
