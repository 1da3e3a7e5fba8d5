//! The geometry of an ice track: reference line, banking, cross-section, surface.
//!
//! Invariant: nothing here knows a mass, a force or a time.

pub mod corner_list;
mod corner_list_check;
mod corner_shape;
mod decimals;
pub mod doubts;
pub mod eyes;
pub mod faults;
pub mod section;
pub mod station;
pub mod station_table;
pub mod surface;
pub mod table_check;
pub mod table_file;
pub mod table_row;
pub mod toml_keys;
pub mod track;
pub mod track_builder;
pub mod track_file;
