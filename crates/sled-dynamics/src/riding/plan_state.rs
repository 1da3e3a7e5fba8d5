//! State and controls of a plan, by name.

/// Number of states of the plan: offset, yaw, forward, sideways, spin, steer, asked.
pub const STATES: usize = 7;
/// Number of controls: rate of the steering asked for, virtual side acceleration, virtual turn.
pub const CONTROLS: usize = 3;
/// State of the plan.
pub type PlanState = [f64; STATES];

/// Place in the state of the offset from the reference line (m).
pub const OFFSET: usize = 0;
/// Of the yaw from the coordinate line (rad).
pub(crate) const YAW: usize = 1;
/// Of the speed along the sled (m/s).
pub const FORWARD: usize = 2;
/// Of the speed across it (m/s).
pub(crate) const LATERAL_VELOCITY: usize = 3;
// 4 is the yaw rate (rad/s)
/// Of the steering that the sled gets `[-]`.
pub(crate) const STEER: usize = 5;
/// Of the steering that is asked for `[-]`.
pub const ASKED: usize = 6;

/// Place in the controls of the rate of the steering asked for (1/s).
pub(crate) const RATE: usize = 0;
/// Of the virtual side acceleration (m/s2).
pub(crate) const HELP_SIDE: usize = 1;
/// Of the virtual turn (rad/s2).
pub(crate) const HELP_TURN: usize = 2;

/// About how much each state may differ between two rides of one sled: m, rad, m/s, m/s, rad/s, share of full steering.
/// Assumed; it weighs them against each other and moves no optimum.
pub const ABOUT: [f64; STATES] = [0.3, 0.02, 1.0, 0.2, 0.1, 0.5, 0.5];
