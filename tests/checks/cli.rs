//! The program as a coach meets it: what it refuses, and how it says so.

use assert_cmd::Command;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The program, from the build of these checks: one optimised build serves all.
pub fn sagitta(arguments: &[&str]) -> Command {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    let program = BUILT.get_or_init(|| {
        // this very program lies in TARGET/debug/deps
        let this = std::env::current_exe().unwrap();
        let target = this.ancestors().nth(3).unwrap();
        let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
        let built = std::process::Command::new(cargo)
            // a test among it, so that crates have the features of the tests and nothing is built twice
            .args([
                "build",
                "--quiet",
                "--workspace",
                "--bin",
                "sagitta",
                "--test",
                "program",
                "--target-dir",
            ])
            .arg(target)
            .current_dir(root())
            .status()
            .unwrap();
        assert!(built.success());
        target.join("debug").join(format!("sagitta{}", std::env::consts::EXE_SUFFIX))
    });
    let mut command = Command::new(program);
    // plans are kept beside the build, not in the cache of whoever runs the tests
    command.args(arguments).current_dir(root()).env("XDG_CACHE_HOME", env!("CARGO_TARGET_TMPDIR"));
    command
}

/// What the program says on standard error when it refuses; it must end with status 2 and print no result.
fn refusal(arguments: &[&str]) -> String {
    let output = sagitta(arguments).output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{arguments:?}: {said}");
    assert!(output.stdout.is_empty(), "{arguments:?} printed a result all the same");
    said
}

fn says(said: &str, parts: &[&str]) {
    for part in parts {
        assert!(said.contains(part), "missing \"{part}\" in\n{said}");
    }
}

/// As [`refusal`], of a descent that should have written a folder: there must be none.
fn refused_descent(arguments: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let said = refusal(&[&["descend", "--out", out.to_str().unwrap()], arguments].concat());
    assert!(!out.exists(), "{arguments:?}: something was written");
    said
}

/// What is said of Quillmere with its station table changed.
fn refused_track(change: impl Fn(&str) -> String) -> String {
    let folder = tempfile::tempdir().unwrap();
    let from = root().join("tracks/quillmere");
    fs::copy(from.join("track.toml"), folder.path().join("track.toml")).unwrap();
    let table = fs::read_to_string(from.join("stations.csv")).unwrap();
    fs::write(folder.path().join("stations.csv"), change(&table)).unwrap();
    refused_descent(&["--track", folder.path().to_str().unwrap()])
}

/// What is said of the club's woman's set-up with a text in it replaced.
fn refused_setup(from: &str, to: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.toml");
    let text = fs::read_to_string(root().join("examples/clubs-woman.toml")).unwrap();
    assert!(text.contains(from), "{from}");
    fs::write(&file, text.replacen(from, to, 1)).unwrap();
    refused_descent(&["--setup", file.to_str().unwrap()])
}

/// The table with one field, by line and column from 1, replaced.
fn with_field(table: &str, line: usize, column: usize, value: &str) -> String {
    let mut lines: Vec<String> = table.lines().map(String::from).collect();
    let mut fields: Vec<&str> = lines[line - 1].split(',').collect();
    fields[column - 1] = value;
    lines[line - 1] = fields.join(",");
    lines.join("\n") + "\n"
}

/// How many faults are told: one a line, below the line that says what cannot be used.
fn faults(said: &str) -> usize {
    said.trim().lines().count() - 1
}

#[test]
fn cli_refuses_a_missing_column() {
    let said = refused_track(|t| t.replacen("banking_deg", "slope", 1));
    says(&said, &["stations.csv, line 1", "banking_deg", "slope"]);
}

#[test]
fn cli_refuses_text_nan_and_stations_out_of_order_all_at_once() {
    let said = refused_track(|t| {
        let t = with_field(t, 3, 2, "abc");
        let t = with_field(&t, 5, 2, "NaN");
        with_field(&t, 7, 1, "7")
    });
    says(&said, &["stations.csv, line 3, column 2 (elevation_m): got \"abc\"; allowed: a number"]);
    says(&said, &["stations.csv, line 5, column 2 (elevation_m): got \"NaN\"; allowed: a finite number"]);
    says(&said, &["stations.csv, line 7, column 1 (station_m): got 7 m after 8 m; stations must increase"]);
    assert_eq!(faults(&said), 3, "{said}");
}

#[test]
fn cli_refuses_banking_that_jumps_and_edges_that_cross() {
    let said = refused_track(|t| {
        let t = with_field(t, 6, 4, "80");
        let t = with_field(&t, 9, 6, "-0.7");
        with_field(&t, 9, 7, "0.7")
    });
    says(&said, &["line 6, column 4 (banking_deg)", "40.0 deg per metre; allowed: at most 30"]);
    says(&said, &["line 9, column 6 (left_edge_m): left edge -0.7 m is not left of the right edge 0.7 m"]);
    // the banking jumps up and down again: one fault in two lines
    says(&said, &["(and so in 1 more line)"]);
    assert_eq!(faults(&said), 2, "{said}");
}

#[test]
fn cli_refuses_semicolons_decimal_commas_and_empty_tables() {
    says(&refused_track(|t| t.replace(',', ";")), &["stations.csv, line 1", "semicolons", "commas", "point"]);
    let said = refused_track(|t| with_field(t, 4, 2, "\"539,91\""));
    says(&said, &["line 4, column 2 (elevation_m)", "539,91", "decimal comma; write \"539.91\""]);
    let said = refused_track(|t| with_field(t, 4, 2, "539,91"));
    says(&said, &["line 4: 8 fields, the header has 7", "decimal comma"]);
    says(&refused_track(|_| String::new()), &["stations.csv: the file is empty", "header"]);
    says(&refused_track(|t| t.lines().next().unwrap().into()), &["0 rows; at least 4 are needed"]);
}

#[test]
fn cli_refuses_bad_values_in_the_file_of_a_set_up_with_line_and_column() {
    let said = refused_setup("mass_kg = 66 ", "mass_kg = -66 ");
    says(&said, &["mine.toml, line 10, column 11 (athlete.mass_kg): got -66 kg; allowed: 20 to 200 kg"]);
    let said = refused_setup("mass_kg = 66 ", "mass_kg = nan ");
    says(&said, &["mine.toml, line 10, column 11 (athlete.mass_kg): got NaN kg; allowed: 20 to 200 kg"]);
    let said = refused_setup("mass_kg = 66 ", "mass_kg = 66,5 ");
    says(&said, &["mine.toml, line 10, column 11", "got 66,5; allowed: a decimal point, 66.5"]);
    let said = refused_setup("mass_kg = 66 ", "mass_kg = \"66\" ");
    says(&said, &["mine.toml, line 10, column 11", "got the text \"66\"; allowed: a number without quotes"]);
    let said = refused_setup("temperature_c = -6 ", "temprature_c = -6 ");
    says(
        &said,
        &["mine.toml, line 41, column 1 (ice.temprature_c): no such key, nearest is ice.temperature_c"],
    );
}

#[test]
fn cli_refuses_bad_keys_of_a_set_up() {
    let said = refused_descent(&["--set", "athlete.mass_kg=-70", "--set", "ice.temprature_c=-5"]);
    says(&said, &["athlete.mass_kg", "-70", "allowed", "ice.temprature_c", "ice.temperature_c"]);
    says(&refused_descent(&["--set", "mass"]), &["--set mass", "KEY=VALUE"]);
    says(&refused_descent(&["--setup", "no-such-file.toml"]), &["no-such-file.toml", "cannot be read"]);
}

#[test]
fn cli_refuses_a_bow_past_yield_and_a_groove_ahead_of_the_tip() {
    let said = refused_descent(&["--set", "runners.bow_mm=8", "--set", "runners.yield_stress_mpa=200"]);
    says(&said, &["bow", "MPa", "200"]);
    let said = refused_descent(&["--set", "runners.groove_start_mm=500"]);
    says(&said, &["groove_start_mm", "500"]);
}

#[test]
fn cli_refuses_a_ride_for_another_track_or_out_of_order() {
    let folder = tempfile::tempdir().unwrap();
    let ride = folder.path().join("ride.csv");
    fs::write(&ride, "# track: Quillmere\nstation_m,steer\n40,0\n30,2\n").unwrap();
    let said = refused_descent(&["--ride", ride.to_str().unwrap()]);
    says(&said, &["line 1", "Quillmere", "Oskerdale", "line 4", "got 2; allowed: -1 to 1", "increase"]);
}

#[test]
fn cli_control_lost_is_a_result_with_status_one() {
    let output = sagitta(&["descend", "--model", "hands-off"]).output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    says(&String::from_utf8(output.stdout).unwrap(), &["control lost at station"]);
}

#[test]
fn cli_writes_the_same_bytes_twice_and_prints_the_summary_it_writes() {
    let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    let printed = folders.each_ref().map(|folder| {
        let output = sagitta(&[
            "descend",
            "--model",
            "first-pilot",
            "--json",
            "--out",
            folder.path().to_str().unwrap(),
        ])
        .output();
        let output = output.unwrap();
        assert!(output.status.success());
        output.stdout
    });
    let names = ["summary.json", "trace.csv", "descent.svg", "descent.png", "plan.svg", "plan.png"];
    for name in names {
        let [a, b] = folders.each_ref().map(|f| fs::read(f.path().join(name)).unwrap());
        assert!(!a.is_empty() && a == b, "{name}");
    }
    assert_eq!(fs::read_dir(folders[0].path()).unwrap().count(), names.len(), "no other file");
    let written = fs::read(folders[0].path().join("summary.json")).unwrap();
    assert!(printed.iter().all(|p| *p == written));
    let summary: serde_json::Value = serde_json::from_slice(&written).unwrap();
    assert_eq!(summary["outcome"], "finished");
}

#[test]
fn cli_refuses_a_folder_that_cannot_be_written() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a-file");
    fs::write(&file, "").unwrap();
    let output =
        sagitta(&["descend", "--model", "guided", "--out", file.to_str().unwrap()]).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    says(&String::from_utf8(output.stderr).unwrap(), &["a-file", "cannot be written"]);
}

#[test]
fn cli_writes_nothing_where_a_folder_stands_in_the_place_of_a_file() {
    let folder = tempfile::tempdir().unwrap();
    // the last of the files of a descent: those before it must not be written either
    fs::create_dir(folder.path().join("plan.png")).unwrap();
    let output = sagitta(&["descend", "--model", "guided", "--out", folder.path().to_str().unwrap()])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    says(&String::from_utf8(output.stderr).unwrap(), &["plan.png", "a folder of that name is there"]);
    let left: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(left, ["plan.png"]);
}

#[test]
fn cli_a_reader_that_closes_the_pipe_is_no_error() {
    use std::process::Stdio;
    // through the same build; the reading end is closed before anything is printed
    let program = sagitta(&[]).get_program().to_owned();
    let mut child = std::process::Command::new(program)
        .args(["descend", "--model", "first-pilot", "--json"])
        .current_dir(root())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
}

#[test]
fn cli_builds_the_shipped_tracks_again_from_their_corner_lists() {
    for track in ["oskerdale", "quillmere"] {
        let folder = tempfile::tempdir().unwrap();
        let list = format!("tracks/{track}/corner_list.toml");
        sagitta(&["track", "build", &list, "--out", folder.path().to_str().unwrap()]).assert().success();
        for name in ["stations.csv", "track.toml"] {
            let made = fs::read_to_string(folder.path().join(name)).unwrap();
            let shipped = fs::read_to_string(root().join(format!("tracks/{track}/{name}"))).unwrap();
            assert_eq!(made, shipped, "{track}/{name}");
        }
    }
}

#[test]
fn cli_shows_contact_and_draws_tracks() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    let output = sagitta(&["bow", "contact", "--track", "tracks/quillmere", "--out", out]).output().unwrap();
    assert!(output.status.success());
    says(&String::from_utf8(output.stdout).unwrap(), &["1 g, flat ice", "corner 9", "static margin mm"]);
    sagitta(&["track", "draw", "tracks/quillmere", "--out", out]).assert().success();
    for name in ["contact.svg", "contact.png", "contact.csv", "plan.svg", "profile.png", "sections.svg"] {
        assert!(folder.path().join(name).exists(), "{name}");
    }
    let svg = fs::read_to_string(folder.path().join("contact.svg")).unwrap();
    says(&svg, &["left runner", "corner 9", "screw"]);
}
