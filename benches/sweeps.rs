//! How many cases a second, how well do two threads share them, and does memory stay flat in the number of cases?
//! Targets: efficiency 0.9, the same peak at 10,000 cases as at 1000.
#![allow(missing_docs, clippy::unwrap_used)]

use std::time::Instant;
use sweep_runner::study::Study;
use sweep_runner::study_case::BasePlans;
use sweep_runner::study_file::read_study;
use sweep_runner::sweep::rows_in_order;
use sweep_runner::sweep_table::row;
use track_geometry::track::Track;

fn text(path: &str) -> String {
    std::fs::read_to_string(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path)).unwrap()
}

/// A study on Quillmere with this many points.
fn study(model: &str, points: usize) -> Study {
    let file = format!(
        "name = \"bench\"\nmodel = \"{model}\"\nseed = 1\n[design]\nkind = \"latin-hypercube\"\npoints = {points}\n\
         [[axis]]\nkey = \"athlete.mass_kg\"\nfrom = 60\nto = 90\n[[axis]]\nkey = \"air.drag_area_m2\"\nfrom = 0.05\n\
         to = 0.06\n[outputs]\ncorners = \"yes\"\n"
    );
    let (toml, csv) = ("tracks/quillmere/track.toml", "tracks/quillmere/stations.csv");
    let read = track_geometry::track_file::read_track(toml, &text(toml), csv, &text(csv)).unwrap();
    let name = "examples/clubs-man.toml";
    let setup = sled_dynamics::setup_file::read_setup(name, &text(name), &[]).unwrap();
    Study::new(read_study("bench", &file).unwrap(), Track::new(read.track).unwrap(), setup).unwrap()
}

/// Seconds for all rows, and their bytes.
fn timed(study: &Study, threads: usize) -> (f64, usize) {
    let cases: Vec<usize> = (0..study.cases()).collect();
    let (start, mut bytes) = (Instant::now(), 0);
    let made = |case| row(study, case, &study.made(case, &BasePlans::default()));
    let sink = |_, text: &str| {
        bytes += text.len();
        Ok::<(), ()>(())
    };
    rows_in_order(&cases, threads, made, |_| String::new(), sink).unwrap();
    (start.elapsed().as_secs_f64(), bytes)
}

/// Greatest memory so far (MB), where the system tells.
fn peak_mb() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    Some(line.split_whitespace().nth(1)?.parse::<f64>().ok()? / 1024.0)
}

fn main() {
    let told = |cases: usize, model: &str, threads: usize| {
        let (s, bytes) = timed(&study(model, cases), threads);
        let peak = peak_mb().map_or("unknown".into(), |p| format!("{p:.1} MB"));
        println!(
            "{model}: {cases} cases, {threads} threads: {s:.2} s, {:.1} a second, {bytes} bytes, peak {peak}",
            cases as f64 / s
        );
        s
    };
    told(1000, "guided", 2);
    told(10_000, "guided", 2);
    let (one, two) = (told(2000, "guided", 1), told(2000, "guided", 2));
    println!("guided: parallel efficiency at two threads {:.2}", one / (2.0 * two));
    let (one, two) = (told(24, "first-pilot", 1), told(24, "first-pilot", 2));
    println!("first-pilot: parallel efficiency at two threads {:.2}", one / (2.0 * two));
}
