//! The motion of a sled on the surface of a track: laws, equations, descents.
//!
//! Invariant: nothing here opens a file or starts a thread.
//!
//! A set-up on a track, and ten descents of the classic first estimate over the ballast:
//!
//! ```
//! use sled_dynamics::motion::{equations::Constants, guided::guided, launch::Launch};
//! use sled_dynamics::motion::precision::{Detail, Precision};
//! use sled_dynamics::setup::{file::read_setup, keys::set};
//! use track_geometry::{track::Track, track_file::read_track};
//!
//! let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
//! let text = |name: &str| std::fs::read_to_string(format!("{root}/{name}"));
//! let (toml, csv) = (text("tracks/oskerdale/track.toml")?, text("tracks/oskerdale/stations.csv")?);
//! let track = Track::new(read_track("track.toml", &toml, "stations.csv", &csv)?.track)?;
//! let mut setup = read_setup("clubs-woman.toml", &text("examples/clubs-woman.toml")?, &[])?;
//! let mut last_s = f64::INFINITY;
//! for ballast_kg in 0..10 {
//!     set(&mut setup, "sled.ballast_kg", f64::from(ballast_kg))?;
//!     let constants = Constants::new(&setup, &track.data);
//!     let friction = setup.ice.guided_friction;
//!     let launch = Launch::from_push(&setup.push, &track, &constants, friction)?;
//!     let descent = guided(&track, &constants, &launch, friction, Precision::default(), Detail::Times);
//!     let finish_s = descent.finish_time_s.ok_or("it halted")?;
//!     println!("{ballast_kg} kg: {finish_s:.3} s");
//!     assert!(finish_s < last_s, "more mass against the same air is faster");
//!     last_s = finish_s;
//! }
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod analysis;
pub mod laws;
pub mod motion;
pub mod riding;
pub mod setup;
