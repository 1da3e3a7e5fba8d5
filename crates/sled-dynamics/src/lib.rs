//! The motion of a sled on the surface of a track: laws, equations, descents.
//!
//! Invariant: nothing here opens a file or starts a thread.

pub mod air;
pub mod atmosphere;
pub mod bow_contact;
pub mod bow_measures;
pub mod corners;
pub mod descend;
pub mod descent;
pub mod drag;
pub mod entry;
pub mod equations;
pub mod errors_of_ride;
pub mod extremes;
pub mod faults;
pub mod gravity;
pub mod guided;
pub mod ice;
pub mod launch;
pub mod line_file;
pub mod losses;
pub mod notes;
pub mod on_runners;
pub mod oscillation;
pub mod pieces;
pub mod pilot;
pub mod plan;
pub mod planned_ride;
pub mod precision;
pub mod ride_file;
pub mod safety;
pub mod sections;
pub mod setup;
pub mod setup_checks;
mod setup_defaults;
pub mod setup_file;
pub mod setup_keys;
mod setup_table;
mod setup_toml;
pub mod setup_units;
mod setup_values;
pub mod setup_write;
pub mod sprint;
pub mod state;
pub mod told_line;
pub mod tracking;
pub mod walls;
