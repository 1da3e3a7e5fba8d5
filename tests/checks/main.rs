//! Checks of the whole workspace, one binary.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod geometry;
mod ledger;
mod made;
mod motion;
