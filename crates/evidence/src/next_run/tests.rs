//! Plans of runs against closed forms, and against fixed orders in planted trials.

use super::*;
use crate::trial_analysis::analyse;

fn known(set_ups: usize, sd_s: f64, drift_sd_s: f64) -> Known {
    let name = |k: usize| char::from(b'A' + k as u8).to_string();
    Known {
        set_ups: (0..set_ups).map(name).collect(),
        beliefs: vec![Belief { mean_s: 0.0, sd_s }; set_ups],
        spread_s: 0.165,
        drift_sd_s,
        new_day: false,
    }
}

fn run(place: usize, set_up: &str, finish_s: f64) -> TimedRun {
    TimedRun {
        name: place.to_string(),
        set_up: Some(set_up.into()),
        finish_s: Some(finish_s),
        ..TimedRun::default()
    }
}

#[test]
fn exact_wide_beliefs_are_the_analysis_of_a_trial() {
    let times = [55.3, 55.2, 55.35, 55.4, 55.38, 55.5, 55.47, 55.44];
    let runs: Vec<TimedRun> =
        "ABBABAAB".chars().zip(times).enumerate().map(|(i, (s, t))| run(i, &s.to_string(), t)).collect();
    let wide = known(2, 1e3, 1e3);
    let found = State::after(&runs, &wide).unwrap().difference(1, 0);
    let wanted = analyse(&runs, "A", "B").unwrap().adjusted.unwrap();
    // beliefs of a kilosecond against errors of a tenth leave 1e-8
    approx::assert_abs_diff_eq!(found.mean_s, wanted.value_s, epsilon = 1e-6);
    // the analysis takes the spread from its residuals, here it is given
    approx::assert_abs_diff_eq!(found.sd_s, wanted.error_s * wide.spread_s / wanted.spread_s, epsilon = 1e-6);
}

#[test]
fn exact_stated_beliefs_come_back_where_there_are_no_runs() {
    let mut stated = known(3, 0.1, 0.02);
    stated.beliefs[1] = Belief { mean_s: -0.05, sd_s: 0.04 };
    stated.beliefs[2] = Belief { mean_s: 0.02, sd_s: 0.3 };
    let state = State::after(&[], &stated).unwrap();
    for k in 1..3 {
        let found = state.difference(k, 0);
        approx::assert_abs_diff_eq!(found.mean_s, stated.beliefs[k].mean_s, epsilon = 1e-12); // rounding
        approx::assert_abs_diff_eq!(found.sd_s, stated.beliefs[k].sd_s, epsilon = 1e-9); // rounding
    }
    assert_eq!(state.best(), 1);
}

#[test]
fn exact_worth_of_one_run_of_two() {
    // after a run with A, one with B tells B less A with an error of s sqrt(2), the day's level being unknown
    let state = State::after(&[run(0, "A", 55.0)], &known(2, 0.1, 1e-9)).unwrap();
    let closed = crate::decision::value_of_pairs_s(Belief { mean_s: 0.0, sd_s: 0.1 }, 1, 0.165);
    // the level of the day is believed to 10 s, not to infinity: (0.165/10)^2 of it
    approx::assert_abs_diff_eq!(state.worth_of_one_s(1), closed, epsilon = 4e-6);
    assert!(state.worth_of_one_s(0) < 1e-4);
    // three lines by hand: |Z| and a line that never is least
    let least = least_of_lines(&[(0.0, 1.0), (0.0, -1.0), (5.0, 0.0)]);
    approx::assert_abs_diff_eq!(least, -(2.0 / std::f64::consts::PI).sqrt(), epsilon = 1e-12); // rounding
}

#[test]
fn exact_two_set_ups_are_ridden_in_the_safest_order() {
    // four runs on drifting ice: ABBA, as crate::orders finds by another way
    let state = State::after(&[], &known(2, 0.15, 1.0)).unwrap();
    let plans = state.worth_of_plans_s(4);
    assert_eq!(plans[0].1, [0, 1, 1, 0]);
    approx::assert_abs_diff_eq!(plans[0].0, plans[1].0, epsilon = 1e-9); // the names are only names
    // after A, B, B the fourth is A
    let runs: Vec<TimedRun> = ["A", "B", "B"].iter().enumerate().map(|(i, s)| run(i, s, 55.0)).collect();
    let next = State::after(&runs, &known(2, 0.15, 1.0)).unwrap().worth_of_plans_s(1);
    assert!(next[0].0 > next[1].0, "{next:?}");
}

#[test]
fn published_chance_of_the_best_of_three() {
    // Sheppard's orthant: 1/4 + asin(r)/(2 pi), r the correlation of the two differences from the first
    let covariance = DMatrix::from_diagonal(&DVector::from_vec(vec![1.0, 4.0, 9.0]));
    let r = 1.0 / (5.0f64 * 10.0).sqrt();
    let wanted = 0.25 + r.asin() / (2.0 * std::f64::consts::PI);
    let found = rank_chances(&[0.0; 3], &covariance);
    // three standard errors of 20 000 draws
    approx::assert_abs_diff_eq!(found[0][0], wanted, epsilon = 0.0096);
    for k in 0..3 {
        approx::assert_abs_diff_eq!(found[k].iter().sum::<f64>(), 1.0, epsilon = 1e-9); // rounding
        approx::assert_abs_diff_eq!((0..3).map(|i| found[i][k]).sum::<f64>(), 1.0, epsilon = 1e-9);
    }
}

/// Time lost by the choice after a planted trial, with a fixed order and with the run that is advised each time.
fn lost_s(known: &Known, before: &str, fixed: &str, seed: u64) -> [f64; 2] {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut draw = || -> f64 { StandardNormal.sample(&mut random) };
    let n = known.set_ups.len();
    let truth: Vec<f64> = alone(&known.beliefs).iter().map(|(m, sd)| m + sd * draw()).collect();
    let drift_s = known.drift_sd_s * draw();
    let noise: Vec<f64> = (0..before.len() + fixed.len()).map(|_| known.spread_s * draw()).collect();
    let ridden = |runs: &[TimedRun], k: usize| {
        let i = runs.len();
        run(i, &known.set_ups[k], 55.0 + truth[k] + drift_s * i as f64 + noise[i])
    };
    let place = |c: char| (c as u8 - b'A') as usize;
    let least = truth.iter().copied().fold(f64::INFINITY, f64::min);
    [false, true].map(|advised| {
        let mut runs: Vec<TimedRun> = vec![];
        before.chars().for_each(|c| runs.push(ridden(&runs, place(c))));
        for (i, c) in fixed.chars().enumerate() {
            let next = if advised {
                let plans = State::after(&runs, known).unwrap().worth_of_plans_s(fixed.len() - i);
                // of equal ones the first
                (0..n).max_by(|a, b| plans[*a].0.total_cmp(&plans[*b].0).then(b.cmp(a))).unwrap()
            } else {
                place(c)
            };
            runs.push(ridden(&runs, next));
        }
        truth[State::after(&runs, known).unwrap().best()] - least
    })
}

#[test]
fn published_never_worse_than_a_fixed_order() {
    let mut doubted = known(2, 0.15, 0.05);
    doubted.beliefs[1] = Belief { mean_s: -0.05, sd_s: 0.1 };
    let mut unequal = known(3, 0.15, 0.05);
    unequal.beliefs[2] = Belief { mean_s: 0.25, sd_s: 0.15 };
    // set-ups, what was ridden before, the fixed order, trials, and whether the advice must be better, not only as good
    let cases = [
        (known(2, 0.15, 0.05), "", "ABBA", 100, false),
        (doubted, "", "ABBAAB", 100, false),
        (known(2, 0.2, 0.1), "AAA", "ABBA", 600, true),
        (unequal, "", "ABCCBA", 50, false),
    ];
    for (known, before, fixed, trials, better) in cases {
        let lost: Vec<[f64; 2]> = (0..trials).map(|seed| lost_s(&known, before, fixed, seed)).collect();
        let gains: Vec<f64> = lost.iter().map(|l| l[0] - l[1]).collect();
        let n = gains.len() as f64;
        let mean = gains.iter().sum::<f64>() / n;
        let error = (gains.iter().map(|g| (g - mean).powi(2)).sum::<f64>() / (n * (n - 1.0))).sqrt();
        let of = |k: usize| 1e3 * lost.iter().map(|l| l[k]).sum::<f64>() / n;
        let told = format!(
            "{before}+{fixed}: fixed loses {:.1} ms, advised {:.1} ms, gain {:.1} +- {:.1} ms",
            of(0),
            of(1),
            1e3 * mean,
            1e3 * error
        );
        eprintln!("{told}");
        // two standard errors of the sample; the seeds are fixed
        assert!(mean >= -2.0 * error, "{told}");
        assert!(!better || mean > 2.0 * error, "{told}");
    }
}

#[test]
fn exact_two_lines_as_clark_has_them() {
    // least of Z and 1 - Z: Phi(-1/2) - 2 phi(1/2), the least of two normals (Clark 1961)
    let least = least_of_lines(&[(0.0, 1.0), (1.0, -1.0)]);
    approx::assert_abs_diff_eq!(least, 0.308_537_539 - 2.0 * 0.352_065_327, epsilon = 1e-8); // digits of the tables
}

#[test]
fn exact_worth_of_one_pair_of_runs() {
    let state = State::after(&[], &known(2, 0.1, 1e-9)).unwrap();
    let closed = crate::decision::value_of_pairs_s(Belief { mean_s: 0.0, sd_s: 0.1 }, 1, 0.165);
    // the level of the day is believed to 10 s, not to infinity: (0.165/10)^2 of it
    approx::assert_abs_diff_eq!(state.worth_of_plans_s(2)[0].0, closed, epsilon = 4e-6);
}

#[test]
fn exact_a_third_set_up_that_is_far_behind_changes_no_worth() {
    let mut three = known(3, 0.1, 1e-9);
    three.beliefs[2] = Belief { mean_s: 5.0, sd_s: 1e-3 };
    let worth_s = State::after(&[], &three).unwrap().worth_of_plans_s(2)[0].0;
    let closed = crate::decision::value_of_pairs_s(Belief { mean_s: 0.0, sd_s: 0.1 }, 1, 0.165);
    // by 300 draws and their mirrors, each worth |Z|: four standard errors, 4 sqrt((pi/2 - 1)/300)
    approx::assert_relative_eq!(worth_s, closed, max_relative = 0.18);
}

#[test]
fn exact_where_start_and_ice_are_counted_from_changes_nothing() {
    let found = |start_s: f64, ice_c: f64| {
        let runs: Vec<TimedRun> = ["A", "B", "B", "A", "B"]
            .iter()
            .enumerate()
            .map(|(i, s)| TimedRun {
                start_s: Some(start_s + 0.01 * (i * i) as f64),
                ice_c: Some(ice_c - 0.3 * (i % 3) as f64),
                ..run(i, s, 55.0 + 0.1 * (i % 2) as f64)
            })
            .collect();
        State::after(&runs, &known(2, 0.1, 0.02)).unwrap().difference(1, 0)
    };
    let (here, there) = (found(5.1, -6.0), found(7.1, -3.0));
    // rounding of a Cholesky factor
    approx::assert_abs_diff_eq!(here.mean_s, there.mean_s, epsilon = 1e-9);
    approx::assert_abs_diff_eq!(here.sd_s, there.sd_s, epsilon = 1e-9);
}
