//! Many descents: cases, ensembles, sweeps, and the tables and summaries they leave.
//!
//! Invariant: nothing here opens a file; results never depend on the number of threads.

pub mod evening;
pub mod plausible;
pub mod records;
pub mod rides;
pub mod study;
