//! A calibration put to use: what it moves, what it refuses, and that its bands are those of the points.

use crate::cli::sagitta;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

/// A calibration of the invented week, made once.
fn calibration() -> &'static Path {
    static MADE: OnceLock<(tempfile::TempDir, PathBuf)> = OnceLock::new();
    &MADE
        .get_or_init(|| {
            let folder = tempfile::tempdir().unwrap();
            let out = folder.path().join("calibration");
            let sheet = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/week-sheet.csv");
            let done = sagitta(&["calibrate", sheet.to_str().unwrap(), "--out", out.to_str().unwrap()])
                .output()
                .unwrap();
            assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
            let file = out.join("calibration.toml");
            (folder, file)
        })
        .1
}

fn named() -> &'static str {
    calibration().to_str().unwrap()
}

fn said(arguments: &[&str]) -> (Option<i32>, String) {
    let output = sagitta(arguments).output().unwrap();
    let text = [output.stdout, output.stderr].map(|t| String::from_utf8(t).unwrap()).concat();
    (output.status.code(), text)
}

#[test]
fn cli_a_calibration_of_something_else_is_refused_and_says_what_differs() {
    let track = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tracks/quillmere");
    let with = ["--calibration", named()];
    let refused = |command: &[&str], parts: &[&str]| {
        let (status, text) = said(&[command, &with].concat());
        assert_eq!(status, Some(2), "{text}");
        for part in parts {
            assert!(text.contains(part), "{command:?} without {part}: {text}");
        }
    };
    refused(
        &["descend", "--track", track.to_str().unwrap()],
        &["is of Oskerdale, and Quillmere", "another track"],
    );
    refused(&["losses", "--set", "athlete.mass_kg=71"], &["athlete.mass_kg 71, calibrated 66"]);
    refused(
        &["compare", "--variant", "air.drag_area_m2=0.058"],
        &["air.drag_area_m2=0.058: air.drag_area_m2 0.058, calibrated 0.061", "air.taping_factor"],
    );
    refused(&["bow", "window", "--set", "ice.friction_factor=0.9"], &["leave it as it was"]);
    refused(&["compare", "--unknowns", "x.csv"], &["cannot be used with"]);
    refused(&["descend", "--ride", "x.csv"], &["a ride from a file"]);
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("other.toml");
    fs::write(&place, "sheet = \"x\"\n").unwrap();
    let (status, text) = said(&["descend", "--calibration", place.to_str().unwrap()]);
    assert_eq!(status, Some(2), "{text}");
    assert!(text.contains("other.toml, line 1") && text.contains("calibrate --out"), "{text}");
    let study = folder.path().join("study.toml");
    let text = "name = \"s\"\nmodel = \"guided\"\nseed = 1\n[set]\n\"air.drag_area_m2\" = 0.06\n[design]\nkind = \"slopes\"\n";
    fs::write(&study, text).unwrap();
    refused(&["sweep", study.to_str().unwrap()], &["sets air.drag_area_m2, which the calibration sets"]);
}

/// A number behind words.
fn behind(text: &str, words: &str) -> f64 {
    let rest = text.split(words).nth(1).unwrap_or_else(|| panic!("no {words} in {text}"));
    rest.split_whitespace().next().unwrap().trim_end_matches([',', ';']).parse().unwrap()
}

#[test]
fn cli_a_calibration_moves_the_descent_and_leaves_a_band() {
    // the guided estimate, since it costs no plan; other bows are what a calibration is made for
    let guided = ["descend", "--model", "guided", "--set", "runners.bow_mm=1.6"];
    let (status, text) = said(&[&guided[..], &["--calibration", named()]].concat());
    assert_eq!(status, Some(0), "{text}");
    assert!(
        text.contains("calibrated by 6 runs") && text.contains("had another bow: what was fitted is carried"),
        "{text}"
    );
    let low = behind(&text, "95 % band");
    let high = behind(text.split("95 % band").nth(1).unwrap(), "s to");
    let finish = behind(&text, "finish 5") + 50.0;
    assert!(low < finish && finish < high, "{low} {finish} {high}");
    // by hand: the estimates set by key give the same time
    let toml = fs::read_to_string(calibration()).unwrap();
    let [factor, area] = ["ice.friction_factor", "air.drag_area_m2"]
        .map(|key| behind(toml.split(&format!("key = \"{key}\"")).nth(1).unwrap(), "estimate ="));
    let sets = [
        format!("ice.friction_factor={factor}"),
        format!("air.drag_area_m2={area}"),
        format!("ice.guided_friction={}", 0.009 * factor),
    ];
    let by_hand: Vec<&str> = sets.iter().flat_map(|s| ["--set", s.as_str()]).collect();
    let (_, text) = said(&[&guided[..], &by_hand].concat());
    let same = behind(&text, "finish 5") + 50.0;
    assert!((same - finish).abs() < 0.0015, "{same} {finish}"); // the last printed digit
}

#[test]
fn cli_a_sweep_with_a_calibration_is_made_again_from_its_sidecar() {
    let folder = tempfile::tempdir().unwrap();
    let study = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/what-a-step-is-worth.toml");
    let out = folder.path().join("out");
    let (status, text) =
        said(&["sweep", study.to_str().unwrap(), "--calibration", named(), "--out", out.to_str().unwrap()]);
    assert_eq!(status, Some(0), "{text}");
    assert!(
        text.contains("over what the calibration leaves open") && text.contains("its sign is sure"),
        "{text}"
    );
    let (_, text) = said(&["sweep", "--again", out.join("sweep.json").to_str().unwrap()]);
    assert!(text.contains("the same bytes as before"), "{text}");
}

#[test]
fn cli_an_evening_refuses_a_calibration_and_a_notebook_that_are_not_there() {
    let folder = tempfile::tempdir().unwrap();
    let plan = folder.path().join("plan.toml");
    for (key, part) in [("calibration", "gone.toml"), ("notebook", "gone.csv")] {
        fs::write(&plan, format!("{key} = \"{part}\"\n")).unwrap();
        let (status, text) = said(&["evening", plan.to_str().unwrap()]);
        assert_eq!(status, Some(2), "{text}");
        assert!(text.contains(part) && text.contains("cannot be read"), "{text}");
    }
    fs::write(&plan, "athlete = \"Ada\"\n").unwrap();
    let (_, text) = said(&["evening", plan.to_str().unwrap()]);
    assert!(text.contains("notebook"), "{text}");
}

#[test]
fn cli_a_fitted_edge_is_put_on_and_no_bag_of_pairs_has_it() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("calibration");
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let sheet = root.join("examples/week-sheet.csv");
    let fit = ["calibrate", sheet.to_str().unwrap(), "--fit", "friction,drag,edge"];
    let (status, text) = said(&[&fit[..], &["--out", out.to_str().unwrap()]].concat());
    assert_eq!(status, Some(0), "{text}");
    assert!(text.contains("The runs say next to nothing of edge radius"), "{text}");
    let file = out.join("calibration.toml");
    let with = ["--calibration", file.to_str().unwrap()];
    let (status, text) = said(&[&["descend", "--model", "guided"][..], &with].concat());
    assert_eq!(status, Some(0), "{text}");
    assert!(text.contains("runners.groove_edge_radius_mm 0.") && text.contains("95 % band"), "{text}");
    let other = ["compare", "--variant", "runners.groove_edge_radius_mm=0.4"];
    let (status, text) = said(&[&other[..], &with].concat());
    assert_eq!(status, Some(2), "{text}");
    assert!(text.contains("fits no edge radius for other edges"), "{text}");
    // the plan of the example, with files by their whole path
    let plan = fs::read_to_string(root.join("examples/evening.toml")).unwrap();
    let mut whole = format!("calibration = \"{}\"\n", file.display());
    for line in plan.lines() {
        let by_path = |name: &str| {
            let place = root.join("examples").join(name);
            place.exists().then(|| line.replace(&format!("\"{name}\""), &format!("\"{}\"", place.display())))
        };
        let value = line.split('"').nth(1).filter(|v| v.contains(['.', '/']));
        whole += &value.and_then(by_path).unwrap_or_else(|| line.to_string());
        whole += "\n";
    }
    let place = folder.path().join("evening.toml");
    fs::write(&place, whole).unwrap();
    let (status, text) = said(&["evening", place.to_str().unwrap()]);
    assert_eq!(status, Some(2), "{text}");
    assert!(text.contains("of the pair that was ridden, and the library has"), "{text}");
}

#[test]
fn cli_rides_have_the_errors_that_a_calibration_tells() {
    let folder = tempfile::tempdir().unwrap();
    let ridden = |factor: f64| {
        let file = folder.path().join("calibration.toml");
        let told = fs::read_to_string(named()).unwrap();
        let errors =
            format!("skill = \"club\"\nerror_factor_log = {:?}\nerror_factor_log_sd = 0.3\n", factor.ln());
        fs::write(&file, format!("{errors}{told}")).unwrap();
        let out = folder.path().join(format!("out-{factor}"));
        let (status, text) = said(&[
            "compare",
            "--variant",
            "runners.bow_mm=4",
            "--skill",
            "club",
            "--rides",
            "6",
            "--calibration",
            file.to_str().unwrap(),
            "--out",
            out.to_str().unwrap(),
        ]);
        assert_eq!(status, Some(0), "{text}");
        (text, fs::read_to_string(out.join("rides.csv")).unwrap())
    };
    let [(text, less), (_, more)] = [0.7, 1.4].map(ridden);
    // exp(ln 0.7 -+ 1.96 x 0.3)
    assert!(text.contains("0.70 times the errors of the level club, 95 % band 0.39 to 1.26"), "{text}");
    assert!(text.contains("over what the calibration leaves open"), "{text}");
    // the same mistakes, twice as large: other times
    assert_ne!(less, more);
}
