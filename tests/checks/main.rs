//! Checks of the whole workspace, one binary.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod athlete;
mod bench;
mod bench_inputs;
mod bench_runners;
mod cli;
mod compare;
mod edges;
mod evening;
mod evidence;
mod geometry;
mod house;
#[cfg(unix)]
mod interrupt;
mod ledger;
mod losses;
mod made;
mod motion;
mod notebook;
mod on_runners;
mod plan;
mod plan_store;
mod plausible;
mod readme;
mod ride_plan;
mod schema;
mod slopes;
mod sweep;
mod sweep_outside;
mod sweep_rides;
mod swing;
mod told;
mod told_line;
mod trade;
mod travel;
mod trust;
