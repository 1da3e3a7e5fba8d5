//! Who steers: nobody, a first pilot who follows the line, or a ride from a table.

use crate::laws::state::{Motion, State};
use numerics::dual::Real;
use track_geometry::station::Station;

/// What a pilot asks for.
#[derive(Clone, Copy, Debug)]
pub enum Asked<T> {
    /// This steering, -1 full left to 1 full right `[-]`.
    Steer(T),
    /// The steering asked for so far, changing at this rate (1/s).
    Change(T),
}

/// What the sled does where a pilot decides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sight {
    /// Station (m).
    pub(crate) station_m: f64,
    /// Lateral coordinate, left positive (m).
    pub(crate) offset_m: f64,
    /// Yaw from the coordinate line (rad).
    pub(crate) yaw_rad: f64,
    /// Slip: direction of the velocity from the sled's axis, left positive (rad).
    pub(crate) slip_rad: f64,
    /// Steering that the sled gets `[-]`.
    pub(crate) steer: f64,
}

/// Someone who steers.
pub trait Steering {
    /// What is asked for at a station, with the steering that the sled gets and that was asked for so far.
    fn ask<T: Real>(
        &self,
        at: &Station,
        state: &State<T>,
        motion: &Motion<T>,
        steer: T,
        asked: T,
    ) -> Asked<T>;

    /// Steering asked for at the start `[-]`.
    fn first_asked(&self) -> f64 {
        0.0
    }

    /// Left and right toe on the ice, 0 to 1 `[-]`.
    fn toes(&self, station_m: f64) -> [f64; 2] {
        let _ = station_m;
        [0.0, 0.0]
    }

    /// Side force, left positive (N), and yaw moment, to the left positive (N m), that act on the sled unasked.
    fn disturbance(&self, station_m: f64) -> [f64; 2] {
        let _ = station_m;
        [0.0, 0.0]
    }

    /// Stations where the pilot decides (m, increasing): steps end there.
    fn decides_at_m(&self) -> &[f64] {
        &[]
    }

    /// The pilot as at the start of a descent, if there is something to remember on the way.
    fn fresh(&self) -> Option<Self>
    where
        Self: Sized,
    {
        None
    }

    /// The pilot decides, and remembers; called at each of [`Steering::decides_at_m`] after the launch, in order.
    fn decide(&mut self, sight: &Sight) {
        let _ = sight;
    }

    /// Stations where what is asked for may have a kink (m, increasing): steps end there.
    fn kinks_m(&self) -> &[f64] {
        &[]
    }

    /// Lag between what is asked for and what the sled gets (s); 0 is none.
    fn lag_s(&self) -> f64 {
        0.0
    }
}

/// Nobody: the sled is left to itself.
#[derive(Clone, Copy, Debug)]
pub struct HandsOff;

impl Steering for HandsOff {
    fn ask<T: Real>(&self, _: &Station, _: &State<T>, _: &Motion<T>, _: T, _: T) -> Asked<T> {
        Asked::Steer(T::from(0.0))
    }
}

/// A first pilot: turns with the line and steers back to it.
///
/// ```text
///   w_wanted = line's turn - K_u u - K_c (course angle)
///   steer    = -(w_wanted - w)/w_full,  w_full: rate of turn that full steering gives, about
/// ```
///
/// | symbol | name | unit |
/// |---|---|---|
/// | K_u | `offset_gain_per_m_s` | rad/s per m |
/// | K_c | `course_gain_per_s` | rad/s per rad |
/// | w_full | `full_turn_rad_s` | rad/s |
///
/// *Valid for* a first look: it plans nothing, and bounces where the line asks for more than the
/// sled can turn. *Source*: assumed; the usual heading-rate feed-forward with a proportional and
/// derivative part on the offset. *Checked by* `trade_hands_off_oscillates_more_than_a_pilot`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FirstPilot {
    /// Turn asked for per metre off the line (rad/s per m).
    pub(crate) offset_gain_per_m_s: f64,
    /// Turn asked for per radian of course off the line's direction (1/s).
    pub(crate) course_gain_per_s: f64,
    /// Difference of turn that asks for full steering (rad/s).
    pub(crate) full_turn_rad_s: f64,
    /// Reaction lag (s).
    pub(crate) lag_s: f64,
}

impl FirstPilot {
    /// Gains that ride both shipped tracks with few walls, found by trial (assumed), and a reaction lag.
    pub fn with_lag(lag_s: f64) -> FirstPilot {
        FirstPilot { offset_gain_per_m_s: 0.05, course_gain_per_s: 12.0, full_turn_rad_s: 0.1, lag_s }
    }
}

impl Steering for FirstPilot {
    #[inline]
    fn ask<T: Real>(
        &self,
        _at: &Station,
        state: &State<T>,
        motion: &Motion<T>,
        _steer: T,
        _asked: T,
    ) -> Asked<T> {
        let course = state.yaw_rad + (state.lateral_velocity_m_s / state.forward_m_s).atan();
        let back = state.offset_m * self.offset_gain_per_m_s + course * self.course_gain_per_s;
        let wanted = motion.line_turn_rad_s - back;
        // steering right makes the rate of turn fall
        let steer = (state.yaw_rate_rad_s - wanted) / self.full_turn_rad_s;
        Asked::Steer(steer.min(T::from(1.0)).max(T::from(-1.0)))
    }

    fn lag_s(&self) -> f64 {
        self.lag_s
    }
}

/// A ride: steering and toes over the station, by straight lines between its rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Ride {
    station_m: Vec<f64>,
    steer: Vec<f64>,
    toes: Vec<[f64; 2]>,
}

impl Ride {
    /// A ride from rows of station (m), steer, left and right toe; `None` unless there is a row and stations increase.
    pub fn new(rows: &[(f64, f64, f64, f64)]) -> Option<Ride> {
        let increasing = rows.windows(2).all(|w| w[0].0 < w[1].0);
        (increasing && !rows.is_empty()).then(|| Ride {
            station_m: rows.iter().map(|r| r.0).collect(),
            steer: rows.iter().map(|r| r.1).collect(),
            toes: rows.iter().map(|r| [r.2, r.3]).collect(),
        })
    }

    /// Between which two rows a station lies, and how far on `[-]`; the ends are held.
    fn between(&self, station_m: f64) -> (usize, usize, f64) {
        let after = self.station_m.partition_point(|s| *s <= station_m);
        if after == 0 || after == self.station_m.len() {
            let i = after.saturating_sub(1);
            return (i, i, 0.0);
        }
        let (a, b) = (self.station_m[after - 1], self.station_m[after]);
        (after - 1, after, (station_m - a) / (b - a))
    }
}

impl Steering for Ride {
    fn ask<T: Real>(&self, at: &Station, _: &State<T>, _: &Motion<T>, _: T, _: T) -> Asked<T> {
        let (i, j, t) = self.between(at.station_m);
        Asked::Steer(T::from(self.steer[i] + t * (self.steer[j] - self.steer[i])))
    }

    fn kinks_m(&self) -> &[f64] {
        &self.station_m
    }

    fn toes(&self, station_m: f64) -> [f64; 2] {
        let (i, j, t) = self.between(station_m);
        std::array::from_fn(|k| self.toes[i][k] + t * (self.toes[j][k] - self.toes[i][k]))
    }
}
