//! A line that somebody tells, beside a plan: where the sled is to be, and how strongly the new plan is drawn there.
//!
//! ```text
//!   price of the line   p_t w(s) ((u - u_plan(s) - a(s))/0.1 m)^2      s per s
//!   w(s) = 1 within 3 m of the place, falling smoothly to 0 over the next 9 m
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | u, u_plan | offset of the sled, and of the plan that the line is told beside | m |
//! | a | [`ToldPlace::aside_m`], left positive | m |
//! | p_t | `Prices::told` | s/s |
//!
//! *Valid for* places that the sled can reach; whether it does is checked on the ride. *Assumes* the lengths of the
//! window. *Source*: assumed. *Checked by* `exact_windows_of_a_told_line`, `plan_high_is_higher_and_low_lower_on_oskerdale`.

use crate::laws::walls::Side;
use crate::riding::plan_state::{OFFSET, PlanState};
use numerics::spline::{Cubic, Knots};

/// The line is held within this of its place (m), assumed.
pub(crate) const HELD_M: f64 = 3.0;
/// Its price fades over this beyond (m), assumed.
pub(crate) const FADE_M: f64 = 9.0;
/// A told place is met within this (m).
pub const MET_M: f64 = 0.1;

/// A place to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ToldPlace {
    /// Station (m).
    pub station_m: f64,
    /// So far to the left of the plan (m).
    pub aside_m: f64,
    /// A wall that is to be touched there: the plan keeps no room beside it.
    pub wall: Option<Side>,
}

/// What is told at one node of a plan.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ToldNode {
    /// Offset to be at (m).
    pub(crate) offset_m: f64,
    /// Weight of that, 0 to 1 `[-]`.
    pub(crate) weight: f64,
    /// Share of the price of nearness that is left at the left and the right wall `[-]`.
    pub(crate) keeps_room: [f64; 2],
}

/// Weight of a told place so far from its station `[-]`.
fn window(away_m: f64) -> f64 {
    let t = ((away_m.abs() - HELD_M) / FADE_M).clamp(0.0, 1.0);
    1.0 - t * t * (3.0 - 2.0 * t)
}

/// What is told at the nodes of a plan, its stations and states given.
pub fn told_nodes(station_m: &[f64], states: &[PlanState], places: &[ToldPlace]) -> Vec<ToldNode> {
    let node = |(s, x): (&f64, &PlanState)| {
        let (mut sum, mut aside_m, mut weight, mut keeps_room) = (0.0, 0.0, 0.0_f64, [1.0; 2]);
        for place in places {
            let w = window(s - place.station_m);
            sum += w;
            aside_m += w * place.aside_m;
            weight = weight.max(w);
            if let Some(side) = place.wall {
                keeps_room[side as usize] *= 1.0 - w;
            }
        }
        let aside_m = if sum > 0.0 { aside_m / sum } else { 0.0 };
        ToldNode { offset_m: x[OFFSET] + aside_m, weight, keeps_room }
    };
    station_m.iter().zip(states).map(node).collect()
}

/// Offset of a plan at a station (m); none outside of it.
pub fn plan_offset_m(station_m: &[f64], states: &[PlanState], at_m: f64) -> Option<f64> {
    let (first, last) = (station_m.first()?, station_m.last()?);
    if !(*first <= at_m && at_m <= *last) {
        return None;
    }
    let knots = Knots::new(station_m).ok()?;
    let column: Vec<f64> = states.iter().map(|x| x[OFFSET]).collect();
    let spline = Cubic::new(&knots, &column).ok()?;
    let i = knots.interval(at_m);
    Some(spline.jet(i, at_m - knots.abscissae()[i])[0])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_windows_of_a_told_line() {
        let station_m: Vec<f64> = (0..=100).map(f64::from).collect();
        let states = vec![[0.5, 0.0, 20.0, 0.0, 0.0, 0.0, 0.0]; 101];
        let high = ToldPlace { station_m: 40.0, aside_m: 0.3, wall: None };
        let wall = ToldPlace { station_m: 80.0, aside_m: -0.2, wall: Some(Side::Right) };
        let nodes = told_nodes(&station_m, &states, &[high, wall]);
        assert_eq!(nodes[40], ToldNode { offset_m: 0.8, weight: 1.0, keeps_room: [1.0; 2] });
        assert_eq!((nodes[43].weight, nodes[52].weight, nodes[60].weight), (1.0, 0.0, 0.0));
        // half-way down a smooth step
        assert!((window(HELD_M + 0.5 * FADE_M) - 0.5).abs() < 1e-15);
        assert_eq!(nodes[60].offset_m, 0.5);
        assert_eq!((nodes[80].offset_m, nodes[80].keeps_room), (0.3, [1.0, 0.0]));
        assert_eq!(plan_offset_m(&station_m, &states, 40.5), Some(0.5));
        assert_eq!(plan_offset_m(&station_m, &states, 100.5), None);
    }
}
