//! Planning and riding: one case, ensembles of rides, differences between set-ups.

pub mod beside_steps;
pub mod case;
pub mod cause;
pub mod choice;
pub mod corner_loads;
pub mod ensemble;
pub mod figures;
pub mod inferred;
pub mod level_losses;
pub mod levelled;
pub mod mistakes;
pub mod paired;
pub mod pieced;
pub mod plan_bytes;
pub mod planner;
pub mod prepared;
pub mod ride_card;
mod skidding;
pub(crate) mod spliced;
pub mod told;
pub mod weather;
pub mod words;
