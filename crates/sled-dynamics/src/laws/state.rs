//! The state of the sled on the surface, and the signs of everything that moves.
//!
//! ```text
//!   seen from above, athlete's head forward          steer = +1: full right
//!                                                      left shoulder and right knee pressed
//!              x (forward)                           couple > 0: turns the sled to the right
//!              ^                                     slip   = angle of the velocity from the
//!              |   yaw: from e1 to x, anticlockwise           axis of the sled, left positive
//!              |                                     toe left: drag on the left, yaws to the left
//!   y (left) <-o                                     spin > 0: anticlockwise, to the left
//! ```
//!
//! Axes as in ISO 8855: x forward, y left, z up (the normal of the ice).

use crate::laws::pitch::nose_up_rad_s2;
use numerics::dual::Real;
use track_geometry::station::{Patch, Station};

/// The state of the sled at a station.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State<T> {
    /// Lateral coordinate of the centre of mass on the ice, left positive (m).
    pub offset_m: T,
    /// Angle of the sled's axis from the coordinate line (rad).
    pub yaw_rad: T,
    /// Velocity along the sled (m/s).
    pub forward_m_s: T,
    /// Velocity across the sled, left positive (m/s).
    pub lateral_velocity_m_s: T,
    /// Rate of turn about the normal (rad/s).
    pub yaw_rate_rad_s: T,
}

/// How the state moves over the surface: kinematics and gravity, before any force of ice or air.
#[derive(Clone, Copy, Debug)]
pub struct Motion<T> {
    /// ds/dt (m/s).
    pub(crate) station_rate_m_s: T,
    /// du/dt (m/s).
    pub(crate) offset_rate_m_s: T,
    /// Turning of the coordinate line within the surface (rad/s).
    pub line_turn_rad_s: T,
    /// Acceleration towards the normal that the surface asks for (m/s2).
    pub normal_m_s2: T,
    /// Normal load over mass: what the surface asks for, less gravity's share (m/s2).
    pub load_m_s2: T,
    /// Angular acceleration in pitch that the ice asks for, nose up (rad/s2).
    pub nose_up_rad_s2: T,
    /// Gravity along the sled (m/s2).
    pub(crate) gravity_x_m_s2: T,
    /// Gravity across the sled (m/s2).
    pub(crate) gravity_y_m_s2: T,
    /// Speed (m/s).
    pub speed_m_s: T,
    /// Length of r_s: metres of ice along the line per metre of station `[-]`.
    pub stretch: T,
    /// Elevation of the sled (m).
    pub(crate) elevation_m: T,
}

impl<T: Real> Motion<T> {
    /// Curvature of the ice along the path, concave positive (1/m).
    pub fn ice_curvature_per_m(&self) -> T {
        self.normal_m_s2 / self.speed_m_s.squared()
    }
}

/// Kinematics of `state` at a station, under gravity `gravity_m_s2`.
///
/// ```text
///   V = vx x_b + vy y_b = s_dot r_s + u_dot r_u
///   a_n = r_ss.N s_dot^2 + 2 r_su.N s_dot u_dot + r_uu.N u_dot^2
///   w_e = [(r_ss.e2) s_dot + (r_su.e2) u_dot] / |r_s|        e1 = r_s/|r_s|, e2 = N x e1
/// ```
///
/// *Valid for* a point that stays on the surface. *Source*: differential geometry of surfaces
/// (first and second fundamental form; Gauss-Weingarten equations). *Checked by*
/// `exact_torus_corner`, `exact_half_pipe_pendulum`, `conserves_energy`.
#[inline]
pub fn motion<T: Real>(at: &Station, patch: &Patch<T>, state: &State<T>, gravity_m_s2: f64) -> Motion<T> {
    let stretch = patch.r_s.norm();
    let e1 = patch.r_s.times(T::from(1.0) / stretch);
    let raw = patch.r_s.cross(patch.r_u);
    let normal = raw.times(T::from(1.0) / raw.norm());
    let e2 = normal.cross(e1);
    let (sin, cos) = state.yaw_rad.sin_cos();
    let (vx, vy) = (state.forward_m_s, state.lateral_velocity_m_s);
    let along = vx * cos - vy * sin;
    let across = vx * sin + vy * cos;
    let u_dot = across / patch.r_u.dot(e2);
    let s_dot = (along - u_dot * patch.r_u.dot(e1)) / stretch;
    let normal_m_s2 = patch.r_ss.dot(normal) * s_dot * s_dot
        + patch.r_su.dot(normal) * s_dot * u_dot * 2.0
        + patch.r_uu.dot(normal) * u_dot * u_dot;
    // plumb line in the moving frame: (sin th, 0, -cos th)
    let plumb = |t: T, b: T| (t * at.sin_grade - b * at.cos_grade) * gravity_m_s2;
    let (g1, g2, gn) = (plumb(e1.t, e1.b), plumb(e2.t, e2.b), plumb(normal.t, normal.b));
    let speed_m_s = (vx * vx + vy * vy).sqrt();
    Motion {
        nose_up_rad_s2: nose_up_rad_s2(at, patch, state.offset_m, s_dot, speed_m_s),
        station_rate_m_s: s_dot,
        offset_rate_m_s: u_dot,
        line_turn_rad_s: (patch.r_ss.dot(e2) * s_dot + patch.r_su.dot(e2) * u_dot) / stretch,
        normal_m_s2,
        load_m_s2: normal_m_s2 - gn,
        gravity_x_m_s2: g1 * cos + g2 * sin,
        gravity_y_m_s2: g2 * cos - g1 * sin,
        speed_m_s,
        stretch,
        elevation_m: patch.elevation_m,
    }
}
