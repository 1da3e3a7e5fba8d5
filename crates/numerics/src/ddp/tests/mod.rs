//! Checks of the solver, one file a problem.
#![allow(clippy::unwrap_used)]

mod brachistochrone;
mod double_integrator;
mod failures;
mod linear_quadratic;
mod pendulum;
mod to_target;
