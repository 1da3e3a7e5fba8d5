//! The moment the athlete lies on the sled, and the sprint before it: what trace, splits and ledger need of them.

use crate::laws::sprint::SprintLaw;
use crate::motion::descent::{Sample, Split};
use crate::motion::equations::Constants;
use crate::motion::on_the_line::line_sample;
use track_geometry::track::Track;

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

impl Launch {
    /// A sled that is already moving at a station; the clock starts there.
    pub fn moving(station_m: f64, speed_m_s: f64) -> Launch {
        Launch { station_m, time_s: 0.0, speed_m_s, sprint: None }
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
