//! Errors that are drawn, and errors other than those of the fit.

use super::super::by_drawing::{Kind, judged};
use super::super::given_errors::{Given, log_evidence};
use super::*;

/// Three runs of a straight model whose truths are as believed; errors are given.
fn of_draws(errors: impl Fn(&mut ChaCha8Rng) -> f64, seed: u64) -> (Vec<Unknown>, Vec<Measured>, Fit) {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let (unknowns, mut runs) = three([[0.0; 4]; 3]);
    let x: Vec<f64> = unknowns
        .iter()
        .map(|u| u.prior.map_or(u.start, |p| p.mean + p.sd * rng.sample::<f64, _>(StandardNormal)))
        .collect();
    for (r, run) in runs.iter_mut().enumerate() {
        let root = run.covariance.clone().cholesky().unwrap().l();
        let e = root * DVector::from_fn(4, |_, _| errors(&mut rng));
        run.values = straight(r, &x).unwrap().iter().zip(e.iter()).map(|(v, e)| v + e).collect();
    }
    let question = Question { unknowns: &unknowns, runs: &runs, predict: &straight, held_out: None };
    let fit = fit(&question).unwrap();
    (unknowns, runs, fit)
}

#[test]
fn exact_normal_draws_are_chi_squared() {
    for seed in 0..5 {
        let (unknowns, runs, fit) = of_draws(|rng| rng.sample(StandardNormal), seed);
        let normal: Vec<DMatrix<f64>> = runs.iter().map(|r| r.covariance.clone()).collect();
        let kinds = [Kind { weight: 2.0, errors: vec![vec![vec![0.0; 4]]; 3] }];
        let told = judged(&fit, &unknowns, &runs, &normal, &kinds).unwrap();
        let exact = fit.chance_of_worse(&unknowns).unwrap();
        // four standard deviations of a share of 4000
        assert!((told.chance - exact).abs() < 0.032, "{told:?} {exact}");
        // sections are tested together as if they were independent, which is a little wide
        let limit = section_limit(3);
        assert!(told.section_limit < limit + 0.1 && told.section_limit > limit - 0.4, "{told:?} {limit}");
        assert_eq!(judged(&fit, &unknowns, &runs, &normal[..2], &kinds), None);
        assert_eq!(judged(&fit, &unknowns, &runs, &normal, &[]), None);
    }
}

#[test]
fn exact_a_heavy_tail_is_in_the_draws() {
    // one error in twenty is large: of the same variance as the covariance says, not normal
    let heavy = |rng: &mut ChaCha8Rng| {
        let large = rng.random::<f64>() < 0.05;
        let z: f64 = rng.sample(StandardNormal);
        // 0.95 x 0.2 + 0.05 x 16.2 = 1
        z * if large { 16.2f64.sqrt() } else { 0.2f64.sqrt() }
    };
    let mut rng = ChaCha8Rng::seed_from_u64(99);
    let (mut by_draws, mut by_chi) = (0, 0);
    let sheets = 60;
    for seed in 0..sheets {
        let (unknowns, runs, fit) = of_draws(heavy, seed);
        let root = runs[0].covariance.clone().cholesky().unwrap().l();
        let errors: Vec<Vec<f64>> = (0..300)
            .map(|_| (&root * DVector::from_fn(4, |_, _| heavy(&mut rng))).as_slice().to_vec())
            .collect();
        let normal = vec![1e-12 * DMatrix::<f64>::identity(4, 4); 3];
        let kinds = [Kind { weight: 1.0, errors: vec![errors; 3] }];
        let told = judged(&fit, &unknowns, &runs, &normal, &kinds).unwrap();
        by_draws += usize::from(told.chance < 0.05);
        by_chi += usize::from(fit.chance_of_worse(&unknowns).unwrap() < 0.05);
    }
    // 5 % are 3 of 60; more than 9 in 1 of 1000
    assert!(by_draws <= 9 && by_chi > by_draws, "{by_draws} and {by_chi} of {sheets}");
}

#[test]
fn exact_evidence_of_other_errors() {
    let (unknowns, runs, fit) = of_draws(|rng| rng.sample(StandardNormal), 3);
    let given = |factor: f64, later: f64| -> Vec<Given> {
        let of =
            |r: &Measured| Given { later: DVector::repeat(4, later), covariance: factor * &r.covariance };
        runs.iter().map(of).collect()
    };
    // all values of a straight model are one normal vector: mean of the priors, their part and the errors'
    let direct = |given: &[Given]| {
        let at = |x: &[f64]| -> Vec<f64> { (0..3).flat_map(|r| straight(r, x).unwrap()).collect() };
        let means: Vec<f64> = unknowns.iter().map(|u| u.prior.unwrap().mean).collect();
        let base = at(&means);
        let mut covariance = DMatrix::zeros(12, 12);
        for (r, g) in given.iter().enumerate() {
            covariance.view_mut((4 * r, 4 * r), (4, 4)).copy_from(&g.covariance);
        }
        for (j, u) in unknowns.iter().enumerate() {
            let mut x = means.clone();
            x[j] += u.prior.unwrap().sd;
            let column = DVector::from_iterator(12, at(&x).iter().zip(&base).map(|(a, b)| a - b));
            covariance += &column * column.transpose();
        }
        let values: Vec<f64> = runs.iter().flat_map(|r| r.values.clone()).collect();
        let off = DVector::from_iterator(12, (0..12).map(|i| values[i] - base[i] - given[i / 4].later[0]));
        let root = covariance.cholesky().unwrap();
        let size: f64 = root.l().diagonal().iter().map(|d| d.ln()).sum();
        -0.5 * off.dot(&root.solve(&off)) - size
    };
    let told = |given: &[Given]| log_evidence(&fit, &unknowns, &runs, given).unwrap();
    for (factor, later) in [(0.5, 0.0), (3.0, 0.1), (1.0, -0.2)] {
        let (a, b) = (given(factor, later), given(1.0, 0.0));
        // differences, since both have constants of their own; the search has settled to 1e-6
        approx::assert_abs_diff_eq!(told(&a) - told(&b), direct(&a) - direct(&b), epsilon = 1e-6);
    }
    assert_eq!(log_evidence(&fit, &unknowns, &runs, &given(1.0, 0.0)[..2]), None);
}
