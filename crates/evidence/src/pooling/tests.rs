//! Pooling against closed forms, a published example, and planted teams.

use super::*;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// One mean and an effect for each group.
fn one_way(groups: usize, spread: f64) -> Vec<(f64, f64)> {
    let mut all = vec![(0.0, f64::INFINITY)];
    all.extend(vec![(0.0, spread); groups]);
    all
}

fn row(groups: usize, group: usize) -> DVector<f64> {
    DVector::from_fn(groups + 1, |j, _| f64::from(u8::from(j == 0 || j == group + 1)))
}

const BALANCED: [[f64; 4]; 5] = [
    [0.11, 0.29, 0.05, 0.21],
    [-0.31, -0.02, -0.15, -0.20],
    [0.02, 0.13, -0.08, 0.07],
    [0.40, 0.22, 0.31, 0.37],
    [-0.05, -0.14, 0.08, -0.10],
];

fn balanced(spread: f64) -> Vec<(DVector<f64>, f64, f64)> {
    let of = |(g, values): (usize, &[f64; 4])| values.map(|v| (row(5, g), v, spread)).to_vec();
    BALANCED.iter().enumerate().flat_map(of).collect()
}

#[test]
fn exact_balanced_shrinkage() {
    let means: Vec<f64> = BALANCED.iter().map(|g| g.iter().sum::<f64>() / 4.0).collect();
    let grand = means.iter().sum::<f64>() / 5.0;
    for (tau, sigma) in [(0.05, 0.165), (0.2, 0.1), (1.0, 0.01)] {
        let mut belief = LinearBelief::before(&one_way(5, tau));
        balanced(sigma).iter().for_each(|(x, y, sd)| belief.learn(x, *y, *sd));
        let found = belief.slopes().unwrap();
        let keeps = tau * tau / (tau * tau + sigma * sigma / 4.0);
        approx::assert_abs_diff_eq!(found.mean[0], grand, epsilon = 1e-8); // what is asked; rounding is less
        for (g, mean) in means.iter().enumerate() {
            approx::assert_abs_diff_eq!(found.mean[g + 1], keeps * (mean - grand), epsilon = 1e-8);
        }
    }
}

#[test]
fn exact_likeliest_spread_between_balanced_groups() {
    let sigma = 0.1;
    let means: Vec<f64> = BALANCED.iter().map(|g| g.iter().sum::<f64>() / 4.0).collect();
    let grand = means.iter().sum::<f64>() / 5.0;
    // restricted likelihood of a balanced one-way layout: squares of means over their freedom, less s^2/n
    let tau = (means.iter().map(|m| (m - grand).powi(2)).sum::<f64>() / 4.0 - sigma * sigma / 4.0).sqrt();
    let rows = balanced(sigma);
    let at = |tau: f64| {
        let beliefs = one_way(5, tau);
        let mut belief = LinearBelief::before(&beliefs);
        rows.iter().for_each(|(x, y, sd)| belief.learn(x, *y, *sd));
        belief.log_likelihood(&beliefs, &rows).unwrap()
    };
    // the slope is zero there: central difference over 2e-4 of it, against a curvature of some 8/tau^2
    assert!((at(tau * 1.0001) - at(tau * 0.9999)).abs() < 1e-6);
    assert!(at(tau) > at(0.97 * tau) && at(tau) > at(1.03 * tau));
}

#[test]
fn published_eight_schools() {
    // *Rubin 1981*: coaching effects of eight schools and their errors
    let effects = [28.0, 8.0, -3.0, 7.0, -1.0, 1.0, 18.0, 12.0];
    let errors = [15.0, 10.0, 16.0, 11.0, 9.0, 11.0, 10.0, 18.0];
    let rows: Vec<_> = (0..8).map(|g| (row(8, g), effects[g], errors[g])).collect();
    let found = over_spreads(&rows, |s| one_way(8, s[0]), [400, 0], 200.0, |_| 0.0).unwrap();
    // means with a flat prior of the spread, computed apart by quadrature (tests/reference/values.py)
    let wanted = [11.4003, 7.8946, 6.1307, 7.6447, 5.1264, 6.1385, 10.6670, 8.4568];
    for (g, wanted) in wanted.iter().enumerate() {
        let mut c = DVector::zeros(9);
        (c[0], c[g + 1]) = (1.0, 1.0);
        // 400 cells of the grid against 100 000
        approx::assert_abs_diff_eq!(found.mean(&c), *wanted, epsilon = 0.02);
    }
    // medians as published (*Gelman 2013*, table 5.3), from memory: 10, 8, 7, 8, 5, 6, 10, 8; the mean of a skew
    // posterior lies beside its median by up to 1.5
    for (mean, median) in wanted.iter().zip([10.0, 8.0, 7.0, 8.0, 5.0, 6.0, 10.0, 8.0]) {
        assert!((mean - median).abs() < 1.6, "{mean} {median}");
    }
}

/// A team on drifting ice; the time with B less that with A of each athlete.
fn planted(athletes: usize, weeks: usize, between: [f64; 2], seed: u64) -> (Vec<TimedRun>, Vec<f64>) {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut draw = |sd: f64| -> f64 {
        let z: f64 = StandardNormal.sample(&mut random);
        sd * z
    };
    let own: Vec<f64> = (0..athletes).map(|_| -0.05 + draw(between[0])).collect();
    let mut runs = vec![];
    for week in 0..weeks {
        let (of_week, drift) = (draw(between[1]), draw(0.02));
        for (i, effect) in own.iter().enumerate() {
            let level = 55.0 + i as f64 + draw(0.3);
            for (at, set_up) in "ABBA".chars().enumerate() {
                let moved = if set_up == 'B' { effect + of_week } else { 0.0 };
                runs.push(TimedRun {
                    name: runs.len().to_string(),
                    athlete: Some(format!("athlete {i}")),
                    date: Some((2026, 1, 5 + 7 * week as u32)),
                    set_up: Some(set_up.to_string()),
                    finish_s: Some(level + moved + drift * at as f64 + draw(0.1)),
                    ..TimedRun::default()
                });
            }
        }
    }
    (runs, own)
}

fn names(of: &str) -> Vec<String> {
    of.chars().map(|c| c.to_string()).collect()
}

#[test]
fn published_coverage_of_a_team() {
    let (mut held, mut all, mut raw_off, mut pooled_off) = (0, 0, 0.0, 0.0);
    for seed in 0..60 {
        let (runs, own) = planted(5, 3, [0.05, 0.03], seed);
        let found = pool(&runs, &names("AB"), None, 0.165).unwrap();
        for (athlete, wanted) in found.athletes.iter().zip(&own) {
            let effect = &athlete.pooled[1];
            held += usize::from(effect.band_s.0 <= *wanted && *wanted <= effect.band_s.1);
            all += 1;
            pooled_off += (effect.belief.mean_s - wanted).powi(2);
            raw_off += (athlete.raw[1].unwrap().mean_s - wanted).powi(2);
        }
    }
    // 95 % of 300, whose athletes share weeks: some 2 % of sampling error each way, and the prior of the grid
    assert!((0.91..=0.995).contains(&(held as f64 / all as f64)), "{held} of {all}");
    // what pooling is for; seeds fixed
    assert!(pooled_off < 0.6 * raw_off, "{pooled_off} against {raw_off}");
}

#[test]
fn exact_one_athlete_is_not_pooled() {
    let (runs, _) = planted(1, 1, [0.0, 0.0], 3);
    let found = pool(&runs, &names("AB"), Some(0.1), 0.165).unwrap();
    let (raw, pooled) = (found.athletes[0].raw[1].unwrap(), found.athletes[0].pooled[1].belief);
    approx::assert_abs_diff_eq!(raw.mean_s, pooled.mean_s, epsilon = 1e-9); // rounding
    assert!(found.between_athletes.is_none() && found.between_weeks.is_none());
    // two athletes with a set-up each on a day of their own tell nothing
    let mut apart = planted(2, 1, [0.0, 0.0], 4).0;
    apart.retain(|r| (r.set_up.as_deref() == Some("A")) == (r.athlete.as_deref() == Some("athlete 0")));
    assert!(pool(&apart, &names("AB"), Some(0.1), 0.165).unwrap_err().contains("no athlete has ridden two"));
}

#[test]
fn exact_weeks_begin_on_mondays() {
    // 2026-01-04 is a Sunday, 2026-01-05 a Monday; across the turn of a year likewise
    assert_eq!(week_of((2026, 1, 5)), week_of((2026, 1, 4)) + 1);
    assert_eq!(week_of((2025, 12, 29)), week_of((2026, 1, 4)));
    assert_eq!(week_of((1970, 1, 1)), 0);
}

#[test]
fn exact_a_mixture_of_two_normals() {
    use crate::linear_normal::Slopes;
    // two set-ups, the second 1 s faster in one part of the posterior and 3 s in the other, each known to 0.5 s
    let part = |mean_s: f64| grid::Part {
        weight: 0.5,
        spreads_s: [0.0; 2],
        slopes: Slopes {
            mean: DVector::from_row_slice(&[0.0, mean_s]),
            covariance: nalgebra::DMatrix::from_diagonal(&DVector::from_row_slice(&[1e-8, 0.25])),
        },
    };
    let mixture = Mixture { parts: vec![part(-1.0), part(-3.0)] };
    let each = [[1.0, 0.0], [0.0, 1.0]].map(|of| DVector::from_row_slice(&of));
    let effect = mixture.effect(&each[1], 0.0);
    approx::assert_abs_diff_eq!(effect.belief.mean_s, -2.0, epsilon = 1e-12); // rounding
    // variance inside the parts and between them: 0.25 + 1
    approx::assert_abs_diff_eq!(effect.belief.sd_s, 1.25_f64.sqrt(), epsilon = 1e-12);
    // beyond 2 and 6 standard deviations: (1 + Phi(2))/2; three standard errors of 20,000 draws
    let chances = mixture.chances_of_least(&each);
    approx::assert_abs_diff_eq!(chances[1], 0.5 + 0.5 * 0.97725, epsilon = 3.0 * 7.5e-4);
    approx::assert_abs_diff_eq!(chances[0] + chances[1], 1.0, epsilon = 1e-12);
}
