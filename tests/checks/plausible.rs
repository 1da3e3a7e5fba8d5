//! The plausible set as the program makes and reads it.

use crate::cli::sagitta;
use std::fs;

#[test]
fn cli_plausible_goes_on_where_it_was_stopped() {
    let folder = tempfile::tempdir().unwrap();
    let table = |name: &str| folder.path().join(name);
    // at -40 degC no film comes up at low speed: the friction of a bob runner is far too great, and no ride is planned
    let cold = table("cold.toml");
    fs::write(&cold, "name = \"cold\"\n[ice]\ntemperature_c = -40\n").unwrap();
    let run = |name: &str, samples: &str, seed: &str| {
        let out = table(name);
        let (out, cold) = (out.to_str().unwrap(), cold.to_str().unwrap());
        let on = ["plausible", "--out", out, "--samples", samples, "--seed", seed, "--setup", cold];
        sagitta(&on).output().unwrap()
    };
    let first = run("a.csv", "1", "7");
    assert_eq!(first.status.code(), Some(1), "one sample that misses the first test is kept");
    assert!(String::from_utf8(first.stdout).unwrap().contains("0 of 1 samples"));
    let one = fs::read_to_string(table("a-all.csv")).unwrap();
    run("a.csv", "2", "7");
    let two = fs::read_to_string(table("a-all.csv")).unwrap();
    assert!(two.starts_with(&one) && two.lines().count() == 3, "{two}");
    run("b.csv", "2", "7");
    assert_eq!(two, fs::read_to_string(table("b-all.csv")).unwrap());
    let other = run("a.csv", "2", "99");
    assert_eq!(other.status.code(), Some(2));
    assert!(String::from_utf8(other.stderr).unwrap().contains("holds samples of another seed"));
    assert_eq!(two, fs::read_to_string(table("a-all.csv")).unwrap());
    // a table without a kept sample answers nothing
    let kept = table("a.csv");
    let asked = ["compare", "--variant", "runners.bow_mm=3", "--unknowns", kept.to_str().unwrap()];
    let said = sagitta(&asked).output().unwrap();
    assert_eq!(said.status.code(), Some(2));
    assert!(String::from_utf8(said.stderr).unwrap().contains("holds no set"));
}

#[test]
fn cli_plausible_and_its_readers_refuse_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let bad = folder.path().join("bad.csv");
    fs::write(&bad, "sample,seed\n1,2\n").unwrap();
    let bad = bad.to_str().unwrap();
    for (arguments, parts) in [
        (vec!["plausible", "--out", "x.csv", "--samples", "0"], vec!["--samples", "1 to 65536"]),
        (vec!["plausible", "--out", "x.csv", "--rides", "3"], vec!["--rides", "6 to 10000"]),
        (vec!["plausible", "--out", "x.csv", "--track", "nowhere"], vec!["nowhere", "no track is there"]),
        (
            vec!["compare", "--variant", "runners.bow_mm=3", "--unknowns", bad],
            vec!["line 1", "runners.roughness_um"],
        ),
    ] {
        let output = sagitta(&arguments).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        let told = String::from_utf8(output.stderr).unwrap();
        for part in parts {
            assert!(told.contains(part), "missing \"{part}\" in\n{told}");
        }
    }
}

#[test]
fn cli_a_gap_and_a_window_are_asked_over_samples() {
    let folder = tempfile::tempdir().unwrap();
    let two = folder.path().join("two.csv");
    let shipped = include_str!("../../examples/plausible.csv");
    fs::write(&two, shipped.lines().take(3).map(|l| format!("{l}\n")).collect::<String>()).unwrap();
    let two = two.to_str().unwrap();
    let told = |arguments: &[&str]| {
        let output = sagitta(arguments).output().unwrap();
        String::from_utf8(output.stdout).unwrap()
    };
    // against itself nothing is lost, with any sample
    let same =
        told(&["losses", "--model", "guided", "--reference-set", "runners.bow_mm=3.5", "--unknowns", two]);
    let gap = "gap over 2 plausible sets of what nobody has measured: median +0.000 s, 90 % of sets from +0.000 s to +0.000 s";
    assert!(same.contains(gap), "{same}");
    let window = told(&["bow", "window", "--corners", "9", "--unknowns", two]);
    assert!(window.contains("over 2 plausible sets of what nobody has measured: window"), "{window}");
    // the name of those that come with the program
    let all = told(&[
        "losses",
        "--model",
        "guided",
        "--reference-set",
        "air.drag_area_m2=0.06",
        "--unknowns",
        "shipped",
    ]);
    assert!(all.contains("gap over 30 plausible sets"), "{all}");
}
