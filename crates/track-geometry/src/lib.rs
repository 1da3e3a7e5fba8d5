//! The geometry of an ice track: reference line, banking, cross-section, surface.
//!
//! Invariant: nothing here knows a mass, a force or a time.
//!
//! A track from its two files, and the ice at a station:
//!
//! ```
//! let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tracks/oskerdale");
//! let text = |name: &str| std::fs::read_to_string(format!("{folder}/{name}"));
//! let (toml, csv) = (text("track.toml")?, text("stations.csv")?);
//! let read = track_geometry::track_file::read_track("track.toml", &toml, "stations.csv", &csv)?;
//! let track = track_geometry::track::Track::new(read.track)?;
//! let at = track.surface.station(600.0);
//! println!("{}, 600 m: elevation {:.1} m, height 0.5 m to the left {:.2} m", track.data.name, at.elevation_m, at.height_m(0.5));
//! assert_eq!(track.data.corners.len(), 14);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

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
pub(crate) mod table_check;
pub mod table_file;
pub(crate) mod table_row;
pub mod toml_keys;
pub mod track;
pub mod track_builder;
pub mod track_file;
