//! Numerical methods with no word of physics: splines, stepping, roots,
//! quadrature, dual numbers, design points, sensitivity indices.
//!
//! Invariant: nothing here knows a track, a sled or a unit.
//!
//! Where a function crosses zero:
//!
//! ```
//! let root = numerics::roots::brent(0.0, 2.0, 1e-12, |x| x * x - 2.0);
//! assert!((root.unwrap_or(f64::NAN) - 2_f64.sqrt()).abs() < 1e-11);
//! ```

pub mod checksum;
pub mod ddp;
pub mod dual;
pub mod grid_spline;
pub mod least_squares;
pub mod points;
pub mod quadrature;
pub mod roots;
pub mod sobol_indices;
pub mod spline;
pub mod stabilised;
pub mod stepping;
pub mod turns;
