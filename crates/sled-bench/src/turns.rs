//! Turns of the key, with the play of the screw.

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
    ///
    /// Assumes: the screw presses before the first turn, as it does when the last change ended with added bow.
    /// Checked by: `exact_turns_return_the_target_within_backlash`.
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
    fn exact_the_direction_of_the_key_turns_with_its_thread() {
        let adds = Key { pitch_m: 1.25e-3, ..Key::default() };
        let takes = Key { clockwise_adds: false, ..adds };
        // 1 mm over a pitch of 1.25 mm
        assert_eq!(Turns::of(&adds, 1e-3).first_turns, 0.8);
        assert_eq!(Turns::of(&takes, 1e-3).first_turns, -0.8);
    }
}
