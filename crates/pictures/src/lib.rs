//! Pictures of tracks and descents, as SVG text and PNG bytes.
//!
//! Invariant: nothing here computes physics or opens a file.
//!
//! ```
//! let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tracks/oskerdale");
//! let text = |name: &str| std::fs::read_to_string(format!("{folder}/{name}"));
//! let (toml, csv) = (text("track.toml")?, text("stations.csv")?);
//! let read = track_geometry::track_file::read_track("track.toml", &toml, "stations.csv", &csv)?;
//! let track = track_geometry::track::Track::new(read.track)?;
//! let plan = pictures::descent_plan::track_plan(&track)?;
//! assert!(plan.svg.starts_with("<svg") && plan.png.starts_with(b"\x89PNG"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod bow_shape;
pub mod bow_window;
pub mod by_place;
pub mod caliper;
pub mod cause_matrix;
pub mod chart;
pub mod contact_ink;
mod contours;
pub mod curve_with_band;
pub mod curves;
pub mod descent_plan;
pub mod descent_trace;
pub mod height_along_bank;
pub mod index_bars;
pub mod intervals;
mod line;
pub mod log_laid_over;
pub mod losses_along;
pub mod map;
mod panel;
pub mod ride_plan;
pub mod scatter;
#[cfg(test)]
mod shipped;
pub mod small_multiples;
mod stacked;
pub mod track_drawing;
pub mod track_sections;

pub use chart::{Picture, PictureError};
