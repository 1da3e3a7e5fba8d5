//! The sled bench as an athlete meets it: readings in, key turns out, and what is refused.

use crate::cli::sagitta;
use sled_dynamics::analysis::bow_measures::{bow_measures, static_margin_m};
use sled_dynamics::analysis::places::{Place, flat_place};
use sled_dynamics::laws::on_runners::{OnRunners, ice_state, runner_tables};
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::setup::file::read_setup;
use std::fs;
use std::path::{Path, PathBuf};

pub const ZERO: &str = "examples/readings-without-bow.csv";
const HEADER: &str = "runner,point,position_mm,distance_mm,error_mm\n";

pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

pub fn says(said: &str, parts: &[&str]) {
    for part in parts {
        assert!(said.contains(part), "missing \"{part}\" in\n{said}");
    }
}

/// Status, standard output, standard error; and whether the folder after `--out` was made.
pub fn told(arguments: &[&str]) -> (Option<i32>, String, String, bool) {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let output = sagitta(&[arguments, &["--out", out.to_str().unwrap()]].concat()).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr), out.exists())
}

/// What is said of readings that are refused: status 2, no result, nothing written.
pub fn refused(readings: &str, more: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.csv");
    fs::write(&file, readings).unwrap();
    let (status, result, said, written) = told(&[&["bow", "read", file.to_str().unwrap()], more].concat());
    assert_eq!((status, result.as_str(), written), (Some(2), "", false), "{said}");
    said
}

/// The example readings with a text in them replaced.
fn readings(from: &str, to: &str) -> String {
    let text = fs::read_to_string(root().join("examples/readings.csv")).unwrap();
    assert!(text.contains(from), "{from}");
    text.replace(from, to)
}

#[test]
fn cli_a_negative_distance_and_an_unknown_point_are_refused_with_their_places() {
    let text = format!("{HEADER}left,middle,,-42.1,0.02\nleft,frnt screw,,42.1,0.02\nright,middle,,42.1,0\n");
    let said = refused(&text, &[]);
    says(&said, &["mine.csv, line 2, column 4 (distance_mm): got -42.1; allowed: 0 to 500 mm"]);
    says(
        &said,
        &["mine.csv, line 3, column 2 (point): got frnt screw; allowed: front pin, front screw, middle"],
    );
    says(&said, &["mine.csv, line 4, column 5 (error_mm): got 0; allowed: 0.001 to 5 mm"]);
    // one line says what cannot be used, then one for each fault
    assert_eq!(said.trim().lines().count(), 4, "{said}");
}

#[test]
fn cli_inches_are_asked_about_and_not_guessed() {
    let points = ["front pin", "front screw", "middle", "rear screw", "rear pin"];
    let rows: String = points.iter().map(|p| format!("left,{p},,1.65,0.02\n")).collect();
    let text = format!("{HEADER}{rows}");
    says(
        &refused(&text, &[]),
        &["column 4 (distance_mm): got 1.65, the greatest of all", "are these inches?", "--millimetres"],
    );
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.csv");
    fs::write(&file, &text).unwrap();
    let output = sagitta(&["bow", "read", file.to_str().unwrap(), "--millimetres"]).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
}

#[test]
fn cli_readings_past_yield_are_refused_with_stress_and_limit() {
    // the middle reading 30 mm out, every other one with it in proportion: a rod that would be bent for good
    let drops = [
        ("front pin", 3.7),
        ("front screw", 26.5),
        ("middle", 34.0),
        ("rear screw", 26.5),
        ("rear pin", 3.7),
    ];
    let row = |(p, d): (&str, f64)| format!("left,bowed,{p},{},0.02\nleft,reference,{p},40,0.02\n", 40.0 + d);
    let rows: String = drops.into_iter().map(row).collect();
    let said = refused(&format!("runner,state,point,distance_mm,error_mm\n{rows}"), &[]);
    says(
        &said,
        &[
            "mine.csv, line 6, column 4 (distance_mm): got 74.00, +34.00 from its zero; allowed: up to the yield stress of the \
             left runner, 600 MPa",
            "MPa",
        ],
    );
}

#[test]
fn cli_a_target_past_yield_or_out_of_limits_is_refused() {
    let (status, _, said, _) = told(&["bow", "target", "--bow", "-1"]);
    assert_eq!(status, Some(2), "{said}");
    says(&said, &["-1", "allowed 0 to 8 mm"]);
    let soft = ["--set", "runners.yield_stress_mpa=120"];
    let (status, result, said, written) = told(&[&["bow", "target", "--bow", "5"][..], &soft].concat());
    assert_eq!((status, result.as_str(), written), (Some(2), "", false), "{said}");
    says(&said, &["left runner: the target bends the runner to", "it yields at 120 MPa", "right runner"]);
    let (status, _, said, written) = told(&["bow", "target", "--left", "9,nan", "--right", "1"]);
    assert_eq!((status, written), (Some(2), false));
    says(&said, &["--left 9,nan: allowed 0 to 8 mm"]);
    let (status, _, said, _) = told(&["bow", "target", "--clear", "77"]);
    assert_eq!(status, Some(2));
    says(&said, &["--clear 77: no such corner; allowed: 1, 2, 3"]);
}

#[test]
fn cli_swapped_sides_are_warned_of() {
    let swapped = readings("left,", "middle,").replace("right,", "left,").replace("middle,", "right,");
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.csv");
    // the name of the point in the middle was turned with the sides
    fs::write(&file, swapped.replace(",right,,", ",middle,,")).unwrap();
    let output = sagitta(&["bow", "read", file.to_str().unwrap(), "--reference", ZERO]).output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(1), "{said}{}", String::from_utf8_lossy(&output.stderr));
    says(&said, &["left and right look swapped", "zero of the other runner"]);
}

#[test]
fn cli_readings_that_disagree_are_named() {
    let text = readings("left,front screw,,42", "left,front screw,,43");
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.csv");
    fs::write(&file, text).unwrap();
    let output = sagitta(&["bow", "read", file.to_str().unwrap(), "--reference", ZERO]).output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8(output.stdout).unwrap();
    says(&said, &["left runner: these readings disagree", "front screw (line 6)"]);
    assert!(!said.contains("right runner: these readings disagree"), "{said}");
}

#[test]
fn cli_readings_to_turns_and_back_give_the_target() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    let first = ["bow", "target", "--readings", "examples/readings.csv", "--reference", ZERO];
    sagitta(&[&first[..], &["--left", "1.7,1.5", "--right", "1.4", "--out", out]].concat())
        .assert()
        .success();
    // the expected readings, typed in as a new file of readings
    let expected = fs::read_to_string(folder.path().join("expected.csv")).unwrap();
    let mut text = String::from(HEADER);
    for line in expected.lines().skip(1) {
        let f: Vec<&str> = line.split(',').collect();
        text += &format!("{},{},{},{},0.02\n", f[0], f[1], f[2], f[4]);
    }
    let file = folder.path().join("again.csv");
    fs::write(&file, text).unwrap();
    // against the set-up that was written with the target: nothing is left to turn
    let setup = folder.path().join("setup.toml");
    let again =
        ["bow", "read", file.to_str().unwrap(), "--reference", ZERO, "--setup", setup.to_str().unwrap()];
    let output = sagitta(&[&again[..], &["--out", out]].concat()).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let bow = fs::read_to_string(folder.path().join("bow.csv")).unwrap();
    let got: Vec<f64> = bow.lines().skip(1).map(|l| l.split(',').nth(2).unwrap().parse().unwrap()).collect();
    for (got, wanted) in got.iter().zip([1.7, 1.5, 1.4, 1.4]) {
        // the play of the screw is 0.08 mm; the readings are printed to 0.01 mm
        assert!((got - wanted).abs() < 0.02, "{bow}");
    }
    // steps and warnings lie beside the turns, not on the screen alone
    let all = fs::read_to_string(folder.path().join("turns.txt")).unwrap();
    says(&all, &["caliper there", "2. all pins in and tight", "7. weigh sled and athlete last", "injure"]);
    // the turns of the pitch of 1 mm: target less old
    let turns = fs::read_to_string(folder.path().join("turns.csv")).unwrap();
    for line in turns.lines().skip(1) {
        let f: Vec<&str> = line.split(',').collect();
        let (old, target): (f64, f64) = (f[2].parse().unwrap(), f[4].parse().unwrap());
        if f[7].starts_with("leave it") {
            // two standard errors of about 0.026 mm
            assert!((target - old).abs() < 0.06, "{turns}");
            continue;
        }
        let turned: f64 = f[7].split(' ').next().unwrap().parse().unwrap();
        // a caliper there reads of the same sign, and by no more than half a millimetre apart
        let read: f64 = f[6].parse().unwrap();
        assert!(read > 0.0 && (read - (target - old)).abs() < 0.5, "{turns}");
        // two figures of two decimals
        assert!((turned - (target - old)).abs() < 0.011, "{turns}");
    }
    for name in ["bow_shape.svg", "bow_shape.png", "points.csv"] {
        assert!(folder.path().join(name).exists(), "{name}");
    }
}

#[test]
fn cli_a_runner_that_was_not_read_is_not_told_as_read() {
    let folder = tempfile::tempdir().unwrap();
    let [mine, zero] = ["readings.csv", "readings-without-bow.csv"].map(|name| {
        let text = fs::read_to_string(root().join("examples").join(name)).unwrap();
        let left: String =
            text.lines().filter(|l| !l.starts_with("right")).map(|l| format!("{l}\n")).collect();
        let file = folder.path().join(name);
        fs::write(&file, left).unwrap();
        file.to_str().unwrap().to_string()
    });
    let (status, said, _, _) =
        told(&["bow", "target", "--readings", &mine, "--reference", &zero, "--bow", "1.5"]);
    assert_eq!(status, Some(0));
    says(&said, &["of the other as the set-up says, not measured"]);
    let right = said.lines().filter(|l| l.trim_start().starts_with("right   front screw"));
    assert!(right.clone().count() == 1 && right.clone().all(|l| l.contains("yours +")), "{said}");
}

#[test]
fn cli_a_target_that_no_bow_reaches_is_told() {
    let (status, said, _, written) = told(&["bow", "target", "--static-margin", "299"]);
    assert_eq!((status, written), (Some(1), false));
    says(&said, &["no even bow up to 8 mm has a static margin of 299 mm"]);
    let (status, said, _, _) = told(&["bow", "target", "--bow", "1.5", "--other-runners"]);
    assert_eq!(status, Some(0));
    says(&said, &["old bow: none", "3. pull the pins", "7. measure again", "yours +1."]);
    // bow is taken out past the play and put back
    let (_, said, _, _) = told(&["bow", "target", "--bow", "0.5", "--set", "screws.clockwise=-1"]);
    says(&said, &["3.16 clockwise then 0.16 anticlockwise"]);
}

#[test]
fn cli_the_window_of_bow_is_told_and_drawn_or_told_to_be_none() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    let much = ["bow", "window", "--least-margin", "60", "--ice-temperatures", "-4,-10", "--out", out];
    let output = sagitta(&much).output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(1), "{said}");
    says(&said, &["there is no such window", "the runners bridge in corner", "-10 degC: no bridging with"]);
    let svg = fs::read_to_string(folder.path().join("bow_window.svg")).unwrap();
    says(&svg, &["ice -4 degC", "no window", "least margin 60 mm"]);
    // with less of a margin there is one
    let fewer = ["bow", "window", "--corners", "9", "--least-margin", "10"];
    let (status, said, _, _) = told(&fewer);
    assert_eq!(status, Some(0), "{said}");
    says(&said, &["window: "]);
    let (status, _, said, written) = told(&["bow", "window", "--ice-temperatures", "3"]);
    assert_eq!((status, written), (Some(2), false));
    says(&said, &["--ice-temperatures 3: allowed -40 to 0 degC"]);
    let (status, _, said, _) = told(&["bow", "window", "--least-margin", "-1"]);
    assert_eq!(status, Some(2), "{said}");
}

#[test]
fn cli_runners_go_through_both_files_and_say_what_is_assumed() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    let first = sagitta(&["runners", "examples/runners.toml", "--out", out]).output().unwrap();
    assert!(first.status.success());
    says(
        &String::from_utf8_lossy(&first.stdout),
        &["15.97 +- 0.01", "(0.3 +- 0.15)", "race polish in December"],
    );
    for name in ["runners.toml", "runners.csv"] {
        let file = folder.path().join(name);
        let again = sagitta(&["runners", file.to_str().unwrap()]).output().unwrap();
        assert_eq!(first.stdout, again.stdout, "{name}");
    }
    let file = folder.path().join("bad.csv");
    fs::write(&file, "pair,diameter_mm\nA,-16\n").unwrap();
    let output = sagitta(&["runners", file.to_str().unwrap()]).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    says(
        &String::from_utf8_lossy(&output.stderr),
        &["bad.csv, line 2, column 2 (diameter_mm): got -16; allowed: 8 to 30"],
    );
}

#[test]
fn cli_balance_is_the_statics_by_hand() {
    let arguments =
        ["balance", "--saddle", "10", "--ballast", "2", "--at", "-200", "--aside", "90", "--limit", "105"];
    let output = sagitta(&arguments).output().unwrap();
    assert!(output.status.success());
    let said = String::from_utf8(output.stdout).unwrap();
    let row = said.lines().find(|l| l.trim_start().starts_with("then")).unwrap();
    let got: Vec<f64> = row.split_whitespace().skip(1).take(6).map(|c| c.parse().unwrap()).collect();
    // 101.5 kg at -5 mm, 66 kg of it 10 mm forward, 2 kg at -200 mm and 90 mm to the left
    let mass = 101.5 + 2.0;
    let point = (101.5 * -5.0 + 66.0 * 10.0 + 2.0 * -200.0) / mass;
    let front = 100.0 * (point + 360.0) / 720.0;
    let left = 100.0 * (0.5 + 2.0 * 90.0 / mass / 360.0);
    for (got, wanted) in got.iter().zip([mass, point, front, 100.0 - front, left, 100.0 - left]) {
        // printed to one decimal
        assert!((got - wanted).abs() < 0.051, "{got} {wanted}\n{said}");
    }
    // 105 - 0.3 - 103.5
    says(&said, &["1.2 kg of ballast may go on", "not checked against any rule"]);
    let output = sagitta(&["balance", "--saddle", "900"]).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    says(&String::from_utf8_lossy(&output.stderr), &["--saddle 900: allowed -300 to 300 mm"]);
}

#[test]
fn exact_measures_are_those_of_contact_and_tables() {
    use ice_contact::contact::{ContactSolver, Demand};
    use ice_contact::patches::Contact;
    use ice_contact::runner::Bow;
    let mut setup = read_setup("x.toml", "", &[]).unwrap();
    let constants =
        Constants::new(&setup, &crate::made::track(crate::made::even(100.0, 1.0, 0.1, 0.0), &[]).data);
    let corner =
        Place { name: "corner".into(), g_load: 4.0, ice_curvature_per_m: 1.0 / 26.0, ..flat_place() };
    for bow_mm in [1.0, 2.0, 4.0] {
        let bow = Bow::even(1e-3 * bow_mm);
        [setup.runners.left, setup.runners.right] = [bow; 2];
        let on_runners = OnRunners::new(&setup, runner_tables(&setup).unwrap());
        let places = [flat_place(), corner.clone()];
        let got = bow_measures(&setup, bow, &places).unwrap();
        for (place, got) in places.iter().zip(got) {
            let got = got.unwrap();
            let load_n = place.g_load * 9.80665 * constants.mass_kg;
            let table_m = on_runners.table_static_margin_m(load_n, place.ice_curvature_per_m).unwrap();
            println!("{bow_mm} mm, {}: {} and {table_m} by the tables", place.name, got.static_margin_m);
            // the tables round the corners of a centre of grip that moves by centimetres where patches join
            assert!((got.static_margin_m - table_m).abs() < 0.03, "{bow_mm} {}", place.name);
            let mut solver = ContactSolver::new(&setup.runners.both, bow, &ice_state(&setup.ice)).unwrap();
            let demand = Demand {
                load_n: 0.5 * load_n,
                ice_curvature_per_m: place.ice_curvature_per_m,
                centroid_m: setup.sled.balance_point_m,
            };
            assert!(solver.solve(demand).is_balanced());
            // the same solver from the same start
            assert_eq!(got.outside_share, Contact::of(&solver, &setup.runners.both).outside_share);
            // both runners alike: the pair has the margin of one; rounding
            let pair_m = static_margin_m(&setup, place).unwrap().unwrap();
            approx::assert_abs_diff_eq!(pair_m, got.static_margin_m, epsilon = 1e-12);
        }
    }
}
