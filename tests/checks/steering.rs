//! Rides inferred from the times of one run: the planted ride is among them.

use crate::cli::sagitta;
use crate::made::{setup, shipped};
use plain_noise::Noise;
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::motion::precision::Detail;
use sled_dynamics::riding::errors_of_ride::SKILLS;
use std::fs;
use sweep_runner::rides::ensemble::RIDES;
use sweep_runner::rides::inferred::{Against, At, BANK, Possible, Seen, agreed, bank, infer};
use sweep_runner::rides::mistakes::{Lineage, Rider, routine_of};
use sweep_runner::rides::prepared::{Prepared, Ready};
use track_geometry::track::Track;

/// Normal numbers from a plain generator (Lehmer, modulus 2^31 - 1), a sum of twelve each.
mod plain_noise {
    pub struct Noise(pub u64);
    impl Noise {
        pub fn normal(&mut self) -> f64 {
            let mut uniform = || {
                self.0 = self.0 * 16807 % 0x7fff_ffff;
                self.0 as f64 / f64::from(0x7fff_ffff)
            };
            (0..12).map(|_| uniform()).sum::<f64>() - 6.0
        }
    }
}

/// Errors of the times: what model and eyes do not know at the finish (s), and the last digit (s).
const NOISE_S: f64 = 0.03;
const DIGIT_S: f64 = 0.01;

/// Lower factor of a covariance.
fn factor(c: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let n = c.len();
    let mut l = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let sum: f64 = (0..j).map(|k| l[i][k] * l[j][k]).sum();
            l[i][j] = if i == j { (c[i][i] - sum).sqrt() } else { (c[i][j] - sum) / l[j][j] };
        }
    }
    l
}

/// The times of a descent with errors, as a sheet has them.
fn timed(track: &Track, d: &Descent, noise: &mut Noise) -> Seen {
    let eyes: Vec<usize> = (1..track.data.eyes.len()).collect();
    let exact: Vec<f64> = eyes.iter().map(|e| d.splits[*e].split_time_s).collect();
    let finish_s = exact[exact.len() - 1];
    let (mut walk, mut before) = (0.0, 0.0);
    let values = exact.iter().map(|t| {
        walk += NOISE_S * ((t - before) / finish_s).sqrt() * noise.normal();
        before = *t;
        ((t + walk) / DIGIT_S).round() * DIGIT_S
    });
    let values: Vec<f64> = values.collect();
    let c: Vec<Vec<f64>> = (0..exact.len())
        .map(|i| {
            let of = |j: usize| {
                let own = if i == j { DIGIT_S * DIGIT_S / 12.0 } else { 0.0 };
                NOISE_S * NOISE_S * exact[i].min(exact[j]) / finish_s + own
            };
            (0..exact.len()).map(of).collect()
        })
        .collect();
    Seen { at: eyes.into_iter().map(At::Time).collect(), values, factor: factor(&c) }
}

/// Planted rides, and rides at most for each: few, so that the check is quick; `docs/steering.md` tells of more.
const CASES: usize = 3;
const MOST: usize = 1500;

/// One planted ride that was looked for.
struct Looked {
    /// Rides for it, and how many of equal weight tell of the section that fewest tell of.
    ridden: usize,
    least: f64,
    tells: bool,
    /// Figures that the bands of 95 % hold, and all: time lost, late, more, out, height.
    held: [usize; 5],
    all: [usize; 5],
    /// Standard deviation of the finish times, in errors of the timed one `[-]`.
    spread: f64,
}

/// What became of the first planted rides that come down.
fn looked_for(cases: usize, most: usize) -> Vec<Looked> {
    let (track, setup) = (shipped("oskerdale"), setup("clubs-woman", &[]));
    let skill = SKILLS[2];
    let ready = Ready::new(&track, &setup).unwrap();
    let planned = ready.plan(skill.lag_s, None).unwrap();
    let prepared = Prepared::new(ready, planned, skill.lag_s).unwrap();
    let routine = routine_of(&prepared, &skill);
    let rider = Rider { prepared: &prepared, skill: &skill, routine: routine.as_ref(), seed: 7 };
    let eye = &track.data.eyes[4];
    // up to an eye a ride that is put together is the ride that it begins with
    let (whole, put) = (Lineage::of(5), Lineage::of(5).and_then(eye.station_m, 77));
    let [a, b] = [whole, put].map(|l| rider.ride_of(&l, RIDES, Detail::Bare));
    for (a, b) in a.splits[..=4].iter().zip(&b.splits) {
        // the last step before the eye looks at the field at its end: 1e-11 s
        assert!((a.split_time_s - b.split_time_s).abs() < 1e-9, "{a:?} {b:?}");
    }
    assert_ne!(a.splits[7].split_time_s, b.splits[7].split_time_s);
    let against = Against::new(&rider).unwrap();
    let first = bank(&against, BANK, &|| ());
    let mut noise = Noise(11);
    let planted = (500_000..).map(|n| against.ride(Lineage::of(n)));
    let down = planted.filter(|p| p.descent.finish_time_s.is_some());
    let look = |planted: Possible| {
        let seen = timed(&track, &planted.descent, &mut noise);
        let found = infer(&against, &seen, &first, most, &|| ()).unwrap();
        let (mut held, mut all) = ([0; 5], [0; 5]);
        for (section, truth) in agreed(&track, &found).iter().zip(&planted.figures) {
            let truth = truth.unwrap();
            let of = [Some(section.lost_s), section.late_s, section.more, section.out_m, section.height_m];
            for (k, spread) in of.iter().enumerate() {
                let Some(spread) = spread else { continue };
                held[k] += usize::from(spread.low <= truth[k] && truth[k] <= spread.high);
                all[k] += 1;
            }
        }
        let after = &found.after.last().unwrap().rides;
        let finish_s = |r: &Possible| r.descent.finish_time_s.unwrap();
        let mean_s: f64 = after.iter().map(|(r, w)| w * finish_s(r)).sum();
        let variance: f64 = after.iter().map(|(r, w)| w * (finish_s(r) - mean_s).powi(2)).sum();
        let one = Looked {
            ridden: found.ridden,
            least: found.least_effective().0,
            tells: found.tells(),
            held,
            all,
            spread: variance.sqrt() / (NOISE_S * found.widened().0),
        };
        eprintln!(
            "{}: rides {}, {:.1} of equal weight, errors {:.2} times; lost, late, more, out, height {held:?} of {all:?}; finish {:.2} errors",
            if one.tells { "told" } else { "refused" },
            one.ridden,
            one.least,
            found.widened().0,
            one.spread
        );
        one
    };
    down.take(cases).map(look).collect()
}

/// Of the rides that are told of, or refused: figures that the bands hold, and all, by kind.
fn held(looked: &[Looked], tells: bool) -> ([usize; 5], [usize; 5]) {
    let sum = |of: &dyn Fn(&Looked) -> [usize; 5]| {
        let some = looked.iter().filter(|l| l.tells == tells).map(of);
        some.fold([0; 5], |sum, one| std::array::from_fn(|k| sum[k] + one[k]))
    };
    (sum(&|l| l.held), sum(&|l| l.all))
}

#[test]
fn plan_inferred_rides_hold_the_planted_one() {
    // PLANTED_RIDES=40 with `--nocapture` prints the figures of docs/steering.md
    let wanted = std::env::var("PLANTED_RIDES").ok().and_then(|n| n.parse().ok());
    let (cases, most) = wanted.map_or((CASES, MOST), |n| (n, 6400));
    let looked = looked_for(cases, most);
    let told = looked.iter().filter(|l| l.tells).count();
    eprintln!("told {:?}, refused {:?}, {told} of {cases} told", held(&looked, true), held(&looked, false));
    // a rare ride may be refused: one of three, three of ten
    assert!(told >= cases - (3 * cases).div_ceil(10), "too many are refused: {told} of {cases}");
    // at most what was allowed, and a bank for each of the seven eyes
    assert!(looked.iter().all(|l| l.ridden <= most + 7 * BANK));
    let (held, all) = held(&looked, true);
    let share = |held: usize, all: usize| held as f64 / all as f64;
    let total = share(held.iter().sum(), all.iter().sum());
    // bands of 95 % by few rides: nine in ten is asked; of so few planted rides one in twenty less by chance
    assert!(total >= 0.85, "{held:?} of {all:?}");
    assert!(held.iter().zip(all).all(|(h, a)| share(*h, a) >= 0.75), "{held:?} of {all:?}");
    // rides that the finish did not sort would lie as far apart as the skill; sorted ones as the errors, and half more by chance
    assert!(looked.iter().all(|l| l.spread < 1.5), "the times tell nothing");
}

const SHEET: &str = include_str!("../../examples/week-sheet.csv");

#[test]
fn cli_a_run_that_cannot_be_inferred_is_refused_by_place() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sheet.csv");
    let name = file.to_str().unwrap();
    let refused = |text: &str, more: &[&str], part: &str| {
        fs::write(&file, text).unwrap();
        let out = sagitta(&[&["steering", name], more].concat()).output().unwrap();
        let why = String::from_utf8(out.stderr).unwrap();
        assert_eq!((out.status.code(), out.stdout.len()), (Some(2), 0), "{why}");
        assert!(why.contains(part), "missing {part} in\n{why}");
    };
    refused(SHEET, &["--run", "9"], "--run 9: not on the sheet; allowed are 1, 2, 3, 4, 5, 6");
    refused(SHEET, &["--run", "1", "--date", "2026-01-21"], "--run 1 --date 2026-01-21: not on the sheet");
    refused(SHEET, &["--run", "1", "--skill", "best"], "--skill best: not known; allowed are novice");
    refused(SHEET, &["--run", "1", "--noise", "0"], "--noise 0: allowed 0.001 to 1 s");
    refused(
        &SHEET.replace("18.05", "high"),
        &["--run", "1"],
        "line 2, column 7 (eye 3): got high; allowed: 2 to 180 s",
    );
    // columns swapped, an eye that the track lacks, another track, no finish
    refused(&SHEET.replace("eye 3,eye 4", "eye 4,eye 3"), &["--run", "1"], "in the order of the track");
    refused(
        &SHEET.replace("eye 4", "eye 14"),
        &["--run", "1"],
        "column 8 (heading): got eye 14; allowed: an eye of Oskerdale",
    );
    refused(
        &SHEET.replace("set_up,", "track,").replace("3.5 mm", "Quillmere"),
        &["--run", "1"],
        "(track): got Quillmere; allowed: Oskerdale",
    );
    refused(&SHEET.replace("finish_s", "end_s"), &["--run", "1"], "column 12 (heading): got end_s");
    refused(
        SHEET,
        &["--run", "1", "--trap-at", "eye 9"],
        "(--trap-at): got eye 9; allowed: an eye of Oskerdale",
    );
}

#[test]
fn cli_a_run_far_from_every_ride_asks_for_calibration() {
    // a tenth slower than the model from the first eye on
    let slow = include_str!("../../examples/steering-sheet.csv")
        .replace("17.96,25.49,33.90,42.32,49.57,56.18", "19.76,28.04,37.29,46.55,54.53,61.80");
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sheet.csv");
    fs::write(&file, slow).unwrap();
    let out = sagitta(&["steering", file.to_str().unwrap(), "--run", "1"]).output().unwrap();
    let why = String::from_utf8(out.stderr).unwrap();
    assert_eq!((out.status.code(), out.stdout.len()), (Some(2), 0), "{why}");
    for part in ["run 1, eye 3: timed 19.76 s", "Calibrate the model to the sheet first"] {
        assert!(why.contains(part), "missing {part} in\n{why}");
    }
}
