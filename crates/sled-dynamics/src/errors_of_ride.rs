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
    pub const NONE: CornerErrors =
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
    pub fn at(&self, station_m: f64) -> CornerErrors {
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

/// How well an athlete rides: spreads of the errors, and the lag that the athlete knows and plans with.
///
/// Invented levels. That of the elite is calibrated by its start: with it the finish times of an ensemble spread by
/// 0.2-0.25 % on both invented tracks, inside the published 0.2-0.6 % from run to run of the best (Bullock, Hopkins,
/// Martin, Marino, J. Sports Sci. 2009). The others are assumed; their walls and losses of control are outputs.
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
    /// Standard deviation of the line aimed for in each corner (m).
    pub aim_m: f64,
    /// Probability of a missed steer in each corner `[-]`.
    pub miss: f64,
    /// Reaction lag (s).
    pub lag_s: f64,
    /// Standard deviation of the start time (s).
    pub start_s: f64,
}

/// The levels, from the first course to the world cup. Assumed.
pub const SKILLS: [Skill; 4] = [
    Skill {
        name: "novice",
        entry_m: 0.05,
        entry_yaw_rad: 0.008,
        timing_s: 0.08,
        amount: 0.30,
        aim_m: 0.08,
        miss: 0.03,
        lag_s: 0.30,
        start_s: 0.10,
    },
    Skill {
        name: "club",
        entry_m: 0.03,
        entry_yaw_rad: 0.005,
        timing_s: 0.04,
        amount: 0.18,
        aim_m: 0.045,
        miss: 0.005,
        lag_s: 0.22,
        start_s: 0.07,
    },
    Skill {
        name: "national",
        entry_m: 0.02,
        entry_yaw_rad: 0.003,
        timing_s: 0.03,
        amount: 0.13,
        aim_m: 0.035,
        miss: 0.0,
        lag_s: 0.18,
        start_s: 0.065,
    },
    Skill {
        name: "elite",
        entry_m: 0.015,
        entry_yaw_rad: 0.002,
        timing_s: 0.02,
        amount: 0.10,
        aim_m: 0.025,
        miss: 0.0,
        lag_s: 0.15,
        start_s: 0.06,
    },
];
