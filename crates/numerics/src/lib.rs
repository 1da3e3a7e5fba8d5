//! Numerical methods with no word of physics: splines, stepping, roots,
//! quadrature, dual numbers.
//!
//! Invariant: nothing here knows a track, a sled or a unit.

pub mod ddp;
pub mod dual;
