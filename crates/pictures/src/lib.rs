//! Pictures of tracks and descents, as SVG text and PNG bytes.
//!
//! Invariant: nothing here computes physics or opens a file.

pub mod chart;
pub mod contact_ink;
pub mod curve_with_band;
pub mod descent_plan;
pub mod descent_trace;
pub(crate) mod stacked;
pub mod track_drawing;

pub use chart::{Picture, PictureError};
