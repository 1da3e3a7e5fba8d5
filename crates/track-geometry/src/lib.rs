//! The geometry of an ice track: reference line, banking, cross-section, surface.
//!
//! Invariant: nothing here knows a mass, a force or a time.

pub mod station_table;
pub mod track;
