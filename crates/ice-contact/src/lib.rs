//! A bowed steel runner on the ice: beam, contact, friction, grip.
//!
//! Invariant: nothing here knows a track, a sled's motion or a file.
//!
//! One runner with 4 mm of bow under half of a sled on flat ice:
//!
//! ```
//! use ice_contact::contact::{ContactSolver, Demand};
//! use ice_contact::patches::Contact;
//! use ice_contact::runner::{Bow, IceState, RunnerSpec};
//!
//! let (runner, ice) = (RunnerSpec::default(), IceState::at_temperature(-5.0, 0.25));
//! let mut solver = ContactSolver::new(&runner, Bow::even(4e-3), &ice).map_err(|f| format!("{f:?}"))?;
//! let demand = Demand { load_n: 560.0, ice_curvature_per_m: 0.0, centroid_m: 0.0 };
//! assert!(solver.solve(demand).is_balanced());
//! let contact = Contact::of(&solver, &runner);
//! println!("touches over {:.0} mm, {:.0} % of the load outside the screws", 1e3 * contact.touch_span_m, 100.0 * contact.outside_share);
//! # Ok::<(), String>(())
//! ```

mod banded;
pub mod beam;
mod chained;
pub mod contact;
pub mod film;
mod foundation;
pub mod free_shape;
pub mod friction;
pub mod hardness;
pub mod kept_tables;
mod lanes;
pub mod lateral;
mod melt;
pub mod patches;
pub mod plough;
mod rig;
pub mod rod;
pub mod runner;
pub mod tables;

#[cfg(test)]
mod reference_tests;
