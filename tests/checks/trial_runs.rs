//! The next run, and the runs of a team, on the command line.

use crate::cli::sagitta;
use std::fs;

fn said(arguments: &[&str]) -> (Option<i32>, String, String) {
    let out = sagitta(arguments).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (out.status.code(), text(out.stdout), text(out.stderr))
}

fn refused(arguments: &[&str], part: &str) {
    let (status, told, why) = said(arguments);
    assert_eq!((status, told.as_str()), (Some(2), ""), "{why}");
    assert!(why.contains(part), "missing {part} in\n{why}");
}

#[test]
fn cli_the_next_run_makes_up_for_what_is_missing() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sheet.csv");
    // three runs with A, none with B: only B can tell
    fs::write(&file, "run,set-up,finish\n1,A,55.51\n2,A,55.40\n3,A,55.46\n").unwrap();
    let file = file.to_str().unwrap();
    let (status, told, why) = said(&["trial", "next", file, "--setups", "A,B", "--runs-left", "1"]);
    assert_eq!(status, Some(0), "{why}");
    assert!(told.contains("runs so far: A 3, B 0; left: 1"), "{told}");
    assert!(told.contains("Ride B next, write the time down and ask again."), "{told}");
    // sure beforehand that B is slower by half a second: nothing to learn
    let sure = ["trial", "next", file, "--setups", "A,B", "--belief", "B=0.5,0.05"];
    let (_, told, _) = said(&sure);
    assert!(told.contains("If you had to choose now: A (100 % the fastest)."), "{told}");
    assert!(told.contains("Stop testing: the runs that are left save 0.0 ms on average"), "{told}");
    // four runs ahead, nothing known: ABBA
    let (_, told, _) = said(&["trial", "next", "--setups", "A,B"]);
    assert!(told.contains("A B B A"), "{told}");
}

#[test]
fn cli_a_next_run_that_cannot_be_advised_is_refused_by_value() {
    refused(&["trial", "next", "--setups", "A"], "set-ups: got A; allowed: two or more");
    refused(&["trial", "next", "--setups", "A,B,A"], "got \"A\" twice or empty");
    let belief = |text| ["trial", "next", "--setups", "A,B", "--belief", text];
    refused(&belief("B=x,1"), "--belief B=x,1: allowed NAME=S,SD");
    refused(
        &belief("B=0,0"),
        "--belief B=0,0: allowed -10 to 10 s, with a standard deviation of 0.001 to 10 s",
    );
    refused(&belief("C=0,1"), "--belief C=0,1: allowed a set-up of A, B");
    refused(&belief("A=0,1"), "allowed any but A");
    let left = ["trial", "next", "--setups", "A,B", "--runs-left", "0"];
    refused(&left, "--runs-left 0: allowed 1 to 100");
    refused(&["trial", "next", "examples/team-sheet.csv"], "the sheet is of more than one athlete (P, Q)");
}

const TEAM: &str = include_str!("../../examples/team-sheet.csv");

#[test]
fn cli_runs_of_a_team_are_pulled_together() {
    let (status, told, why) = said(&["trial", "pool", "examples/team-sheet.csv"]);
    assert_eq!(status, Some(0), "{why}");
    let row = |name: &str| -> Vec<f64> {
        let line = told.lines().find(|l| l.trim_start().starts_with(name)).unwrap();
        let numbers = line.split(|c: char| !"+-.0123456789".contains(c)).filter_map(|w| w.parse().ok());
        numbers.collect()
    };
    // runs, raw, its band, pooled, its band
    let (p, r, team) = (row("P "), row("R "), row("team "));
    assert_eq!((p[0], r[0], team[0]), (8.0, 6.0, 22.0), "{told}");
    // each athlete lies between the own runs and the team
    for own in [&p, &r] {
        let (raw, pooled, of_team) = (own[1], own[4], team[1]);
        assert!(
            (pooled - raw) * (of_team - raw) > 0.0 && (pooled - of_team).abs() < (raw - of_team).abs(),
            "{told}"
        );
    }
    // what the sheet was made with: -0.08, -0.03 and -0.10 s, all inside their bands
    for (name, planted) in [("P ", -0.08), ("Q ", -0.03), ("R ", -0.10)] {
        let own = row(name);
        assert!(own[5] < planted && planted < own[6], "{told}");
    }
    refused(
        &["trial", "analyse", "examples/team-sheet.csv"],
        "is of 3 athletes (P, Q, R): say whom by --athlete",
    );
    let one = ["trial", "analyse", "examples/team-sheet.csv", "--athlete", "R"];
    assert!(said(&one).1.contains("A: 3.5 mm, 3 runs; B: 4.5 mm, 3 runs"));
}

#[test]
fn cli_a_team_sheet_that_cannot_be_pooled_is_refused_by_place() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("team.csv");
    let name = file.to_str().unwrap();
    let with = |text: &str, part: &str| {
        fs::write(&file, text).unwrap();
        refused(&["trial", "pool", name], part);
    };
    with(&TEAM.replace(",athlete,", ",notes,"), "column 7 (notes): got a second column");
    with(
        &TEAM.replace("athlete,", "").replace(",P,", ",").replace(",Q,", ",").replace(",R,", ","),
        "(athlete): got no such column",
    );
    // columns swapped
    with(
        &TEAM.replace("athlete,date", "date,athlete"),
        "line 2, column 2 (date): got P; allowed: a day as 2026-01-17",
    );
    with(&TEAM.replace("55.24", "fast"), "(finish s): got fast; allowed: 20 to 180 s");
    with(
        &TEAM.replace("4.5 mm", "3.5 mm"),
        "of 1 set-ups have athlete and finish; allowed: four runs of two set-ups",
    );
    refused(
        &["trial", "pool", "examples/team-sheet.csv", "--setups", "3.5 mm,5 mm"],
        "--setups 5 mm: not on the sheet",
    );
    refused(&["trial", "pool", "examples/timing-sheet.csv"], "(athlete): got no such column");
}
