//! The notebook as it is used: killed while writing, two writers, a spreadsheet in between, runs on to calibration.

use crate::cli::sagitta;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Adds an entry with a note; what it acknowledged, if it did. A time (us) after which it is killed.
fn added(book: &Path, note: &str, more: &[&str], killed_us: Option<u64>) -> Option<String> {
    let program = sagitta(&[]).get_program().to_owned();
    let mut child = Command::new(program)
        .args(["notebook", "add", book.to_str().unwrap(), "--date", "2026-01-20", "--notes", note])
        .args(more)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    if let Some(us) = killed_us {
        std::thread::sleep(Duration::from_micros(us));
        let _ = child.kill();
    }
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    let told = String::from_utf8(output.stderr).unwrap();
    assert!(killed_us.is_some() || output.status.success(), "{told}");
    said.strip_prefix("entry ").and_then(|s| s.split_once(' ')).map(|(n, _)| n.to_string())
}

/// Entry and note of every line, as `notebook list` tells them.
fn listed(book: &Path) -> Vec<(String, String)> {
    let output = sagitta(&["notebook", "list", book.to_str().unwrap()]).output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    let rows = said.lines().skip(1).take_while(|l| !l.is_empty());
    rows.filter_map(|l| {
        let mut words = l.split_whitespace();
        Some((words.next()?.to_string(), words.next_back()?.to_string()))
    })
    .filter(|(_, note)| note.starts_with("note-"))
    .collect()
}

#[test]
fn cli_two_writers_lose_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.csv");
    let write = |who: &'static str| {
        let book = book.clone();
        move || {
            let one = |i: usize| {
                let note = format!("note-{who}-{i}");
                // a new column now and then: the whole file is written anew
                let column = format!("mine {who}{}={i}", i % 4);
                let more: &[&str] = if i.is_multiple_of(4) { &["--put", &column] } else { &[] };
                (added(&book, &note, more, None).unwrap(), note)
            };
            (0..20).map(one).collect::<Vec<_>>()
        }
    };
    let (mut told, more) = std::thread::scope(|s| {
        let (a, b) = (s.spawn(write("a")), s.spawn(write("b")));
        (a.join().unwrap(), b.join().unwrap())
    });
    told.extend(more);
    let mut there = listed(&book);
    told.sort();
    there.sort();
    assert_eq!(told.len(), 40);
    assert_eq!(there, told);
}

#[test]
fn cli_a_killed_writer_loses_nothing_acknowledged() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.csv");
    let mut acknowledged = vec![(added(&book, "note-first", &[], None).unwrap(), "note-first".to_string())];
    // how long one takes here, from start to acknowledgement
    let start = Instant::now();
    acknowledged.push((added(&book, "note-second", &[], None).unwrap(), "note-second".into()));
    let whole_us = u64::try_from(start.elapsed().as_micros()).unwrap();
    let (many, mut cut) = (60, 0);
    for i in 0..many {
        let note = format!("note-{i}");
        let column = format!("mine {i}=1");
        let more: &[&str] = if i % 3 == 0 { &["--put", &column] } else { &[] };
        // from its start to well behind its end
        match added(&book, &note, more, Some(whole_us * 3 * i / (2 * many))) {
            Some(entry) => acknowledged.push((entry, note)),
            None => cut += 1,
        }
    }
    assert!(cut > 5 && acknowledged.len() > 7, "{cut} cut, {} acknowledged", acknowledged.len());
    let there = listed(&book);
    for one in &acknowledged {
        assert!(there.contains(one), "{one:?} is gone from\n{there:?}");
    }
    let mut entries: Vec<&String> = there.iter().map(|t| &t.0).collect();
    entries.sort();
    entries.dedup();
    assert_eq!(entries.len(), there.len(), "an entry twice");
    // what one that was killed left waiting goes with the next entry
    let part = folder.path().join(".book.csv.part");
    fs::write(&part, "half").unwrap();
    added(&book, "note-last", &[], None).unwrap();
    assert!(!part.exists());
}

#[test]
fn cli_a_spreadsheet_in_between_loses_nothing_and_is_asked_to_close() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.csv");
    let setup = ["--setup", "examples/clubs-woman.toml"];
    let add = |more: &[&str]| {
        let all = [&["notebook", "add", book.to_str().unwrap(), "--date", "2026-01-20"], more].concat();
        sagitta(&all).assert().success();
    };
    add(&[&setup[..], &["--run", "1", "--finish", "56.29", "--start", "5.11", "--put", "eye 3=18.05"]]
        .concat());
    // as a spreadsheet with decimal commas saves it, with a column of its own
    let text = fs::read_to_string(&book).unwrap();
    let saved: String = text
        .lines()
        .enumerate()
        .map(|(i, l)| {
            let cells: Vec<String> = l
                .split(',')
                .map(|c| if c.parse::<f64>().is_ok() { c.replace('.', ",") } else { c.into() })
                .collect();
            format!("{};{}\r\n", cells.join(";"), if i == 0 { "wax" } else { "\"red; hot\"" })
        })
        .collect();
    fs::write(&book, &saved).unwrap();
    add(&["--run", "2", "--finish", "56.12", "--set", "runners.bow_mm=4", "--start", "5.09"]);
    let now = fs::read_to_string(&book).unwrap();
    assert!(now.starts_with(&saved), "{now}");
    let told = sagitta(&["notebook", "diff", book.to_str().unwrap(), "1", "2"]).output().unwrap();
    let told = String::from_utf8(told.stdout).unwrap();
    for part in [
        "bow, all four screws: 3.5 to 4 mm (+0.5)",
        "finish_s: 56.29 to 56.12 (-0.17)",
        "wax: red; hot before",
    ] {
        assert!(told.contains(part), "{part}\n{told}");
    }
    // runs go on to a sheet, and the set-up of an entry to a file
    let sheet = sagitta(&["notebook", "export", book.to_str().unwrap()]).output().unwrap();
    let sheet = String::from_utf8(sheet.stdout).unwrap();
    assert!(
        sheet.contains("eye 3") && sheet.contains("1,2026-01-20,") && sheet.contains(",56.29,"),
        "{sheet}"
    );
    let file = sagitta(&["notebook", "export", book.to_str().unwrap(), "--entry", "2"]).output().unwrap();
    let file = String::from_utf8(file.stdout).unwrap();
    assert_eq!(file.matches("bow_front_mm = 4").count(), 2, "{file}");
    // open in a spreadsheet: refused, nothing written
    fs::write(folder.path().join(".~lock.book.csv#"), "").unwrap();
    let refused = sagitta(&["notebook", "add", book.to_str().unwrap(), "--notes", "x"]).output().unwrap();
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8(refused.stderr).unwrap().contains("open in a spreadsheet"));
    assert_eq!(fs::read_to_string(&book).unwrap(), now);
}

#[test]
fn cli_what_no_timing_sheet_takes_stands_in_no_notebook() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.csv");
    for (more, part) in [
        (&["--finish", "5.6"][..], "allowed: 20 to 180 s"),
        (&["--run", "1", "--date", "17/1/26"], "a day as 2026-01-17"),
        (&["--finish", "56.1", "--start", "5.1", "--put", "eye 3=4.9"], "more than 5.1 s"),
        (&["--set", "runners.bow_mm=9"], "allowed: 0 to 8 mm"),
        (&["--set", "runners.bow=3"], "runners.bow_mm"),
        (&["--put", "=3"], "HEADING=VALUE"),
        (&[], "nothing to write down"),
    ] {
        let all = [&["notebook", "add", book.to_str().unwrap()], more].concat();
        let output = sagitta(&all).output().unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{more:?}: {said}");
        assert!(said.contains(part), "missing \"{part}\" in\n{said}");
        assert!(!book.exists());
    }
}

#[test]
fn cli_an_exported_notebook_is_calibrated_as_the_sheet_it_was_written_from() {
    let folder = tempfile::tempdir().unwrap();
    let (book, out) = (folder.path().join("book.csv"), folder.path().join("ada"));
    let book = book.to_str().unwrap();
    let sheet = "examples/week-sheet.csv";
    let text = include_str!("../../examples/week-sheet.csv");
    let (headings, runs) = text.split_once('\n').unwrap();
    for run in runs.lines() {
        let cells = headings.split(',').zip(run.split(',')).filter(|(_, cell)| !cell.is_empty());
        let mut all: Vec<String> =
            ["notebook", "add", book, "--athlete", "Ada", "--track", "Oskerdale"].map(String::from).into();
        all.extend(["--setup", "examples/clubs-woman.toml"].map(String::from));
        for (heading, cell) in cells {
            let option = heading.trim_end_matches("_s").trim_end_matches("_c").replace('_', "-");
            all.extend(match heading.starts_with("eye ") {
                true => ["--put".to_string(), format!("{heading}={cell}")],
                false => [format!("--{option}"), cell.to_string()],
            });
        }
        sagitta(&all.iter().map(String::as_str).collect::<Vec<_>>()).assert().success();
    }
    // another athlete's run is not hers
    let other = ["--athlete", "Ben", "--run", "7", "--finish", "54.1", "--start", "5.2"];
    sagitta(&[&["notebook", "add", book][..], &other].concat()).assert().success();
    let only = ["--athlete", "Ada", "--out", out.to_str().unwrap()];
    sagitta(&[&["notebook", "export", book][..], &only].concat()).assert().success();
    let calibrated = |sheet: &str| {
        let output = sagitta(&["calibrate", sheet, "--only", "3.5 mm"]).output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        let said = String::from_utf8(output.stdout).unwrap();
        assert!(said.contains(&format!("calibrated to 6 runs of {sheet}")), "{said}");
        said.replace(sheet, "the sheet")
    };
    assert_eq!(calibrated(out.join("sheet.csv").to_str().unwrap()), calibrated(sheet));
}
