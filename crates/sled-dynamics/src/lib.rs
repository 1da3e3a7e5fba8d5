//! The motion of a sled on the surface of a track: laws, equations, descents.
//!
//! Invariant: nothing here opens a file or starts a thread.

pub mod air;
pub mod atmosphere;
pub mod drag;
pub mod gravity;
pub mod setup;
pub mod sprint;
