//! Walls at the edges of the ice, touched by the four corners of the sled.
//!
//! ```text
//!   force = max(k pen + c pen_dot, 0), square to the edge, with Coulomb friction along it
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | k | [`STIFFNESS_N_PER_M`] | N/m |
//! | c | [`DAMPING_N_S_PER_M`] | N s/m |
//! | pen | depth of a corner beyond the edge | m |
//!
//! *Valid for* touches of a few centimetres. *Assumes* that an edge is a wall where its ice is
//! flatter than 60 degrees and a lip, without force, where it is steeper; over three degrees
//! the force fades. *Source*: assumed. *Checked by* `conserves_energy_with_walls`.

use crate::state::{Motion, State};
use numerics::dual::Real;
use track_geometry::station::Station;

/// Stiffness of sled and wall (N/m), assumed.
pub const STIFFNESS_N_PER_M: f64 = 3e4;
/// Damping of sled and wall (N s/m), assumed.
pub const DAMPING_N_S_PER_M: f64 = 600.0;
/// The corners stand this far before, behind and beside the middle (m), assumed.
pub const CORNERS_M: [[f64; 2]; 4] = [[0.42, 0.19], [0.42, -0.19], [-0.42, 0.19], [-0.42, -0.19]];
/// An edge steeper than this is a lip (rad).
pub const LIP_RAD: f64 = std::f64::consts::PI / 3.0;
const FADE_RAD: f64 = 3.0 * std::f64::consts::PI / 180.0;

/// Which edge of the ice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The left edge.
    Left,
    /// The right edge.
    Right,
}

/// True where the edge on that side is a lip.
pub fn is_lip(at: &Station, side: Side) -> bool {
    let edge = if side == Side::Left { at.left_edge[0] } else { at.right_edge[0] };
    at.slope_rad(edge).abs() > LIP_RAD
}

/// Share of the wall force left at an edge: 1 for a wall, 0 for a lip `[-]`.
fn wall_share(at: &Station, edge_m: f64) -> f64 {
    ((LIP_RAD + 0.5 * FADE_RAD - at.slope_rad(edge_m).abs()) / FADE_RAD).clamp(0.0, 1.0)
}

/// Force and moment in body axes, N and N m.
#[derive(Clone, Copy, Debug)]
pub struct WallForce<T> {
    /// Along the sled (N).
    pub x_n: T,
    /// Across the sled (N).
    pub y_n: T,
    /// About the normal (N m).
    pub moment_n_m: T,
}

/// Depth of the corner `corner` beyond the edge on a side (m), negative while it is clear.
pub fn depth_m(at: &Station, state: &State<f64>, stretch: f64, corner: [f64; 2], side: Side) -> f64 {
    let (sin, cos) = state.yaw_rad.sin_cos();
    let ahead = (corner[0] * cos - corner[1] * sin) / stretch;
    let across = corner[0] * sin + corner[1] * cos;
    match side {
        Side::Left => state.offset_m + across - (at.left_edge[0] + at.left_edge[1] * ahead),
        Side::Right => -(state.offset_m + across) + (at.right_edge[0] + at.right_edge[1] * ahead),
    }
}

/// Sum of the wall forces on the four corners; `None` when no corner touches.
pub fn wall_force<T: Real>(
    at: &Station,
    state: &State<T>,
    motion: &Motion<T>,
    friction: f64,
) -> Option<WallForce<T>> {
    let u = state.offset_m.value();
    if u + 0.47 < at.left_edge[0] - 0.1 && u - 0.47 > at.right_edge[0] + 0.1 {
        return None;
    }
    let zero = T::from(0.0);
    let mut total = WallForce { x_n: zero, y_n: zero, moment_n_m: zero };
    let mut touching = false;
    let (sin, cos) = state.yaw_rad.sin_cos();
    for [cx, cy] in CORNERS_M {
        let across = sin * cx + cos * cy;
        let ahead = (cos * cx - sin * cy) / motion.stretch;
        // velocity of the corner in the axes of the coordinate line
        let (bx, by) =
            (state.forward_m_s - state.spin_rad_s * cy, state.sideways_m_s + state.spin_rad_s * cx);
        let (v1, v2) = (bx * cos - by * sin, bx * sin + by * cos);
        for (sign, [edge, edge_1]) in [(1.0, at.left_edge), (-1.0, at.right_edge)] {
            let pen = (state.offset_m + across - ahead * edge_1 - edge) * sign;
            let share = wall_share(at, edge);
            if pen.value() <= 0.0 || share == 0.0 {
                continue;
            }
            // unit vectors along and into the edge
            let norm = T::from(1.0) / ((T::from(edge_1) / motion.stretch).squared() + 1.0).sqrt();
            let (t1, t2) = (norm, norm * edge_1 / motion.stretch);
            let (n1, n2) = (-(t2 * sign), t1 * sign);
            let pen_dot = v1 * n1 + v2 * n2;
            let push = ((pen * STIFFNESS_N_PER_M + pen_dot * DAMPING_N_S_PER_M).max(zero)) * share;
            let sliding = v1 * t1 + v2 * t2;
            // regularised at 0.1 m/s: the wall never holds the sled
            let rub = push * friction * (sliding * 10.0).tanh();
            let (f1, f2) = (-(push * n1) - rub * t1, -(push * n2) - rub * t2);
            let (fx, fy) = (f1 * cos + f2 * sin, f2 * cos - f1 * sin);
            total.x_n += fx;
            total.y_n += fy;
            total.moment_n_m += fy * cx - fx * cy;
            touching = true;
        }
    }
    touching.then_some(total)
}
