//! A model fitted to timed runs: least squares, then a posterior with priors that are named.
//!
//! ```text
//!   least over x of   sum_r |L_r^-1 (y_r - f_r(x))|^2 + sum_j ((x_j - m_j)/s_j)^2,   C_r = L_r L_r^T
//!   covariance of x   (sum_r A_r^T A_r + S^-2)^-1,   A_r = L_r^-1 df_r/dx
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | x | `estimates`, the unknowns | each its own |
//! | `y_r`, `C_r` | `values`, `covariance` of run r | s, s2 (m/s of a speed trap) |
//! | `f_r` | `predict` | as y |
//! | `m_j`, `s_j` | `prior` of unknown j; none in least squares | as x |
//!
//! *Valid for* models that are nearly straight over the width of the posterior. *Assumes* normal errors and priors,
//! runs independent of each other given the unknowns. *Source*: Levenberg, Marquardt as in *Nocedal 2006* (10.2);
//! normal likelihood and prior, linear at the best point. *Checked by* `published_certified_misra1a`,
//! `published_certified_danwood`, `exact_linear_posterior`.
//!
//! The model comes from the caller as a function; nothing here knows what it computes.

pub mod by_drawing;
pub mod checking;
#[cfg(test)]
mod conjugate;
pub mod given_errors;
pub mod noise;
pub mod predicted;
pub mod solve;
pub mod worth;

use nalgebra::{DMatrix, DVector};

/// A singular value of the scaled problem this far below the greatest leaves an unknown undetermined `[-]`: what is
/// smaller may be error of the difference quotients.
pub(crate) const LEAST_SINGULAR: f64 = 1e-6;

/// A normal prior.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior {
    /// Mean, in the unit of the unknown.
    pub mean: f64,
    /// Standard deviation, greater than 0.
    pub sd: f64,
}

/// Something that is to be found.
#[derive(Clone, Debug, PartialEq)]
pub struct Unknown {
    /// Its name.
    pub name: String,
    /// Where the prior is from, or what it is.
    pub source: String,
    /// What was believed before; none in least squares.
    pub prior: Option<Prior>,
    /// Where the search begins.
    pub start: f64,
    /// Half the width of the difference quotients, in the unit of the unknown.
    pub step: f64,
    /// The one run that it belongs to; none where it is shared by all.
    pub run: Option<usize>,
}

/// What was measured in one run.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// Name of the run.
    pub name: String,
    /// Where each value was measured, in the order of time; a speed trap last.
    pub places: Vec<String>,
    /// How many of the values, from the first, are times since the clock started; the rest are speeds.
    pub times: usize,
    /// Times (s), then speeds (m/s).
    pub values: Vec<f64>,
    /// Covariance of their errors.
    pub covariance: DMatrix<f64>,
}

/// A model: the values of a run at given unknowns; `None` where there are none.
pub type Predict<'a> = dyn Fn(usize, &[f64]) -> Option<Vec<f64>> + 'a;

/// Unknowns, measurements and a model.
#[derive(Clone, Copy)]
pub struct Question<'a> {
    /// What is to be found.
    pub unknowns: &'a [Unknown],
    /// What was measured.
    pub runs: &'a [Measured],
    /// What the model says of a run.
    pub predict: &'a Predict<'a>,
    /// A run of which only the first so many values are used: what it does afterwards is to be predicted.
    pub held_out: Option<(usize, usize)>,
}

impl Question<'_> {
    /// How many values of a run are used.
    pub(crate) fn used(&self, run: usize) -> usize {
        match self.held_out {
            Some((held, first)) if held == run => first.min(self.runs[run].values.len()),
            _ => self.runs[run].values.len(),
        }
    }
}

/// Why there is no fit.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FitFailure {
    /// There are no unknowns or no measurements.
    #[error("nothing to fit")]
    Nothing,
    /// A covariance is not positive, or its shape is not that of the values.
    #[error("run {run}: its errors have no covariance to work with")]
    Covariance {
        /// Name of the run.
        run: String,
    },
    /// The model says nothing at the start of the search.
    #[error("run {run}: the model gives no times to begin with")]
    NoPrediction {
        /// Name of the run.
        run: String,
    },
    /// The data determine fewer unknowns than asked for.
    #[error("the runs determine {determined} unknowns; {wanted} are wanted")]
    Undetermined {
        /// Unknowns that are determined.
        determined: usize,
        /// Unknowns asked for.
        wanted: usize,
    },
    /// The search did not settle.
    #[error("the search did not settle ({steps} steps): no estimate")]
    NotConverged {
        /// Steps that were tried.
        steps: usize,
    },
}

/// What was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Best values of the unknowns.
    pub estimates: DVector<f64>,
    /// Their covariance, by the stated errors (not scaled by the residuals).
    pub covariance: DMatrix<f64>,
    /// Greatest over least singular value of the problem, columns scaled to length one `[-]`.
    pub condition: f64,
    /// Values less model for each run, whitened by the covariance of the run: independent, of standard deviation one.
    pub whitened: Vec<DVector<f64>>,
    /// Derivatives of the model for each run, whitened alike.
    pub(crate) slopes: Vec<DMatrix<f64>>,
    /// What the model says of each run there, all values.
    pub predicted: Vec<Vec<f64>>,
    /// Weighted sum of squares of the measurements.
    pub chi_square: f64,
    /// That of the priors.
    pub prior_chi_square: f64,
    /// Values that were used.
    pub values: usize,
    /// Steps of the search.
    pub(crate) steps: usize,
}

impl Fit {
    /// Standard error of an unknown.
    pub fn error(&self, j: usize) -> f64 {
        self.covariance[(j, j)].max(0.0).sqrt()
    }

    /// Correlation of two unknowns `[-]`.
    pub fn correlation(&self, i: usize, j: usize) -> f64 {
        self.covariance[(i, j)] / (self.error(i) * self.error(j))
    }

    /// Standard deviation afterwards over that before `[-]`; none without a prior.
    pub fn narrowed(&self, j: usize, unknown: &Unknown) -> Option<f64> {
        unknown.prior.map(|p| self.error(j) / p.sd)
    }
}

#[cfg(test)]
mod tests;
