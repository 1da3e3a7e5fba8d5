//! Many descents: cases, ensembles, sweeps, and the tables and summaries they leave.
//!
//! Invariant: nothing here opens a file; results never depend on the number of threads.

pub mod case;
pub mod cause;
pub mod planner;
pub mod prepared;
pub mod summary;
pub mod trace_table;
