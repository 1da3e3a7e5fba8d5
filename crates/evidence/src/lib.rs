//! What runs can tell, and how surely: timing sheets, trials, regression, calibration.
//!
//! Invariant: nothing here opens a file, starts a thread or prints. Only calibration rides descents.

pub mod decision;
pub mod faults;
pub mod orders;
pub mod paired_power;
pub mod questions;
pub mod sheet;
pub mod stopping;
pub mod trial_analysis;
pub mod trial_plan;
