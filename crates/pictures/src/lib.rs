//! Pictures of tracks and descents, as SVG text and PNG bytes.
//!
//! Invariant: nothing here computes physics or opens a file.

pub mod bow_shape;
pub mod bow_window;
pub mod caliper;
pub mod cause_matrix;
pub mod chart;
pub mod contact_ink;
mod contours;
pub mod curve_with_band;
pub mod descent_plan;
pub mod descent_trace;
pub mod height_along_bank;
mod line;
pub mod losses_along;
pub mod map;
mod panel;
pub mod ride_plan;
#[cfg(test)]
mod shipped;
pub mod small_multiples;
mod stacked;
pub mod track_drawing;
pub mod track_sections;

pub use chart::{Picture, PictureError};
