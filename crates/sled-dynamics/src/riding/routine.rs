//! A plan as an athlete knows it: where to decide, what to press until the next decision, and how the sled answers.
//!
//! ```text
//!   decisions   nodes of the plan, the athlete's interval apart by the plan's own time
//!   press       mean of the plan's asked steering over the interval
//!   answer      x_k+1 = A_k x_k + b_k d_k,  x = offset, yaw, sideways, spin, steer beside the plan, d held
//! ```
//!
//! A_k and b_k are products of the plan's own expansions over the nodes of the interval, with a rate of zero. The
//! forward speed is left out: the plan is followed by place, not by time.
//! *Source*: sampled linear system. *Checked by* `exact_presses_are_means_of_the_plan`.

use crate::riding::errors_of_ride::Skill;
use crate::riding::held_steering::{Interval, press_gains, sight_gains};
use crate::riding::plan_state::{ASKED, FORWARD, OFFSET, STATES, STEER, YAW};
use crate::riding::planned_ride::Plan;
use nalgebra::{SMatrix, SVector};

/// States of the athlete's picture of the sled: offset, yaw, sideways, spin, steer.
pub(crate) const PICTURE: usize = 5;
/// Their places among the states of a plan.
const OF_PLAN: [usize; PICTURE] = [0, 1, 3, 4, 5];
/// Deviations beside the plan in the athlete's picture.
pub type Picture = SVector<f64, PICTURE>;
/// How deviations go on over one node of a plan.
pub type Onward = [[f64; STATES]; STATES];

/// Deviations that count the same: offset (m), yaw (rad), sideways (m/s), spin (rad/s), steer; assumed.
const ALLOWED: [f64; PICTURE] = [0.3, 0.08, 1.5, 0.7, 1.0];
/// The press that counts the same `[-]`, assumed.
const ALLOWED_PRESS: f64 = 1.0;
/// What an athlete expects to go otherwise than pictured within a second: standard deviations of offset (m), yaw
/// (rad), sideways (m/s), spin (rad/s); the athlete's own body is known. Assumed.
const SHAKEN: [f64; PICTURE] = [0.02, 0.01, 0.2, 0.15, 0.0];

/// A plan as an athlete of a skill knows it.
#[derive(Clone, Debug)]
pub struct Routine {
    /// Stations of the decisions (m).
    pub station_m: Vec<f64>,
    /// Time of each by the plan (s from its beginning).
    pub(crate) time_s: Vec<f64>,
    /// Offset (m), yaw (rad) and steer `[-]` of the plan there.
    pub(crate) planned: Vec<[f64; 3]>,
    /// How the sled answers.
    pub(crate) intervals: Vec<Interval<PICTURE>>,
    /// Gains of the press.
    pub(crate) gains: Vec<Picture>,
    /// How far the picture follows what is seen of offset and yaw.
    pub(crate) sights: Vec<SMatrix<f64, PICTURE, 2>>,
    /// Stations of the plan's nodes (m), its asked steering there, and the sum of it up to there (m).
    nodes: Vec<[f64; 3]>,
    /// Lag of the athlete's body (s).
    pub(crate) lag_s: f64,
}

impl Routine {
    /// The routine of a plan; `onward` are its expansions from node to node. `None` if they do not fit together.
    pub fn new(plan: &Plan, onward: &[Onward], skill: &Skill) -> Option<Routine> {
        if plan.states.len() != onward.len() + 1 || plan.station_m.len() != plan.states.len() {
            return None;
        }
        let mut sum_m = 0.0;
        let mut nodes: Vec<[f64; 3]> = Vec::with_capacity(plan.states.len());
        for (s, x) in plan.station_m.iter().zip(&plan.states) {
            if let Some([s0, c0, _]) = nodes.last() {
                sum_m += 0.5 * (s - s0) * (c0 + x[ASKED]);
            }
            nodes.push([*s, x[ASKED], sum_m]);
        }
        let mut routine = Routine {
            station_m: vec![],
            time_s: vec![],
            planned: vec![],
            intervals: vec![],
            gains: vec![],
            sights: vec![],
            nodes,
            lag_s: skill.lag_s,
        };
        type Whole = SMatrix<f64, STATES, STATES>;
        let (mut time_s, mut since_s, mut onto) = (0.0, 0.0, Whole::identity());
        for (k, onward) in onward.iter().enumerate() {
            if k == 0 || since_s >= skill.decides_s {
                if k > 0 {
                    routine.intervals.push(interval(&onto, since_s));
                }
                let x = &plan.states[k];
                routine.station_m.push(plan.station_m[k]);
                routine.time_s.push(time_s);
                routine.planned.push([x[OFFSET], x[YAW], x[STEER]]);
                (since_s, onto) = (0.0, Whole::identity());
            }
            onto = Whole::from_fn(|i, j| onward[i][j]) * onto;
            let node_s = (plan.station_m[k + 1] - plan.station_m[k]) / plan.states[k][FORWARD].max(1.0);
            since_s += node_s;
            time_s += node_s;
        }
        routine.intervals.push(interval(&onto, since_s));
        routine.gains = press_gains(&routine.intervals, ALLOWED, ALLOWED_PRESS);
        let variance = |sd: f64, band: f64| (sd * sd + band * band / 3.0).max(1e-8);
        let seen = [variance(skill.sight_m, skill.unseen_m), variance(skill.sight_rad, skill.unseen_rad)];
        let first = [skill.entry_m, skill.entry_yaw_rad, 0.1, 0.05, 0.0].map(|sd| sd * sd);
        routine.sights = sight_gains(&routine.intervals, [0, 1], seen, first, |length_s| {
            SHAKEN.map(|sd| sd * sd * length_s)
        });
        Some(routine)
    }

    /// Sum of the plan's asked steering up to a station (m), the asked steering straight from node to node.
    fn sum_m(&self, station_m: f64) -> f64 {
        let after = self.nodes.partition_point(|n| n[0] <= station_m);
        let i = after.clamp(1, self.nodes.len() - 1) - 1;
        let ([s0, c0, sum_m], [s1, c1, _]) = (self.nodes[i], self.nodes[i + 1]);
        // before the first node and after the last one the ends are held
        let x = (station_m - s0).clamp(0.0, s1 - s0);
        let beyond = station_m - s0 - x;
        let end = if beyond < 0.0 { c0 } else { c1 };
        sum_m + x * (c0 + 0.5 * x * (c1 - c0) / (s1 - s0)) + beyond * end
    }

    /// Mean of the plan's asked steering from decision `k` to the next, both `late_m` too late.
    pub(crate) fn press(&self, k: usize, late_m: f64) -> f64 {
        let from = self.station_m[k];
        let last = self.nodes[self.nodes.len() - 1][0];
        let to = self.station_m.get(k + 1).copied().unwrap_or(last);
        (self.sum_m(to - late_m) - self.sum_m(from - late_m)) / (to - from)
    }
}

/// The interval of the product of some nodes.
fn interval(onto: &SMatrix<f64, STATES, STATES>, length_s: f64) -> Interval<PICTURE> {
    Interval {
        a: SMatrix::from_fn(|i, j| onto[(OF_PLAN[i], OF_PLAN[j])]),
        b: SVector::from_fn(|i, _| onto[(OF_PLAN[i], STATES - 1)]),
        length_s,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::riding::errors_of_ride::SKILLS;

    /// A plan straight ahead at 20 m/s: offset' = 20 yaw, yaw' = -2 steer, steer' = asked - steer, nodes of 0.05 s.
    fn straight(asked: impl Fn(usize) -> f64) -> (Plan, Vec<Onward>) {
        let many = 200;
        let mut node = [[0.0; STATES]; STATES];
        for (i, row) in node.iter_mut().enumerate() {
            row[i] = 1.0;
        }
        (node[0][1], node[1][5], node[5][5], node[5][6]) = (1.0, -0.1, 0.95, 0.05);
        let mut states = vec![[0.0; STATES]; many + 1];
        for (k, x) in states.iter_mut().enumerate() {
            (x[FORWARD], x[ASKED]) = (20.0, asked(k));
        }
        let plan = Plan {
            station_m: (0..=many).map(|k| k as f64).collect(),
            states,
            controls: vec![[0.0; 3]; many],
            gains: vec![[0.0; STATES]; many],
        };
        (plan, vec![node; many])
    }

    #[test]
    fn exact_presses_are_means_of_the_plan() {
        let (plan, onward) = straight(|k| 0.01 * k as f64);
        let skill = Skill { decides_s: 0.2, ..SKILLS[3] };
        let routine = Routine::new(&plan, &onward, &skill).unwrap();
        assert_eq!(routine.station_m[..3], [0.0, 4.0, 8.0]);
        // of a straight line the middle; rounding
        approx::assert_abs_diff_eq!(routine.press(2, 0.0), 0.1, epsilon = 1e-12);
        approx::assert_abs_diff_eq!(routine.press(2, 1.5), 0.085, epsilon = 1e-12);
        // before the plan begins its first value holds: half of the interval below 2 m, late by 2 m
        approx::assert_abs_diff_eq!(routine.press(0, 2.0), 0.005, epsilon = 1e-12);
    }
}
