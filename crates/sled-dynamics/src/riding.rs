//! Riding: plans, athletes and their mistakes, told lines, notes.

pub mod athlete;
pub mod errors_of_ride;
pub(crate) mod held_steering;
pub mod line_file;
pub mod notes;
pub mod notes_read;
pub mod pieces;
pub mod plan;
pub mod plan_state;
pub mod planned_ride;
pub mod ride_file;
pub mod routine;
pub mod told_line;
pub mod tracking;
