//! Set-ups against each other: the same mistakes, the same bytes, honest differences.

use crate::cli::sagitta;
use crate::made::{setup, shipped};
use sled_dynamics::descend::{Course, time_on_grid_s};
use sled_dynamics::descent::Outcome;
use sled_dynamics::entry::Entry;
use sled_dynamics::errors_of_ride::{SKILLS, Skill};
use sled_dynamics::precision::{Detail, Precision};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup_keys::set;
use sweep_runner::ensemble::{RIDES, ensemble};
use sweep_runner::paired::paired;
use sweep_runner::planner::NO_HELP_M_S2;
use sweep_runner::prepared::{Attempt, Prepared, Ready};
use track_geometry::track::Track;

const SEED: u64 = 20;

fn skill(name: &str) -> Skill {
    SKILLS.into_iter().find(|s| s.name == name).unwrap()
}

fn planned<'a>(track: &'a Track, setup: &'a Setup, lag_s: f64) -> Prepared<'a> {
    let ready = Ready::new(track, setup).unwrap();
    let found = ready.plan(lag_s, None).unwrap();
    Prepared::new(ready, found, lag_s).unwrap()
}

fn with(setup: &Setup, key: &str, value: f64) -> Setup {
    let mut other = setup.clone();
    set(&mut other, key, value).unwrap();
    other
}

#[test]
fn exact_a_set_up_against_itself_and_turned_round() {
    let (track, first) = (shipped("quillmere"), setup("clubs-woman", &[]));
    let second = with(&first, "runners.bow_mm", 1.1);
    let who = skill("national");
    let rides = |s: &Setup| ensemble(&planned(&track, s, who.lag_s), &who, SEED, 12, RIDES);
    let (a, b, again) = (rides(&first), rides(&second), rides(&first));
    // planned anew, ridden anew: the same bits
    assert_eq!(a, again);
    let same = paired(&a, &again);
    assert_eq!((same.difference_s.unwrap().value, same.first_faster.value), (0.0, 0.5));
    let (ab, ba) = (paired(&a, &b), paired(&b, &a));
    assert_eq!(ab.difference_s.unwrap().value, -ba.difference_s.unwrap().value);
    // rounding of a mean of twelve
    approx::assert_abs_diff_eq!(ab.first_faster.value, 1.0 - ba.first_faster.value, epsilon = 1e-12);
    // common practice, no source: a tenth of a millimetre of bow is no matter of hundredths
    let moved = ab.difference_s.unwrap().value;
    println!("seed {SEED}: 0.1 mm of bow moves the mean by {moved:+.4} s");
    assert!(moved != 0.0 && moved.abs() < 0.05, "{moved} s");
}

#[test]
fn exact_same_rides_at_any_number_of_threads() {
    let (track, setup) = (shipped("quillmere"), setup("clubs-man", &[]));
    let who = skill("club");
    let p = planned(&track, &setup, who.lag_s);
    let at = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| ensemble(&p, &who, SEED, 10, RIDES))
    };
    let one = at(1);
    assert_eq!(one, at(2));
    assert_eq!(one, at(8));
    // without mistakes a ride of an ensemble is the planned ride, bit for bit
    let none = Skill {
        entry_m: 0.0,
        entry_yaw_rad: 0.0,
        timing_s: 0.0,
        amount: 0.0,
        aim_m: 0.0,
        miss: 0.0,
        start_s: 0.0,
        ..who
    };
    let calm = ensemble(&p, &none, SEED, 2, RIDES);
    assert_eq!(calm.rides[0].finish_time_s, calm.planned_time_s);
    assert_eq!(calm.rides[1].finish_time_s, calm.planned_time_s);
}

#[test]
fn plan_both_tracks_and_athletes_free_of_walls() {
    for track in ["oskerdale", "quillmere"] {
        let track = shipped(track);
        for name in ["clubs-woman", "clubs-man"] {
            let setup = setup(name, &[]);
            let p = planned(&track, &setup, setup.pilot.lag_s);
            let what = format!("{name} on {}", track.data.name);
            assert!(p.planned.help_m_s2 < NO_HELP_M_S2, "{what}: help {} m/s2", p.planned.help_m_s2);
            let slip = |x: &[f64; 7]| (x[3] / x[2]).abs().to_degrees();
            let slip = p.planned.plan.states.iter().map(slip).fold(0.0, f64::max);
            assert!(slip < 2.0, "{what}: slip {slip} degrees");
            let d = p.descent(&Attempt::perfect(), Precision::default(), Detail::Bare);
            assert_eq!((d.outcome, d.wall_touches()), (Outcome::Finished, 0), "{what}");
            // from the launch to the last eye, as the plan counts
            let course =
                Course { track: &track, constants: &p.ready.constants, ice: &p.ready.ice, pilot: &p.ride };
            let on = |step_m: f64| {
                let (from, to) = (p.ready.launch.station_m, track.finish_m());
                let n = ((to - from) / step_m).ceil() as usize;
                let grid: Vec<f64> = (0..=n).map(|i| from + (to - from) * i as f64 / n as f64).collect();
                time_on_grid_s(&course, &p.ready.launch, Entry::STRAIGHT, &grid).unwrap()
            };
            let (coarse, fine) = (on(0.4), on(0.2));
            let apart = fine - p.planned.time_s.unwrap();
            println!("{what}: {fine:.4} s, {apart:+.1e} s from the plan, halving {:+.1e} s", coarse - fine);
            assert!(apart.abs() < 1e-3, "{what}: {apart} s from the plan");
            assert!((coarse - fine).abs() < 1e-4, "{what}: halving moves {} s", coarse - fine);
            // what the rows of the trust table ask of whole descents
            let told = p.descent(&Attempt::perfect(), Precision::default(), Detail::Times);
            let first_m = track.data.eyes[0].station_m;
            let mean_m_s = (track.finish_m() - first_m) / told.finish_time_s.unwrap();
            assert!((23.0..=28.0).contains(&mean_m_s), "{what}: {mean_m_s} m/s");
            let [air, glide, plough, skid, toe, walls] = told.energy.lost_j;
            let ice = (glide + plough + skid) / (air + glide + plough + skid + toe + walls);
            assert!((0.3..=0.5).contains(&ice), "{what}: ice takes {ice} of the loss");
        }
    }
}

#[test]
fn plan_survives_another_sled() {
    for track in ["oskerdale", "quillmere"] {
        let track = shipped(track);
        for name in ["clubs-woman", "clubs-man"] {
            let setup = setup(name, &[]);
            assert_eq!(setup.pilot.lag_s, 0.15);
            let p = planned(&track, &setup, 0.15);
            let (balance_mm, inertia) = (setup.sled.balance_point_m * 1e3, setup.sled.yaw_inertia_kg_m2);
            for (key, value) in [
                ("sled.balance_point_mm", balance_mm + 2.0),
                ("sled.balance_point_mm", balance_mm - 2.0),
                ("sled.yaw_inertia_kg_m2", inertia * 1.25),
                ("sled.yaw_inertia_kg_m2", inertia * 0.75),
                ("ice.friction_factor", 1.02),
                ("ice.friction_factor", 0.98),
                ("ice.temperature_c", setup.ice.temperature_c - 1.0),
            ] {
                let other = with(&setup, key, value);
                let q = Prepared { ready: Ready::new(&track, &other).unwrap(), ..p.clone() };
                let d = q.descent(&Attempt::perfect(), Precision::default(), Detail::Bare);
                let what = format!("{name} on {}, {key} {value}", track.data.name);
                assert_eq!((d.outcome, d.wall_touches()), (Outcome::Finished, 0), "{what}");
            }
        }
    }
}

#[test]
fn published_elite_spread_from_run_to_run() {
    // calibration: 0.2-0.6 % of the finish time, top athletes, Bullock, Hopkins, Martin, Marino, J. Sports Sci. 2009
    let (track, setup) = (shipped("quillmere"), setup("clubs-man", &[]));
    let elite = skill("elite");
    let e = ensemble(&planned(&track, &setup, elite.lag_s), &elite, SEED, 150, RIDES);
    let f = e.figures();
    let percent = 100.0 * f.sd_s.unwrap().value / f.mean_s.unwrap().value;
    println!("seed {SEED}: spread {percent:.3} %");
    // sampling error of a spread from 150 rides: 6 % of it; two of them below the least published
    assert!(percent > 0.2 * 0.88 && percent < 0.6, "{percent} %");
    assert_eq!(f.lost.value, 0.0);
}

#[test]
fn cli_compare_refuses_in_words() {
    let said = |arguments: &[&str]| {
        let output = sagitta(arguments).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(output.stdout.is_empty());
        String::from_utf8(output.stderr).unwrap()
    };
    for (arguments, parts) in [
        (vec!["compare"], vec!["nothing to compare", "--variant"]),
        (
            vec!["compare", "--variant", "runners.bow_mm=1.5", "--skill", "champion"],
            vec!["champion", "novice, club"],
        ),
        (vec!["compare", "--variant", "runners.bow=1.5"], vec!["runners.bow", "runners.bow_mm"]),
        (vec!["compare", "--variant", "runners.bow_mm=99"], vec!["runners.bow_mm", "99"]),
        (
            vec!["compare", "nowhere.toml", "--variant", "runners.bow_mm=1"],
            vec!["nowhere.toml", "cannot be read"],
        ),
        (vec!["compare", "--variant", "runners.bow_mm=1", "--rides", "1"], vec!["--rides", "2"]),
    ] {
        let told = said(&arguments);
        for part in parts {
            assert!(told.contains(part), "missing \"{part}\" in\n{told}");
        }
    }
}

#[test]
fn cli_compare_tells_the_same_from_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let output = sagitta(&[
        "compare",
        "--track",
        "tracks/quillmere",
        "--variant",
        "runners.bow_mm=1",
        "--rides",
        "4",
        "--out",
        out.to_str().unwrap(),
    ])
    .output()
    .unwrap();
    let told = String::from_utf8(output.stdout).unwrap();
    // the built-in set-up has 1 mm of bow
    for part in ["+0.000 s, 95 % band +0.000 to +0.000 s, 4 pairs", "the same in every ride", "gap 0 ms"] {
        assert!(told.contains(part), "missing \"{part}\" in\n{told}");
    }
    let rides = std::fs::read_to_string(out.join("rides.csv")).unwrap();
    assert_eq!(rides.lines().count(), 1 + 2 * 4);
    assert!(out.join("gap-2.png").exists() && out.join("plan-2.svg").exists());
}
