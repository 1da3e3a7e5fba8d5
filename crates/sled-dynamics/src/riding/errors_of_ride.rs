//! What goes wrong in a ride: seeded errors of an athlete, corner by corner.

/// The errors that hold from one station to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CornerErrors {
    /// From this station on (m).
    pub from_m: f64,
    /// Steering comes this much too late; negative is early (m).
    pub late_m: f64,
    /// Steering is this many times what was planned `[-]`; 0 is a missed steer.
    pub amount: f64,
    /// The line aimed for lies this far to the left of the plan (m).
    pub aim_m: f64,
}

impl CornerErrors {
    /// No error.
    pub(crate) const NONE: CornerErrors =
        CornerErrors { from_m: f64::NEG_INFINITY, late_m: 0.0, amount: 1.0, aim_m: 0.0 };
}

/// Errors along a whole ride, in order of station.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RideErrors(pub Vec<CornerErrors>);

/// Errors fade in over this (m), so that steering does not jump.
const FADE_M: f64 = 10.0;

impl RideErrors {
    /// The errors at a station.
    #[inline]
    pub(crate) fn at(&self, station_m: f64) -> CornerErrors {
        let i = self.0.partition_point(|e| e.from_m <= station_m);
        if i == 0 {
            return CornerErrors::NONE;
        }
        let now = self.0[i - 1];
        let t = (station_m - now.from_m) / FADE_M;
        if t >= 1.0 {
            return now;
        }
        let before = if i >= 2 { self.0[i - 2] } else { CornerErrors::NONE };
        // smooth from one to the next
        let w = t * t * (3.0 - 2.0 * t);
        let mix = |a: f64, b: f64| a + w * (b - a);
        CornerErrors {
            from_m: now.from_m,
            late_m: mix(before.late_m, now.late_m),
            amount: mix(before.amount, now.amount),
            aim_m: mix(before.aim_m, now.aim_m),
        }
    }
}

/// How well an athlete rides: spreads of the errors, what is seen, and the lag that the athlete knows and plans with.
///
/// Invented levels, every number assumed. The spread of the start is small, since over a field push and finish go
/// together with r = 0.48 (men) and 0.63 (women) only, and a push that differs from heat to heat goes with no
/// difference of the finish (Zanoletti et al., J. Strength Cond. Res. 2006): it may not decide the spread from run to
/// run. That spread is published as 0.2-0.9 % of the finish time for the first ten (Bullock, Hopkins, Martin, Marino,
/// J. Sports Sci. 2009); the errors of the elite are calibrated to it, those of the others lie in steps beyond. Walls,
/// skids and losses of control are outputs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Skill {
    /// Name of the level.
    pub name: &'static str,
    /// Standard deviation of the place on the track where the athlete lies down (m).
    pub entry_m: f64,
    /// Standard deviation of the yaw there (rad).
    pub entry_yaw_rad: f64,
    /// Standard deviation of timing in each corner (s).
    pub timing_s: f64,
    /// Standard deviation of the amount of steering in each corner `[-]`.
    pub amount: f64,
    /// Standard deviation of the line taken for the planned one at the entry of each corner (m).
    pub aim_m: f64,
    /// Probability of a missed steer in each corner `[-]`.
    pub miss: f64,
    /// Reaction lag (s).
    pub lag_s: f64,
    /// Standard deviation of the start time (s).
    pub start_s: f64,
    /// Time from one decision to the next (s).
    pub decides_s: f64,
    /// Standard deviation of what is seen of the offset (m).
    pub sight_m: f64,
    /// Standard deviation of what is seen of yaw and slip (rad).
    pub sight_rad: f64,
    /// An offset beside the expected by less is not noticed (m).
    pub unseen_m: f64,
    /// A yaw beside the expected by less is not noticed (rad).
    pub unseen_rad: f64,
    /// Steering is pressed in steps of this `[-]`.
    pub press_step: f64,
    /// Slip from which a toe goes down (rad).
    pub toe_from_rad: f64,
    /// Root mean square of the yaw moment that disturbs the sled (N m) on ice of unevenness factor one.
    pub disturbance_n_m: f64,
}

impl Skill {
    /// The same athlete without any mistake, on a sled that nothing disturbs: rides are the planned ride.
    pub fn without_errors(self) -> Skill {
        Skill {
            entry_m: 0.0,
            entry_yaw_rad: 0.0,
            start_s: 0.0,
            timing_s: 0.0,
            amount: 0.0,
            aim_m: 0.0,
            miss: 0.0,
            sight_m: 0.0,
            sight_rad: 0.0,
            unseen_m: 0.0,
            unseen_rad: 0.0,
            disturbance_n_m: 0.0,
            ..self
        }
    }

    /// True if nothing goes wrong on the way: what the athlete does is the plan.
    pub fn rides_as_planned(&self) -> bool {
        let same = |other: &Skill| other == self;
        let Skill { entry_m, entry_yaw_rad, start_s, .. } = *self;
        same(&Skill { entry_m, entry_yaw_rad, start_s, ..self.without_errors() })
    }
}

const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// The levels, from the first course to the world cup. Assumed.
pub const SKILLS: [Skill; 4] = [
    Skill {
        name: "novice",
        entry_m: 0.05,
        entry_yaw_rad: 0.008,
        timing_s: 0.15,
        amount: 0.35,
        aim_m: 0.30,
        miss: 0.05,
        lag_s: 0.30,
        start_s: 0.05,
        decides_s: 0.35,
        sight_m: 0.10,
        sight_rad: 1.2 * DEGREE,
        unseen_m: 0.20,
        unseen_rad: 2.0 * DEGREE,
        press_step: 0.25,
        toe_from_rad: 6.0 * DEGREE,
        disturbance_n_m: 3.0,
    },
    Skill {
        name: "club",
        entry_m: 0.03,
        entry_yaw_rad: 0.005,
        timing_s: 0.10,
        amount: 0.22,
        aim_m: 0.18,
        miss: 0.02,
        lag_s: 0.22,
        start_s: 0.03,
        decides_s: 0.25,
        sight_m: 0.06,
        sight_rad: 0.7 * DEGREE,
        unseen_m: 0.12,
        unseen_rad: 1.2 * DEGREE,
        press_step: 0.2,
        toe_from_rad: 5.0 * DEGREE,
        disturbance_n_m: 1.5,
    },
    Skill {
        name: "national",
        entry_m: 0.025,
        entry_yaw_rad: 0.004,
        timing_s: 0.085,
        amount: 0.185,
        aim_m: 0.165,
        miss: 0.013,
        lag_s: 0.18,
        start_s: 0.025,
        decides_s: 0.20,
        sight_m: 0.05,
        sight_rad: 0.55 * DEGREE,
        unseen_m: 0.095,
        unseen_rad: 0.95 * DEGREE,
        press_step: 0.125,
        toe_from_rad: 4.5 * DEGREE,
        disturbance_n_m: 1.25,
    },
    Skill {
        name: "elite",
        entry_m: 0.0225,
        entry_yaw_rad: 0.003,
        timing_s: 0.075,
        amount: 0.15,
        aim_m: 0.15,
        miss: 0.0075,
        lag_s: 0.15,
        start_s: 0.02,
        decides_s: 0.15,
        sight_m: 0.045,
        sight_rad: 0.45 * DEGREE,
        unseen_m: 0.075,
        unseen_rad: 0.75 * DEGREE,
        press_step: 0.1,
        toe_from_rad: 4.0 * DEGREE,
        disturbance_n_m: 1.05,
    },
];
