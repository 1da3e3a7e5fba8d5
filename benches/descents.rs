//! How long does one descent take on one core? Targets: guided 1 ms, full state on the edge-free track 2 ms,
//! real runners 10 ms (5 wanted), at the default tolerance and with the run that estimates the error.
#![allow(missing_docs, clippy::unwrap_used)]

use divan::{Bencher, black_box};
use sled_dynamics::descend::{Course, Entry, descend};
use sled_dynamics::equations::Constants;
use sled_dynamics::guided::guided;
use sled_dynamics::ice::Point;
use sled_dynamics::launch::Launch;
use sled_dynamics::on_runners::{OnRunners, runner_tables};
use sled_dynamics::pilot::{FirstPilot, HandsOff};
use sled_dynamics::precision::{Detail, Precision};
use sled_dynamics::setup::Setup;
use track_geometry::track::Track;

fn main() {
    divan::main();
}

fn text(path: &str) -> String {
    std::fs::read_to_string(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path)).unwrap()
}

fn track(folder: &str) -> Track {
    let (toml, csv) = (format!("tracks/{folder}/track.toml"), format!("tracks/{folder}/stations.csv"));
    let read = track_geometry::track_file::read_track(&toml, &text(&toml), &csv, &text(&csv)).unwrap();
    Track::new(read.track).unwrap()
}

fn setup() -> Setup {
    let file = "examples/clubs-woman.toml";
    sled_dynamics::setup_file::read_setup(file, &text(file), &[]).unwrap()
}

#[divan::bench(args = [Detail::Bare, Detail::Times])]
fn guided_descent(bencher: Bencher<'_, '_>, detail: Detail) {
    let (t, s) = (track("oskerdale"), setup());
    let c = Constants::new(&s, &t.data);
    let launch = Launch::moving(15.0, 9.0);
    bencher.bench(|| guided(black_box(&t), &c, &launch, 0.009, Precision::default(), detail));
}

#[divan::bench(args = [Detail::Bare, Detail::Times])]
fn full_state_edge_free(bencher: Bencher<'_, '_>, detail: Detail) {
    let (t, s) = (track("tests/edge-free"), setup());
    let c = Constants::new(&s, &t.data);
    let course = Course { track: &t, constants: &c, ice: &Point { friction: 0.009 }, pilot: &HandsOff };
    let launch = Launch::moving(15.0, 9.0);
    bencher.bench(|| descend(black_box(&course), &launch, Entry::STRAIGHT, Precision::default(), detail));
}

#[divan::bench(args = [1e-5, 1e-6, 1e-7])]
fn real_runners(bencher: Bencher<'_, '_>, tolerance: f64) {
    let (t, s) = (track("oskerdale"), setup());
    let c = Constants::new(&s, &t.data);
    let ice = OnRunners::new(&s, runner_tables(&s).unwrap());
    let pilot = FirstPilot::with_lag(0.15);
    let course = Course { track: &t, constants: &c, ice: &ice, pilot: &pilot };
    let launch = Launch::from_push(&s.push, &t, &c, 0.009).unwrap();
    let p = Precision { tolerance, ..Precision::default() };
    let d = descend(&course, &launch, Entry::STRAIGHT, p, Detail::Times);
    println!(
        "tolerance {tolerance:e}: {:?} s, error {:.1e} s, {} evaluations",
        d.finish_time_s, d.numerical_error_s, d.evaluations
    );
    bencher.bench(|| descend(black_box(&course), &launch, Entry::STRAIGHT, p, Detail::Bare));
}
