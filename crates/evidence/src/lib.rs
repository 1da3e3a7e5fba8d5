//! What runs can tell, and how surely: power of paired tests, orders, worth of information, when to stop, timing sheets,
//! which run next, A/B runs, runs of a team pooled, a model calibrated to runs, a notebook of runs.
//!
//! Invariant: nothing here opens a file, starts a thread, prints, or knows of tracks and sleds.
//!
//! How many pairs of runs show a difference of 0.1 s where runs spread by 0.165 s, and the order safe against drift:
//!
//! ```
//! use evidence::orders::safest_order;
//! use evidence::paired_power::{pair_spread_s, pairs_needed};
//!
//! let pairs = pairs_needed(0.1 / pair_spread_s(0.165), 0.8, 0.05).ok_or("never")?.ceil();
//! println!("{pairs} pairs; first of them {:?}", safest_order(2).arms);
//! assert_eq!(pairs, 45.0);
//! # Ok::<(), &str>(())
//! ```

pub mod alignment;
pub mod calibration;
pub mod decision;
pub(crate) mod linear_normal;
pub mod motion_log;
pub mod next_run;
pub mod notebook;
pub mod orders;
pub mod paired_power;
pub mod pooling;
pub mod questions;
pub(crate) mod run_place;
pub mod sheet;
pub mod stopping;
mod table_text;
pub mod trial_analysis;
pub mod trial_plan;
