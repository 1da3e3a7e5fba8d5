//! The motion of a sled on the surface of a track: laws, equations, descents.
//!
//! Invariant: nothing here opens a file or starts a thread.

pub mod analysis;
pub mod laws;
pub mod motion;
pub mod riding;
pub mod setup;
