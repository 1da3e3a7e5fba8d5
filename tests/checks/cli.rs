//! The program as a coach meets it: what it refuses, and how it says so.

use assert_cmd::Command;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The program, built once with optimisation, beside the build of these checks.
pub fn sagitta(arguments: &[&str]) -> Command {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    let program = BUILT.get_or_init(|| {
        // this very program lies in TARGET/debug/deps
        let this = std::env::current_exe().unwrap();
        let target = this.ancestors().nth(3).unwrap();
        let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
        let built = std::process::Command::new(cargo)
            .args(["build", "--release", "--quiet", "--package", "sagitta", "--target-dir"])
            .arg(target)
            .current_dir(root())
            .status()
            .unwrap();
        assert!(built.success());
        target.join("release").join(format!("sagitta{}", std::env::consts::EXE_SUFFIX))
    });
    let mut command = Command::new(program);
    command.args(arguments).current_dir(root());
    command
}

/// What the program says on standard error when it refuses; it must end with status 2.
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

/// A copy of the test incline with its station table changed.
fn damaged(change: impl Fn(&str) -> String) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let from = root().join("tracks/quillmere");
    fs::copy(from.join("track.toml"), folder.path().join("track.toml")).unwrap();
    let table = fs::read_to_string(from.join("stations.csv")).unwrap();
    fs::write(folder.path().join("stations.csv"), change(&table)).unwrap();
    folder
}

fn refused_track(change: impl Fn(&str) -> String) -> String {
    let folder = damaged(change);
    let out = folder.path().join("out");
    let said =
        refusal(&["descend", "--track", folder.path().to_str().unwrap(), "--out", out.to_str().unwrap()]);
    assert!(!out.exists(), "something was written");
    said
}

/// The table with one line (from 1) replaced.
fn with_line(table: &str, number: usize, line: &str) -> String {
    table
        .lines()
        .enumerate()
        .map(|(i, l)| if i + 1 == number { line } else { l })
        .collect::<Vec<_>>()
        .join("\n")
}

#[test]
fn cli_refuses_a_missing_column() {
    let said = refused_track(|t| t.replacen("banking_deg", "slope", 1));
    says(&said, &["stations.csv, line 1", "banking_deg", "slope"]);
}

#[test]
fn cli_refuses_text_nan_and_stations_out_of_order_all_at_once() {
    let said = refused_track(|t| {
        let t = with_line(t, 3, "2,abc,,0,3.5,0.7,-0.7");
        let t = with_line(&t, 5, "6,NaN,,0,3.5,0.7,-0.7");
        with_line(&t, 7, "1,539.7,,0,3.5,0.7,-0.7")
    });
    says(
        &said,
        &["line 3, column 2 (elevation_m)", "abc", "line 5, column 2 (elevation_m)", "NaN", "line 7"],
    );
}

#[test]
fn cli_refuses_banking_that_jumps_and_edges_that_cross() {
    let said = refused_track(|t| {
        let t = with_line(t, 6, "8,539.8,,80,3.5,0.7,-0.7");
        with_line(&t, 9, "14,539.7,,0,3.5,-0.7,0.7")
    });
    says(&said, &["banking_deg", "line 9", "edge"]);
}

#[test]
fn cli_refuses_semicolons_and_decimal_commas() {
    says(&refused_track(|t| t.replace(',', ";")), &["stations.csv", "semicolon"]);
    let said = refused_track(|t| with_line(t, 4, "4,\"539,91\",,0,3.5,0.7,-0.7"));
    says(&said, &["line 4", "539,91", "decimal"]);
}

#[test]
fn cli_refuses_bad_keys_of_a_set_up() {
    let said = refusal(&["descend", "--set", "athlete.mass_kg=-70", "--set", "ice.temprature_c=-5"]);
    says(&said, &["athlete.mass_kg", "-70", "allowed", "ice.temprature_c", "ice.temperature_c"]);
    says(&refusal(&["descend", "--set", "mass"]), &["--set mass", "KEY=VALUE"]);
    says(&refusal(&["descend", "--setup", "no-such-file.toml"]), &["no-such-file.toml", "cannot be read"]);
}

#[test]
fn cli_refuses_a_bow_past_yield_and_a_groove_ahead_of_the_tip() {
    let said = refusal(&["descend", "--set", "runners.bow_mm=8", "--set", "runners.yield_stress_mpa=200"]);
    says(&said, &["bow", "MPa", "200"]);
    let said = refusal(&["descend", "--set", "runners.groove_start_mm=500"]);
    says(&said, &["groove_start_mm", "500"]);
}

#[test]
fn cli_refuses_a_ride_for_another_track_or_out_of_order() {
    let folder = tempfile::tempdir().unwrap();
    let ride = folder.path().join("ride.csv");
    fs::write(&ride, "# track: Quillmere\nstation_m,steer\n40,0\n30,2\n").unwrap();
    let said = refusal(&["descend", "--ride", ride.to_str().unwrap()]);
    says(&said, &["line 1", "Quillmere", "Oskerdale", "line 4", "read 2, allowed -1 to 1", "increase"]);
}

#[test]
fn cli_control_lost_is_a_result_with_status_one() {
    let output = sagitta(&["descend", "--model", "hands-off"]).output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    says(&String::from_utf8(output.stdout).unwrap(), &["control lost at station"]);
}

#[test]
fn cli_writes_the_same_bytes_twice_and_a_summary_that_fits_its_schema() {
    let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    for folder in &folders {
        sagitta(&["descend", "--out", folder.path().to_str().unwrap()]).assert().success();
    }
    let names = ["summary.json", "trace.csv", "descent.svg", "descent.png", "plan.svg", "plan.png"];
    for name in names {
        let [a, b] = folders.each_ref().map(|f| fs::read(f.path().join(name)).unwrap());
        assert!(!a.is_empty() && a == b, "{name}");
    }
    let summary: serde_json::Value =
        serde_json::from_slice(&fs::read(folders[0].path().join("summary.json")).unwrap()).unwrap();
    let schema: serde_json::Value =
        serde_json::from_str(include_str!("../../docs/summary.schema.json")).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = validator.iter_errors(&summary).map(|e| e.to_string()).collect();
    assert!(faults.is_empty(), "{faults:?}");
    let mut broken = summary.clone();
    broken["energy_j"].as_object_mut().unwrap().remove("glide");
    assert!(!validator.is_valid(&broken));
    let mut broken = summary;
    broken["splits"][0]["speed_km_h"] = "fast".into();
    assert!(!validator.is_valid(&broken));
}

#[test]
fn cli_refuses_a_folder_that_cannot_be_written() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a-file");
    fs::write(&file, "").unwrap();
    let output = sagitta(&["descend", "--out", file.to_str().unwrap()]).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    says(&String::from_utf8(output.stderr).unwrap(), &["a-file", "cannot be written"]);
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
