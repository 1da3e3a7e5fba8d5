//! Skids of a descent, told as events: from where the slip passes 4 degrees to where it comes below again.

use crate::motion::descent::{Event, EventKind};
use crate::motion::equations::{STATES, Vector, place};
use numerics::stepping::Dense;

/// Slip from which a skid is told (rad), assumed: 4 degrees.
pub(crate) const SKID_FROM_RAD: f64 = 4.0 * std::f64::consts::PI / 180.0;

/// Follows skids from step to step.
#[derive(Debug, Default)]
pub(crate) struct SkidWatch {
    /// The event of the skid that goes on.
    open: Option<usize>,
}

impl SkidWatch {
    /// Follows a step up to a station; `toed` says whether a toe was on the ice. Where the slip passes
    /// [`SKID_FROM_RAD`] is found by a straight line within the step: no step ends there.
    pub(crate) fn follow(
        &mut self,
        events: &mut Vec<Event>,
        step: &Dense<STATES>,
        until_m: f64,
        y: &Vector,
        toed: bool,
    ) {
        let slip = |y: &Vector| y[place::LATERAL_VELOCITY].atan2(y[place::FORWARD]);
        let (before, now) = (slip(&step.y0), slip(y));
        let skids = now.abs() > SKID_FROM_RAD;
        if !skids && self.open.is_none() {
            return;
        }
        let share = (SKID_FROM_RAD - before.abs()) / (now.abs() - before.abs());
        let share = if share.is_nan() { 1.0 } else { share.clamp(0.0, 1.0) };
        let crossed_m = step.x0 + share * (until_m - step.x0);
        let length_s = y[place::TIME] - step.y0[place::TIME];
        let open = *self.open.get_or_insert_with(|| {
            let kind = EventKind::Skid { greatest_slip_rad: now, toe_s: 0.0 };
            let time_s = step.y0[place::TIME] + share * length_s;
            events.push(Event { station_m: crossed_m, time_s, until_m, kind });
            events.len() - 1
        });
        let event = &mut events[open];
        event.until_m = if skids { until_m } else { crossed_m };
        if let EventKind::Skid { greatest_slip_rad, toe_s } = &mut event.kind {
            if now.abs() > greatest_slip_rad.abs() {
                *greatest_slip_rad = now;
            }
            *toe_s += if toed { length_s } else { 0.0 };
        }
        if !skids {
            self.open = None;
        }
    }
}
