//! From caliper readings to the bow of each screw, with its error.

use crate::readings::{Reading, Side, State};
use crate::unit_shape::UnitShape;
use ice_contact::runner::{Bow, Fault, RunnerSpec};
use numerics::least_squares::{LeastSquaresError, weighted_linear};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// What the readings are compared with: they are to a guide, not to zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Baseline {
    /// Readings without bow, at the same points.
    ReferenceReadings,
    /// The guide is taken as straight and parallel to the runner, whose own shape is stated: straight, or with its free
    /// bow; the distance is fitted.
    StatedShape,
}

impl Baseline {
    /// Reference readings where there are any of this runner, the statement otherwise.
    pub(crate) fn best_for(readings: &[Reading], side: Side) -> Self {
        if readings.iter().any(|r| r.side == side && r.state == State::Reference) {
            Self::ReferenceReadings
        } else {
            Self::StatedShape
        }
    }
}

/// A bow cannot be fitted.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FitError {
    /// The runner's numbers.
    #[error("{}", .0.iter().map(|fault| format!("{fault}; ")).collect::<String>())]
    Runner(Vec<Fault>),
    /// Too few readings, or all of them where the screws cannot be told apart.
    #[error("{}", unfitted(.0))]
    LeastSquares(LeastSquaresError),
}

fn unfitted(error: &LeastSquaresError) -> String {
    match error {
        LeastSquaresError::Rank { determined, wanted } => format!(
            "the readings tell {determined} of {wanted} unknowns (front screw, rear screw, zeros); allowed: readings \
             with bow at three places or more, spread from pin to pin"
        ),
        other => other.to_string(),
    }
}

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

/// What is left of a reading after the fit.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Residual {
    /// Line in the file.
    pub(crate) line: u64,
    /// Name of the point.
    pub(crate) point: String,
    /// Place along the runner (m).
    pub(crate) position_m: f64,
    /// With or without bow.
    pub(crate) state: State,
    /// The reading (m).
    pub(crate) reading_m: f64,
    /// Its stated error (m).
    pub(crate) error_m: f64,
    /// Reading less fitted (m).
    pub(crate) residual_m: f64,
    /// Residual over the stated error of the reading `[-]`.
    pub(crate) standardised: f64,
}

/// How far a reading with bow stands from its zero: what the fit goes through.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasuredDrop {
    /// Line in the file.
    pub line: u64,
    /// Number of the field that holds the distance.
    pub column: usize,
    /// Name of the point.
    pub point: String,
    /// Place along the runner (m).
    pub position_m: f64,
    /// The reading (m).
    pub reading_m: f64,
    /// What it is counted from: the mean reading without bow there, or the fitted distance of the guide (m).
    pub zero_m: f64,
    /// Reading less zero (m).
    pub drop_m: f64,
    /// Error of the drop, from the stated errors of reading and zero (m).
    pub error_m: f64,
    /// Drop by the fitted bow (m).
    pub fitted_m: f64,
}

impl MeasuredDrop {
    /// Measured less fitted (m).
    pub fn residual_m(&self) -> f64 {
        self.drop_m - self.fitted_m
    }
}

/// A reading that disagrees with the others.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Apart {
    /// Line in its file.
    pub line: u64,
    /// With or without bow.
    pub state: State,
    /// Name of the point.
    pub point: String,
}

/// What a user should know about a fit.
#[derive(Clone, Debug, PartialEq)]
pub enum FitWarning {
    /// These readings disagree with the others by more than 3 stated errors.
    Disagree(Vec<Apart>),
    /// All together scatter more than their errors allow (probability below 0.01).
    Scatter(f64),
    /// A bowed point has no reading without bow and was left out: its line.
    NoReference(u64),
    /// The guide was taken as straight. One that bulges by [`GUIDE_BULGE_M`] between the pins passes for this
    /// much bow: front, rear (m).
    GuideTakenStraight([f64; 2]),
    /// A screw stands behind straight (m): front, rear.
    BehindStraight([f64; 2]),
    /// A screw stands further out than any set-up may have it (m): front, rear.
    TooFar([f64; 2]),
    /// The bow bends the runner past yield: stress, yield (Pa).
    PastYield([f64; 2]),
}

/// Bulge of a guide for which its effect on the bow is told (m).
pub const GUIDE_BULGE_M: f64 = 1e-4;
/// Greatest advance of a screw that a runner may be set to (m).
pub const MOST_ADVANCE_M: f64 = 8e-3;
/// A reading further than this from the fit, in its own errors, disagrees with the others.
const APART: f64 = 3.0;

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
    pub(crate) chi_square: f64,
    /// Readings less unknowns.
    pub(crate) freedom: usize,
    /// Chance of a greater chi-square when the errors are as stated; `None` without freedom.
    pub chi_square_probability: Option<f64>,
    /// Rear, middle and front stretch.
    pub zones: Vec<Zone>,
    /// One per reading used.
    pub(crate) residuals: Vec<Residual>,
    /// One per reading with bow.
    pub drops: Vec<MeasuredDrop>,
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
/// a runner of stated shape it is one unknown less the height of the unbent runner.
/// Valid for: small slopes. Assumes: readings with independent errors; a guide that stays with the
/// frame; from a stated shape also a straight guide: a curved one passes for bow, the residuals hardly
/// show it, and a warning says how much. Source: weighted linear least squares. Checked by:
/// `exact_planted_bow_returns`, `exact_band_covers_the_planted_bow`, `exact_a_curved_guide_is_warned_of`.
pub(crate) fn fit_bow(
    runner: &RunnerSpec,
    side: Side,
    readings: &[Reading],
    baseline: Baseline,
) -> Result<BowFit, FitError> {
    let unit = UnitShape::of(runner).map_err(FitError::Runner)?;
    let straight = baseline == Baseline::StatedShape;
    let mut warnings = Vec::new();
    let (rows, zeros) = rows(readings, side, straight, &mut warnings);
    let [front, rear] = unit.influence();
    let mut matrix = nalgebra::DMatrix::zeros(rows.len(), 2 + zeros);
    for (i, (r, k)) in rows.iter().enumerate() {
        matrix[(i, *k)] = 1.0;
        if r.state == State::Bowed {
            matrix[(i, 0)] = front.deflection_m(r.position_m);
            matrix[(i, 1)] = rear.deflection_m(r.position_m);
        }
    }
    let solved = |value: &dyn Fn(&Reading) -> f64| {
        let values = nalgebra::DVector::from_iterator(rows.len(), rows.iter().map(|(r, _)| value(r)));
        let errors = nalgebra::DVector::from_iterator(rows.len(), rows.iter().map(|(r, _)| r.error_m));
        weighted_linear(&matrix, &values, &errors, 1e-9).map_err(FitError::LeastSquares)
    };
    let unbent_m = |r: &Reading| if straight { runner.unbent_m(r.position_m) } else { 0.0 };
    let fit = solved(&|r| r.distance_m + unbent_m(r))?;
    if straight {
        let bulge = |r: &Reading| GUIDE_BULGE_M * (1.0 - (r.position_m / runner.pin_m).powi(2));
        let passes = solved(&bulge)?.unknowns;
        warnings.push(FitWarning::GuideTakenStraight([passes[0], passes[1]]));
    }
    let bow = Bow { front_m: fit.unknowns[0], rear_m: fit.unknowns[1] };
    let c = &fit.covariance;
    let covariance_m2 = [[c[(0, 0)], c[(0, 1)]], [c[(1, 0)], c[(1, 1)]]];
    let residual = |(i, (r, _)): (usize, &(&Reading, usize))| Residual {
        line: r.line,
        point: r.point.clone(),
        position_m: r.position_m,
        state: r.state,
        reading_m: r.distance_m,
        error_m: r.error_m,
        residual_m: fit.residuals[i],
        standardised: fit.residuals[i] / r.error_m,
    };
    let mut done = BowFit {
        side,
        baseline,
        bow,
        covariance_m2,
        chi_square: fit.chi_square,
        freedom: fit.freedom,
        chi_square_probability: ChiSquared::new(fit.freedom as f64).ok().map(|law| law.sf(fit.chi_square)),
        zones: zones(&unit, runner, bow, &covariance_m2),
        residuals: rows.iter().enumerate().map(residual).collect(),
        drops: drops(&unit, bow, &rows, straight.then(|| (fit.unknowns[2], &unbent_m as _))),
        warnings,
    };
    done.warn(&unit, runner);
    Ok(done)
}

/// The readings that can be used, each with the column of its zero, and how many zeros there are.
fn rows<'a>(
    readings: &'a [Reading],
    side: Side,
    straight: bool,
    warnings: &mut Vec<FitWarning>,
) -> (Vec<(&'a Reading, usize)>, usize) {
    let of_side = || readings.iter().filter(|r| r.side == side);
    if straight {
        return (of_side().filter(|r| r.state == State::Bowed).map(|r| (r, 2)).collect(), 1);
    }
    let mut points: Vec<f64> = Vec::new();
    let near = |points: &[f64], x: f64| points.iter().position(|p| (p - x).abs() < SAME_PLACE_M);
    for r in of_side().filter(|r| r.state == State::Reference) {
        if near(&points, r.position_m).is_none() {
            points.push(r.position_m);
        }
    }
    let mut rows = Vec::new();
    for r in of_side() {
        match near(&points, r.position_m) {
            Some(k) => rows.push((r, 2 + k)),
            None => warnings.push(FitWarning::NoReference(r.line)),
        }
    }
    (rows, points.len())
}

/// Fitted distance of a straight guide (m), and the height of the unbent runner at a reading (m).
type Guide<'a> = (f64, &'a dyn Fn(&Reading) -> f64);

/// Readings with bow less their zeros: `guide` is the fitted distance of a straight guide and the
/// height of the unbent runner.
fn drops(
    unit: &UnitShape,
    bow: Bow,
    rows: &[(&Reading, usize)],
    guide: Option<Guide<'_>>,
) -> Vec<MeasuredDrop> {
    let bowed = rows.iter().filter(|(r, _)| r.state == State::Bowed);
    bowed
        .map(|&(r, k)| {
            let (zero_m, zero_error_m) = match guide {
                Some((distance_m, unbent_m)) => (distance_m - unbent_m(r), 0.0),
                None => {
                    let (mut weight, mut sum) = (0.0, 0.0);
                    for (z, _) in rows.iter().filter(|(z, j)| *j == k && z.state == State::Reference) {
                        weight += z.error_m.powi(-2);
                        sum += z.distance_m * z.error_m.powi(-2);
                    }
                    (sum / weight, weight.powf(-0.5))
                }
            };
            MeasuredDrop {
                line: r.line,
                column: r.column,
                point: r.point.clone(),
                position_m: r.position_m,
                reading_m: r.distance_m,
                zero_m,
                drop_m: r.distance_m - zero_m,
                error_m: r.error_m.hypot(zero_error_m),
                fitted_m: unit.drop_m(bow, r.position_m),
            }
        })
        .collect()
}

/// Readings nearer than this are at the same point (m).
const SAME_PLACE_M: f64 = 1e-3;

fn zones(unit: &UnitShape, runner: &RunnerSpec, bow: Bow, c: &[[f64; 2]; 2]) -> Vec<Zone> {
    let (pin, screw) = (runner.pin_m, runner.screw_m);
    let zone = |name, from_m: f64, to_m: f64| {
        let [f, r] = unit.curvature_per_advance(from_m, to_m);
        let variance = f * f * c[0][0] + 2.0 * f * r * c[0][1] + r * r * c[1][1];
        let curvature_per_m = f * bow.front_m + r * bow.rear_m;
        Zone { name, from_m, to_m, curvature_per_m, curvature_error_per_m: variance.max(0.0).sqrt() }
    };
    vec![zone("front", screw, pin), zone("middle", -screw, screw), zone("rear", -pin, -screw)]
}

impl BowFit {
    /// Looks at what a user should know.
    fn warn(&mut self, unit: &UnitShape, runner: &RunnerSpec) {
        // a reading and its zero share what is left over: held together against the error of both
        let both =
            |line| self.drops.iter().any(|d| d.line == line && d.residual_m().abs() > APART * d.error_m);
        let is_apart =
            |r: &&Residual| r.standardised.abs() > APART || r.state == State::Bowed && both(r.line);
        let apart = self.residuals.iter().filter(is_apart);
        let apart: Vec<Apart> =
            apart.map(|r| Apart { line: r.line, state: r.state, point: r.point.clone() }).collect();
        if !apart.is_empty() {
            self.warnings.push(FitWarning::Disagree(apart));
        }
        if let Some(p) = self.chi_square_probability.filter(|p| *p < 0.01) {
            self.warnings.push(FitWarning::Scatter(p));
        }
        let advances = [self.bow.front_m, self.bow.rear_m];
        let errors = self.errors_m();
        if (0..2).any(|i| advances[i] < -3.0 * errors[i]) {
            self.warnings.push(FitWarning::BehindStraight(advances));
        }
        if advances.iter().any(|a| *a > MOST_ADVANCE_M) {
            self.warnings.push(FitWarning::TooFar(advances));
        }
        let stress_pa = unit.greatest_stress_pa(self.bow);
        if stress_pa > runner.yield_stress_pa {
            self.warnings.push(FitWarning::PastYield([stress_pa, runner.yield_stress_pa]));
        }
    }
}

#[cfg(test)]
mod tests;
