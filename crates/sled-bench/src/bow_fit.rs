//! From caliper readings to the bow of each screw, with its error.

use crate::readings::{Reading, Side, State};
use ice_contact::free_shape::FreeShape;
use ice_contact::runner::{Bow, Fault, RunnerSpec};
use numerics::least_squares::{LeastSquaresError, weighted_linear};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// What the readings are compared with: they are to a guide, not to zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Baseline {
    /// Readings without bow, at the same points.
    ReferenceReadings,
    /// The runner is stated straight and the guide parallel to it; its distance is fitted.
    StatedStraight,
}

/// A bow cannot be fitted.
#[derive(Clone, Debug, PartialEq)]
pub enum FitError {
    /// The runner's numbers.
    Runner(Vec<Fault>),
    /// Too few readings, or all of them where the screws cannot be told apart.
    LeastSquares(LeastSquaresError),
}

impl std::fmt::Display for FitError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Runner(found) => found.iter().try_for_each(|fault| write!(f, "{fault}; ")),
            Self::LeastSquares(error) => write!(f, "{error}"),
        }
    }
}

impl std::error::Error for FitError {}

/// Curvature of a stretch of the runner under the fitted bow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Zone {
    /// Name of the stretch.
    pub name: &'static str,
    /// From here (m).
    pub from_m: f64,
    /// To here (m).
    pub to_m: f64,
    /// Mean curvature, lowest in the middle positive (1/m).
    pub curvature_per_m: f64,
    /// Its standard error (1/m).
    pub curvature_error_per_m: f64,
}

impl Zone {
    /// Local radius (m); not finite where the stretch is straight.
    pub fn radius_m(&self) -> f64 {
        1.0 / self.curvature_per_m
    }
}

/// What is left of a reading after the fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Residual {
    /// Line in the file.
    pub line: u64,
    /// Name of the point.
    pub point: String,
    /// Reading less fitted (m).
    pub residual_m: f64,
    /// Residual over the stated error of the reading `[-]`.
    pub standardised: f64,
}

/// What a user should know about a fit.
#[derive(Clone, Debug, PartialEq)]
pub enum FitWarning {
    /// These readings disagree with the others: lines, by more than 3 stated errors.
    Disagree(Vec<u64>),
    /// All together scatter more than their errors allow (probability below 0.01).
    Scatter(f64),
    /// A bowed point has no reading without bow and was left out: its line.
    NoReference(u64),
    /// A screw stands behind straight (m): front, rear.
    BehindStraight([f64; 2]),
    /// The bow bends the runner past yield: stress, yield (Pa).
    PastYield([f64; 2]),
}

/// Fitted bow of one runner.
#[derive(Clone, Debug, PartialEq)]
pub struct BowFit {
    /// Runner.
    pub side: Side,
    /// What the readings were compared with.
    pub baseline: Baseline,
    /// Advance of each screw.
    pub bow: Bow,
    /// Covariance of front and rear advance (m2).
    pub covariance_m2: [[f64; 2]; 2],
    /// Sum of squared standardised residuals.
    pub chi_square: f64,
    /// Readings less unknowns.
    pub freedom: usize,
    /// Chance of a greater chi-square when the errors are as stated; `None` without freedom.
    pub chi_square_probability: Option<f64>,
    /// Rear, middle and front stretch.
    pub zones: Vec<Zone>,
    /// One per reading used.
    pub residuals: Vec<Residual>,
    /// What the user should know.
    pub warnings: Vec<FitWarning>,
}

impl BowFit {
    /// Standard errors of front and rear advance (m).
    pub fn errors_m(&self) -> [f64; 2] {
        [self.covariance_m2[0][0].sqrt(), self.covariance_m2[1][1].sqrt()]
    }
}

/// Fits the bow of one runner.
///
/// ```text
/// d_bowed(x) = d_0(x) + a_f u_f(x) + a_r u_r(x)      d_reference(x) = d_0(x)
/// ```
///
/// `u` are the free shape per advance. With reference readings `d_0` is one unknown per point; from
/// a stated straight runner it is one unknown less the sweep of the tips.
/// Valid for: small slopes. Assumes: readings with independent errors; a guide that stays with the
/// frame. A stated straight runner takes the guide as straight too: a curved guide passes for bow and
/// the residuals hardly show it. Source: weighted linear least squares. Checked by: `exact_planted_bow_returns`,
/// `exact_band_covers_the_planted_bow`.
pub fn fit_bow(
    runner: &RunnerSpec,
    side: Side,
    readings: &[Reading],
    baseline: Baseline,
) -> Result<BowFit, FitError> {
    let unit = FreeShape::of(runner, Bow::even(0.0)).map_err(FitError::Runner)?;
    let (front, rear) = (unit.front_influence(), unit.rear_influence());
    let mut warnings = Vec::new();
    let mut points: Vec<f64> = Vec::new();
    let near = |points: &[f64], x: f64| points.iter().position(|p| (p - x).abs() < 1e-4);
    let on_side = || readings.iter().filter(|r| r.side == side);
    if baseline == Baseline::ReferenceReadings {
        for r in on_side().filter(|r| r.state == State::Reference) {
            if near(&points, r.position_m).is_none() {
                points.push(r.position_m);
            }
        }
    }
    let mut rows: Vec<(&Reading, usize)> = Vec::new();
    for r in on_side() {
        match (baseline, near(&points, r.position_m)) {
            (Baseline::StatedStraight, _) if r.state == State::Bowed => rows.push((r, 2)),
            (Baseline::ReferenceReadings, Some(k)) => rows.push((r, 2 + k)),
            (Baseline::ReferenceReadings, None) => warnings.push(FitWarning::NoReference(r.line)),
            (Baseline::StatedStraight, _) => {}
        }
    }
    let unknowns = 2 + if baseline == Baseline::StatedStraight { 1 } else { points.len() };
    let mut matrix = nalgebra::DMatrix::zeros(rows.len(), unknowns);
    for (i, (r, k)) in rows.iter().enumerate() {
        matrix[(i, *k)] = 1.0;
        if r.state == State::Bowed {
            matrix[(i, 0)] = front.deflection_m(r.position_m);
            matrix[(i, 1)] = rear.deflection_m(r.position_m);
        }
    }
    let sweep =
        |r: &Reading| if baseline == Baseline::StatedStraight { runner.sweep_m(r.position_m) } else { 0.0 };
    let values =
        nalgebra::DVector::from_iterator(rows.len(), rows.iter().map(|(r, _)| r.distance_m + sweep(r)));
    let errors = nalgebra::DVector::from_iterator(rows.len(), rows.iter().map(|(r, _)| r.error_m));
    let fit = weighted_linear(&matrix, &values, &errors, 1e-9).map_err(FitError::LeastSquares)?;
    let bow = Bow { front_m: fit.unknowns[0], rear_m: fit.unknowns[1] };
    let c = &fit.covariance;
    let covariance_m2 = [[c[(0, 0)], c[(0, 1)]], [c[(1, 0)], c[(1, 1)]]];
    let (pin, screw) = (runner.pin_m, runner.screw_m);
    let zone = |name, from_m: f64, to_m: f64| {
        let mean =
            |line: &ice_contact::beam::BentLine| (line.slope(from_m) - line.slope(to_m)) / (to_m - from_m);
        let (f, r) = (mean(front), mean(rear));
        let variance = f * f * c[(0, 0)] + 2.0 * f * r * c[(0, 1)] + r * r * c[(1, 1)];
        let curvature_per_m = f * bow.front_m + r * bow.rear_m;
        Zone { name, from_m, to_m, curvature_per_m, curvature_error_per_m: variance.sqrt() }
    };
    let zones = vec![zone("rear", -pin, -screw), zone("middle", -screw, screw), zone("front", screw, pin)];
    let residual = |(i, (r, _)): (usize, &(&Reading, usize))| Residual {
        line: r.line,
        point: r.point.clone(),
        residual_m: fit.residuals[i],
        standardised: fit.residuals[i] / r.error_m,
    };
    let residuals: Vec<Residual> = rows.iter().enumerate().map(residual).collect();
    let chi_square_probability = ChiSquared::new(fit.freedom as f64).ok().map(|law| law.sf(fit.chi_square));
    let apart: Vec<u64> = residuals.iter().filter(|r| r.standardised.abs() > 3.0).map(|r| r.line).collect();
    if !apart.is_empty() {
        warnings.push(FitWarning::Disagree(apart));
    }
    if let Some(p) = chi_square_probability.filter(|p| *p < 0.01) {
        warnings.push(FitWarning::Scatter(p));
    }
    let [ef, er] = [c[(0, 0)].sqrt(), c[(1, 1)].sqrt()];
    if bow.front_m < -3.0 * ef || bow.rear_m < -3.0 * er {
        warnings.push(FitWarning::BehindStraight([bow.front_m, bow.rear_m]));
    }
    if let Ok(shape) = FreeShape::of(runner, bow)
        && shape.greatest_stress_pa() > runner.yield_stress_pa
    {
        warnings.push(FitWarning::PastYield([shape.greatest_stress_pa(), runner.yield_stress_pa]));
    }
    let (chi_square, freedom) = (fit.chi_square, fit.freedom);
    Ok(BowFit {
        side,
        baseline,
        bow,
        covariance_m2,
        chi_square,
        freedom,
        chi_square_probability,
        zones,
        residuals,
        warnings,
    })
}

/// Left less right: front and rear, each with its standard error (m).
pub fn left_less_right_m(left: &BowFit, right: &BowFit) -> [(f64, f64); 2] {
    let (l, r) = (left.errors_m(), right.errors_m());
    [
        (left.bow.front_m - right.bow.front_m, l[0].hypot(r[0])),
        (left.bow.rear_m - right.bow.rear_m, l[1].hypot(r[1])),
    ]
}

/// Whether the fits look like the expected bows with left and right swapped.
pub fn looks_swapped(left: &BowFit, right: &BowFit, expected_left: Bow, expected_right: Bow) -> bool {
    let miss = |fit: &BowFit, bow: Bow| {
        let e = fit.errors_m();
        ((fit.bow.front_m - bow.front_m) / e[0]).powi(2) + ((fit.bow.rear_m - bow.rear_m) / e[1]).powi(2)
    };
    let as_said = miss(left, expected_left) + miss(right, expected_right);
    let swapped = miss(left, expected_right) + miss(right, expected_left);
    // 13.8: 0.001 of chi-square with two degrees of freedom
    swapped + 13.8 < as_said
}

#[cfg(test)]
mod tests {
    use super::*;
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
        assert!(fit.warnings.iter().any(|w| matches!(w, FitWarning::Disagree(lines) if lines.contains(&15))));
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
        use crate::target::{Key, bow_target};
        let (runner, key) = (RunnerSpec::default(), Key::default());
        let old = Bow { front_m: 3e-3, rear_m: 1e-3 };
        let wanted = Bow { front_m: 1.5e-3, rear_m: 2.2e-3 };
        let plan = bow_target(&runner, old, wanted, &key, &[(0.0, 0.04)]).expect("in range");
        let [f, r] = plan.screws.map(|s| s.turns.change_m(&key, key.backlash_turns));
        let set = Bow { front_m: old.front_m + f, rear_m: old.rear_m + r };
        let fit = fit_bow(&runner, Side::Left, &planted(set, || 0.0), Baseline::ReferenceReadings)
            .expect("determined");
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
    fn exact_swapped_sides_are_suspected() {
        let (a, b) = (Bow { front_m: 1e-3, rear_m: 2e-3 }, Bow { front_m: 2e-3, rear_m: 1e-3 });
        let fit = |bow| {
            fit_bow(&RunnerSpec::default(), Side::Left, &planted(bow, || 0.0), Baseline::StatedStraight)
        };
        let (l, r) = (fit(a).expect("determined"), fit(b).expect("determined"));
        // a curved guide passes for bow: 0.13 mm at the pins is far outside the stated errors
        assert!((l.bow.front_m - a.front_m).abs() > 3.0 * l.errors_m()[0]);
        assert!(looks_swapped(&l, &r, b, a));
        assert!(!looks_swapped(&l, &r, a, b));
    }
}
