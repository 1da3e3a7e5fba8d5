//! `sagitta ride plan`: the card, its files, the ride read again, and what is refused.

use crate::cli::sagitta;
use std::fs;

const TRACK: [&str; 2] = ["--track", "tracks/quillmere"];

fn run(arguments: &[&str]) -> (Option<i32>, String, String) {
    let output = sagitta(&[arguments, &TRACK].concat()).output().unwrap();
    let text = |b| String::from_utf8(b).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

/// The number before a unit in the line that begins so.
fn before<'a>(text: &'a str, head: &str, unit: &str) -> &'a str {
    let line = text.lines().find(|l| l.starts_with(head)).unwrap();
    line.split(unit).next().unwrap().split_whitespace().last().unwrap()
}

#[test]
fn cli_ride_plan_writes_a_ride_that_descend_rides() {
    let folder = tempfile::tempdir().unwrap();
    // a steady sled, since nobody corrects a ride from a table
    let steady = ["--set", "runners.bow_mm=1", "--set", "air.yaw_moment_n_m_per_deg=0"];
    let (status, card, said) =
        run(&[&["ride", "plan", "--out", folder.path().to_str().unwrap()][..], &steady].concat());
    assert_eq!(status, Some(0), "{said}");
    for words in ["ride found", "help left", "corner 11, right", "shoulder", "Speed and load"] {
        assert!(card.contains(words), "{words}: {card}");
    }
    let mut names: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    names.sort();
    assert_eq!(names, ["ride-card.txt", "ride-plan.png", "ride-plan.svg", "ride.csv"]);
    assert_eq!(fs::read_to_string(folder.path().join("ride-card.txt")).unwrap(), card);
    let ride = folder.path().join("ride.csv");
    let with =
        |more: &[&str]| run(&[&["descend", "--ride", ride.to_str().unwrap()][..], &steady, more].concat());
    let (status, ridden, said) = with(&[]);
    assert_eq!(status, Some(0), "{said}");
    let time = |text: &str, head: &str| before(text, head, " s").parse::<f64>().unwrap();
    let apart = time(&ridden, "finish ") - time(&card, "ride found");
    // the rows of the ride are a metre apart, and nobody corrects: 10 ms
    assert!(apart.abs() < 0.01, "{apart} s");
    // for another set-up it is refused, with the reason, unless it says nothing of one
    let other = ["--set", "ice.temperature_c=-5"];
    let (status, _, said) = with(&other);
    assert_eq!(status, Some(2), "{said}");
    assert!(said.contains("ride.csv, line 2") && said.contains("another set-up"), "{said}");
    let text = fs::read_to_string(&ride).unwrap();
    assert!(text.starts_with("# track: Quillmere\n# setup: "), "{text}");
    let bare: String = text.lines().filter(|l| !l.starts_with("# setup")).map(|l| format!("{l}\n")).collect();
    fs::write(&ride, bare).unwrap();
    let (status, _, said) = with(&other);
    assert_ne!(status, Some(2), "{said}");
}

#[test]
fn cli_ride_plan_tells_that_there_is_no_ride() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    // a tenth of the grip
    let weak = ["--set", "ice.grip_factor=0.1"];
    let (status, told, said) =
        run(&[&["ride", "plan", "--out", out.to_str().unwrap()], weak.as_slice()].concat());
    assert_eq!(status, Some(1), "{told}{said}");
    for words in ["no ride without help was found", "m/s2 more than this sled can turn", "Speed and load"] {
        assert!(told.contains(words), "{words}: {told}");
    }
    assert!(!out.exists());
}

#[test]
fn cli_ride_plan_refuses_a_lag_that_is_none() {
    for lag in ["-0.1", "2", "nan", "inf"] {
        let (status, told, said) = run(&["ride", "plan", "--lag", lag]);
        assert_eq!((status, told.as_str()), (Some(2), ""), "{lag}");
        assert!(said.contains(&format!("--lag {lag}: ")) && said.contains("allowed 0 to 1 s"), "{said}");
    }
}
