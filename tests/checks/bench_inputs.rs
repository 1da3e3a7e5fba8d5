//! What the sled bench refuses: line, column, value and limit of each fault, and nothing written.

use crate::bench::{ZERO, refused, root, says, told};
use crate::cli::sagitta;
use std::fs;

const HEADER: &str = "runner,state,point,position_mm,distance_mm,error_mm\n";

#[test]
fn cli_readings_that_are_no_numbers_are_refused_with_their_places() {
    let rows = "left,bowed,middle,,nan,0.02\nleft,bowed,middle,,42,inf\nleft,bowed,middle,,abc,0.02\n\
        left,bowed,middle,,,0.02\nleft,bowed,nose,900,42,0.02\nleft,bowed,middle,30,42,0.02\n\
        both,bowed,middle,,42,0.02\nleft,wet,middle,,42,0.02\nleft,bowed,,,42,0.02\n";
    let said = refused(&format!("{HEADER}{rows}"), &[]);
    let wanted = [
        "line 2, column 5 (distance_mm): got nan; allowed: 0 to 500 mm",
        "line 3, column 6 (error_mm): got inf; allowed: 0.001 to 5 mm",
        "line 4, column 5 (distance_mm): got abc; allowed: 0 to 500 mm",
        "line 5, column 5 (distance_mm): got nothing; allowed: 0 to 500 mm",
        "line 6, column 4 (position_mm): got 900; allowed: -420 to 420 mm",
        "line 7, column 4 (position_mm): got 30; allowed: 0 mm, where this point is known to be",
        "line 8, column 1 (runner): got both; allowed: left or right",
        "line 9, column 2 (state): got wet; allowed: reference or bowed",
        "line 10, column 3 (point): got nothing; allowed: front pin",
    ];
    says(&said, &wanted);
    // one line says what cannot be used, then one for each fault
    assert_eq!(said.trim().lines().count(), 1 + wanted.len(), "{said}");
}

#[test]
fn cli_empty_files_and_wrong_columns_are_refused() {
    says(&refused("", &[]), &["mine.csv (line): got an empty file; allowed: a line of column names"]);
    says(&refused("\n\n", &[]), &["mine.csv (line): got an empty file"]);
    says(&refused(HEADER, &[]), &["mine.csv (line): got no readings; allowed: one line for each reading"]);
    let said = refused("runner,point,distance_mm\nleft,middle,42\n", &[]);
    says(&said, &["mine.csv, line 1 (error_mm): got no such column; allowed: runner, point, distance_mm"]);
    let said = refused("runner,point,distance_mm,error_mm,error_mm\nleft,middle,42,0.02,0.05\n", &[]);
    says(&said, &["mine.csv, line 1, column 5 (error_mm): got a second column"]);
    let said = refused("runner,point,distance_mm,error_mm\nleft,middle,42,5,0.02\n", &[]);
    says(&said, &["mine.csv, line 2 (line): got 5 fields; allowed: 4", "decimal point"]);
    says(&refused("runner;point;distance_mm;error_mm\nleft;middle;42;0,02\n", &[]), &["separated by commas"]);
}

#[test]
fn cli_two_zeros_are_refused_and_so_is_the_same_file_twice() {
    let text = format!("{HEADER}left,reference,middle,,41.2,0.02\nleft,bowed,middle,,42.7,0.02\n");
    let said = refused(&text, &["--reference", ZERO]);
    says(&said, &["mine.csv, line 2, column 2 (state): got reference; allowed: bowed", "--reference"]);
    let (status, result, said, written) = told(&["bow", "read", ZERO, "--reference", ZERO]);
    assert_eq!((status, result.as_str(), written), (Some(2), "", false));
    says(&said, &["the same readings as", "without bow"]);
    let with_bow = "runner,state,point,distance_mm,error_mm\nleft,bowed,middle,42,0.02\n";
    let folder = tempfile::tempdir().unwrap();
    let zero = folder.path().join("zero.csv");
    fs::write(&zero, with_bow).unwrap();
    let (status, _, said, _) =
        told(&["bow", "read", "examples/readings.csv", "--reference", zero.to_str().unwrap()]);
    assert_eq!(status, Some(2));
    says(&said, &["zero.csv, line 2, column 2 (state): got bowed; allowed: reference"]);
}

#[test]
fn cli_too_few_readings_are_refused() {
    let said = refused("runner,point,distance_mm,error_mm\nleft,middle,42,0.02\n", &[]);
    says(&said, &["mine.csv: left runner: the readings tell 1 of 3 unknowns", "at three places or more"]);
}

#[test]
fn cli_numbers_on_the_command_line_are_refused_by_value_and_limit() {
    let cases: [(&[&str], &str); 16] = [
        (&["ride", "plan", "--lag", "abc"], "--lag abc: allowed 0 to 1 s"),
        (&["ride", "plan", "--lag", "-1"], "--lag -1: allowed 0 to 1 s"),
        (&["bow", "target", "--bow", "abc"], "--bow abc: allowed 0 to 8 mm"),
        (&["bow", "target", "--bow", "9"], "--bow 9: allowed 0 to 8 mm"),
        (&["bow", "target", "--bow", "1,5"], "--bow 1,5: allowed 0 to 8 mm, with a decimal point"),
        (&["bow", "target", "--left", "1,x"], "--left 1,x: allowed 0 to 8 mm, one number or front,rear"),
        (&["bow", "target", "--static-margin", "400"], "--static-margin 400: allowed 0 to 300 mm"),
        (&["bow", "window", "--least-margin", "-1"], "--least-margin -1: allowed 0 to 300 mm"),
        (&["bow", "window", "--ice-temperatures", "x"], "--ice-temperatures x: allowed -40 to 0 degC"),
        (&["bow", "window", "--rides", "1"], "--rides 1: allowed 2 to 100000"),
        (&["bow", "window", "--seed", "-1"], "--seed -1: allowed 0 to 18446744073709551615"),
        (&["balance", "--limit", "nan"], "--limit nan: allowed 30 to 300 kg"),
        (&["balance", "--snow", "9"], "--snow 9: allowed 0 to 5 kg"),
        (&["balance", "--ballast", "-2"], "--ballast -2: allowed -1.5 to 60 kg"),
        (&["compare", "--rides", "many"], "--rides many: allowed 2 to 100000"),
        (&["sweep", "examples/bow-and-ice.toml", "--threads", "0"], "--threads 0: allowed 1 to"),
    ];
    for (arguments, wanted) in cases {
        let output = sagitta(arguments).output().unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!((output.status.code(), output.stdout.len()), (Some(2), 0), "{arguments:?}: {said}");
        says(&said, &[&format!("sagitta: {wanted}")]);
        assert_eq!(said.trim().lines().count(), 1, "{said}");
    }
}

#[test]
fn cli_a_key_of_the_set_up_is_set_for_the_readings() {
    let first = ["bow", "read", "examples/readings.csv", "--reference", ZERO, "--set"];
    let output = sagitta(&[&first[..], &["runners.left.bow_front_mm=1.3"]].concat()).output().unwrap();
    assert!(output.status.success());
    let said = String::from_utf8(output.stdout.clone()).unwrap();
    let row = said.lines().find(|l| l.trim_start().starts_with("left    front  ")).unwrap();
    assert!(row.ends_with("1.30"), "{row}");
    // screws nearer to the middle: the same shape needs another advance
    let moved = sagitta(&[&first[..], &["runners.screw_mm=150"]].concat()).output().unwrap();
    assert_ne!(moved.stdout, output.stdout);
    let bad = sagitta(&[&first[..], &["runners.screw_mm=900"]].concat()).output().unwrap();
    assert_eq!(bad.status.code(), Some(2));
    says(&String::from_utf8_lossy(&bad.stderr), &["runners.screw_mm", "900"]);
}

#[test]
fn cli_the_bow_that_was_read_goes_into_a_set_up_unless_it_is_in_doubt() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    let fine = ["bow", "read", "examples/readings.csv", "--reference", ZERO, "--out", out];
    assert!(sagitta(&fine).output().unwrap().status.success());
    let text = fs::read_to_string(folder.path().join("setup.toml")).unwrap();
    let setup = sled_dynamics::setup::file::read_setup("setup.toml", &text, &[]).unwrap();
    // as the session of the README prints it, to three decimals
    approx::assert_abs_diff_eq!(setup.runners.left.front_m, 1.305e-3, epsilon = 0.5e-6);
    approx::assert_abs_diff_eq!(setup.runners.right.rear_m, 1.258e-3, epsilon = 0.5e-6);
    // one reading a millimetre off: tables and picture, no set-up
    let doubtful = fs::read_to_string(root().join("examples/readings.csv"))
        .unwrap()
        .replace("left,front screw,,42", "left,front screw,,43");
    let file = folder.path().join("doubtful.csv");
    fs::write(&file, doubtful).unwrap();
    let other = folder.path().join("other");
    let doubt =
        ["bow", "read", file.to_str().unwrap(), "--reference", ZERO, "--out", other.to_str().unwrap()];
    let output = sagitta(&doubt).output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    says(&String::from_utf8_lossy(&output.stderr), &["no setup.toml: the readings are in doubt"]);
    assert!(other.join("bow.csv").exists() && !other.join("setup.toml").exists());
}

#[test]
fn cli_a_stated_free_bow_is_told_and_taken_out() {
    // a loose runner bowed by 0.5 mm, no bow of the screws: 41 mm less b (1 - x^2 / 360^2)
    let rows: String = [360.0, 200.0, 0.0, -200.0, -360.0_f64]
        .iter()
        .zip(["front pin", "front screw", "middle", "rear screw", "rear pin"])
        .map(|(x, p)| format!("left,{p},{:.4},0.02\n", 41.0 + 0.5 * (1.0 - x * x / 129_600.0)))
        .collect();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("loose.csv");
    fs::write(&file, format!("runner,point,distance_mm,error_mm\n{rows}")).unwrap();
    let first = ["bow", "read", file.to_str().unwrap(), "--out", folder.path().to_str().unwrap()];
    let output =
        sagitta(&[&first[..], &["--set", "runners.left.free_bow_mm=0.5"]].concat()).output().unwrap();
    says(&String::from_utf8(output.stdout).unwrap(), &["bowed by 0.50 mm when free, as the set-up says"]);
    let bow = fs::read_to_string(folder.path().join("bow.csv")).unwrap();
    for line in bow.lines().skip(1) {
        let advance: f64 = line.split(',').nth(2).unwrap().parse().unwrap();
        // readings of four decimals, bow of three
        assert!(advance.abs() < 0.0011, "{bow}");
    }
    let output = sagitta(&first).output().unwrap();
    says(&String::from_utf8(output.stdout).unwrap(), &["taken as straight when free"]);
}
