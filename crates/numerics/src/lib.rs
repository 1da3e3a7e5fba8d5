//! Numerical methods with no word of physics: splines, stepping, roots,
//! quadrature, dual numbers, design points, sensitivity indices.
//!
//! Invariant: nothing here knows a track, a sled or a unit.

pub mod ddp;
pub mod dual;
pub mod grid_spline;
pub mod least_squares;
pub mod points;
pub mod quadrature;
pub mod roots;
pub mod sobol_indices;
pub mod spline;
pub mod stepping;
