//! The geometry of an ice track: reference line, banking, cross-section, surface.
//!
//! Invariant: nothing here knows a mass, a force or a time.

pub mod section;
pub mod station;
pub mod station_table;
pub mod surface;
pub mod track;
