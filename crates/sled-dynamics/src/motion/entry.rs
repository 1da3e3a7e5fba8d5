//! Where a descent begins, and the ledger of its energy from there.

use crate::laws::ice::Ice;
use crate::laws::state::{State, motion};
use crate::motion::course::Course;
use crate::motion::descent::{Energy, LOSSES};
use crate::motion::equations::{STATES, Vector, place};
use crate::motion::launch::Launch;
use crate::motion::pilot::Steering;

/// The sled where the descent begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Entry {
    /// Lateral coordinate (m).
    pub offset_m: f64,
    /// Yaw from the coordinate line (rad).
    pub yaw_rad: f64,
    /// Rate of turn over that of the coordinate line (rad/s).
    pub extra_spin_rad_s: f64,
}

impl Entry {
    /// On the reference line, straight ahead.
    pub const STRAIGHT: Entry = Entry { offset_m: 0.0, yaw_rad: 0.0, extra_spin_rad_s: 0.0 };
}

/// The state of a descent at its launch.
pub(crate) fn start<I: Ice, P: Steering>(course: &Course<'_, I, P>, launch: &Launch, entry: Entry) -> Vector {
    let at = course.track.surface.station(launch.station_m);
    let mut state = State {
        offset_m: entry.offset_m,
        yaw_rad: entry.yaw_rad,
        forward_m_s: launch.speed_m_s,
        lateral_velocity_m_s: 0.0,
        yaw_rate_rad_s: 0.0,
    };
    let m = motion(&at, &at.patch(entry.offset_m), &state, course.constants.gravity_m_s2);
    state.yaw_rate_rad_s = m.line_turn_rad_s + entry.extra_spin_rad_s;
    let mut y = [0.0; STATES];
    y[place::TIME] = launch.time_s;
    y[place::ASKED] = course.pilot.first_asked();
    y[place::STEER] = course.pilot.first_asked();
    y[place::SLED..place::STEER].copy_from_slice(&[
        state.offset_m,
        state.yaw_rad,
        state.forward_m_s,
        state.lateral_velocity_m_s,
        state.yaw_rate_rad_s,
    ]);
    y
}

/// Where the energy came from and went, from the launch to a station.
pub(crate) fn ledger<I: Ice, P: Steering>(
    course: &Course<'_, I, P>,
    launch: &Launch,
    entry: Entry,
    x: f64,
    y: &Vector,
) -> Energy {
    let c = course.constants;
    let at = course.track.surface.station(x);
    let elevation_m = at.patch(y[place::SLED]).elevation_m;
    let kinetic = |y: &Vector| {
        let squared = |at: usize| y[at] * y[at];
        0.5 * c.mass_kg * (squared(place::FORWARD) + squared(place::LATERAL_VELOCITY))
            + 0.5 * c.yaw_inertia_kg_m2 * squared(place::YAW_RATE)
    };
    let y0 = start(course, launch, entry);
    // what the start adds to a point on the line: the turn, and the place beside it
    let line_j = 0.5 * c.mass_kg * launch.speed_m_s * launch.speed_m_s;
    let first = course.track.surface.station(launch.station_m);
    let lift_m = first.patch(entry.offset_m).elevation_m - first.elevation_m;
    let extra_j = kinetic(&y0) - line_j + c.mass_kg * c.gravity_m_s2 * lift_m;
    let mut lost_j = [0.0; LOSSES.len()];
    lost_j.copy_from_slice(&y[place::LOST..place::LOST + LOSSES.len()]);
    Energy {
        potential_j: launch.fall_j(course.track, c, elevation_m),
        push_j: launch.push_j(course.track, c) + extra_j,
        kinetic_j: kinetic(y),
        disturbance_j: y[place::DISTURBANCE],
        lost_j,
    }
}
