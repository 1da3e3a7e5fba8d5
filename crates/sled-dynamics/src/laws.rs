//! Laws: one file each, with equation, symbols, limits and source.

pub mod air;
pub(crate) mod air_yaw;
pub mod atmosphere;
pub mod capsize;
pub mod disturbance;
pub mod drag;
pub mod gravity;
pub mod ice;
pub mod on_runners;
pub mod pitch;
pub mod shaking;
pub mod sprint;
pub mod state;
pub mod walls;
