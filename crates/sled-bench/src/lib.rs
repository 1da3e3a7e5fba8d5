//! The sled bench on the evening before: what a reading means, what to turn, what that does.
//!
//! Invariant: nothing here opens a file, prints, or knows a track.

pub mod balance;
pub mod bow_fit;
pub mod faults;
pub mod pair_fit;
pub mod passing;
pub mod readings;
pub mod rules;
pub mod runner_files;
pub mod runner_record;
pub mod target;
pub mod turns;
pub mod unit_shape;
