//! A log laid over the model on the command line: the planted clock, and logs that cannot be used.

use crate::cli::sagitta;
use std::fs;

/// Invented: the planned ride with 1.05 times the friction at 20 Hz, first eye at 8.40 s of the log's clock, up times 1.02
/// and 0.05 g too much, yaw rate 1.5 deg/s too much, noise of 0.12 g and 2 deg/s.
const LOG: &str = include_str!("../../examples/log.csv");

fn row(told: &str, begins: &str) -> Vec<f64> {
    let line = told.lines().find(|l| l.trim_start().starts_with(begins)).unwrap();
    line.split(|c: char| !"+-.0123456789".contains(c))
        .filter_map(|w| w.trim_start_matches("+-").parse().ok())
        .collect()
}

#[test]
fn cli_a_planted_clock_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let asked =
        ["log", "examples/log.csv", "--set", "ice.friction_factor=1.05", "--out", out.to_str().unwrap()];
    let run = sagitta(&asked).output().unwrap();
    let (told, why) = (String::from_utf8(run.stdout).unwrap(), String::from_utf8(run.stderr).unwrap());
    assert_eq!(run.status.code(), Some(0), "{why}");
    // the ride of the log itself: clock and scale within three of the errors that it states, and those small
    let (eye, scale) = (row(&told, "first eye at"), row(&told, "a second of the model takes"));
    assert!(eye[1] < 0.03 && (eye[0] - 8.40).abs() < 3.0 * eye[1], "{told}");
    assert!(scale[1] < 1e-3 && (scale[0] - 1.0).abs() < 3.0 * scale[1], "{told}");
    // sensor: up +0.05 g at 1.02, yaw rate +1.5 deg/s
    let sensor = row(&told, "sensor against model");
    assert!(
        (sensor[0] - 0.05).abs() < 0.03 && (sensor[1] - 1.02).abs() < 0.02 && (sensor[2] - 1.5).abs() < 0.3,
        "{told}"
    );
    // corner by corner: entry within four errors and a hundredth for the printed digits
    for corner in 1..=14 {
        let line = row(&told, &format!("{corner} "));
        let [_, log, model, error, ..] = line[..] else { panic!("{told}") };
        assert!((log - model).abs() < 4.0 * error + 3.0 * eye[1] + 0.01, "{corner}: {told}");
    }
    assert!(told.contains("none"), "{told}");
    assert!(fs::read(out.join("log.png")).unwrap().starts_with(b"\x89PNG"));
}

#[test]
fn cli_a_log_that_cannot_be_used_is_refused_by_place() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("log.csv");
    let name = file.to_str().unwrap();
    let refused = |text: &str, more: &[&str], part: &str| {
        fs::write(&file, text).unwrap();
        let out = sagitta(&[&["log", name], more].concat()).output().unwrap();
        let why = String::from_utf8(out.stderr).unwrap();
        assert_eq!((out.status.code(), out.stdout.len()), (Some(2), 0), "{why}");
        assert!(why.contains(part), "missing {part} in\n{why}");
    };
    refused(
        &LOG.replacen("up_g", "up", 1),
        &[],
        "line 1, column 2 (heading): got up; allowed: time_s, time_ms, up_g",
    );
    refused(&LOG.replacen(",yaw_rate_deg_s", ",left_g", 1), &[], "(yaw_rate_deg_s): got no such column");
    let second = LOG.lines().nth(1).unwrap();
    refused(
        &LOG.replacen(second, "0.00,one,0", 1),
        &[],
        "line 2, column 2 (up_g): got one; allowed: a number from -20 to 20",
    );
    refused(
        &LOG.lines().take(500).map(|l| l.to_string() + "\n").collect::<String>(),
        &[],
        "covers too little of the descent",
    );
    // columns in each other's place: in rad/s the yaw rate is in the range of a load
    let swapped: String = LOG
        .lines()
        .enumerate()
        .map(|(i, line)| match (i, line.split(',').collect::<Vec<_>>().as_slice()) {
            (0, _) => "time_s,up_g,yaw_rate_rad_s\n".to_string(),
            (_, [t, up, yaw]) => format!("{t},{:.3},{up}\n", yaw.parse::<f64>().unwrap().to_radians()),
            _ => panic!("{line}"),
        })
        .collect();
    refused(&swapped, &[], "(up, yaw_rate): got columns in each other's place");
    refused(LOG, &["--track", "tracks/quillmere"], "Is it of this track, whole");
}
