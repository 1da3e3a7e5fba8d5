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
    /// How much more a caliper at this screw reads then (m): not the advance, since mounts and frame give way.
    pub reads_more_m: f64,
}

/// A pull below this is none (N): rounding of the shape.
const LEAST_PULL_N: f64 = 0.1;

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
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TargetFault {
    /// A number of the key.
    #[error(transparent)]
    Key(NumberFault),
    /// A number of runner or bow.
    #[error("{}", at_screw(.0))]
    Runner(Fault),
    /// The target bends the runner past yield: stress, yield (Pa).
    #[error("the target bends the runner to {:.0} MPa; it yields at {:.0} MPa", .0[0] / 1e6, .0[1] / 1e6)]
    PastYield([f64; 2]),
    /// A screw would have to pull, and screws only push: its name, and the force (N).
    #[error(
        "the {0} screw would have to pull with {pull_n:.0} N; a screw only pushes: less bow at the other, or more here",
        pull_n = -.1
    )]
    Pulls(&'static str, f64),
}

/// A fault of runner or bow, in the words of the bench where it is a screw's.
fn at_screw(fault: &Fault) -> String {
    let Some(screw) = fault.field.strip_prefix("bow.") else { return fault.to_string() };
    format!(
        "the target at the {} screw is {:.2} mm; allowed {:.0} to {:.0} mm",
        screw.trim_end_matches("_m"),
        1e3 * fault.got,
        1e3 * fault.least,
        1e3 * fault.greatest
    )
}

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
    for (name, force_n) in ["front", "rear"].into_iter().zip(forces) {
        if force_n < -LEAST_PULL_N {
            found.push(TargetFault::Pulls(name, force_n));
        }
    }
    if !found.is_empty() {
        return Err(found);
    }
    // an old bow may stand a reading error behind straight, which has no shape of its own
    let old_shape =
        FreeShape::of(runner, Bow { front_m: old.front_m.max(0.0), rear_m: old.rear_m.max(0.0) }).ok();
    let row = |name, old_m: f64, target_m: f64, force_n, place_m: f64| ScrewRow {
        name,
        old_m,
        target_m,
        turns: Turns::of(key, target_m - old_m),
        force_n,
        reads_more_m: shape.drop_m(place_m) - old_shape.as_ref().map_or(0.0, |s| s.drop_m(place_m)),
    };
    // the shape of the unbent runner is in the reading without bow already
    let expected_m = points.iter().map(|&(x, d)| d + shape.drop_m(x) + runner.unbent_m(x)).collect();
    Ok(BowTarget {
        screws: [
            row("front", old.front_m, target.front_m, forces[0], runner.screw_m),
            row("rear", old.rear_m, target.rear_m, forces[1], -runner.screw_m),
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
pub const STEPS_SAME_RUNNERS: [&str; 7] = [
    "guards off at the bench alone; sled on its back, wedged; runners cold, clean, without snow",
    "all pins in and tight; measure once more before turning anything",
    "turn front and rear screw in turn, half a turn at most at a time, left and right alike",
    "end every screw with a turn that adds bow, so that its play lies on the same side as before",
    "measure again, left and right (sagitta bow read), and compare with the expected readings",
    "pins once more, guards on; nothing is ridden before it was measured again",
    "weigh sled and athlete last, with the snow and the water that they carry",
];

/// Steps of a change of runners, in order. Common practice, no source.
pub const STEPS_OTHER_RUNNERS: [&str; 8] = [
    "guards off at the bench alone; sled on its back and wedged, runners free of snow",
    "take the bow out: both screws back until the runner is loose (a loaded runner springs: hands and face away)",
    "pull the pins",
    "swap the runners; keep left and right apart",
    "pins in, all of them tight",
    "bow in from zero: front and rear in turn, half a turn at most at a time, always ending with added bow",
    "measure again, left and right; pins once more, guards on",
    "weigh sled and athlete last, with the snow and the water that they carry",
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
    fn exact_a_screw_that_would_have_to_pull_is_refused() {
        let runner = RunnerSpec::default();
        let of = |front_m, rear_m| {
            bow_target(&runner, Bow::even(0.0), Bow { front_m, rear_m }, &Key::default(), &[])
        };
        // 5 mm at the front alone lift the rod off the rear screw by itself
        let found = of(5e-3, 0.0).expect_err("pulls");
        assert!(matches!(found[..], [TargetFault::Pulls("rear", force)] if force < 0.0), "{found:?}");
        assert!(found[0].to_string().contains("the rear screw would have to pull with"));
        assert!(matches!(of(0.0, 5e-3).expect_err("pulls")[..], [TargetFault::Pulls("front", _)]));
        assert!(of(3e-3, 2.5e-3).is_ok());
    }

    #[test]
    fn exact_the_caliper_reads_less_than_the_screw_turns() {
        let runner = RunnerSpec::default();
        let screw_m = runner.screw_m;
        let read = |runner: &RunnerSpec| {
            let plan =
                bow_target(runner, Bow::even(1e-3), Bow::even(2e-3), &Key::default(), &[(screw_m, 0.04)])
                    .expect("fine");
            let zero =
                bow_target(runner, Bow::even(1e-3), Bow::even(1e-3), &Key::default(), &[(screw_m, 0.04)])
                    .expect("fine");
            // by the expected readings of both bows
            approx::assert_abs_diff_eq!(
                plan.screws[0].reads_more_m,
                plan.expected_m[0] - zero.expected_m[0],
                epsilon = 1e-12
            );
            plan.screws[0].reads_more_m
        };
        assert!((0.5e-3..1e-3).contains(&read(&runner)), "{}", read(&runner));
        // mounts that give way by nothing let the caliper read the advance; 1e9 N/m under some 100 N give 1e-7 m
        approx::assert_abs_diff_eq!(
            read(&RunnerSpec { mount_stiffness_n_per_m: 1e9, ..runner }),
            1e-3,
            epsilon = 1e-6
        );
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
