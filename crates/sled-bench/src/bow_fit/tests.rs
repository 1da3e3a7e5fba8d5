//! Checks of the fit of bow.

use super::*;
use ice_contact::free_shape::FreeShape;
use rand::SeedableRng;
use rand_distr::{Distribution, Normal};

const PLACES_M: [f64; 9] = [-0.36, -0.28, -0.2, -0.1, 0.0, 0.1, 0.2, 0.28, 0.36];

fn planted(bow: Bow, mut noise_m: impl FnMut() -> f64) -> Vec<Reading> {
    let shape = FreeShape::of(&RunnerSpec::default(), bow).expect("in range");
    let mut readings = Vec::new();
    for (state, share) in [(State::Reference, 0.0), (State::Bowed, 1.0)] {
        for (k, &x) in PLACES_M.iter().enumerate() {
            // an invented guide that is not straight
            let distance_m = 0.04 + 1e-3 * x * x + share * shape.drop_m(x) + noise_m();
            let (line, point) = (2 + readings.len() as u64, format!("p{k}"));
            readings.push(Reading {
                line,
                column: 1,
                side: Side::Left,
                state,
                point,
                position_m: x,
                distance_m,
                error_m: 2e-5,
            });
        }
    }
    readings
}

#[test]
fn exact_planted_bow_returns() {
    let bow = Bow { front_m: 1.5e-3, rear_m: 2.5e-3 };
    let mut readings = planted(bow, || 0.0);
    let runner = RunnerSpec::default();
    let fit = fit_bow(&runner, Side::Left, &readings, Baseline::ReferenceReadings).expect("determined");
    // conditioning of the fit
    approx::assert_abs_diff_eq!(fit.bow.front_m, bow.front_m, epsilon = 1e-10);
    approx::assert_abs_diff_eq!(fit.bow.rear_m, bow.rear_m, epsilon = 1e-10);
    assert!(fit.warnings.is_empty());
    assert!(fit.zones[1].curvature_per_m > 0.0);
    readings[13].distance_m += 1e-3;
    let fit = fit_bow(&runner, Side::Left, &readings, Baseline::ReferenceReadings).expect("determined");
    assert!(
        fit.warnings
            .iter()
            .any(|w| matches!(w, FitWarning::Disagree(apart) if apart.iter().any(|a| a.line == 15)))
    );
}

#[test]
fn exact_band_covers_the_planted_bow() {
    let seed = 20;
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(seed);
    let normal = Normal::new(0.0, 2e-5).expect("positive");
    let bow = Bow { front_m: 1.5e-3, rear_m: 2.5e-3 };
    let mut inside = [0; 2];
    for _ in 0..1000 {
        let readings = planted(bow, || normal.sample(&mut rng));
        let fit = fit_bow(&RunnerSpec::default(), Side::Left, &readings, Baseline::ReferenceReadings)
            .expect("determined");
        let e = fit.errors_m();
        inside[0] += usize::from((fit.bow.front_m - bow.front_m).abs() < 1.959964 * e[0]);
        inside[1] += usize::from((fit.bow.rear_m - bow.rear_m).abs() < 1.959964 * e[1]);
    }
    println!("seed {seed}: inside {inside:?} of 1000");
    // 95 % of 1000 has a standard deviation of 0.7 %; three of them
    assert!(inside.iter().all(|n| (930..=970).contains(n)), "seed {seed}: {inside:?}");
}

#[test]
fn exact_target_turns_and_readings_return_the_target() {
    use crate::target::bow_target;
    use crate::turns::Key;
    let (runner, key) = (RunnerSpec::default(), Key::default());
    let old = Bow { front_m: 3e-3, rear_m: 1e-3 };
    let wanted = Bow { front_m: 1.5e-3, rear_m: 2.2e-3 };
    let plan = bow_target(&runner, old, wanted, &key, &[(0.0, 0.04)]).expect("in range");
    let [f, r] = plan.screws.map(|s| s.turns.change_m(&key, key.backlash_turns));
    let set = Bow { front_m: old.front_m + f, rear_m: old.rear_m + r };
    let fit =
        fit_bow(&runner, Side::Left, &planted(set, || 0.0), Baseline::ReferenceReadings).expect("determined");
    // the play of the screw, and the conditioning of the fit
    let play_m = key.pitch_m * key.backlash_turns + 1e-9;
    approx::assert_abs_diff_eq!(fit.bow.front_m, wanted.front_m, epsilon = play_m);
    approx::assert_abs_diff_eq!(fit.bow.rear_m, wanted.rear_m, epsilon = play_m);
    let drop = FreeShape::of(&runner, wanted).expect("in range").drop_m(0.0);
    // rounding
    approx::assert_abs_diff_eq!(plan.expected_m[0], 0.04 + drop, epsilon = 1e-12);
}

#[test]
fn exact_four_point_shape_through_the_readings() {
    // rigid mounts, span L = 0.9 m, screws at thirds, P/2 each with P = 100 N
    let runner = RunnerSpec {
        pin_m: 0.45,
        screw_m: 0.15,
        tip_m: 0.46,
        mount_stiffness_n_per_m: 1e9,
        ..RunnerSpec::default()
    };
    let ei = runner.rod().bending_stiffness_n_m2();
    // half loads at a = 0.3: middle F a (3 L^2 - 4 a^2) / (24 EI), screw F a^2 (3 L - 4 a) / (6 EI)
    let (force, a, l) = (50.0, 0.3, 0.9);
    let screw_drop_m = force * a * a * (3.0 * l - 4.0 * a) / (6.0 * ei);
    let middle_drop_m = force * a * (3.0 * l * l - 4.0 * a * a) / (24.0 * ei);
    // handbook value of the same case
    approx::assert_abs_diff_eq!(middle_drop_m, 2.010807692e-3, epsilon = 1e-12);
    let drops =
        [(-0.45, 0.0), (-0.15, screw_drop_m), (0.0, middle_drop_m), (0.15, screw_drop_m), (0.45, 0.0)];
    let mut readings = Vec::new();
    for (x, drop) in drops {
        for (state, share) in [(State::Reference, 0.0), (State::Bowed, 1.0)] {
            readings.push(Reading {
                line: 1,
                column: 1,
                side: Side::Left,
                state,
                point: String::new(),
                position_m: x,
                distance_m: 0.04 + share * drop,
                error_m: 2e-5,
            });
        }
    }
    let fit = fit_bow(&runner, Side::Left, &readings, Baseline::ReferenceReadings).expect("determined");
    // mounts of 1e9 N/m against 1e5 N/m of the rod
    approx::assert_relative_eq!(fit.bow.front_m, screw_drop_m, max_relative = 4e-4);
    approx::assert_relative_eq!(fit.bow.rear_m, screw_drop_m, max_relative = 4e-4);
    // between the screws the moment F a is constant
    approx::assert_relative_eq!(fit.zones[1].curvature_per_m, force * a / ei, max_relative = 1e-3);
}

#[test]
fn exact_centre_screw_shape_through_the_readings() {
    // handbook values of a rod of 0.9 m on pinned ends, lifted by 2 mm in the middle, stand for the readings; two
    // screws 4 cm apart come near to one in the middle
    let runner = RunnerSpec {
        pin_m: 0.45,
        screw_m: 0.02,
        tip_m: 0.45,
        mount_stiffness_n_per_m: 1e9,
        ..RunnerSpec::default()
    };
    let handbook = [(0.0, 0.0), (0.1, 0.655692730e-3), (0.2, 1.245541838e-3), (0.3, 1.703703704e-3)];
    let mut readings = Vec::new();
    for (from_end, drop) in handbook {
        for x in [from_end - 0.45, 0.45 - from_end] {
            for (state, share) in [(State::Reference, 0.0), (State::Bowed, 1.0)] {
                readings.push(Reading {
                    line: 1,
                    column: 1,
                    side: Side::Left,
                    state,
                    point: String::new(),
                    position_m: x,
                    distance_m: 0.04 + share * drop,
                    error_m: 2e-5,
                });
            }
        }
    }
    let fit = fit_bow(&runner, Side::Left, &readings, Baseline::ReferenceReadings).expect("determined");
    let unit = UnitShape::of(&runner).expect("in range");
    // the screws share the peak: 3 (2 d / L)^2 = 0.6 % of 2 mm is cut off between them
    approx::assert_abs_diff_eq!(unit.drop_m(fit.bow, 0.0), 2e-3, epsilon = 1.2e-5);
    // outside the screws both rods have no load: their shapes differ by the same small share
    for (from_end, drop) in handbook {
        approx::assert_abs_diff_eq!(unit.drop_m(fit.bow, from_end - 0.45), drop, epsilon = 1.2e-5);
    }
    // the curvature grows in a straight line from the pin to 0.029629630 1/m under the screw: its mean from the pin
    // to the screw is a half of (1 - d / (L / 2)) times that; 1 % for the cut peak
    let wanted = 0.5 * 0.029629630 * (1.0 - 0.02 / 0.45);
    approx::assert_relative_eq!(fit.zones[0].curvature_per_m, wanted, max_relative = 1e-2);
}

#[test]
fn exact_a_curved_guide_is_warned_of() {
    // 1e-3 x^2 is a bulge of 0.13 mm from pin to pin, the other way round
    let bow = Bow { front_m: 1e-3, rear_m: 2e-3 };
    let readings = planted(bow, || 0.0);
    let runner = RunnerSpec::default();
    let fit = fit_bow(&runner, Side::Left, &readings, Baseline::StatedShape).expect("determined");
    let told = fit.warnings.iter().find_map(|w| match w {
        FitWarning::GuideTakenStraight(passes) => Some(*passes),
        _ => None,
    });
    let passes = told.expect("warned");
    let bulge = -1e-3 * runner.pin_m * runner.pin_m / GUIDE_BULGE_M;
    // the fit is linear; rounding
    approx::assert_abs_diff_eq!(fit.bow.front_m - bow.front_m, bulge * passes[0], epsilon = 1e-9);
    approx::assert_abs_diff_eq!(fit.bow.rear_m - bow.rear_m, bulge * passes[1], epsilon = 1e-9);
    // far outside the stated errors, which is why it is said
    assert!((fit.bow.front_m - bow.front_m).abs() > 3.0 * fit.errors_m()[0]);
    assert_eq!(Baseline::best_for(&readings, Side::Left), Baseline::ReferenceReadings);
    assert_eq!(Baseline::best_for(&readings, Side::Right), Baseline::StatedShape);
}

#[test]
fn exact_a_stated_free_bow_is_no_bow_of_the_screws() {
    let bow = Bow { front_m: 1e-3, rear_m: 2e-3 };
    let runner = RunnerSpec { free_bow_m: 0.4e-3, ..RunnerSpec::default() };
    let shape = FreeShape::of(&runner, bow).expect("in range");
    let reading = |&x: &f64| Reading {
        line: 2,
        column: 1,
        side: Side::Left,
        state: State::Bowed,
        point: String::new(),
        position_m: x,
        distance_m: 0.04 + shape.drop_m(x),
        error_m: 2e-5,
    };
    let readings: Vec<Reading> = PLACES_M.iter().map(reading).collect();
    let fit = fit_bow(&runner, Side::Left, &readings, Baseline::StatedShape).expect("determined");
    // conditioning of the fit
    approx::assert_abs_diff_eq!(fit.bow.front_m, bow.front_m, epsilon = 1e-10);
    approx::assert_abs_diff_eq!(fit.bow.rear_m, bow.rear_m, epsilon = 1e-10);
    let straight = fit_bow(&RunnerSpec::default(), Side::Left, &readings, Baseline::StatedShape);
    // taken for straight, its 0.4 mm pass for bow
    assert!(straight.expect("determined").bow.front_m - bow.front_m > 0.2e-3);
}

#[test]
fn exact_a_bow_outside_the_limits_is_still_held_against_yield() {
    let runner = RunnerSpec { yield_stress_pa: 2e8, ..RunnerSpec::default() };
    let unit = UnitShape::of(&runner).expect("in range");
    for (advance_m, past) in [(1e-3, false), (20e-3, true), (-20e-3, true)] {
        let mut readings = planted(Bow::even(0.0), || 0.0);
        for r in readings.iter_mut().filter(|r| r.state == State::Bowed) {
            r.distance_m += unit.drop_m(Bow::even(advance_m), r.position_m);
        }
        let fit = fit_bow(&runner, Side::Left, &readings, Baseline::ReferenceReadings).expect("determined");
        let there = |is: &dyn Fn(&FitWarning) -> bool| fit.warnings.iter().any(is);
        assert_eq!(there(&|w| matches!(w, FitWarning::PastYield(_))), past, "{advance_m}");
        assert_eq!(there(&|w| matches!(w, FitWarning::TooFar(_))), advance_m > 8e-3, "{advance_m}");
        assert_eq!(there(&|w| matches!(w, FitWarning::BehindStraight(_))), advance_m < 0.0, "{advance_m}");
    }
}
