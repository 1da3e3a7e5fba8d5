//! From the block to the moment the athlete lies on the sled.
//!
//! The sprint runs along the reference line; at the load station a small speed is lost in the
//! leap; from there the sled glides. The clock starts at the first eye. A start time from a timing
//! sheet gives the top speed of the sprint: the one with which sprint, leap and a guided glide take
//! that time from the first eye to the second.

use crate::laws::sprint::SprintLaw;
use crate::motion::equations::Constants;
use crate::motion::guided::ahead_to;
use crate::motion::launch::Launch;
use crate::setup::{Push, Sprint};
use numerics::roots::brent;
use track_geometry::track::Track;

/// Why there is no launch.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LaunchError {
    /// No sprint of this athlete takes that time between the first two eyes.
    #[error(
        "push.start_time_s: no sprint takes {start_time_s} s between the first two eyes of this track; {}",
        possible_words(*.possible_s)
    )]
    StartTime {
        /// The time asked for (s).
        start_time_s: f64,
        /// The time with the slowest and fastest sprint that was tried (s).
        possible_s: [f64; 2],
    },
    /// The load station lies beyond the last eye.
    #[error("push.load_station_m: {load_station_m} m lies beyond the last eye at {finish_m} m of this track")]
    LoadStation {
        /// The load station (m).
        load_station_m: f64,
        /// The last eye (m).
        finish_m: f64,
    },
}

/// What start times are possible, from those of the slowest and of the fastest sprint (s).
fn possible_words([slow, fast]: [f64; 2]) -> String {
    match (fast.is_finite(), slow.is_finite()) {
        (true, true) => format!("possible are {fast:.2} to {slow:.2} s"),
        (true, false) => format!("possible are {fast:.2} s and more, up to where the sled halts"),
        (false, _) => "the sled halts before the second".into(),
    }
}

/// The slowest and the fastest top speed that a start time is matched with (m/s).
const TOP_SPEEDS_M_S: [f64; 2] = [4.0, 16.0];

impl Launch {
    /// The launch of a push on a track; `friction` is that of the guided glide to the second eye.
    pub fn from_push(
        push: &Push,
        track: &Track,
        constants: &Constants,
        friction: f64,
    ) -> Result<Launch, LaunchError> {
        let finish_m = track.finish_m();
        if push.load_station_m >= finish_m {
            return Err(LaunchError::LoadStation { load_station_m: push.load_station_m, finish_m });
        }
        let after = |top_speed_m_s: f64| {
            let law = SprintLaw { top_speed_m_s, time_constant_s: push.time_constant_s };
            let speed_m_s = (law.speed_at_m_s(push.load_station_m) - push.load_loss_m_s).max(0.5);
            Launch {
                station_m: push.load_station_m,
                time_s: law.time_at_s(push.load_station_m),
                speed_m_s,
                sprint: Some(law),
            }
        };
        let start_time_s = match push.sprint {
            Sprint::TopSpeed(top_speed_m_s) => return Ok(after(top_speed_m_s)),
            Sprint::StartTime(start_time_s) => start_time_s,
        };
        let (first, second) = match track.data.eyes.as_slice() {
            [a, b, ..] => (a.station_m, b.station_m),
            _ => return Ok(after(0.5 * (TOP_SPEEDS_M_S[0] + TOP_SPEEDS_M_S[1]))),
        };
        let reached = |launch: &Launch, station_m: f64| match &launch.sprint {
            Some(law) if station_m <= launch.station_m => law.time_at_s(station_m),
            _ => ahead_to(track, constants, launch, friction, station_m).map_or(f64::INFINITY, |r| r.0),
        };
        let between = |top_speed_m_s: f64| {
            let launch = after(top_speed_m_s);
            reached(&launch, second) - reached(&launch, first)
        };
        let [slow, fast] = TOP_SPEEDS_M_S;
        // a microsecond of start time is far below what a timing sheet shows
        brent(slow, fast, 1e-7, |v| between(v).min(1e3) - start_time_s)
            .map(after)
            .ok_or(LaunchError::StartTime { start_time_s, possible_s: [between(slow), between(fast)] })
    }
}
