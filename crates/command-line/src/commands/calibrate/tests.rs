//! Planted truths from the model itself, the model against planned rides, and what is written.

use super::*;
use crate::commands::planned;
use crate::commands::unknowns::sets;
use crate::files::{self, ReadTrack};
use crate::plan_store::PlanStore;
use evidence::calibration::noise::run_covariance;
use evidence::sheet::Sheet;
use nalgebra::DVector;
use numerics::points::stream;
use rand::RngExt;
use rand_distr::StandardNormal;
use std::sync::OnceLock;
use sweep_runner::rides::levelled::{Conditions, Levels};

/// The track and the set-up that are built in.
fn read() -> (ReadTrack, Setup) {
    (files::track(None).unwrap(), files::setup(None, &[]).unwrap().setup)
}

fn ridden(track: &ReadTrack, setup: &Setup) -> (Ridden, Launch) {
    ridden_with_more(&planned(track, setup, &PlanStore::none()).unwrap())
}

/// Track, set-up, planned ride and the estimate at its level, made once for all tests.
fn made() -> &'static (ReadTrack, Setup, Descent, Launch, Levelled) {
    static MADE: OnceLock<(ReadTrack, Setup, Descent, Launch, Levelled)> = OnceLock::new();
    MADE.get_or_init(|| {
        let (track, setup) = read();
        let (both, launch) = ridden(&track, &setup);
        let levelled = Levelled::new(&track.track, &setup, &launch, &both, &[]).unwrap();
        (track, setup, both.own, launch, levelled)
    })
}

fn levels(setup: &Setup, launch: &Launch) -> Levels {
    Levels {
        friction_factor: setup.ice.friction_factor,
        drag_area_m2: setup.air.drag_area_m2,
        entry_speed_m_s: launch.speed_m_s,
    }
}

fn finish_s(levels: &Levels) -> f64 {
    let (track, .., levelled) = made();
    let parts = levelled.sections(&track.track, &Conditions::default(), levels).unwrap();
    parts.iter().map(|p| p.time_s).sum()
}

#[test]
fn exact_levelled_is_the_planned_ride_at_the_set_up() {
    let (track, setup, descent, launch, levelled) = made();
    let parts = levelled.sections(&track.track, &Conditions::default(), &levels(setup, launch)).unwrap();
    let mut time_s = 0.0;
    for (part, split) in parts.iter().zip(&descent.splits) {
        time_s += part.time_s;
        // the top speed of the sprint is found again to 1e-12
        approx::assert_abs_diff_eq!(time_s, split.split_time_s, epsilon = 1e-8);
        approx::assert_abs_diff_eq!(part.speed_m_s, split.speed_m_s, epsilon = 1e-8);
    }
    assert_eq!(parts.len(), descent.splits.len());
}

#[test]
fn order_levelled_follows_the_planned_ride() {
    let (track, setup, descent, launch, _) = made();
    let base = levels(setup, launch);
    let own_s = descent.finish_time_s.unwrap();
    let moved = |change: &dyn Fn(&mut Setup)| {
        let mut other = setup.clone();
        change(&mut other);
        ridden(track, &other).0.own.finish_time_s.unwrap() - own_s
    };
    let friction = moved(&|s| s.ice.friction_factor *= 1.2);
    let drag = moved(&|s| s.air.drag_area_m2 *= 0.9);
    let less = finish_s(&Levels { friction_factor: 1.2 * base.friction_factor, ..base }) - finish_s(&base);
    let more = finish_s(&Levels { drag_area_m2: 0.9 * base.drag_area_m2, ..base }) - finish_s(&base);
    // the line of a plan changes with the sled, that of the estimate does not: 3.9 and 2.5 % when it was made
    approx::assert_relative_eq!(less, friction, max_relative = 0.06);
    approx::assert_relative_eq!(more, drag, max_relative = 0.06);
}

/// Spread of planted runs (s).
const SPREAD_S: f64 = 0.11;

/// A run with these times at all eyes behind the first.
fn timed(name: usize, times_s: &[f64], entry_m_s: f64) -> fitted::Timed {
    let (track, ..) = made();
    let eyes: Vec<usize> = (1..track.track.data.eyes.len()).collect();
    let covariance = run_covariance(times_s, *times_s.last().unwrap(), SPREAD_S, 0.01);
    let places = eyes.iter().map(|e| track.track.data.eyes[*e].name.clone()).collect();
    let (name, values) = (name.to_string(), times_s.to_vec());
    let measured = Measured { name, places, times: times_s.len(), values, covariance };
    let start_s = Some(times_s[0]);
    fitted::Timed {
        conditions: Conditions::default(),
        entry_m_s,
        start_s,
        notes: String::new(),
        eyes,
        measured,
    }
}

fn layout() -> Layout {
    let (track, ..) = made();
    let sections = track.track.data.eyes.iter().skip(2).map(|e| e.name.clone()).collect();
    Layout { parameters: vec![Parameter::Friction, Parameter::Drag], sections }
}

/// Runs as the model makes them at these unknowns, the entry speeds behind them.
fn planted(shared: &[f64], entries: &[f64]) -> Vec<fitted::Timed> {
    let (track, setup, .., levelled) = made();
    let (layout, x) = (layout(), [shared, entries].concat());
    let empty: Vec<fitted::Timed> = entries
        .iter()
        .enumerate()
        .map(|(r, v)| timed(r, &[5.0, 18.0, 25.0, 33.0, 41.0, 49.0, 55.0], *v))
        .collect();
    let course = Course::new(&track.track, levelled, setup, &empty);
    let times = |r: usize| course.values(&layout, r, &x).unwrap();
    (0..entries.len()).map(|r| timed(r, &times(r), entries[r])).collect()
}

const SHARED: [f64; 9] = [1.1, 0.061, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];

#[test]
fn exact_bands_of_friction_and_drag_cover_planted_truths() {
    let (track, setup, _, launch, levelled) = made();
    let layout = layout();
    let (seed, sheets) = (14, 20);
    let mut covered = [0; 2];
    for sheet in 0..sheets {
        let mut rng = stream(seed, sheet);
        let mut normal = || -> f64 { rng.sample(StandardNormal) };
        let entries = [0; 3].map(|_| launch.speed_m_s + 0.15 * normal());
        let nothing = planted(&SHARED, &entries);
        let believed =
            Course::new(&track.track, levelled, setup, &nothing).unknowns(&layout, launch.speed_m_s, true);
        let prior = |j: usize| believed[j].prior.unwrap();
        // truths as believed before, but no ice faster than a third of the usual
        let mut shared: Vec<f64> =
            (0..SHARED.len()).map(|j| prior(j).mean + prior(j).sd * normal()).collect();
        shared[0] = shared[0].max(0.33);
        let mut runs = planted(&shared, &entries);
        for run in &mut runs {
            let root = run.measured.covariance.clone().cholesky().unwrap().l();
            let noise = root * DVector::from_fn(run.measured.times, |_, _| normal());
            for (value, error) in run.measured.values.iter_mut().zip(noise.iter()) {
                *value += error;
            }
        }
        let course = Course::new(&track.track, levelled, setup, &runs);
        let measured: Vec<Measured> = runs.iter().map(|r| r.measured.clone()).collect();
        let predict = |r: usize, x: &[f64]| course.values(&layout, r, x);
        let unknowns = course.unknowns(&layout, launch.speed_m_s, true);
        let found = fit(&question(&unknowns, &measured, &predict)).unwrap();
        for (j, covered) in covered.iter_mut().enumerate() {
            *covered += usize::from((found.estimates[j] - shared[j]).abs() < 1.96 * found.error(j));
        }
    }
    // binomial of 20 at 0.95: fewer than 16 in 3 of 1000
    assert!(covered.iter().all(|c| *c >= 16), "{covered:?} of {sheets}, seed {seed}");
}

fn checked(runs: &[fitted::Timed]) -> Found<'_> {
    let (track, setup, _, launch, levelled) = made();
    let course = Course::new(&track.track, levelled, setup, runs);
    found(course, layout(), (SPREAD_S, 0.01, launch.speed_m_s)).unwrap()
}

const ENTRIES: [f64; 6] = [9.30, 9.25, 9.35, 9.10, 9.28, 9.31];

#[test]
fn exact_what_runs_cannot_separate_is_said_and_their_samples_are_read_again() {
    let runs = planted(&SHARED, &ENTRIES);
    let found = checked(&runs);
    // runs without error are met by least squares to the error of the model's steps
    let squares = found.least_squares.as_ref().unwrap();
    approx::assert_abs_diff_eq!(squares.estimates[0], 1.1, epsilon = 1e-4);
    approx::assert_abs_diff_eq!(squares.estimates[1], 0.061, epsilon = 1e-6);
    assert!(squares.correlation(0, 1) < -0.9, "{}", squares.correlation(0, 1));
    let o = options();
    let told = report::told(&found, &Sheet::default(), &[], &o);
    for part in [
        "Your runs cannot separate friction and drag: correlation -0.9",
        "no run and no section is out of line",
        "6 of 6 inside their band",
        "drag area from a wind tunnel, to 2 %",
    ] {
        assert!(told.contains(part), "missing {part} in\n{told}");
    }
    // every help narrows the decision
    let decision = found.decision.as_ref().unwrap();
    assert!(decision.with.iter().all(|(_, sd_s)| *sd_s < decision.sd_s), "{told}");
    let folder = std::env::temp_dir().join(format!("sagitta-calibrate-{}", std::process::id()));
    files::write_all(&folder, &written::outputs(&found, &found.layout).unwrap()).unwrap();
    let read = sets(&folder.join("calibration.csv"));
    let toml = crate::files::read_text(&folder.join("calibration.toml"));
    std::fs::remove_dir_all(&folder).unwrap();
    let read = read.unwrap();
    assert_eq!(read.len(), written::SAMPLES);
    for j in 0..2 {
        let values: Vec<f64> = read.iter().map(|s| s.values()[j]).collect();
        let mean = values.iter().sum::<f64>() / 32.0;
        let sd = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / 31.0).sqrt();
        // quasi-random samples: independent ones would be off by 0.18 and 0.13 errors
        assert!((mean - found.fit.estimates[j]).abs() < 0.1 * found.fit.error(j), "{mean}");
        assert!((sd / found.fit.error(j) - 1.0).abs() < 0.15, "{sd}");
    }
    let (_, setup, ..) = made();
    let set_up = read[3].on(setup).unwrap();
    assert_eq!(
        [set_up.ice.friction_factor, set_up.air.drag_area_m2],
        [read[3].values()[0], read[3].values()[1]]
    );
    let toml = toml.unwrap();
    assert!(
        toml.contains("key = \"air.drag_area_m2\"") && toml.matches("[[unknown]]").count() == 15,
        "{toml}"
    );
}

#[test]
fn exact_an_edge_radius_is_found_and_what_it_cannot_be_told_from_is_said() {
    let (track, setup, _, launch, levelled) = made();
    let own = planned(track, setup, &PlanStore::none()).unwrap();
    let edge = EdgeCurve::new(&own).unwrap();
    let radius_mm = 0.4;
    // runs of the set-up, and what rounder edges change by the curve
    let mut runs = planted(&[1.0, setup.air.drag_area_m2, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0], &ENTRIES);
    for run in &mut runs {
        let mut before_s = 0.0;
        let mut late_s = 0.0;
        for (time_s, eye) in run.measured.values.iter_mut().zip(&run.eyes) {
            let section_s = *time_s - before_s;
            before_s = *time_s;
            late_s += section_s * (edge.at(*eye, radius_mm, 1.0)[0] - 1.0);
            *time_s += late_s;
        }
    }
    let with = |parameters: &[Parameter]| {
        let course = Course::new(&track.track, levelled, setup, &runs).with_edge(Some(&edge));
        let layout = Layout { parameters: parameters.to_vec(), ..layout() };
        found(course, layout, (SPREAD_S, 0.01, launch.speed_m_s)).unwrap()
    };
    let alone = with(&[Parameter::Edge]);
    // runs without error are met to where the search settles
    approx::assert_abs_diff_eq!(
        alone.least_squares.as_ref().unwrap().estimates[0],
        radius_mm,
        epsilon = 1e-3
    );
    let all = with(&[Parameter::Friction, Parameter::Drag, Parameter::Edge]);
    let told = report::told(&all, &Sheet::default(), &[], &options());
    for part in [
        "edge radius mm",
        "before, edge radius: set-up; +-40 %",
        "The runs say next to nothing of edge radius",
        "Your runs cannot separate friction and edge radius: correlation ",
    ] {
        assert!(told.contains(part), "missing {part} in\n{told}");
    }
    let outputs = written::outputs(&all, &all.layout).unwrap();
    let text = String::from_utf8(outputs[0].content.clone()).unwrap();
    let read = sweep_runner::plausible::calibrated::read_calibration("calibration.toml", &text).unwrap();
    assert_eq!(read.keys, ["ice.friction_factor", "air.drag_area_m2", "runners.groove_edge_radius_mm"]);
    assert_eq!(read.mean[2], all.fit.estimates[2]);
    let names: Vec<&str> = read.axes.iter().map(|a| a.name.as_str()).collect();
    assert_eq!(
        names,
        [
            "friction and the drag and the edge that go with it",
            "drag and the edge that goes with it",
            "edge alone"
        ]
    );
    let put_on = read.middle().on(setup).unwrap();
    assert_eq!(put_on.runners.both.groove_edge_radius_m, 1e-3 * read.mean[2]);
}

#[test]
fn exact_a_section_slower_by_a_hundredth_is_flagged() {
    let mut runs = planted(&SHARED, &ENTRIES);
    for run in &mut runs {
        // the section from eye 5 to eye 6
        let late = 0.01 * (run.measured.values[4] - run.measured.values[3]);
        run.measured.values[4..].iter_mut().for_each(|t| *t += late);
    }
    let found = checked(&runs);
    let told = report::told(&found, &Sheet::default(), &[], &options());
    assert!(told.contains("section to eye 6: all runs") && told.contains("slower than the model"), "{told}");
    assert!(!found.fits());
}

#[test]
fn exact_what_a_level_loses_is_taken_out_and_its_spread_is_that_of_the_runs() {
    let (track, setup, descent, launch, levelled) = made();
    let planned_s: Vec<f64> = descent.splits.iter().map(|s| s.split_time_s).collect();
    // one per cent in every section behind the start, and a spread that is by hand
    let mean_s: Vec<f64> = planned_s.iter().map(|t| 0.01 * (t - planned_s[1]).max(0.0)).collect();
    let eyes = planned_s.len();
    let covariance_s2 = DMatrix::from_fn(eyes, eyes, |i, j| 0.01 * i.min(j) as f64);
    let losses = LevelLosses {
        planned_s,
        mean_s,
        covariance_s2,
        differs: vec![],
        share_differs: 0.0,
        rides: 40,
        finished: 40,
        athletes: vec![],
    };
    let mut timed = planted(&SHARED, &ENTRIES);
    let course = Course::new(&track.track, levelled, setup, &timed).losing(Some(&losses));
    let x = [&SHARED[..], &ENTRIES[..]].concat();
    let slower: Vec<Vec<f64>> = (0..6).map(|r| course.values(&layout(), r, &x).unwrap()).collect();
    for (run, values) in timed.iter_mut().zip(slower) {
        run.measured.values = values;
    }
    let entry_m_s = launch.speed_m_s;
    let (spread_s, middle_s, last_digit_s, aside) = (SPREAD_S, 56.0, 0.01, vec![]);
    let mut runs = runs::Runs { timed, spread_s, middle_s, last_digit_s, entry_m_s, aside };
    runs.spread_by(&losses);
    // start: 0.01 of the level, 0.112^2 x 5.1/56 of the walk over it, 1e-4/12 of rounding; by hand
    let start_s = losses.planned_s[1];
    let own = 0.01 + 0.112 * 0.112 * start_s / 56.0 + 1e-4 / 12.0;
    approx::assert_relative_eq!(runs.timed[2].measured.covariance[(0, 0)], own, max_relative = 1e-12);
    approx::assert_relative_eq!(runs.spread_s, (0.01 * (eyes - 1) as f64).sqrt(), max_relative = 1e-12);
    let course = Course::new(&track.track, levelled, setup, &runs.timed).losing(Some(&losses));
    let found = found(course, layout(), (runs.spread_s, 0.01, launch.speed_m_s)).unwrap();
    let squares = found.least_squares.as_ref().unwrap();
    approx::assert_abs_diff_eq!(squares.estimates[0], 1.1, epsilon = 1e-4); // where the search settles
    approx::assert_abs_diff_eq!(squares.estimates[1], 0.061, epsilon = 1e-6);
    let found = Found { level: Some("club"), ..found };
    let told = report::told(&found, &Sheet::default(), &[], &options());
    // of 55 s some 50 lie behind the start
    assert!(told.contains("skill: rides of the level club, 40 of 40 finished, lose 0.91 +-0.00 %"), "{told}");
    assert!(!told.contains("no --skill"), "{told}");
    let toml = written::outputs(&found, &found.layout).unwrap().remove(0).content;
    assert!(String::from_utf8(toml).unwrap().contains("skill = \"club\""));
}

fn options() -> Options {
    use clap::Parser;
    #[derive(Parser)]
    struct Line {
        #[command(flatten)]
        options: Options,
    }
    Line::parse_from(["calibrate", "planted.csv"]).options
}

#[test]
fn exact_the_error_of_a_section_is_that_of_a_difference() {
    // late by 0.1 s at the first place, then twice as late, and by another 0.1 s of its own at the second
    let covariance_s2 = DMatrix::from_row_slice(2, 2, &[0.01, 0.02, 0.02, 0.05]);
    approx::assert_relative_eq!(section_error_s(&covariance_s2, 0), 0.1, max_relative = 1e-12); // rounding
    approx::assert_relative_eq!(section_error_s(&covariance_s2, 1), 0.02_f64.sqrt(), max_relative = 1e-12);
}
