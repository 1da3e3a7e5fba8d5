//! Many descents: cases, ensembles, sweeps, and the tables and summaries they leave.
//!
//! Invariant: nothing here opens a file; results never depend on the number of threads.

pub mod axes;
pub mod axis_keys;
pub mod case;
pub mod cause;
pub mod ensemble;
pub mod figures;
pub mod levelled;
pub mod levels;
pub mod mistakes;
pub mod paired;
pub mod plan_bytes;
pub mod planner;
pub mod plausible;
pub mod prepared;
pub mod references;
pub mod ride_card;
pub mod shards;
pub mod sidecar;
pub mod slopes;
pub mod study;
pub mod study_case;
pub mod study_faults;
pub mod study_file;
pub mod summary;
pub mod sweep;
mod sweep_panels;
pub mod sweep_pictures;
pub mod sweep_report;
pub mod sweep_table;
pub mod told;
pub mod trace_table;
