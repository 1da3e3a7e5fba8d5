//! Checks of the whole workspace, one binary.
#![allow(clippy::unwrap_used, clippy::expect_used)]
// nothing is outside of a binary: `pub` is its own crate here
#![allow(unreachable_pub)]

mod athlete;
mod begin;
mod bench;
mod bench_inputs;
mod bench_runners;
mod calibration;
mod cli;
mod compare;
#[cfg(unix)]
mod disk;
mod edges;
mod evening;
mod evidence;
mod geometry;
mod house;
#[cfg(unix)]
mod interrupt;
mod ledger;
mod log;
mod losses;
mod made;
mod mistyped;
mod motion;
mod notebook;
mod on_runners;
mod page;
mod page_evidence;
mod page_requests;
mod page_written;
mod plan;
mod plan_store;
mod plausible;
mod readme;
mod refused;
mod ride_plan;
mod schema;
mod slopes;
mod steering;
mod sweep;
mod sweep_choice;
mod sweep_outside;
mod sweep_rides;
mod swing;
mod told;
mod told_line;
mod trade;
mod travel;
mod trial_runs;
mod trust;
