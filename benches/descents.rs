//! How long does one descent take on one core? Targets: guided 1 ms, full state on the edge-free track 2 ms,
//! real runners 10 ms (5 wanted), at the default tolerance and with the run that estimates the error.
#![allow(missing_docs, clippy::unwrap_used)]

use divan::{Bencher, black_box};
use sled_dynamics::laws::ice::Point;
use sled_dynamics::laws::on_runners::OnRunners;
use sled_dynamics::motion::course::Course;
use sled_dynamics::motion::descend::descend;
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::guided::guided;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::pilot::{FirstPilot, HandsOff, Steering};
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::planned_ride::PlannedRide;
use sled_dynamics::setup::Setup;
use sweep_runner::rides::prepared::Ready;
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
    sled_dynamics::setup::file::read_setup(file, &text(file), &[]).unwrap()
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

/// A descent at a tolerance: its times, how far the finish is from that at a tolerance of 1e-9, and the printed error.
fn at_tolerance<P: Steering + Sync>(
    bencher: Bencher<'_, '_>,
    course: &Course<'_, OnRunners, P>,
    launch: &Launch,
    tolerance: f64,
) {
    let ride = |tolerance: f64, detail| {
        descend(course, launch, Entry::STRAIGHT, Precision { tolerance, ..Precision::default() }, detail)
    };
    let (d, exact) = (ride(tolerance, Detail::Times), ride(1e-9, Detail::Bare));
    let off = d.finish_time_s.zip(exact.finish_time_s).map(|(a, b)| 1e3 * (a - b));
    println!(
        "tolerance {tolerance:e}: off by {off:.4?} ms, printed error {:.4} ms, {} evaluations",
        1e3 * d.numerical_error_s,
        d.evaluations
    );
    bencher.bench(|| black_box(ride(tolerance, Detail::Bare)));
}

const TOLERANCES: [f64; 3] = [1e-5, 3e-6, 1e-6];

#[divan::bench(args = TOLERANCES)]
fn planned_ride(bencher: Bencher<'_, '_>, tolerance: f64) {
    let (t, s) = (track("oskerdale"), setup());
    let ready = Ready::new(&t, &s).unwrap();
    let planned = ready.plan(0.15, None).unwrap();
    let ride = PlannedRide::new(&planned.plan, 0.15).unwrap();
    let course = Course { track: &t, constants: &ready.constants, ice: &ready.ice, pilot: &ride };
    at_tolerance(bencher, &course, &ready.launch, tolerance);
}

#[divan::bench(args = TOLERANCES)]
fn first_pilot(bencher: Bencher<'_, '_>, tolerance: f64) {
    let (t, s) = (track("oskerdale"), setup());
    let ready = Ready::new(&t, &s).unwrap();
    let pilot = FirstPilot::with_lag(0.15);
    let course = Course { track: &t, constants: &ready.constants, ice: &ready.ice, pilot: &pilot };
    at_tolerance(bencher, &course, &ready.launch, tolerance);
}

/// The same right-hand side in the hands of a general library, its Dormand-Prince 5(4) at like tolerances:
/// is stepping of our own worth keeping?
#[divan::bench]
fn full_state_edge_free_by_a_general_library(bencher: Bencher<'_, '_>) {
    use differential_equations::prelude::{ExplicitRungeKutta, IVP};
    use sled_dynamics::laws::state::State;
    use sled_dynamics::motion::descend::rates_at;
    use sled_dynamics::motion::equations::{Vector, along_the_station};
    let (t, s) = (track("tests/edge-free"), setup());
    let c = Constants::new(&s, &t.data);
    let ice = Point { friction: 0.009 };
    let course = Course { track: &t, constants: &c, ice: &ice, pilot: &HandsOff };
    let state = State {
        offset_m: 0.0,
        yaw_rad: 0.0,
        forward_m_s: 9.0,
        lateral_velocity_m_s: 0.0,
        yaw_rate_rad_s: 0.0,
    };
    let mut y0: Vector = [0.0; sled_dynamics::motion::equations::STATES];
    y0[3] = 9.0;
    y0[5] = rates_at(&course, 15.0, &state, 0.0).motion.line_turn_rad_s;
    let solve = || {
        IVP::ode_from_fn(
            |x: f64, y: &Vector, d: &mut Vector| {
                *d = along_the_station(&c, &ice, &HandsOff, &t.surface.station(x), y);
            },
            15.0,
            t.finish_m(),
            y0,
        )
        .method(ExplicitRungeKutta::dopri5().rtol(1e-7).atol(1e-6))
        .solve()
        .ok()
    };
    let time = solve().and_then(|s| s.y.last().map(|y| y[0]));
    let launch = Launch::moving(15.0, 9.0);
    let ours = descend(&course, &launch, Entry::STRAIGHT, Precision::default(), Detail::Bare);
    println!("general library {time:?} s, ours {:?} s", ours.finish_time_s);
    bencher.bench_local(|| black_box(solve()).is_some());
}
