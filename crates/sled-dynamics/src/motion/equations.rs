//! The equations of motion of a sled on the surface, with the station as the independent
//! variable: every eye, corner and knot of the track is then hit exactly.
//!
//! ```text
//!   m (vx_dot - w vy) = F_x + m g.x_b        chi_dot = w - w_e
//!   m (vy_dot + w vx) = F_y + m g.y_b        I_z w_dot = M_z
//!   d/ds = (d/dt) / s_dot
//! ```
//!
//! The sum of the forces is formed here and holds no coefficient of its own.
//! *Assumes* a rigid athlete, and that the mass moves on the surface although it stands above it.
//! *Source*: Newton-Euler equations in the tangent plane. *Checked by* `exact_` and `conserves_`
//! tests in `tests/checks/motion.rs`.

use crate::laws::air_yaw::yaw_moment_n_m;
use crate::laws::capsize::Balance;
use crate::laws::drag::drag_kg_per_m;
use crate::laws::ice::{Ice, Riding};
use crate::laws::shaking::per_speed_n_s_per_m;
use crate::laws::state::{Motion, State, motion};
use crate::laws::walls::wall_force;
use crate::motion::descent::LOSSES;
use crate::motion::pilot::{Asked, Steering};
use numerics::dual::Real;
use track_geometry::station::Station;

/// What does not change during a descent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Constants {
    /// Mass of athlete, sled and ballast (kg).
    pub mass_kg: f64,
    /// Moment of inertia about the normal (kg m2).
    pub yaw_inertia_kg_m2: f64,
    /// Gravity (m/s2).
    pub gravity_m_s2: f64,
    /// Half the density of the air times the drag area (kg/m): drag is this times speed squared.
    pub drag_kg_per_m: f64,
    /// Friction of the sled's corners on walls and lips `[-]`.
    pub wall_friction: f64,
    /// Height of the mass above the ice (m).
    pub mass_height_m: f64,
    /// Distance of the runners (m).
    pub gauge_m: f64,
    /// Yaw moment of the air for a slip of one radian and a speed of 1 m/s (N m s2/(rad m2)).
    pub air_yaw_n_m_s2_per_rad_m2: f64,
    /// Force that shaking takes over speed (N s/m).
    pub shaking_n_s_per_m: f64,
}

/// Number of places in the state of a descent.
pub const STATES: usize = 16;
/// Places in the state of a descent.
pub mod place {
    /// Time since the block (s).
    pub(crate) const TIME: usize = 0;
    /// First of the five places of the sled's state: offset, yaw, forward, sideways, spin.
    pub(crate) const SLED: usize = 1;
    /// Offset from the reference line (m).
    pub(crate) const OFFSET: usize = 1;
    /// Yaw from the coordinate line (rad).
    pub(crate) const YAW: usize = 2;
    /// Speed along the sled (m/s).
    pub(crate) const FORWARD: usize = 3;
    /// Speed across it (m/s).
    pub(crate) const LATERAL_VELOCITY: usize = 4;
    /// Yaw rate (rad/s).
    pub(crate) const YAW_RATE: usize = 5;
    /// Steering that the sled gets `[-]`.
    pub(crate) const STEER: usize = 6;
    /// Steering that was asked for `[-]`.
    pub(crate) const ASKED: usize = 7;
    /// First of the seven energies lost (J): air, glide, plough, skid, toe, walls, shaking.
    pub(crate) const LOST: usize = 8;
    /// That lost to walls.
    pub(crate) const LOST_TO_WALLS: usize = 13;
    /// Work done on the sled by what disturbs it (J).
    pub(crate) const DISTURBANCE: usize = 15;
}

/// State of a descent: time, sled, steering, energies lost, work of the disturbance.
pub type Vector = [f64; STATES];

/// The sled's own part of the state.
#[inline]
pub(crate) fn sled_state(y: &Vector) -> State<f64> {
    State {
        offset_m: y[place::OFFSET],
        yaw_rad: y[place::YAW],
        forward_m_s: y[place::FORWARD],
        lateral_velocity_m_s: y[place::LATERAL_VELOCITY],
        yaw_rate_rad_s: y[place::YAW_RATE],
    }
}

/// Rates of the sled's state, and of the energies lost, per second.
#[derive(Clone, Copy, Debug)]
pub struct Rates<T> {
    /// Kinematics at this state.
    pub motion: Motion<T>,
    /// Rates of offset, yaw, forward and sideways velocity, spin (per s).
    pub sled: [T; 5],
    /// Power lost to air, glide, plough, skid, toe, walls, shaking (W).
    pub(crate) lost_w: [T; LOSSES.len()],
}

/// Rates of change in time at a station.
#[inline]
pub(crate) fn rates<T: Real, I: Ice>(
    constants: &Constants,
    ice: &I,
    at: &Station,
    state: &State<T>,
    moving: &Motion<T>,
    steer: T,
    toes: [f64; 2],
) -> Rates<T> {
    let (vx, vy, w) = (state.forward_m_s, state.lateral_velocity_m_s, state.yaw_rate_rad_s);
    let riding = Riding {
        load_n: moving.load_m_s2 * constants.mass_kg,
        ice_curvature_per_m: moving.ice_curvature_per_m(),
        nose_up_rad_s2: moving.nose_up_rad_s2,
        forward_m_s: vx,
        lateral_velocity_m_s: vy,
        yaw_rate_rad_s: w,
        speed_m_s: moving.speed_m_s,
        steer,
        toes,
    };
    let ice = ice.force(&riding);
    let drag = moving.speed_m_s * constants.drag_kg_per_m;
    let against = drag + constants.shaking_n_s_per_m;
    let (mut fx, mut fy, mut mz) = (ice.x_n - against * vx, ice.y_n - against * vy, ice.moment_n_m);
    let mut air_w = drag * moving.speed_m_s.squared();
    if constants.air_yaw_n_m_s2_per_rad_m2 != 0.0 {
        let air_yaw = yaw_moment_n_m(constants.air_yaw_n_m_s2_per_rad_m2, vx, vy);
        mz += air_yaw;
        air_w -= air_yaw * w;
    }
    let shaking_w = moving.speed_m_s.squared() * constants.shaking_n_s_per_m;
    let mut walls_w = T::from(0.0);
    if let Some(wall) = wall_force(at, state, moving, constants.wall_friction) {
        fx += wall.x_n;
        fy += wall.y_n;
        mz += wall.moment_n_m;
        walls_w = -(wall.x_n * vx + wall.y_n * vy + wall.moment_n_m * w);
    }
    let [glide, plough, skid, toe] = ice.lost_w;
    Rates {
        motion: *moving,
        sled: [
            moving.offset_rate_m_s,
            w - moving.line_turn_rad_s,
            fx / constants.mass_kg + moving.gravity_x_m_s2 + w * vy,
            fy / constants.mass_kg + moving.gravity_y_m_s2 - w * vx,
            mz / constants.yaw_inertia_kg_m2,
        ],
        lost_w: [air_w, glide, plough, skid, toe, walls_w, shaking_w],
    }
}

/// Steering asked for, within full left and full right, and its rate of change where it is a state (1/s).
pub(crate) fn asked<P: Steering>(
    pilot: &P,
    at: &Station,
    state: &State<f64>,
    moving: &Motion<f64>,
    y: &Vector,
) -> (f64, f64) {
    match pilot.ask(at, state, moving, y[place::STEER], y[place::ASKED]) {
        Asked::Steer(steer) => (steer.clamp(-1.0, 1.0), 0.0),
        Asked::Change(rate) => {
            let so_far = y[place::ASKED];
            // no further than full
            let stuck = so_far.abs() >= 1.0 && rate * so_far > 0.0;
            (so_far.clamp(-1.0, 1.0), if stuck { 0.0 } else { rate })
        }
    }
}

/// Rates of change along the station of a whole descent.
#[inline]
pub fn along_the_station<I: Ice, P: Steering>(
    constants: &Constants,
    ice: &I,
    pilot: &P,
    at: &Station,
    y: &Vector,
) -> Vector {
    let state = sled_state(y);
    let moving = motion(at, &at.patch(state.offset_m), &state, constants.gravity_m_s2);
    let (asked, change) = asked(pilot, at, &state, &moving, y);
    let lag = pilot.lag_s();
    let steer = if lag > 0.0 { y[place::STEER] } else { asked };
    let r = rates(constants, ice, at, &state, &moving, steer, pilot.toes(at.station_m));
    let per_m = 1.0 / moving.station_rate_m_s;
    let mut out = [0.0; STATES];
    out[place::TIME] = per_m;
    for (i, rate) in r.sled.iter().enumerate() {
        out[place::SLED + i] = rate * per_m;
    }
    let [side_n, yaw_n_m] = pilot.disturbance(at.station_m);
    out[place::SLED + 3] += side_n / constants.mass_kg * per_m;
    out[place::SLED + 4] += yaw_n_m / constants.yaw_inertia_kg_m2 * per_m;
    let disturbing_w = side_n * state.lateral_velocity_m_s + yaw_n_m * state.yaw_rate_rad_s;
    out[place::DISTURBANCE] = disturbing_w * per_m;
    out[place::STEER] = if lag > 0.0 { (asked - y[place::STEER]) / lag * per_m } else { 0.0 };
    out[place::ASKED] = change * per_m;
    for (i, power) in r.lost_w.iter().enumerate() {
        out[place::LOST + i] = power * per_m;
    }
    out
}

impl Constants {
    /// The constants of a set-up on a track.
    pub fn new(setup: &crate::setup::Setup, track: &track_geometry::track::TrackData) -> Constants {
        let density = setup.air.density_at_kg_m3(track.altitude_m);
        Constants {
            mass_kg: setup.sled.mass_kg(),
            yaw_inertia_kg_m2: setup.sled.yaw_inertia_kg_m2,
            gravity_m_s2: crate::laws::gravity::gravity_m_s2(track.latitude_rad, track.altitude_m),
            drag_kg_per_m: drag_kg_per_m(density, setup.air.whole_drag_area_m2()),
            wall_friction: setup.ice.wall_friction,
            mass_height_m: setup.sled.mass_height_m,
            gauge_m: setup.sled.gauge_m,
            air_yaw_n_m_s2_per_rad_m2: crate::laws::air_yaw::per_rad_and_speed_squared(
                setup.air.yaw_moment_n_m_per_deg,
            ),
            shaking_n_s_per_m: per_speed_n_s_per_m(setup.ice.shaking_n),
        }
    }

    /// What decides whether a touch throws the sled over.
    pub(crate) fn balance(&self) -> Balance {
        Balance { mass_kg: self.mass_kg, mass_height_m: self.mass_height_m, gauge_m: self.gauge_m }
    }
}
