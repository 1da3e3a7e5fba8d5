//! From the block to the moment the athlete lies on the sled.
//!
//! The sprint runs along the reference line; at the load station a small speed is lost in the
//! leap; from there the sled glides. The clock starts at the first eye. A start time from a timing
//! sheet gives the top speed of the sprint: the one with which sprint, leap and a guided glide take
//! that time from the first eye to the second.

use crate::laws::sprint::SprintLaw;
use crate::motion::descent::{Sample, Split};
use crate::motion::equations::Constants;
use crate::motion::guided::{ahead_to, line_sample};
use crate::setup::{Push, Sprint};
use numerics::roots::brent;
use track_geometry::track::Track;

/// Why there is no launch.
#[derive(Clone, Debug, PartialEq)]
pub enum LaunchError {
    /// No sprint of this athlete takes that time between the first two eyes.
    StartTime {
        /// The time asked for (s).
        start_time_s: f64,
        /// The time with the slowest and fastest sprint that was tried (s).
        possible_s: [f64; 2],
    },
    /// The load station lies beyond the last eye.
    LoadStation {
        /// The load station (m).
        load_station_m: f64,
        /// The last eye (m).
        finish_m: f64,
    },
}

impl std::fmt::Display for LaunchError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            LaunchError::StartTime { start_time_s, possible_s: [slow, fast] } => write!(
                f,
                "push.start_time_s: no sprint takes {start_time_s} s between the first two eyes of this track; \
                 possible are {fast:.2} to {slow:.2} s"
            ),
            LaunchError::LoadStation { load_station_m, finish_m } => write!(
                f,
                "push.load_station_m: {load_station_m} m lies beyond the last eye at {finish_m} m of this track"
            ),
        }
    }
}

impl std::error::Error for LaunchError {}

/// The moment the athlete lies on the sled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Launch {
    /// Station (m).
    pub station_m: f64,
    /// Time since the block (s).
    pub time_s: f64,
    /// Speed (m/s).
    pub speed_m_s: f64,
    /// The sprint before it.
    pub sprint: Option<SprintLaw>,
}

/// The slowest and the fastest top speed that a start time is matched with (m/s).
const TOP_SPEEDS_M_S: [f64; 2] = [4.0, 16.0];

impl Launch {
    /// A sled that is already moving at a station; the clock starts there.
    pub fn moving(station_m: f64, speed_m_s: f64) -> Launch {
        Launch { station_m, time_s: 0.0, speed_m_s, sprint: None }
    }

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

    /// Time since the block at a station before the launch, and the speed there.
    fn before(&self, station_m: f64) -> Option<(f64, f64)> {
        let law = self.sprint.as_ref().filter(|_| station_m <= self.station_m)?;
        Some((law.time_at_s(station_m), law.speed_at_m_s(station_m)))
    }

    /// Energy of the fall from the block, or from the launch without one, to an elevation (J).
    pub(crate) fn fall_j(&self, track: &Track, constants: &Constants, elevation_m: f64) -> f64 {
        let from_m = if self.sprint.is_some() { track.surface.range_m().0 } else { self.station_m };
        let top_m = track.surface.station(from_m).elevation_m;
        constants.mass_kg * constants.gravity_m_s2 * (top_m - elevation_m)
    }

    /// Work of the push, the leap included (J): kinetic energy at the launch less the fall so far.
    pub(crate) fn push_j(&self, track: &Track, constants: &Constants) -> f64 {
        let kinetic_j = 0.5 * constants.mass_kg * self.speed_m_s * self.speed_m_s;
        kinetic_j - self.fall_j(track, constants, track.surface.station(self.station_m).elevation_m)
    }

    /// The trace of the sprint, at multiples of the spacing.
    pub(crate) fn trace(&self, track: &Track, constants: &Constants, spacing_m: f64) -> Vec<Sample> {
        let mut trace = Vec::new();
        let mut station_m = 0.0;
        while spacing_m.is_finite() && station_m < self.station_m {
            let (time_s, speed_m_s) = self.before(station_m).unwrap_or((0.0, self.speed_m_s));
            trace.push(line_sample(&track.surface.station(station_m), constants, time_s, speed_m_s));
            station_m = trace.len() as f64 * spacing_m;
        }
        trace
    }

    /// Splits from what was recorded behind the launch (station, time, speed) and the sprint before it.
    pub(crate) fn splits(
        &self,
        track: &Track,
        recorded: &[(f64, f64, f64)],
        error_s: impl Fn(usize) -> f64,
    ) -> Vec<Split> {
        let eyes = &track.data.eyes;
        let behind = eyes.iter().filter(|e| e.station_m > self.station_m);
        let before = eyes.iter().filter(|e| e.station_m <= self.station_m);
        let early = before.filter_map(|e| {
            let (time_s, speed_m_s) = self.before(e.station_m).or_else(|| {
                (self.sprint.is_none() && e.station_m == self.station_m)
                    .then_some((self.time_s, self.speed_m_s))
            })?;
            Some((e, time_s, 0.0, speed_m_s))
        });
        let late =
            behind.zip(recorded).enumerate().map(|(i, (e, (_, time_s, v)))| (e, *time_s, error_s(i), *v));
        let all: Vec<_> = early.chain(late).collect();
        let clock_s = all.first().map_or(0.0, |a| a.1);
        all.into_iter()
            .map(|(eye, time_s, numerical_error_s, speed_m_s)| Split {
                eye: eye.name.clone(),
                station_m: eye.station_m,
                split_time_s: time_s - clock_s,
                numerical_error_s,
                speed_m_s,
            })
            .collect()
    }
}
