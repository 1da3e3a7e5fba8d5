//! Set-ups against each other: the same mistakes, the same bytes, honest differences.

use crate::cli::sagitta;
use crate::made::{setup, shipped};
use sled_dynamics::riding::errors_of_ride::{SKILLS, Skill};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys::set;
use sweep_runner::rides::choice::{Candidate, Standing, choose};
use sweep_runner::rides::ensemble::{Ensemble, RIDES, ensemble};
use sweep_runner::rides::figures::Figure;
use sweep_runner::rides::paired::paired;
use sweep_runner::rides::prepared::{Prepared, Ready};
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
    let second = with(&first, "runners.bow_mm", 3.6);
    // the elite: with more mistakes the walls decide still more, and rides are chaotic
    let who = skill("elite");
    let rides = |s: &Setup| ensemble(&planned(&track, s, who.lag_s), &who, SEED, 100, RIDES);
    let (a, b, again) = (rides(&first), rides(&second), rides(&first));
    // planned anew, ridden anew: the same bits
    assert_eq!(a, again);
    let same = paired(&a, &again);
    assert_eq!((same.median_s, same.first_faster.value), (Some(0.0), 0.5));
    let (ab, ba) = (paired(&a, &b), paired(&b, &a));
    assert_eq!(ab.median_s.unwrap(), -ba.median_s.unwrap());
    // rounding of a sum of a hundred
    approx::assert_abs_diff_eq!(ab.first_faster.value, 1.0 - ba.first_faster.value, epsilon = 1e-12);
    // common practice, no source: a tenth of a millimetre of bow is no matter of hundredths
    let moved = ab.median_s.unwrap();
    println!("seed {SEED}: 0.1 mm of bow moves the median by {moved:+.4} s");
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
    let none = who.without_errors();
    let calm = ensemble(&p, &none, SEED, 2, RIDES);
    assert_eq!(calm.rides[0].finish_time_s, calm.planned_time_s);
    assert_eq!(calm.rides[1].finish_time_s, calm.planned_time_s);
}

#[test]
fn exact_a_ranking_of_sixty_rides_is_that_of_ten_thousand() {
    let (track, first) = (shipped("quillmere"), setup("clubs-woman", &[]));
    let who = skill("elite");
    let setups = [2.0, 3.5].map(|mm| with(&first, "runners.bow_mm", mm));
    let ready = setups.each_ref().map(|s| planned(&track, s, who.lag_s));
    let ridden = |seed, many| ready.each_ref().map(|p| ensemble(p, &who, seed, many, RIDES));
    let chosen = |all: &[Ensemble; 2]| {
        choose(
            &all.each_ref().map(|e| Candidate { rides: Some(e), numerical_s: 0.0, by_plan_s: 0.0 }),
            None,
            0.05,
        )
    };
    // brute force, and sixty rides of seeds that it has not ridden
    let all = ridden(SEED, 10_000);
    let (brute, front) = (paired(&all[0], &all[1]), chosen(&all).front.unwrap());
    let medians = all.each_ref().map(|e| e.figures().median_s.unwrap());
    let (many, median_s) = (8, brute.median_s.unwrap());
    println!("seed {SEED}: {median_s:+.4} s, {:?}, front {front}", brute.first_faster);
    let (mut inside, mut told) = (0, [0.0; 2]);
    for seed in 1..=many {
        let few = ridden(seed, 60);
        let pair = paired(&few[0], &few[1]);
        let (low, high) = pair.band_s.unwrap();
        inside += usize::from(low <= median_s && median_s <= high);
        // four standard errors of sixty rides, as ten thousand know it: the share of rides in which the first is
        // ahead, and each median
        let own = |all: Figure| all.error * (10_000.0_f64 / 60.0).sqrt();
        let within = |few: Figure, all: Figure| (few.value - all.value).abs() < 4.0 * own(all);
        assert!(within(pair.first_faster, brute.first_faster), "seed {seed}: {pair:?}");
        for (i, (few, all)) in few.iter().zip(medians).enumerate() {
            let few = few.figures().median_s.unwrap();
            assert!(within(few, all), "seed {seed}: {few:?} {all:?}");
            told[i] += few.error / own(all) / many as f64;
        }
        let standing = chosen(&few).standings[front];
        assert!(!matches!(standing, Standing::Slower { .. } | Standing::LosesMore { .. }), "seed {seed}");
    }
    // the error that sixty rides tell of their median is a guess from sixty, yet no wrong one
    assert!(told.iter().all(|t| (0.6..1.6).contains(t)), "{told:?}");
    // bands of 95 %: fewer than six of eight inside once in 170 times
    assert!(inside >= 6, "{inside} of {many}");
}

/// Spread of elite rides in per cent of the finish time, and the share lost.
fn elite_spread(sled: &str, track: &str, many: usize) -> (f64, f64) {
    let (track, setup) = (shipped(track), setup(sled, &[]));
    let elite = skill("elite");
    let f = ensemble(&planned(&track, &setup, elite.lag_s), &elite, SEED, many, RIDES).figures();
    let percent = 100.0 * f.sd_finished_s.unwrap().value / f.mean_finished_s.unwrap().value;
    println!("{sled}, seed {SEED}: spread {percent:.3} %, lost {}", f.lost.value);
    (percent, f.lost.value)
}

#[test]
fn published_elite_spread_from_run_to_run() {
    // calibration of the elite's errors: 0.2-0.9 % of the finish time, top athletes, Bullock, Hopkins, Martin, Marino,
    // J. Sports Sci. 2009
    // 900 rides: the spread is that of rare slow ones, of which fewer rides hold one or none
    let (percent, lost) = elite_spread("clubs-man", "quillmere", 900);
    assert!((0.2..0.9).contains(&percent), "{percent} %");
    // the best lose hardly a ride: below 1 %, common practice, no source
    assert!(lost < 0.01, "{lost}");
}

#[test]
fn published_elite_spread_over_sleds_and_tracks() {
    // the same source; root mean square, since rare slow rides make one of them jump
    let courses = [("clubs-woman", "oskerdale"), ("clubs-woman", "quillmere"), ("clubs-man", "quillmere")];
    let each = courses.map(|(sled, track)| elite_spread(sled, track, 200));
    let percent = (each.iter().map(|e| e.0 * e.0).sum::<f64>() / each.len() as f64).sqrt();
    assert!((0.2..0.9).contains(&percent), "{percent} %");
    let lost = each.iter().map(|e| e.1).sum::<f64>() / each.len() as f64;
    assert!(lost < 0.01, "{lost}");
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
        (vec!["compare", "--variant", "runners.bow_mm=3.5", "--rides", "1"], vec!["--rides", "2"]),
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
        "runners.bow_mm=3.5",
        "--rides",
        "4",
        "--out",
        out.to_str().unwrap(),
    ])
    .output()
    .unwrap();
    let told = String::from_utf8(output.stdout).unwrap();
    // the built-in set-up has 3.5 mm of bow
    for part in [
        "median +0.000 s, no band below six rides, 4 pairs",
        "lost with (2) in 0, with (1) in 0",
        "the same in every ride",
        "gap 0 ms",
    ] {
        assert!(told.contains(part), "missing \"{part}\" in\n{told}");
    }
    let rides = std::fs::read_to_string(out.join("rides.csv")).unwrap();
    assert_eq!(rides.lines().count(), 1 + 2 * 4);
    assert!(out.join("gap-2.png").exists() && out.join("plan-2.svg").exists());
}
