//! The page: a set-up's controls and what they do, for coaches and athletes, served on this machine alone.
//!
//! Requests become questions (`asked`), questions go to a desk (`desk`), and come back first roughly (`rough`), then
//! in full (`ridden`), told in the words of the command line (`told`).
//!
//! Invariant: no file is opened, nothing is printed, and no socket but one on loopback.

pub mod asked;
mod assets;
mod contact_told;
pub mod controls;
mod curves;
pub mod desk;
pub mod evening;
pub mod evidence;
mod evidence_markup;
mod guard;
mod ice_told;
mod job;
mod line_markup;
mod line_told;
mod markup;
pub mod pairs;
pub mod parsed;
pub mod ridden;
mod rough;
mod routes;
mod serve;
mod told;
mod track_checked;
mod track_markup;
mod track_told;
mod written;

pub use desk::{Desk, Given};
pub use serve::{Door, serve};
pub use written::written;

#[cfg(test)]
mod tests;
