//! Both runners together: left against right, and whether sides or ends were swapped.

use crate::bow_fit::{Baseline, BowFit, FitError, fit_bow};
use crate::readings::{Reading, Side, State};
use ice_contact::runner::{Bow, RunnerSpec};

/// Fits of both runners; a runner without readings has none.
#[derive(Clone, Debug, PartialEq)]
pub struct PairFit {
    /// Left, right.
    pub fits: [Option<BowFit>; 2],
    /// Left less right at the front and the rear screw, where both were read.
    pub differences: Option<[Difference; 2]>,
    /// What a user should know of both together.
    pub warnings: Vec<PairWarning>,
}

/// Left less right at one screw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// Difference (m).
    pub difference_m: f64,
    /// Its standard error (m).
    pub error_m: f64,
}

impl Difference {
    /// Whether the difference is outside its own 95 % band.
    pub fn differs(&self) -> bool {
        self.difference_m.abs() > 1.959964 * self.error_m
    }
}

/// What a user should know of both runners together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PairWarning {
    /// The bows look like those of the set-up with something swapped.
    AgainstSetup(Swap),
    /// The readings with bow fit the reference far better with something swapped.
    AgainstReference(Swap),
}

/// What looks swapped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Swap {
    /// Left and right.
    Sides,
    /// Front and rear.
    Ends,
    /// One of the two; which cannot be told.
    SidesOrEnds,
    /// Both, as on a sled turned round.
    SidesAndEnds,
}

/// Less chi-square than this is no ground for a suspicion: one in a thousand with two degrees of freedom.
const CLEAR: f64 = 13.8;

/// A swap must make the misfit this many times less `[-]`. Assumed.
const FAR_BETTER: f64 = 2.0;

/// Fits both runners, left and right, each from reference readings where it has any. `expected` are the bows of the
/// set-up.
///
/// Checked by: `exact_swapped_sides_are_suspected`, `exact_swapped_readings_show_in_the_reference`,
/// `exact_swapped_ends_are_not_called_swapped_sides`.
pub fn fit_pair(
    runners: &[RunnerSpec; 2],
    readings: &[Reading],
    expected: Option<[Bow; 2]>,
) -> Result<PairFit, (Side, FitError)> {
    let fit = |readings: &[Reading], side: Side| -> Result<Option<BowFit>, (Side, FitError)> {
        if !readings.iter().any(|r| r.side == side) {
            return Ok(None);
        }
        let baseline = Baseline::best_for(readings, side);
        let runner = &runners[usize::from(side == Side::Right)];
        fit_bow(runner, side, readings, baseline).map(Some).map_err(|e| (side, e))
    };
    let fits = [fit(readings, Side::Left)?, fit(readings, Side::Right)?];
    let mut warnings = Vec::new();
    let mut differences = None;
    if let [Some(left), Some(right)] = &fits {
        differences = Some(left_less_right(left, right));
        warnings
            .extend(expected.and_then(|e| against_setup([left, right], e)).map(PairWarning::AgainstSetup));
        let by_reference = |fit: &BowFit| fit.baseline == Baseline::ReferenceReadings;
        if by_reference(left) && by_reference(right) {
            let misfit = |turned: &dyn Fn(&Reading) -> Reading| {
                let bowed = |r: &Reading| if r.state == State::Bowed { turned(r) } else { r.clone() };
                let all: Vec<Reading> = readings.iter().map(bowed).collect();
                let (Ok(Some(l)), Ok(Some(r))) = (fit(&all, Side::Left), fit(&all, Side::Right)) else {
                    return f64::INFINITY;
                };
                let same_rows = l.freedom + r.freedom == left.freedom + right.freedom;
                if same_rows { l.chi_square + r.chi_square } else { f64::INFINITY }
            };
            let other = |side| if side == Side::Left { Side::Right } else { Side::Left };
            let sides = |r: &Reading| Reading { side: other(r.side), ..r.clone() };
            let ends = |r: &Reading| Reading { position_m: -r.position_m, ..r.clone() };
            let as_said = left.chi_square + right.chi_square;
            let found = swap([as_said, misfit(&sides), misfit(&ends), misfit(&|r| ends(&sides(r)))]);
            warnings.extend(found.map(PairWarning::AgainstReference));
        }
    }
    Ok(PairFit { fits, differences, warnings })
}

/// Left less right: front and rear.
pub(crate) fn left_less_right(left: &BowFit, right: &BowFit) -> [Difference; 2] {
    let (l, r) = (left.errors_m(), right.errors_m());
    let of = |a: f64, b: f64, i: usize| Difference { difference_m: a - b, error_m: l[i].hypot(r[i]) };
    [of(left.bow.front_m, right.bow.front_m, 0), of(left.bow.rear_m, right.bow.rear_m, 1)]
}

/// A screw is set to about this (m): its play. Assumed.
const SETTING_M: f64 = 1e-4;

/// What looks swapped against the expected bows. Bows that are expected alike tell nothing, and no more do bows that are
/// neither of the two.
fn against_setup(fits: [&BowFit; 2], expected: [Bow; 2]) -> Option<Swap> {
    let miss = |fit: &BowFit, bow: Bow| {
        let e = fit.errors_m().map(|e| e.hypot(SETTING_M));
        ((fit.bow.front_m - bow.front_m) / e[0]).powi(2) + ((fit.bow.rear_m - bow.rear_m) / e[1]).powi(2)
    };
    let misses = |[l, r]: [Bow; 2]| miss(fits[0], l) + miss(fits[1], r);
    let sides = |[l, r]: [Bow; 2]| [r, l];
    let ends = |bows: [Bow; 2]| bows.map(|b| Bow { front_m: b.rear_m, rear_m: b.front_m });
    swap([expected, sides(expected), ends(expected), ends(sides(expected))].map(misses))
}

/// What is swapped by the chi-square of nothing, sides, ends and both swapped; none where nothing is clearly better.
fn swap([as_said, sides, ends, both]: [f64; 4]) -> Option<Swap> {
    let one = sides.min(ends);
    let least = one.min(both);
    // what fits badly both ways is not swapped but something else
    if !(least + CLEAR < as_said && FAR_BETTER * least < as_said) {
        None
    } else if both + CLEAR < one {
        Some(Swap::SidesAndEnds)
    } else if (sides - ends).abs() < CLEAR {
        Some(Swap::SidesOrEnds)
    } else {
        Some(if sides < ends { Swap::Sides } else { Swap::Ends })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::unit_shape::UnitShape;

    /// Readings of one runner whose guide is curved by `guide` (1/m).
    fn planted(side: Side, bow: Bow, guide: f64) -> Vec<Reading> {
        let unit = UnitShape::of(&RunnerSpec::default()).expect("in range");
        let mut readings = Vec::new();
        for (state, share) in [(State::Reference, 0.0), (State::Bowed, 1.0)] {
            for x in [-0.36, -0.28, -0.2, -0.1, 0.0, 0.1, 0.2, 0.28, 0.36] {
                readings.push(Reading {
                    line: 2 + readings.len() as u64,
                    column: 4,
                    side,
                    state,
                    point: format!("{x}"),
                    position_m: x,
                    distance_m: 0.04 + guide * x * x + share * unit.drop_m(bow, x),
                    error_m: 2e-5,
                });
            }
        }
        readings
    }

    fn swapped(readings: &[Reading], of: State) -> Vec<Reading> {
        let turn = |r: &Reading| {
            let side = match (r.state == of, r.side) {
                (true, Side::Left) => Side::Right,
                (true, Side::Right) => Side::Left,
                (false, side) => side,
            };
            Reading { side, ..r.clone() }
        };
        readings.iter().map(turn).collect()
    }

    #[test]
    fn exact_swapped_sides_are_suspected() {
        let bows = [Bow { front_m: 1e-3, rear_m: 2e-3 }, Bow { front_m: 2e-3, rear_m: 1.5e-3 }];
        let readings = [planted(Side::Left, bows[0], 0.0), planted(Side::Right, bows[1], 0.0)].concat();
        let runners = [RunnerSpec::default(), RunnerSpec::default()];
        let fine = fit_pair(&runners, &readings, Some(bows)).expect("determined");
        assert!(fine.warnings.is_empty());
        let got = fit_pair(&runners, &readings, Some([bows[1], bows[0]])).expect("determined");
        assert_eq!(got.warnings, [PairWarning::AgainstSetup(Swap::Sides)]);
        let [front, rear] = got.differences.expect("both");
        // conditioning of the fit
        approx::assert_abs_diff_eq!(front.difference_m, -1e-3, epsilon = 1e-9);
        approx::assert_abs_diff_eq!(rear.difference_m, 0.5e-3, epsilon = 1e-9);
        assert!(front.differs() && rear.differs());
    }

    #[test]
    fn exact_swapped_ends_are_not_called_swapped_sides() {
        let runners = [RunnerSpec::default(), RunnerSpec::default()];
        let bow = |front_m, rear_m| Bow { front_m, rear_m };
        let warned = |read: [Bow; 2], said: [Bow; 2]| {
            let readings = [planted(Side::Left, read[0], 0.0), planted(Side::Right, read[1], 0.0)].concat();
            fit_pair(&runners, &readings, Some(said)).expect("determined").warnings
        };
        let said = [bow(1e-3, 2e-3), bow(2e-3, 1.5e-3)];
        let ends = [bow(2e-3, 1e-3), bow(1.5e-3, 2e-3)];
        assert_eq!(warned(ends, said), [PairWarning::AgainstSetup(Swap::Ends)]);
        assert_eq!(warned([ends[1], ends[0]], said), [PairWarning::AgainstSetup(Swap::SidesAndEnds)]);
        // the same both ways
        let (one, other) = (bow(1e-3, 2e-3), bow(2e-3, 1e-3));
        assert_eq!(warned([other, one], [one, other]), [PairWarning::AgainstSetup(Swap::SidesOrEnds)]);
    }

    #[test]
    fn exact_readings_with_swapped_ends_show_in_the_reference() {
        let bow = Bow { front_m: 1.2e-3, rear_m: 1.6e-3 };
        let mut readings = [planted(Side::Left, bow, 0.0), planted(Side::Right, bow, 0.0)].concat();
        for r in &mut readings {
            // guides that rise by 0.2 mm from the rear to the front pin
            r.distance_m += 2e-4 * r.position_m / 0.72;
            if r.state == State::Bowed {
                r.position_m = -r.position_m;
            }
        }
        let runners = [RunnerSpec::default(), RunnerSpec::default()];
        let got = fit_pair(&runners, &readings, None).expect("determined");
        assert_eq!(got.warnings, [PairWarning::AgainstReference(Swap::Ends)]);
    }

    #[test]
    fn exact_bows_that_were_changed_are_not_called_swapped() {
        // the front left screw stands as expected, the other three were turned since
        let read = [Bow { front_m: 1.3e-3, rear_m: 1.12e-3 }, Bow { front_m: 1.37e-3, rear_m: 1.26e-3 }];
        let said = [Bow { front_m: 1.3e-3, rear_m: 1e-3 }, Bow::even(1e-3)];
        let readings = [planted(Side::Left, read[0], 0.0), planted(Side::Right, read[1], 0.0)].concat();
        let runners = [RunnerSpec::default(), RunnerSpec::default()];
        let got = fit_pair(&runners, &readings, Some(said)).expect("determined");
        assert!(got.warnings.is_empty(), "{:?}", got.warnings);
    }

    #[test]
    fn exact_swapped_readings_show_in_the_reference() {
        let bow = Bow::even(1.5e-3);
        // guides that differ by 0.26 mm at the pins
        let readings = [planted(Side::Left, bow, 1e-3), planted(Side::Right, bow, -1e-3)].concat();
        let runners = [RunnerSpec::default(), RunnerSpec::default()];
        let got = fit_pair(&runners, &swapped(&readings, State::Bowed), None).expect("determined");
        assert_eq!(got.warnings, [PairWarning::AgainstReference(Swap::Sides)]);
        let fine = fit_pair(&runners, &readings, None).expect("determined");
        assert!(fine.warnings.is_empty());
        assert!(fine.differences.expect("both").iter().all(|d| !d.differs()));
    }

    #[test]
    fn exact_readings_that_fit_nothing_are_not_called_swapped() {
        // by chi-square of nothing, sides, ends and both swapped
        assert_eq!(swap([500.0, 480.0, 430.0, 490.0]), None);
        assert_eq!(swap([20.0, 19.0, 8.0, 18.0]), None);
        assert_eq!(swap([500.0, 480.0, 30.0, 490.0]), Some(Swap::Ends));
    }

    #[test]
    fn exact_one_runner_alone_has_no_difference() {
        let readings = planted(Side::Right, Bow::even(1e-3), 0.0);
        let runners = [RunnerSpec::default(), RunnerSpec::default()];
        let got = fit_pair(&runners, &readings, None).expect("determined");
        assert!(got.fits[0].is_none() && got.fits[1].is_some() && got.differences.is_none());
    }
}
