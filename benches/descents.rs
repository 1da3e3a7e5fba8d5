//! How long does one descent take on one core? Targets: guided 1 ms, full state on the edge-free track 2 ms,
//! real runners 10 ms (5 wanted), at the default tolerance and with the run that estimates the error.
#![allow(missing_docs, clippy::unwrap_used)]

use sled_dynamics::laws::ice::Point;
use sled_dynamics::laws::on_runners::OnRunners;
use sled_dynamics::motion::course::Course;
use sled_dynamics::motion::descend::descend;
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::equations::{Constants, STATES, Vector, along_the_station};
use sled_dynamics::motion::guided::guided;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::pilot::{FirstPilot, HandsOff, Steering};
use sled_dynamics::motion::precision::{Detail, Pair, Precision};
use sled_dynamics::riding::planned_ride::PlannedRide;
use std::hint::black_box;
use sweep_runner::rides::ensemble::RIDES;
use sweep_runner::rides::prepared::Ready;
use timings::{Times, row, setup, table, track};

/// A descent at a tolerance: how long it takes, how far the finish is from that at a tolerance of 1e-9, and the
/// printed error.
fn at_tolerances<P: Steering + Sync>(who: &str, course: &Course<'_, OnRunners, P>, launch: &Launch) {
    let ride = |(pair, tolerance): (Pair, f64), detail| {
        let precision = Precision { pair, tolerance, ..Precision::default() };
        descend(course, launch, Entry::STRAIGHT, precision, detail)
    };
    let exact = ride((Pair::Fifth, 1e-9), Detail::Bare).finish_time_s.unwrap_or(f64::NAN);
    let fifth = [1e-5, 3e-6, 1e-6].map(|tolerance| (Pair::Fifth, tolerance));
    let third = [RIDES.tolerance, 3e-4, 1e-4].map(|tolerance| (Pair::Third, tolerance));
    for at in fifth.into_iter().chain(third) {
        let d = ride(at, Detail::Times);
        let off_ms = 1e3 * (d.finish_time_s.unwrap_or(f64::NAN) - exact).abs();
        let what = format!(
            "{who}, {} at {:e}: off by {off_ms:.4} ms, printed error {:.4} ms, {} evaluations",
            if at.0 == Pair::Fifth { "order 5" } else { "order 3" },
            at.1,
            1e3 * d.numerical_error_s,
            d.evaluations
        );
        row(&what, &Times::measured(|| black_box(ride(at, Detail::Bare))));
    }
}

fn main() {
    let (oskerdale, edge_free, setup) = (track("oskerdale"), track("tests/edge-free"), setup("clubs-woman"));
    let launch = Launch::moving(15.0, 9.0);

    table("How long does one descent take on one core?");
    let c = Constants::new(&setup, &oskerdale.data);
    for (what, detail) in [("bare", Detail::Bare), ("with its error", Detail::Times)] {
        let ride = || guided(black_box(&oskerdale), &c, &launch, 0.009, Precision::default(), detail);
        row(&format!("guided on Oskerdale, {what}"), &Times::measured(ride));
    }
    let c = Constants::new(&setup, &edge_free.data);
    let course =
        Course { track: &edge_free, constants: &c, ice: &Point { friction: 0.009 }, pilot: &HandsOff };
    for (what, detail) in [("bare", Detail::Bare), ("with its error", Detail::Times)] {
        let ride = || descend(black_box(&course), &launch, Entry::STRAIGHT, Precision::default(), detail);
        row(&format!("point on the edge-free track, {what}"), &Times::measured(ride));
    }

    table("And on runners, on Oskerdale (bare)?");
    let ready = Ready::new(&oskerdale, &setup).unwrap();
    let planned = ready.plan(0.15, None).unwrap();
    let ride = PlannedRide::new(&planned.plan, 0.15).unwrap();
    let pilot = FirstPilot::with_lag(0.15);
    let (constants, ice) = (&ready.constants, &ready.ice);
    let there: Vec<(f64, Vector)> = (planned.plan.station_m.iter().zip(&planned.plan.states))
        .map(|(station_m, state)| {
            let mut y = [0.0; STATES];
            y[1..=7].copy_from_slice(state);
            (*station_m, y)
        })
        .collect();
    let rates = |(station_m, y): &(f64, Vector)| {
        let at = oskerdale.surface.station(*station_m);
        black_box(along_the_station(constants, ice, &ride, &at, y));
    };
    let what = format!("{} right-hand sides along the planned ride", there.len());
    row(&what, &Times::measured(|| there.iter().for_each(rates)));
    at_tolerances("planned", &Course { track: &oskerdale, constants, ice, pilot: &ride }, &ready.launch);
    at_tolerances("first pilot", &Course { track: &oskerdale, constants, ice, pilot: &pilot }, &ready.launch);
}
