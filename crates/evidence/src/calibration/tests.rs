//! Certified problems, closed forms, planted truths.

mod of_errors;

use super::checking::*;
use super::conjugate::NormalInverseGamma;
use super::noise::{last_digit_s, run_covariance, with_one_more};
use super::predicted::predict_from_others;
use super::solve::fit;
use super::worth::*;
use super::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;
use statrs::distribution::{Continuous, StudentsT};

fn free(start: f64) -> Unknown {
    Unknown {
        name: String::new(),
        source: String::new(),
        prior: None,
        start,
        step: 1e-5 * start.abs(),
        run: None,
    }
}

fn measured(values: &[f64], covariance: DMatrix<f64>) -> Measured {
    let places = (0..values.len()).map(|i| format!("eye {i}")).collect();
    Measured { name: "1".into(), places, times: values.len(), values: values.to_vec(), covariance }
}

/// A certified nonlinear problem from one of its two starts: estimates and standard errors by the residuals.
fn certified(
    x: &[f64],
    y: &[f64],
    start: [f64; 2],
    model: fn(f64, &[f64]) -> f64,
) -> ([f64; 2], [f64; 2], f64) {
    let runs = [measured(y, DMatrix::identity(y.len(), y.len()))];
    let predict = |_: usize, b: &[f64]| Some(x.iter().map(|x| model(*x, b)).collect());
    let unknowns = start.map(free);
    let fit = fit(&Question { unknowns: &unknowns, runs: &runs, predict: &predict, held_out: None }).unwrap();
    let residual = (fit.chi_square / (y.len() - 2) as f64).sqrt();
    let errors = [0, 1].map(|j| residual * fit.error(j));
    ([fit.estimates[0], fit.estimates[1]], errors, residual)
}

#[test]
fn published_certified_misra1a() {
    // NIST Statistical Reference Datasets, Misra1a, lower difficulty: data and certified values from memory
    let x = [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0];
    let y =
        [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78];
    for start in [[500.0, 1e-4], [250.0, 5e-4]] {
        let (b, e, s) = certified(&x, &y, start, |x, b| b[0] * (1.0 - (-b[1] * x).exp()));
        // six digits are asked of estimates, five of errors
        approx::assert_relative_eq!(b[0], 2.3894212918E+02, max_relative = 5e-7);
        approx::assert_relative_eq!(b[1], 5.5015643181E-04, max_relative = 5e-7);
        approx::assert_relative_eq!(e[0], 2.7070075241E+00, max_relative = 5e-6);
        approx::assert_relative_eq!(e[1], 7.2668688436E-06, max_relative = 5e-6);
        approx::assert_relative_eq!(s, 1.0187876330E-01, max_relative = 5e-7);
    }
}

#[test]
fn published_certified_danwood() {
    // NIST Statistical Reference Datasets, DanWood, lower difficulty: data and certified values from memory
    let x = [1.309, 1.471, 1.490, 1.565, 1.611, 1.680];
    let y = [2.138, 3.421, 3.597, 4.340, 4.882, 5.660];
    for start in [[1.0, 5.0], [0.7, 4.0]] {
        let (b, e, s) = certified(&x, &y, start, |x, b| b[0] * x.powf(b[1]));
        // six digits are asked of estimates, five of errors
        approx::assert_relative_eq!(b[0], 7.6886226176E-01, max_relative = 5e-7);
        approx::assert_relative_eq!(b[1], 3.8604055871E+00, max_relative = 5e-7);
        approx::assert_relative_eq!(e[0], 1.8281973860E-02, max_relative = 5e-6);
        approx::assert_relative_eq!(e[1], 5.1726610913E-02, max_relative = 5e-6);
        approx::assert_relative_eq!(s, 3.2853114039E-02, max_relative = 5e-7);
    }
}

#[test]
fn exact_linear_posterior() {
    // y = b x with x = 1 and errors of 1, prior 0 +- 1, y = 3: half way, variance 1/2; by hand
    let unknowns = [Unknown { prior: Some(Prior { mean: 0.0, sd: 1.0 }), step: 0.1, ..free(5.0) }];
    let runs = [measured(&[3.0], DMatrix::identity(1, 1))];
    let q = Question { unknowns: &unknowns, runs: &runs, predict: &|_, b| Some(b.to_vec()), held_out: None };
    let found = fit(&q).unwrap();
    approx::assert_abs_diff_eq!(found.estimates[0], 1.5, epsilon = 1e-9); // where the search settles
    approx::assert_abs_diff_eq!(found.covariance[(0, 0)], 0.5, epsilon = 1e-12); // rounding
    approx::assert_abs_diff_eq!(found.narrowed(0, &unknowns[0]).unwrap(), 0.5f64.sqrt(), epsilon = 1e-12);
    // 3 lies 3/sqrt(2) standard deviations out: both sums of squares together 4.5, by hand
    approx::assert_abs_diff_eq!(found.chi_square + found.prior_chi_square, 4.5, epsilon = 1e-9);
    // chance of more than 4.5 with one degree of freedom: 2 (1 - Phi(2.12132)) = 0.033895, tables
    approx::assert_abs_diff_eq!(found.chance_of_worse(&unknowns).unwrap(), 0.033895, epsilon = 1e-6);
}

#[test]
fn exact_failure_is_failure() {
    let runs = [measured(&[1.0, 2.0], DMatrix::identity(2, 2))];
    let of = |unknowns: &[Unknown], predict: &Predict<'_>| {
        fit(&Question { unknowns, runs: &runs, predict, held_out: None })
    };
    // two unknowns that only act by their sum
    let sum = of(&[free(1.0), free(2.0)], &|_, b| Some(vec![b[0] + b[1], 2.0 * (b[0] + b[1])]));
    assert_eq!(sum, Err(FitFailure::Undetermined { determined: 1, wanted: 2 }));
    let idle = of(&[free(1.0), free(2.0)], &|_, b| Some(vec![b[0], b[0]]));
    assert_eq!(idle, Err(FitFailure::Undetermined { determined: 1, wanted: 2 }));
    assert_eq!(of(&[free(1.0)], &|_, _| None), Err(FitFailure::NoPrediction { run: "1".into() }));
    assert_eq!(of(&[], &|_, _| None), Err(FitFailure::Nothing));
    // the least sum of squares lies at a kink, where no step settles
    let kink = of(&[free(1.0)], &|_, b| Some(vec![-b[0].abs(), -b[0].abs()]));
    assert!(kink.is_err(), "{kink:?}");
    // a model that ends at zero, with its best point beyond
    let edge = of(&[free(1.0)], &|_, b| (b[0] > 0.0).then(|| vec![5.0 + b[0]; 2]));
    assert!(matches!(edge, Err(FitFailure::NotConverged { .. })), "{edge:?}");
    let flat = [measured(&[1.0, 2.0], DMatrix::from_element(2, 2, 1.0))];
    let q = Question {
        unknowns: &[free(1.0)],
        runs: &flat,
        predict: &|_, b| Some(vec![b[0]; 2]),
        held_out: None,
    };
    assert_eq!(fit(&q), Err(FitFailure::Covariance { run: "1".into() }));
}

#[test]
fn exact_noise_along_a_run() {
    let c = run_covariance(&[10.0, 40.0], 40.0, 0.2, 0.12);
    // 0.04 x 10/40, 0.04; rounding 0.0144/12 = 0.0012: by hand
    let told = DMatrix::from_row_slice(2, 2, &[0.0112, 0.01, 0.01, 0.0412]);
    approx::assert_abs_diff_eq!(c, told, epsilon = 1e-15); // rounding
    assert_eq!(last_digit_s(&[55.1, 17.92]), 0.01);
    assert_eq!(last_digit_s(&[55.123, 17.92]), 0.001);
    assert_eq!(last_digit_s(&[55.0, 17.0]), 0.1);
}

#[test]
fn exact_one_more_time_of_a_walk() {
    let times = [10.0, 25.0, 40.0];
    let walk = run_covariance(&times, 40.0, 0.2, 0.12);
    for more_s in [4.0, 17.0, 40.0] {
        // the walk at all four times at once; a time behind the last is the last
        let all = run_covariance(&[10.0, 25.0, 40.0, more_s], 40.0, 0.2, 0.12);
        let told = with_one_more(&walk, &times, more_s, 0.12);
        approx::assert_abs_diff_eq!(told, all, epsilon = 1e-15); // rounding
    }
}

/// Runs of a model that is straight: a shared slowness and a push of each run, at four eyes.
fn straight(r: usize, x: &[f64]) -> Option<Vec<f64>> {
    Some((1..=4).map(|k| f64::from(k) * 10.0 + x[0] * f64::from(k * k) + x[1 + r]).collect())
}

fn belief(mean: f64, sd: f64, run: Option<usize>) -> Unknown {
    Unknown { prior: Some(Prior { mean, sd }), start: mean, step: 0.1 * sd, run, ..free(1.0) }
}

fn three(values: [[f64; 4]; 3]) -> (Vec<Unknown>, Vec<Measured>) {
    let unknowns = (0..3).map(|r| belief(0.0, 0.3, Some(r)));
    let unknowns = std::iter::once(belief(0.0, 0.1, None)).chain(unknowns).collect();
    let covariance = run_covariance(&[10.0, 20.0, 30.0, 40.0], 40.0, 0.1, 0.01);
    (unknowns, values.iter().map(|v| measured(v, covariance.clone())).collect())
}

/// 10 k + 0.03 k^2 and pushes of 0.02, -0.01 and 0.08 s, moved by some hundredths.
const TIMES: [[f64; 4]; 3] =
    [[10.05, 20.14, 30.30, 40.49], [10.01, 20.10, 30.27, 40.46], [10.12, 20.19, 30.34, 40.58]];

#[test]
fn exact_left_out_run_by_both_ways() {
    let (unknowns, runs) = three(TIMES);
    let q = Question { unknowns: &unknowns, runs: &runs, predict: &straight, held_out: None };
    let found = fit(&q).unwrap();
    // a run left out as a whole and predicted: its sum of squares is that of the closed form
    let without = fit(&Question { held_out: Some((1, 0)), ..q }).unwrap();
    let f = straight(1, without.estimates.as_slice()).unwrap();
    let off = DVector::from_fn(4, |i, _| runs[1].values[i] - f[i]);
    let a = DMatrix::from_fn(4, 4, |i, j| match j {
        0 => ((i + 1) * (i + 1)) as f64,
        2 => 1.0,
        _ => 0.0,
    });
    let whole = &a * &without.covariance * a.transpose() + &runs[1].covariance;
    let told = off.dot(&whole.clone().cholesky().unwrap().solve(&off));
    let check = run_check(&found, &runs[1], 1).unwrap();
    approx::assert_relative_eq!(check.chi_square, told, max_relative = 1e-6); // where the searches settle
    // the last time from the others alone, and from its first time by conditioning the joint distribution
    let alone = predict_from_others(&q, &found, 1, 0).unwrap();
    approx::assert_abs_diff_eq!(alone.time.mean_s, f[3], epsilon = 1e-6);
    approx::assert_relative_eq!(alone.time.sd_s, whole[(3, 3)].sqrt(), max_relative = 1e-6);
    let first = predict_from_others(&q, &found, 1, 1).unwrap();
    let gain = whole[(3, 0)] / whole[(0, 0)];
    approx::assert_abs_diff_eq!(first.time.mean_s, f[3] + gain * off[0], epsilon = 1e-6);
    let variance = whole[(3, 3)] - gain * whole[(3, 0)];
    approx::assert_relative_eq!(first.time.sd_s, variance.sqrt(), max_relative = 1e-6);
}

#[test]
fn exact_a_touch_is_found_where_it_was() {
    let mut times = TIMES;
    // half a second lost before the third eye, five times the spread of the whole run
    (times[2][2], times[2][3]) = (times[2][2] + 0.5, times[2][3] + 0.5);
    let (unknowns, runs) = three(times);
    let q = Question { unknowns: &unknowns, runs: &runs, predict: &straight, held_out: None };
    let found = fit(&q).unwrap();
    let checks: Vec<RunCheck> = (0..3).map(|r| run_check(&found, &runs[r], r).unwrap()).collect();
    assert!(checks[2].flagged(), "{checks:?}");
    let delay = checks[2].explained().unwrap();
    assert_eq!(delay.from, 2);
    assert!((delay.delay_s - 0.5).abs() < 3.0 * delay.error_s, "{delay:?}");
    assert!(delay.error_s < 0.1, "{delay:?}");
    let (unknowns, runs) = three(TIMES);
    let q = Question { runs: &runs, unknowns: &unknowns, ..q };
    let found = fit(&q).unwrap();
    assert!((0..3).all(|r| !run_check(&found, &runs[r], r).unwrap().flagged()));
}

#[test]
fn exact_a_delay_is_one_more_unknown() {
    let (mut unknowns, runs) = three(TIMES);
    let plain = Question { unknowns: &unknowns, runs: &runs, predict: &straight, held_out: None };
    let found = fit(&plain).unwrap();
    let told = run_check(&found, &runs[1], 1).unwrap().delay.unwrap();
    assert!(told.from > 0 && told.later_s == 0.0, "{told:?}");
    // the same delay as an unknown of the fit, without a prior
    unknowns.push(Unknown { step: 0.1, run: Some(1), ..free(0.0) });
    let late = |r: usize, x: &[f64]| {
        let by = |i: usize| if r == 1 && i >= told.from { x[4] } else { 0.0 };
        Some(straight(r, x)?.iter().enumerate().map(|(i, t)| t + by(i)).collect())
    };
    let with = fit(&Question { unknowns: &unknowns, runs: &runs, predict: &late, held_out: None }).unwrap();
    approx::assert_abs_diff_eq!(with.estimates[4], told.delay_s, epsilon = 1e-6); // where the search settles
    approx::assert_relative_eq!(with.error(4), told.error_s, max_relative = 1e-6);
    // what it explains of the run against the others is what the whole sum of squares falls by
    let all = |f: &Fit| f.chi_square + f.prior_chi_square;
    let check = run_check(&found, &runs[1], 1).unwrap();
    let left = check.chi_square - (all(&found) - all(&with));
    approx::assert_relative_eq!(told.left, chi_square_beyond(left, 3), max_relative = 1e-6);
}

#[test]
fn exact_a_slow_section_is_found() {
    let (unknowns, runs) = three(TIMES);
    let late = |by: f64| {
        let times = TIMES.map(|t| [t[0], t[1], t[2] + by, t[3] + by]);
        let runs = three(times).1;
        let q = Question { unknowns: &unknowns, runs: &runs, predict: &straight, held_out: None };
        section_checks(&fit(&q).unwrap(), &runs)
    };
    let found = late(0.4);
    let limit = section_limit(found.len());
    // two-sided normal limit for one of three at 5 %: 0.05/6, tables
    approx::assert_abs_diff_eq!(limit, 2.394, epsilon = 1e-3);
    let most = found.iter().max_by(|a, b| a.times_error.abs().total_cmp(&b.times_error.abs())).unwrap();
    assert!(most.to == "eye 2" && most.times_error > limit, "{found:?}");
    assert!((most.delay_s - 0.4).abs() < 3.0 * most.delay_s / most.times_error, "{found:?}");
    assert!(late(0.0).iter().all(|s| s.times_error.abs() < limit));
    assert_eq!(runs.len(), 3);
}

#[test]
fn exact_a_bad_push_is_far_from_the_others() {
    let starts = [Some(5.10), Some(5.12), None, Some(5.45), Some(5.09), Some(5.11)];
    let far = far_starts(&starts);
    assert_eq!(far.iter().filter(|f| f.is_some()).count(), 1);
    // median of 5.09 5.10 5.11 5.12 is 5.105
    approx::assert_abs_diff_eq!(far[3].unwrap(), 0.345, epsilon = 1e-12);
    assert_eq!(far_starts(&[Some(5.1), Some(5.9)]), [None, None]);
}

#[test]
fn exact_one_more_measurement() {
    // with an error of three, by hand: 4 - 4^2/(4 + 3^2); rounding
    let after = after_measuring(&DMatrix::from_element(1, 1, 4.0), &DVector::from_element(1, 1.0), 3.0);
    approx::assert_abs_diff_eq!(after[(0, 0)], 4.0 - 16.0 / 13.0, epsilon = 1e-12);
    // variance 4 and 1, correlation 1/2; the first measured with variance 4: by hand 2, 7/8, and 1/2 between them
    let c = DMatrix::from_row_slice(2, 2, &[4.0, 1.0, 1.0, 1.0]);
    let after = after_measuring(&c, &DVector::from_vec(vec![1.0, 0.0]), 2.0);
    approx::assert_abs_diff_eq!(
        after,
        DMatrix::from_row_slice(2, 2, &[2.0, 0.5, 0.5, 0.875]),
        epsilon = 1e-15
    );
    assert_eq!(sd_of(&c, &DVector::from_vec(vec![1.0, -1.0])), 3f64.sqrt());
    // as many runs again: the same as a sheet of twice the runs
    let (unknowns, runs) = three(TIMES);
    let q = Question { unknowns: &unknowns, runs: &runs, predict: &straight, held_out: None };
    let found = fit(&q).unwrap();
    let again = with_as_many_again(&found, &unknowns).unwrap();
    let six: Vec<Measured> = runs.iter().chain(&runs).cloned().collect();
    let mut twelve = unknowns.clone();
    twelve.extend((3..6).map(|r| belief(0.0, 0.3, Some(r))));
    let q = Question { unknowns: &twelve, runs: &six, predict: &straight, held_out: None };
    let twice = fit(&q).unwrap();
    approx::assert_relative_eq!(again[(0, 0)], twice.covariance[(0, 0)], max_relative = 1e-9); // rounding
    approx::assert_relative_eq!(again[(1, 1)], twice.covariance[(1, 1)], max_relative = 1e-9);
    assert!(again[(0, 0)] < 0.9 * found.covariance[(0, 0)]);
}

#[test]
fn exact_samples_have_mean_and_covariance() {
    let c = DMatrix::from_row_slice(2, 2, &[4.0, -1.8, -1.8, 1.0]);
    let all = samples(&[3.0, -1.0], &c, 4096, 7).unwrap();
    let mean = |k: usize| all.iter().map(|s| s[k]).sum::<f64>() / 4096.0;
    let with =
        |i: usize, k: usize| all.iter().map(|s| (s[i] - mean(i)) * (s[k] - mean(k))).sum::<f64>() / 4096.0;
    // independent samples would have errors of 0.03 and 0.09
    approx::assert_abs_diff_eq!(mean(0), 3.0, epsilon = 5e-3);
    approx::assert_abs_diff_eq!(with(0, 0), 4.0, epsilon = 0.04);
    approx::assert_abs_diff_eq!(with(0, 1), -1.8, epsilon = 0.02);
    assert_eq!(samples(&[3.0, -1.0], &c, 8, 7).unwrap(), all[..8]);
    assert_eq!(samples(&[0.0], &DMatrix::from_element(1, 1, -1.0), 8, 7), None);
}

#[test]
fn exact_conjugate_one_value() {
    let prior = NormalInverseGamma {
        mean: DVector::from_vec(vec![1.0]),
        scale: DMatrix::from_element(1, 1, 2.0),
        shape: 1.5,
        rate: 3.0,
    };
    let x = DMatrix::from_element(1, 1, 2.0);
    let (after, evidence) = prior.after(&x, &DVector::from_vec(vec![5.0])).unwrap();
    // by hand: 1/V' = 1/2 + 4, m' = (1/2 + 10)/4.5, a' = 2, c' = 3 + (25 + 1/2 - 4.5 m'^2)/2 = 3.5
    approx::assert_abs_diff_eq!(after.scale[(0, 0)], 1.0 / 4.5, epsilon = 1e-14);
    approx::assert_abs_diff_eq!(after.mean[0], 10.5 / 4.5, epsilon = 1e-14);
    approx::assert_abs_diff_eq!(after.rate, 3.5, epsilon = 1e-13);
    assert_eq!(after.shape, 2.0);
    // one value is Student's with 2a degrees of freedom around x m, width sqrt(c/a (1 + x V x))
    let density = StudentsT::new(2.0, (2.0f64 * 9.0).sqrt(), 3.0).unwrap().ln_pdf(5.0);
    approx::assert_abs_diff_eq!(evidence, density, epsilon = 1e-8);
    assert_eq!(prior.after(&x, &DVector::from_vec(vec![5.0, 1.0])), None);
}

#[test]
fn exact_conjugate_evidence_is_a_product_of_student_densities() {
    let prior = NormalInverseGamma {
        mean: DVector::from_vec(vec![0.5, -1.0]),
        scale: DMatrix::from_row_slice(2, 2, &[2.0, 0.3, 0.3, 1.0]),
        shape: 2.5,
        rate: 1.5,
    };
    let x = DMatrix::from_row_slice(4, 2, &[1.0, 0.0, 1.0, 1.0, 1.0, 2.5, 1.0, 4.0]);
    let y = DVector::from_vec(vec![0.3, -0.4, -2.2, -3.1]);
    let (at_once, evidence) = prior.after(&x, &y).unwrap();
    let (mut belief, mut product) = (prior, 0.0);
    for i in 0..4 {
        let row = x.rows(i, 1).clone_owned();
        let width = belief.rate / belief.shape * (1.0 + (&row * &belief.scale * row.transpose())[(0, 0)]);
        let student = StudentsT::new((&row * &belief.mean)[0], width.sqrt(), 2.0 * belief.shape).unwrap();
        product += student.ln_pdf(y[i]);
        belief = belief.after(&row, &y.rows(i, 1).clone_owned()).unwrap().0;
    }
    approx::assert_abs_diff_eq!(evidence, product, epsilon = 1e-8);
    approx::assert_abs_diff_eq!(at_once.mean, belief.mean, epsilon = 1e-8);
    approx::assert_abs_diff_eq!(at_once.scale, belief.scale, epsilon = 1e-8);
    approx::assert_abs_diff_eq!(at_once.rate, belief.rate, epsilon = 1e-8);
}

#[test]
fn exact_bands_cover_planted_truths() {
    let seed = 20;
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut normal = || -> f64 { rng.sample(StandardNormal) };
    let (mut covered, mut inside, mut runs_flagged) = (0, 0, 0);
    for _ in 0..400 {
        let (unknowns, mut runs) = three(TIMES);
        let truth: Vec<f64> = unknowns.iter().map(|u| u.prior.unwrap().sd * normal()).collect();
        for (r, run) in runs.iter_mut().enumerate() {
            let root = run.covariance.clone().cholesky().unwrap().l();
            let noise = root * DVector::from_fn(4, |_, _| normal());
            run.values = straight(r, &truth).unwrap().iter().zip(noise.iter()).map(|(t, e)| t + e).collect();
        }
        let q = Question { unknowns: &unknowns, runs: &runs, predict: &straight, held_out: None };
        let found = fit(&q).unwrap();
        covered += usize::from((found.estimates[0] - truth[0]).abs() < 1.96 * found.error(0));
        inside += usize::from(predict_from_others(&q, &found, 0, 1).unwrap().inside());
        runs_flagged += usize::from(run_check(&found, &runs[0], 0).unwrap().flagged());
    }
    // binomial of 400 at 0.95: 380 +- 4.4, four of them; of 400 at 0.01: 4, fewer than 13 in 9999 of 10000
    assert!(
        (362..=397).contains(&covered) && (362..=397).contains(&inside),
        "{covered} {inside}, seed {seed}"
    );
    assert!(runs_flagged < 13, "{runs_flagged}, seed {seed}");
}

#[test]
fn exact_correlation_of_a_straight_line() {
    // three points at 0, 1, 2 with unit errors: covariance [[5/6, -1/2], [-1/2, 1/2]]
    let runs = [measured(&[1.0, 3.0, 5.0], DMatrix::identity(3, 3))];
    let predict = |_: usize, b: &[f64]| Some([0.0, 1.0, 2.0].map(|x| b[0] + b[1] * x).to_vec());
    let unknowns = [0.9, 2.1].map(free);
    let fit = fit(&Question { unknowns: &unknowns, runs: &runs, predict: &predict, held_out: None }).unwrap();
    // differences of a straight line are exact to rounding over the step
    approx::assert_abs_diff_eq!(fit.correlation(0, 1), -0.6_f64.sqrt(), epsilon = 1e-8);
}
