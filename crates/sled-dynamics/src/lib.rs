//! The motion of a sled on the surface of a track: laws, equations, descents.
//!
//! Invariant: nothing here opens a file or starts a thread.

pub mod equations;
pub mod ice;
pub mod pilot;
pub mod setup;
pub mod state;
pub mod walls;
