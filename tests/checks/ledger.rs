//! The energy ledger, symmetry, the size of steps, and threads.

use crate::made::{constants, shipped};
use sled_dynamics::laws::ice::Point;
use sled_dynamics::motion::course::Course;
use sled_dynamics::motion::descend::{descend, time_on_grid_s};
use sled_dynamics::motion::descent::{Descent, Outcome};
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::guided::guided;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::pilot::HandsOff;
use sled_dynamics::motion::precision::{Detail, Precision};
use track_geometry::track::{Track, TrackData};

/// 118 kg in cold air with a drag area of 0.058 m2.
fn usual() -> Constants {
    constants(9.81, 118.0, 0.5 * 1.25 * 0.058)
}

fn free(track: &Track, c: &Constants, mu: f64, entry: Entry, p: Precision, detail: Detail) -> Descent {
    let course = Course { track, constants: c, ice: &Point { friction: mu }, pilot: &HandsOff };
    descend(&course, &Launch::moving(15.0, 9.0), entry, p, detail)
}

fn mirrored(track: &Track) -> Track {
    let data = TrackData { table: track.data.table.mirrored(), ..track.data.clone() };
    Track::new(data).unwrap()
}

const ASIDE: Entry = Entry { offset_m: 0.2, yaw_rad: 0.03, extra_spin_rad_s: 0.02 };

#[test]
fn conserves_energy() {
    let c = usual();
    for folder in ["oskerdale", "quillmere", "tests/edge-free"] {
        let track = shipped(folder);
        let held = guided(&track, &c, &Launch::moving(15.0, 9.0), 0.009, Precision::default(), Detail::Times);
        let loose = free(&track, &c, 0.009, ASIDE, Precision::default(), Detail::Times);
        for (what, d) in [("held", held), ("loose", loose)] {
            let share = d.energy.residual_j().abs() / d.energy.potential_j;
            println!("{folder} {what}: {:?} s, residual {share:.1e}, {:?}", d.finish_time_s, d.outcome);
            // the promise of the ledger
            assert!(share < 1e-6, "{folder}: {what} residual {share:e} of the potential energy");
        }
    }
}

#[test]
fn conserves_speed_by_height_without_friction_and_air() {
    let c = constants(9.81, 118.0, 0.0);
    let track = shipped("tests/edge-free");
    let precision = Precision { tolerance: 1e-9, ..Precision::default() };
    let d = free(&track, &c, 0.0, ASIDE, precision, Detail::Trace(5.0));
    assert_eq!(d.outcome, Outcome::Finished);
    // speed^2 - v0^2 = 2 g (z0 - z) from the launch at 9 m/s; the turn of the sled is booked apart
    let at = track.surface.station(15.0);
    let z0 = at.patch(0.2).elevation_m;
    for s in d.trace.iter().filter(|s| s.station_m >= 15.0) {
        let expected = 81.0 + 2.0 * 9.81 * (z0 - s.elevation_m);
        assert!((s.speed_m_s.powi(2) / expected - 1.0).abs() < 1e-7, "{} m", s.station_m); // 1e-9 a step
    }
}

#[test]
fn conserves_time_in_the_mirror() {
    let c = usual();
    let track = shipped("tests/edge-free");
    let mirror = mirrored(&track);
    let other = Entry { offset_m: -0.2, yaw_rad: -0.03, extra_spin_rad_s: -0.02 };
    let a = free(&track, &c, 0.009, ASIDE, Precision::default(), Detail::Bare);
    let b = free(&mirror, &c, 0.009, other, Precision::default(), Detail::Bare);
    // the promise; rounding of odd functions is symmetric, so this is far below it
    assert!((a.finish_time_s.unwrap() - b.finish_time_s.unwrap()).abs() < 1e-9);
}

/// A grid of equal steps between the knots of the track.
fn grid(track: &Track, halvings: u32) -> Vec<f64> {
    let n = f64::from(1 << halvings);
    let knots: Vec<f64> =
        track.surface.knots_m().iter().copied().filter(|s| *s > 15.0 && *s < track.finish_m()).collect();
    let all: Vec<f64> = [15.0].into_iter().chain(knots).chain([track.finish_m()]).collect();
    all.windows(2)
        .flat_map(|w| (0..1 << halvings).map(move |i| w[0] + (w[1] - w[0]) * f64::from(i) / n))
        .chain([track.finish_m()])
        .collect()
}

#[test]
fn order_halving_the_steps_moves_the_finish_by_less_than_a_tenth_of_a_millisecond() {
    let c = usual();
    let track = shipped("tests/edge-free");
    let course = Course { track: &track, constants: &c, ice: &Point { friction: 0.009 }, pilot: &HandsOff };
    let time = |h| time_on_grid_s(&course, &Launch::moving(15.0, 9.0), ASIDE, &grid(&track, h)).unwrap();
    let (whole, half) = (time(0), time(1));
    println!("steps of 2 m and 1 m: {:.3e} s apart", whole - half);
    assert!((whole - half).abs() < 1e-4);
}

#[test]
fn order_the_printed_error_bounds_a_tenfold_tighter_tolerance() {
    let c = usual();
    let tight = Precision { tolerance: 1e-7, ..Precision::default() };
    for folder in ["oskerdale", "quillmere", "tests/edge-free"] {
        let track = shipped(folder);
        let launch = Launch::moving(15.0, 9.0);
        let (a, b) = (
            guided(&track, &c, &launch, 0.009, Precision::default(), Detail::Times),
            guided(&track, &c, &launch, 0.009, tight, Detail::Bare),
        );
        let (e, f) = (
            free(&track, &c, 0.009, ASIDE, Precision::default(), Detail::Times),
            free(&track, &c, 0.009, ASIDE, tight, Detail::Bare),
        );
        for (d, finer) in [(a, b), (e, f)] {
            let mut chaotic = false;
            for (split, fine) in d.splits.iter().zip(&finer.splits) {
                let moved = (split.split_time_s - fine.split_time_s).abs();
                println!("{folder} {}: {moved:.1e} of {:.1e} s", split.eye, split.numerical_error_s);
                // a sled that bounces from wall to wall is chaotic, and the printed error says so: from the eye on where
                // it is 10 ms it is no bound any more, and has to stay above 1 ms
                if chaotic {
                    assert!(split.numerical_error_s > 1e-3, "{folder} {}", split.eye);
                    continue;
                }
                assert!(moved <= split.numerical_error_s.max(1e-12));
                chaotic = split.numerical_error_s > 1e-2;
                let smooth = d.events.is_empty();
                assert!(!smooth || split.numerical_error_s < 1e-4);
            }
        }
    }
}

#[test]
fn conserves_bytes_at_any_number_of_threads() {
    use rayon::prelude::*;
    let track = shipped("tests/edge-free");
    let times = |threads: usize| -> Vec<u64> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| {
            (0..16)
                .into_par_iter()
                .map(|i| {
                    let c = Constants { mass_kg: 100.0 + f64::from(i), ..usual() };
                    free(&track, &c, 0.009, ASIDE, Precision::default(), Detail::Bare)
                        .finish_time_s
                        .unwrap()
                        .to_bits()
                })
                .collect()
        })
    };
    let one = times(1);
    assert!(one.windows(2).any(|w| w[0] != w[1]));
    assert_eq!(one, times(2));
    assert_eq!(one, times(8));
}
