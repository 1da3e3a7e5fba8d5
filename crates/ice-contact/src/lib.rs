//! A bowed steel runner on the ice: beam, contact, friction, grip.
//!
//! Invariant: nothing here knows a track, a sled's motion or a file.

mod banded;
pub mod beam;
pub mod contact;
mod foundation;
pub mod free_shape;
pub mod hardness;
mod rig;
pub mod rod;
pub mod runner;
pub mod share;
