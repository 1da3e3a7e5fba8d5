//! Many descents: cases, ensembles, sweeps, and the tables and summaries they leave.
//!
//! Invariant: nothing here opens a file; results never depend on the number of threads.
//!
//! Plan a ride of a set-up with 4 mm of bow, ride it ten times with the mistakes of a national athlete:
//!
//! ```
//! use sled_dynamics::riding::errors_of_ride::SKILLS;
//! use sled_dynamics::setup::file::read_setup;
//! use sweep_runner::rides::ensemble::{RIDES, ensemble};
//! use sweep_runner::rides::prepared::{Prepared, Ready};
//! use track_geometry::{track::Track, track_file::read_track};
//!
//! let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
//! let text = |name: &str| std::fs::read_to_string(format!("{root}/{name}"));
//! let (toml, csv) = (text("tracks/oskerdale/track.toml")?, text("tracks/oskerdale/stations.csv")?);
//! let track = Track::new(read_track("track.toml", &toml, "stations.csv", &csv)?.track)?;
//! let bow = [("runners.bow_mm".to_string(), "4".to_string())];
//! let setup = read_setup("clubs-woman.toml", &text("examples/clubs-woman.toml")?, &bow)?;
//! let national = SKILLS[2];
//! let ready = Ready::new(&track, &setup)?;
//! let planned = ready.plan(national.lag_s, None)?;
//! let prepared = Prepared::new(ready, planned, national.lag_s)?;
//! let rides = ensemble(&prepared, &national, 1, 10, RIDES).rides;
//! for (i, ride) in rides.iter().enumerate() {
//!     match (ride.finish_time_s, ride.lost) {
//!         (Some(time_s), _) => println!("ride {i}: {time_s:.2} s"),
//!         (None, lost) => println!("ride {i}: lost, {lost:?}"),
//!     }
//! }
//! assert_eq!(rides.len(), 10);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod evening;
pub mod plausible;
pub mod records;
pub mod rides;
pub mod study;
