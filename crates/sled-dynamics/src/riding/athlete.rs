//! An athlete who rides a plan: sees late, coarsely and at intervals, presses in steps, and catches a skid.
//!
//! ```text
//!   press_k   = step round[(amount mean(c_plan, late) + g_k . x_k) / step],  in -1 to 1
//!   x_k       = A_k-1 (x_k-1 + L_k-1 (seen_k-1 - x_k-1)) + b_k-1 (press_k-1 - amount mean(c_plan, late))
//!   seen      = offset and yaw beside the plan + error of sight; beside the expected by less than a band: nothing
//!   toe_k     = (|slip_k-1| - 2 deg)/(15 deg - 2 deg),   from 4 deg (by skill) of slip on until 2 deg
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | c_plan | steering asked for by the plan; its mean over the interval is pressed from knowledge | - |
//! | x_k | the athlete's picture of the sled beside the plan, see `routine.rs` | m, rad, m/s, rad/s, - |
//! | g_k, L_k | gains of press and sight, see `held_steering.rs` | - |
//!
//! What is pressed at a decision follows from what was seen at the one before; the lag of the body smooths it. While
//! the athlete sees a skid, [`SKID_SHARE`] of the corrections are pressed: patience, and a toe on the side that turns
//! the sled back into its way. An athlete does not know of being late, or of pressing too much.
//! *Valid for* rides near a plan. *Source*: sampled regulator and filter (Anderson and Moore 1990); toe and patience
//! common practice, no source; sizes assumed. *Checked by* `trade_a_skid_is_caught`, `trade_wrong_courses_lead_beside`,
//! `exact_toe_on_the_side_that_turns_back`, `trade_athlete_rides_a_sled_a_little_different`.

use crate::laws::disturbance::{Disturbance, NominalTime};
use crate::laws::state::{Motion, State};
use crate::motion::pilot::{Asked, Sight, Steering};
use crate::riding::errors_of_ride::{RideErrors, Skill};
use crate::riding::routine::{Picture, Routine};
use nalgebra::SVector;
use numerics::dual::Real;
use track_geometry::station::Station;

/// A toe comes off the ice below this slip (rad), assumed: 2 degrees.
const TOE_OFF_RAD: f64 = 2.0 * std::f64::consts::PI / 180.0;
/// From this slip on it is pressed as hard as it can (rad), assumed: 15 degrees.
const TOE_FULL_RAD: f64 = 15.0 * std::f64::consts::PI / 180.0;
/// Share of the corrections that is pressed while the sled is seen to skid `[-]`, assumed.
pub(crate) const SKID_SHARE: f64 = 0.25;
/// The picture of the sled stays within this: offset (m), yaw (rad), sideways (m/s), spin (rad/s), steer.
const PICTURED: [f64; 5] = [2.0, 0.5, 8.0, 3.0, 2.0];

/// What goes wrong in one ride of an athlete, and what disturbs the sled.
#[derive(Clone, Debug, PartialEq)]
pub struct Trouble {
    /// Late or early, too much or too little, missed.
    pub errors: RideErrors,
    /// Errors of what is seen of offset (m), yaw and slip (rad), decision by decision; none beyond the last.
    pub sight: Vec<[f64; 3]>,
    /// What disturbs the sled.
    pub field: Disturbance,
}

/// What an athlete remembers.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Memory {
    /// Decisions made so far.
    made: usize,
    /// Pressed now `[-]`.
    press: f64,
    /// How far it is beside what the athlete takes for the plan's press `[-]`.
    correction: f64,
    /// Toes on the ice, left and right `[-]`.
    toes: [f64; 2],
    /// The picture, with the last sight taken in.
    picture: Picture,
    /// Slip last seen (rad).
    slip_rad: f64,
}

/// An athlete on one ride.
#[derive(Clone, Copy, Debug)]
pub struct Athlete<'a> {
    routine: &'a Routine,
    skill: &'a Skill,
    trouble: &'a Trouble,
    time: &'a NominalTime,
    memory: Memory,
}

/// The toes for a slip seen (rad, left positive), with those on the ice so far: left turns the sled to the left.
pub(crate) fn toes_for(slip_rad: f64, from_rad: f64, so_far: [f64; 2]) -> [f64; 2] {
    // a toe on the other side is another toe
    let down = so_far[usize::from(slip_rad < 0.0)] > 0.0;
    let size = slip_rad.abs();
    if size <= TOE_OFF_RAD || (!down && size < from_rad) {
        return [0.0; 2];
    }
    let hard = ((size - TOE_OFF_RAD) / (TOE_FULL_RAD - TOE_OFF_RAD)).min(1.0);
    if slip_rad > 0.0 { [hard, 0.0] } else { [0.0, hard] }
}

impl<'a> Athlete<'a> {
    /// An athlete at the beginning of a ride.
    pub fn new(
        routine: &'a Routine,
        skill: &'a Skill,
        trouble: &'a Trouble,
        time: &'a NominalTime,
    ) -> Athlete<'a> {
        let memory = Memory {
            made: 0,
            press: 0.0,
            correction: 0.0,
            toes: [0.0; 2],
            picture: Picture::zeros(),
            slip_rad: 0.0,
        };
        let mut athlete = Athlete { routine, skill, trouble, time, memory };
        // nothing is seen yet: the plan is pressed from knowledge
        athlete.act(routine.planned.first().map_or(0.0, |p| p[2]));
        athlete
    }

    /// The next decision, on what was seen at the last one; own steering is felt at once. Returns the picture now.
    fn act(&mut self, steer: f64) -> Picture {
        let (r, k) = (self.routine, self.memory.made);
        let mut picture = match k {
            0 => Picture::zeros(),
            _ => {
                let i = &r.intervals[k - 1];
                i.a * self.memory.picture + i.b * self.memory.correction
            }
        };
        picture[4] = steer - r.planned[k][2];
        for (p, most) in picture.iter_mut().zip(PICTURED) {
            *p = p.clamp(-most, most);
        }
        let m = &mut self.memory;
        m.toes = toes_for(m.slip_rad, self.skill.toe_from_rad, m.toes);
        let skids = m.toes != [0.0; 2];
        let back = r.gains[k].dot(&picture);
        let back = if skids { SKID_SHARE * back } else { back };
        let next_m = r.station_m.get(k + 1).copied().unwrap_or(r.station_m[k]);
        let e = self.trouble.errors.at(0.5 * (r.station_m[k] + next_m));
        let planned = e.amount * r.press(k, e.late_m);
        let wanted = planned + back;
        let step = self.skill.press_step;
        m.press = if step > 0.0 { (wanted / step).round() * step } else { wanted }.clamp(-1.0, 1.0);
        // what is taken for the plan's press is believed to keep the sled on the plan
        m.correction = m.press - planned;
        m.made += 1;
        picture
    }
}

impl Steering for Athlete<'_> {
    #[inline]
    fn ask<T: Real>(&self, _: &Station, _: &State<T>, _: &Motion<T>, _: T, _: T) -> Asked<T> {
        Asked::Steer(T::from(self.memory.press))
    }

    fn first_asked(&self) -> f64 {
        self.routine.planned.first().map_or(0.0, |p| p[2])
    }

    fn toes(&self, _station_m: f64) -> [f64; 2] {
        self.memory.toes
    }

    #[inline]
    fn disturbance(&self, station_m: f64) -> [f64; 2] {
        self.trouble.field.at(self.time, station_m)
    }

    fn decides_at_m(&self) -> &[f64] {
        &self.routine.station_m
    }

    fn fresh(&self) -> Option<Self> {
        Some(Athlete::new(self.routine, self.skill, self.trouble, self.time))
    }

    fn decide(&mut self, sight: &Sight) {
        let k = self.memory.made;
        if k >= self.routine.station_m.len() {
            return;
        }
        let mut picture = self.act(sight.steer);
        // what is seen now serves the next decision
        let error = self.trouble.sight.get(k).copied().unwrap_or_default();
        let planned = self.routine.planned[k];
        let beside = [
            sight.offset_m - planned[0] + error[0] - picture[0],
            sight.yaw_rad - planned[1] + error[1] - picture[1],
        ];
        let noticed = |beside: f64, band: f64| if beside.abs() < band { 0.0 } else { beside };
        let news = SVector::from([
            noticed(beside[0], self.skill.unseen_m),
            noticed(beside[1], self.skill.unseen_rad),
        ]);
        picture += self.routine.sights[k] * news;
        self.memory.picture = picture;
        self.memory.slip_rad = sight.slip_rad + error[2];
    }

    fn lag_s(&self) -> f64 {
        self.routine.lag_s
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_toe_on_the_side_that_turns_back() {
        let degrees = |slip: f64, so_far| toes_for(slip.to_radians(), 4f64.to_radians(), so_far);
        // the way lies to the left of the axis: the left toe turns the sled to the left
        assert!(degrees(8.5, [0.0; 2])[1] == 0.0 && degrees(-8.5, [0.0; 2])[0] == 0.0);
        // half way from 2 to 15 degrees; full beyond; rounding
        approx::assert_abs_diff_eq!(degrees(8.5, [0.0; 2])[0], 0.5, epsilon = 1e-12);
        approx::assert_abs_diff_eq!(degrees(-20.0, [0.0; 2])[1], 1.0, epsilon = 1e-12);
        // not before 4 degrees, and until 2
        assert_eq!(degrees(3.9, [0.0; 2]), [0.0; 2]);
        assert!(degrees(3.0, [0.4, 0.0])[0] > 0.0);
        assert_eq!(degrees(1.9, [0.4, 0.0]), [0.0; 2]);
        // turned too far: the first toe comes off, the other waits for 4 degrees
        assert_eq!(degrees(-3.0, [0.4, 0.0]), [0.0; 2]);
    }
}
