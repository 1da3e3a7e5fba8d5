//! What runs can tell, and how surely: power of paired tests, orders, worth of information, when to stop, timing sheets,
//! A/B runs, a model calibrated to runs, a notebook of runs.
//!
//! Invariant: nothing here opens a file, starts a thread, prints, or knows of tracks and sleds.

pub mod calibration;
pub mod decision;
pub mod notebook;
pub mod orders;
pub mod paired_power;
pub mod questions;
pub mod sheet;
pub mod stopping;
pub mod trial_analysis;
pub mod trial_plan;
