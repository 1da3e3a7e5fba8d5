//! What a descent leaves behind: summary and trace.

pub mod summary;
pub mod trace_table;
