//! The sled bench on the evening before: what a reading means, what to turn, what that does.
//!
//! Invariant: nothing here opens a file, prints, or knows a track.
//!
//! Where sled and athlete balance, from what two scales read:
//!
//! ```
//! use sled_bench::balance::ballast_to_limit_kg;
//!
//! // 112 kg of athlete and sled, a stated limit of 115 kg, half a kilogram kept for snow
//! assert_eq!(ballast_to_limit_kg(112.0, 115.0, 0.5), 2.5);
//! ```

pub mod balance;
pub mod bow_fit;
pub mod faults;
pub mod pair_fit;
pub mod passing;
pub mod readings;
pub mod rules;
pub mod runner_files;
pub mod runner_record;
pub mod target;
pub mod turns;
pub mod unit_shape;
