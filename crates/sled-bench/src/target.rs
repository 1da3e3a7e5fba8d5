//! From a wanted bow to turns of the key, expected readings, forces and stress.

use crate::faults::NumberFault;
use ice_contact::free_shape::FreeShape;
use ice_contact::runner::{Bow, Fault, RunnerSpec};

/// The bow screw and its key.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Key {
    /// Advance per turn (m).
    pub pitch_m: f64,
    /// Lost motion on turning back (turns).
    pub backlash_turns: f64,
    /// Whether clockwise adds bow.
    pub clockwise_adds: bool,
}

impl Default for Key {
    /// Pitch 1 mm, backlash 0.08 turn, clockwise adds bow; all assumed.
    fn default() -> Self {
        Key { pitch_m: 1e-3, backlash_turns: 0.08, clockwise_adds: true }
    }
}

/// What to turn at one screw. Positive turns are clockwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turns {
    /// First turn.
    pub first_turns: f64,
    /// Then this much the other way, so that the screw ends pressing; 0 when bow is added.
    pub then_turns: f64,
}

impl Turns {
    /// Turns that change the advance by `change_m`, always ending with added bow.
    pub fn of(key: &Key, change_m: f64) -> Self {
        let sign = if key.clockwise_adds { 1.0 } else { -1.0 };
        let turns = change_m / key.pitch_m;
        if turns >= 0.0 {
            return Turns { first_turns: sign * turns, then_turns: 0.0 };
        }
        let over = 2.0 * key.backlash_turns;
        Turns { first_turns: sign * (turns - over), then_turns: sign * over }
    }

    /// Change of the advance when the play stood `slack_turns` open before the first turn (m).
    pub fn change_m(&self, key: &Key, slack_turns: f64) -> f64 {
        let sign = if key.clockwise_adds { 1.0 } else { -1.0 };
        let (mut screw, mut slack) = (0.0, slack_turns);
        for turns in [sign * self.first_turns, sign * self.then_turns] {
            // slack 0: pressing; slack = backlash: pulling back
            let free = slack - turns;
            slack = free.clamp(0.0, key.backlash_turns);
            screw += slack - free;
        }
        screw * key.pitch_m
    }
}

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
    /// Yield over stress, less 1 `[-]`.
    pub margin_to_yield: f64,
}

/// A target that cannot be set.
#[derive(Clone, Debug, PartialEq)]
pub enum TargetError {
    /// Numbers of the key.
    Key(Vec<NumberFault>),
    /// Numbers of runner or bow.
    Runner(Vec<Fault>),
    /// The target bends the runner past yield: stress, yield (Pa).
    PastYield([f64; 2]),
}

impl std::fmt::Display for TargetError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Key(found) => found.iter().try_for_each(|fault| write!(f, "{fault}; ")),
            Self::Runner(found) => found.iter().try_for_each(|fault| write!(f, "{fault}; ")),
            Self::PastYield([got, allowed]) => {
                write!(
                    f,
                    "bending stress is {:.0} MPa; the runner yields at {:.0} MPa",
                    got / 1e6,
                    allowed / 1e6
                )
            }
        }
    }
}

impl std::error::Error for TargetError {}

/// What to turn to go from `old` to `target`; `points` are place and reading without bow (m).
pub fn bow_target(
    runner: &RunnerSpec,
    old: Bow,
    target: Bow,
    key: &Key,
    points: &[(f64, f64)],
) -> Result<BowTarget, TargetError> {
    let mut found = Vec::new();
    NumberFault::check(&mut found, "pitch_m", key.pitch_m, 1e-4, 5e-3);
    NumberFault::check(&mut found, "backlash_turns", key.backlash_turns, 0.0, 0.5);
    if !found.is_empty() {
        return Err(TargetError::Key(found));
    }
    let shape = FreeShape::of(runner, target).map_err(TargetError::Runner)?;
    let stress_pa = shape.greatest_stress_pa();
    if stress_pa > runner.yield_stress_pa {
        return Err(TargetError::PastYield([stress_pa, runner.yield_stress_pa]));
    }
    let forces = shape.screw_forces_n();
    let row = |name, old_m: f64, target_m: f64, force_n| ScrewRow {
        name,
        old_m,
        target_m,
        turns: Turns::of(key, target_m - old_m),
        force_n,
    };
    // the sweep of the tips is in the reading without bow already
    let expected_m = points.iter().map(|&(x, d)| d + shape.drop_m(x) + runner.sweep_m(x)).collect();
    Ok(BowTarget {
        screws: [
            row("front", old.front_m, target.front_m, forces[0]),
            row("rear", old.rear_m, target.rear_m, forces[1]),
        ],
        expected_m,
        stress_pa,
        margin_to_yield: runner.yield_stress_pa / stress_pa - 1.0,
    })
}

/// Steps of a change of runners, in order. Common practice, no source.
pub const STEPS: [&str; 6] = [
    "take the bow out: both screws back until the runner is loose (a loaded runner springs)",
    "pull the pins",
    "swap the runners; keep left and right apart",
    "pins in",
    "bow in: front and rear in turn, always ending with added bow",
    "measure again, left and right",
];

/// Least bow of a scan at which `measure` passes `wanted`, refined by bisection; `None` if none does.
///
/// `measure` takes a bow (m), for example a static margin or a clearance in a corner.
pub fn bow_where(measure: impl Fn(f64) -> f64, wanted: f64, from_m: f64, to_m: f64) -> Option<f64> {
    const STEPS: usize = 40;
    let at = |i: usize| from_m + (to_m - from_m) * i as f64 / STEPS as f64;
    let above = |bow_m: f64| measure(bow_m) - wanted >= 0.0;
    let first = above(from_m);
    let (mut low, mut high) = (1..=STEPS).find(|&i| above(at(i)) != first).map(|i| (at(i - 1), at(i)))?;
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if above(middle) == first { low = middle } else { high = middle }
    }
    Some(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_turns_return_the_target_within_backlash() {
        let key = Key { clockwise_adds: false, ..Key::default() };
        for change_m in [-1.5e-3, -0.1e-3, 0.0, 0.7e-3] {
            for slack in [0.0, 0.03, key.backlash_turns] {
                let got = Turns::of(&key, change_m).change_m(&key, slack);
                // the play itself, and rounding
                assert!(
                    (got - change_m).abs() <= key.backlash_turns * key.pitch_m + 1e-12,
                    "{change_m} {slack}"
                );
            }
            // pressing before, pressing after: the play drops out; rounding
            approx::assert_abs_diff_eq!(
                Turns::of(&key, change_m).change_m(&key, 0.0),
                change_m,
                epsilon = 1e-15
            );
        }
    }

    #[test]
    fn exact_bow_where_crosses() {
        // bow^2 = 9e-6; bisection of 0.2 mm, 40 times
        let got = bow_where(|b| -b * b, -9e-6, 0.0, 8e-3).expect("crossed");
        approx::assert_abs_diff_eq!(got, 3e-3, epsilon = 1e-9);
        assert_eq!(bow_where(|b| b, 1.0, 0.0, 8e-3), None);
    }

    #[test]
    fn exact_a_target_past_yield_is_refused() {
        let soft = RunnerSpec { yield_stress_pa: 2e7, ..RunnerSpec::default() };
        let got = bow_target(&soft, Bow::even(0.0), Bow::even(4e-3), &Key::default(), &[]);
        assert!(matches!(got, Err(TargetError::PastYield(_))));
    }
}
