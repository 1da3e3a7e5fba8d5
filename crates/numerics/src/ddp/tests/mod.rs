//! Checks of the solver, one file a problem.

mod linear_quadratic;
