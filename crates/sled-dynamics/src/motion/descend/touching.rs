//! Touches of walls and lips within a descent: impulse, energy that they take, and the roll that they leave.

use super::{PARTS, Sled};
use crate::laws::ice::Ice;
use crate::laws::walls::{self, Side};
use crate::motion::descent::{EventKind, Loss};
use crate::motion::equations::{STATES, place, sled_state};
use crate::motion::pilot::Steering;
use numerics::stepping::Dense;

impl<I: Ice, P: Steering> Sled<'_, I, P> {
    /// Sums push, roll and energy of the touches of a step, by the midpoint rule over its parts, up to `until`;
    /// gives where a touch throws the sled over.
    pub(super) fn touches(&mut self, step: &Dense<STATES>, until: f64) -> Option<(f64, Loss)> {
        let open = [self.open[0], self.open[1]];
        let rolls = |sled: &Self, i: usize| open[i].is_some() || sled.roll[i].is_up();
        if !rolls(self, 0) && !rolls(self, 1) {
            return None;
        }
        let constants = self.course.constants;
        let part_m = (until - step.x0) / PARTS as f64;
        let (mut impulse_n_s, mut over) = ([0.0; 2], None);
        let (mut x, mut time_s) = (step.x0, step.y0[place::TIME]);
        for _ in 0..PARTS {
            let y = step.at(x + 0.5 * part_m);
            let state = sled_state(&y);
            let (at, m) = self.motion_at(x + 0.5 * part_m, &state);
            let end_s = step.at(x + part_m)[place::TIME];
            for (i, side) in Side::BOTH.into_iter().enumerate() {
                if !rolls(self, i) {
                    continue;
                }
                let push_n =
                    if open[i].is_some() { walls::push_n(&at, &state, m.stretch, side) } else { 0.0 };
                impulse_n_s[i] += push_n * (end_s - time_s);
                let load_n = m.load_m_s2 * constants.mass_kg;
                let share = self.roll[i].go_on(&constants.balance(), push_n, load_n, end_s - time_s);
                over = over.or(share.map(|share| (x + share * part_m, Loss::Capsized(side))));
            }
            (x, time_s) = (x + part_m, end_s);
            if over.is_some() {
                break;
            }
        }
        let lost_j =
            step.at(over.map_or(until, |o| o.0))[place::LOST_TO_WALLS] - step.y0[place::LOST_TO_WALLS];
        let whole = impulse_n_s[0] + impulse_n_s[1];
        for (i, event) in open.into_iter().enumerate() {
            let Some(event) = event else { continue };
            // two edges at once: each by its impulse
            let share = if open[1 - i].is_none() { 1.0 } else { impulse_n_s[i] / whole.max(1e-9) };
            let (EventKind::Wall { impulse_n_s: sum, lost_j: lost, .. }
            | EventKind::Lip { impulse_n_s: sum, lost_j: lost, .. }) = &mut self.events[event].kind
            else {
                continue;
            };
            *sum += impulse_n_s[i];
            *lost += share * lost_j;
        }
        over
    }

    /// A touch that begins: the edge there names it.
    pub(super) fn touch_kind(&self, station_m: f64, side: Side) -> EventKind {
        let lip = walls::is_lip(&self.course.track.surface.station(station_m), side);
        let (impulse_n_s, lost_j) = (0.0, 0.0);
        if lip {
            EventKind::Lip { side, impulse_n_s, lost_j }
        } else {
            EventKind::Wall { side, impulse_n_s, lost_j }
        }
    }
}
