//! Walls and lips at the edges of the ice, touched by the four corners of the sled.
//!
//! ```text
//!   push = max(k pen + c pen_dot, 0), along the ice and square to the edge;  rub = mu push against the sliding
//!   square hit of mass m on two corners, frequency w0 = sqrt(2 k/m), damping ratio z = c/(m w0) < 1:
//!   comes back with  exp(-2 z acos(z)/sqrt(1 - z^2))  of its speed
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | k | [`STIFFNESS_N_PER_M`], of one corner | N/m |
//! | c | [`DAMPING_N_S_PER_M`], of one corner | N s/m |
//! | pen | depth of a corner beyond the edge | m |
//! | mu | `friction`, the key `ice.wall_friction` | - |
//!
//! *Valid for* touches of a few centimetres. *Assumes* that wood or ice beside the track and the
//! wooden lip of a bank return the sled alike, not above its runners' ice: steepness only names the
//! edge. Stiffness and damping are assumed, so that 115 kg come back square with 0.30 of their speed:
//! skids, bumpers and bodies do not bounce like rubber. *Source*: assumed; the rebound of a spring
//! and damper that do not pull is derived. *Checked by* `exact_square_hit_comes_back`,
//! `exact_a_lip_pushes_as_a_wall`, `conserves_energy_with_walls`.

use crate::laws::state::{Motion, State};
use numerics::dual::Real;
use track_geometry::station::Station;

/// Stiffness of sled and edge at one corner (N/m), assumed.
pub const STIFFNESS_N_PER_M: f64 = 3e4;
/// Damping of sled and edge at one corner (N s/m), assumed.
pub const DAMPING_N_S_PER_M: f64 = 1300.0;
/// The corners stand this far before, behind and beside the middle (m), assumed.
pub const CORNERS_M: [[f64; 2]; 4] = [[0.42, 0.19], [0.42, -0.19], [-0.42, 0.19], [-0.42, -0.19]];
/// An edge steeper than this is a lip (rad).
pub(crate) const LIP_RAD: f64 = std::f64::consts::PI / 3.0;
/// The sled's centre this far beyond an edge has left the track for good (m), assumed.
pub(crate) const LEFT_M: f64 = 0.5;
/// No corner reaches farther from the middle (m).
const REACH_M: f64 = 0.47;

/// Which edge of the ice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The left edge.
    Left,
    /// The right edge.
    Right,
}

impl Side {
    /// Both.
    pub(crate) const BOTH: [Side; 2] = [Side::Left, Side::Right];

    /// 1 for left, -1 for right `[-]`.
    pub(crate) fn sign(self) -> f64 {
        if self == Side::Left { 1.0 } else { -1.0 }
    }

    /// Place of the edge on this side (m) and its change along the station `[-]`.
    fn edge(self, at: &Station) -> [f64; 2] {
        if self == Side::Left { at.left_edge } else { at.right_edge }
    }
}

/// True where the edge on that side is a lip.
pub fn is_lip(at: &Station, side: Side) -> bool {
    at.slope_rad(side.edge(at)[0]).abs() > LIP_RAD
}

/// Force and moment in body axes, N and N m.
#[derive(Clone, Copy, Debug)]
pub struct WallForce<T> {
    /// Along the sled (N).
    pub x_n: T,
    /// Across the sled (N).
    pub y_n: T,
    /// About the normal (N m).
    pub(crate) moment_n_m: T,
}

/// Depth of the corner `corner` beyond the edge on a side (m), negative while it is clear.
pub(crate) fn depth_m(at: &Station, state: &State<f64>, stretch: f64, corner: [f64; 2], side: Side) -> f64 {
    let (sin, cos) = state.yaw_rad.sin_cos();
    let ahead = (corner[0] * cos - corner[1] * sin) / stretch;
    let across = corner[0] * sin + corner[1] * cos;
    let [edge, edge_1] = side.edge(at);
    (state.offset_m + across - (edge + edge_1 * ahead)) * side.sign()
}

/// Depth of the corner that is farthest beyond the edge on a side (m).
pub(crate) fn deepest_m(at: &Station, state: &State<f64>, stretch: f64, side: Side) -> f64 {
    let depth = |corner| depth_m(at, state, stretch, corner, side);
    CORNERS_M.into_iter().map(depth).fold(f64::NEG_INFINITY, f64::max)
}

/// One corner beyond one edge.
struct Touch<T> {
    /// Push of the edge (N).
    push_n: T,
    /// Speed along the edge (m/s).
    sliding_m_s: T,
    /// Unit vector along the edge, in the axes of the coordinate line.
    along: [T; 2],
    /// Unit vector out of the ice, square to it.
    out: [T; 2],
}

/// What the edge on a side does to one corner; `None` while it is clear.
#[inline]
fn touch<T: Real>(
    at: &Station,
    state: &State<T>,
    stretch: T,
    [cx, cy]: [f64; 2],
    side: Side,
) -> Option<Touch<T>> {
    let (sin, cos) = state.yaw_rad.sin_cos();
    let (across, ahead) = (sin * cx + cos * cy, (cos * cx - sin * cy) / stretch);
    let (sign, [edge, edge_1]) = (side.sign(), side.edge(at));
    let pen = (state.offset_m + across - ahead * edge_1 - edge) * sign;
    if pen.value() <= 0.0 {
        return None;
    }
    // velocity of the corner in the axes of the coordinate line
    let (bx, by) = (
        state.forward_m_s - state.yaw_rate_rad_s * cy,
        state.lateral_velocity_m_s + state.yaw_rate_rad_s * cx,
    );
    let (v1, v2) = (bx * cos - by * sin, bx * sin + by * cos);
    let norm = T::from(1.0) / ((T::from(edge_1) / stretch).squared() + 1.0).sqrt();
    let (t1, t2) = (norm, norm * edge_1 / stretch);
    let (n1, n2) = (-(t2 * sign), t1 * sign);
    let pen_dot = v1 * n1 + v2 * n2;
    Some(Touch {
        push_n: (pen * STIFFNESS_N_PER_M + pen_dot * DAMPING_N_S_PER_M).max(T::from(0.0)),
        sliding_m_s: v1 * t1 + v2 * t2,
        along: [t1, t2],
        out: [n1, n2],
    })
}

/// True while no corner can reach an edge.
#[inline]
fn clear(at: &Station, offset_m: f64) -> bool {
    offset_m + REACH_M < at.left_edge[0] - 0.1 && offset_m - REACH_M > at.right_edge[0] + 0.1
}

/// Push of the edge on a side, square to it, over all corners (N).
pub fn push_n(at: &Station, state: &State<f64>, stretch: f64, side: Side) -> f64 {
    if clear(at, state.offset_m) {
        return 0.0;
    }
    CORNERS_M.into_iter().filter_map(|c| touch(at, state, stretch, c, side)).map(|t| t.push_n).sum()
}

/// Sum of the forces of both edges on the four corners; `None` when no corner touches.
pub fn wall_force<T: Real>(
    at: &Station,
    state: &State<T>,
    motion: &Motion<T>,
    friction: f64,
) -> Option<WallForce<T>> {
    if clear(at, state.offset_m.value()) {
        return None;
    }
    let zero = T::from(0.0);
    let mut total = WallForce { x_n: zero, y_n: zero, moment_n_m: zero };
    let mut touching = false;
    let (sin, cos) = state.yaw_rad.sin_cos();
    for [cx, cy] in CORNERS_M {
        for side in Side::BOTH {
            let Some(touch) = touch(at, state, motion.stretch, [cx, cy], side) else { continue };
            // regularised at 0.1 m/s: the edge never holds the sled
            let rub = touch.push_n * friction * (touch.sliding_m_s * 10.0).tanh();
            let ([t1, t2], [n1, n2]) = (touch.along, touch.out);
            let (f1, f2) = (-(touch.push_n * n1) - rub * t1, -(touch.push_n * n2) - rub * t2);
            let (fx, fy) = (f1 * cos + f2 * sin, f2 * cos - f1 * sin);
            total.x_n += fx;
            total.y_n += fy;
            total.moment_n_m += fy * cx - fx * cy;
            touching = true;
        }
    }
    touching.then_some(total)
}
