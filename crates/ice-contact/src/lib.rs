//! A bowed steel runner on the ice: beam, contact, friction, grip.
//!
//! Invariant: nothing here knows a track, a sled's motion or a file.

mod banded;
pub mod beam;
mod chained;
pub mod contact;
pub mod film;
mod foundation;
pub mod free_shape;
pub mod friction;
pub mod hardness;
mod lanes;
pub mod lateral;
mod melt;
pub mod patches;
pub mod plough;
mod rig;
pub mod rod;
pub mod runner;
pub mod tables;

#[cfg(test)]
mod reference_tests;
