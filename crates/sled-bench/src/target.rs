//! From a wanted bow to turns of the key, expected readings, forces and stress.

use crate::bow_fit::{Baseline, FitError, fit_bow};
use crate::faults::NumberFault;
use crate::readings::{Reading, Side, State};
use crate::turns::{Key, Turns};
use crate::unit_shape::UnitShape;
use ice_contact::free_shape::FreeShape;
use ice_contact::runner::{Bow, Fault, RunnerSpec};

/// A screw on its way from the old bow to the target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScrewRow {
    /// front or rear.
    pub name: &'static str,
    /// Advance now (m).
    pub old_m: f64,
    /// Advance wanted (m).
    pub target_m: f64,
    /// What to turn.
    pub turns: Turns,
    /// Force of the screw on the runner at the target (N).
    pub force_n: f64,
}

/// A change of bow.
#[derive(Clone, Debug, PartialEq)]
pub struct BowTarget {
    /// Front, rear.
    pub screws: [ScrewRow; 2],
    /// Expected reading at each point given (m).
    pub expected_m: Vec<f64>,
    /// Greatest bending stress (Pa).
    pub stress_pa: f64,
    /// Yield over stress, less 1 `[-]`; `None` for a runner without bow, which nothing bends.
    pub margin_to_yield: Option<f64>,
}

/// Why a target cannot be set.
#[derive(Clone, Debug, PartialEq)]
pub enum TargetFault {
    /// A number of the key.
    Key(NumberFault),
    /// A number of runner or bow.
    Runner(Fault),
    /// The target bends the runner past yield: stress, yield (Pa).
    PastYield([f64; 2]),
}

impl std::fmt::Display for TargetFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Key(fault) => write!(f, "{fault}"),
            Self::Runner(fault) => match fault.field.strip_prefix("bow.") {
                Some(screw) => write!(
                    f,
                    "the target at the {} screw is {:.2} mm; allowed {:.0} to {:.0} mm",
                    screw.trim_end_matches("_m"),
                    1e3 * fault.got,
                    1e3 * fault.least,
                    1e3 * fault.greatest
                ),
                None => write!(f, "{fault}"),
            },
            Self::PastYield([got, allowed]) => {
                write!(
                    f,
                    "the target bends the runner to {:.0} MPa; it yields at {:.0} MPa",
                    got / 1e6,
                    allowed / 1e6
                )
            }
        }
    }
}

impl std::error::Error for TargetFault {}

/// What to turn to go from `old` to `target`; `points` are place and reading without bow (m). All faults of key,
/// runner and target together otherwise.
pub fn bow_target(
    runner: &RunnerSpec,
    old: Bow,
    target: Bow,
    key: &Key,
    points: &[(f64, f64)],
) -> Result<BowTarget, Vec<TargetFault>> {
    let mut numbers = Vec::new();
    NumberFault::check(&mut numbers, "pitch_m", key.pitch_m, 1e-4, 5e-3);
    NumberFault::check(&mut numbers, "backlash_turns", key.backlash_turns, 0.0, 0.5);
    let mut found: Vec<TargetFault> = numbers.into_iter().map(TargetFault::Key).collect();
    // a runner that has no shape is told of below
    let stress_pa = UnitShape::of(runner).map_or(f64::NAN, |unit| unit.greatest_stress_pa(target));
    if stress_pa > runner.yield_stress_pa {
        found.push(TargetFault::PastYield([stress_pa, runner.yield_stress_pa]));
    }
    let shape = match FreeShape::of(runner, target) {
        Ok(shape) if found.is_empty() => shape,
        Ok(_) => return Err(found),
        Err(faults) => {
            found.extend(faults.into_iter().map(TargetFault::Runner));
            return Err(found);
        }
    };
    let forces = shape.screw_forces_n();
    let row = |name, old_m: f64, target_m: f64, force_n| ScrewRow {
        name,
        old_m,
        target_m,
        turns: Turns::of(key, target_m - old_m),
        force_n,
    };
    // the shape of the unbent runner is in the reading without bow already
    let expected_m = points.iter().map(|&(x, d)| d + shape.drop_m(x) + runner.unbent_m(x)).collect();
    Ok(BowTarget {
        screws: [
            row("front", old.front_m, target.front_m, forces[0]),
            row("rear", old.rear_m, target.rear_m, forces[1]),
        ],
        expected_m,
        stress_pa,
        margin_to_yield: (stress_pa > 0.0).then(|| runner.yield_stress_pa / stress_pa - 1.0),
    })
}

/// The bow that the expected readings give when they are read and fitted again: the check of a target backwards.
///
/// `points` are place and reading without bow (m), `error_m` the error of a reading (m).
/// Checked by: `exact_expected_readings_give_the_target_back`.
pub fn reverse_check(
    runner: &RunnerSpec,
    points: &[(f64, f64)],
    expected_m: &[f64],
    error_m: f64,
) -> Result<Bow, FitError> {
    let reading = |state, position_m, distance_m| Reading {
        line: 0,
        column: 1,
        side: Side::Left,
        state,
        point: String::new(),
        position_m,
        distance_m,
        error_m,
    };
    let both = points.iter().zip(expected_m).flat_map(|(&(x, zero_m), &expected_m)| {
        [reading(State::Reference, x, zero_m), reading(State::Bowed, x, expected_m)]
    });
    let readings: Vec<Reading> = both.collect();
    fit_bow(runner, Side::Left, &readings, Baseline::ReferenceReadings).map(|fit| fit.bow)
}

/// Steps of a change of bow on the runners that are on, in order. Common practice, no source.
pub const STEPS_SAME_RUNNERS: [&str; 4] = [
    "sled on its back, runners cold and clean; measure once more before turning anything",
    "turn front and rear screw in turn, half a turn at most at a time, left and right alike",
    "end every screw with a turn that adds bow, so that its play lies on the same side as before",
    "measure again, left and right: read the file with `bow read` and compare with the expected readings",
];

/// Steps of a change of runners, in order. Common practice, no source.
pub const STEPS_OTHER_RUNNERS: [&str; 6] = [
    "take the bow out: both screws back until the runner is loose (a loaded runner springs: hands and face away)",
    "pull the pins",
    "swap the runners; keep left and right apart",
    "pins in",
    "bow in from zero: front and rear in turn, half a turn at most at a time, always ending with added bow",
    "measure again, left and right",
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_every_fault_of_a_target_comes_at_once() {
        let soft = RunnerSpec { yield_stress_pa: 2e7, ..RunnerSpec::default() };
        let key = Key { pitch_m: 0.0, backlash_turns: 2.0, ..Key::default() };
        let target = Bow { front_m: 9e-3, rear_m: -1e-3 };
        let found = bow_target(&soft, Bow::even(0.0), target, &key, &[]).expect_err("bad");
        let told: Vec<String> = found.iter().map(ToString::to_string).collect();
        assert_eq!(told.len(), 5, "{told:?}");
        for (told, wanted) in
            told.iter().zip(["pitch_m", "backlash_turns", "MPa", "front screw is 9.00 mm", "rear"])
        {
            assert!(told.contains(wanted), "{told}");
        }
    }

    #[test]
    fn exact_a_target_past_yield_is_refused() {
        let soft = RunnerSpec { yield_stress_pa: 2e7, ..RunnerSpec::default() };
        let got =
            bow_target(&soft, Bow::even(0.0), Bow::even(4e-3), &Key::default(), &[]).expect_err("yields");
        assert!(matches!(got[..], [TargetFault::PastYield(_)]));
    }

    #[test]
    fn exact_expected_readings_give_the_target_back() {
        let runner = RunnerSpec::default();
        let points = [(0.36, 0.041), (0.2, 0.0405), (0.0, 0.04), (-0.2, 0.0405), (-0.36, 0.0412)];
        let target = Bow { front_m: 1.7e-3, rear_m: 2.3e-3 };
        let plan = bow_target(&runner, Bow::even(1e-3), target, &Key::default(), &points).expect("in range");
        let back = reverse_check(&runner, &points, &plan.expected_m, 2e-5).expect("determined");
        // conditioning of the fit
        approx::assert_abs_diff_eq!(back.front_m, target.front_m, epsilon = 1e-10);
        approx::assert_abs_diff_eq!(back.rear_m, target.rear_m, epsilon = 1e-10);
        assert!(reverse_check(&runner, &points[..1], &plan.expected_m[..1], 2e-5).is_err());
    }

    #[test]
    fn exact_no_bow_has_no_stress_and_no_margin() {
        let runner = RunnerSpec::default();
        let got =
            bow_target(&runner, Bow::even(1e-3), Bow::even(0.0), &Key::default(), &[]).expect("in range");
        assert_eq!((got.stress_pa, got.margin_to_yield), (0.0, None));
        assert_eq!(got.screws.map(|s| s.force_n), [0.0, 0.0]);
    }
}
