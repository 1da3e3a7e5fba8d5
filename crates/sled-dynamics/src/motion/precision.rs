//! How exactly a descent is computed, and how exact it came out.

pub use numerics::stepping::Pair;

/// How exactly a descent is computed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Precision {
    /// The formulas of a step.
    pub pair: Pair,
    /// Error allowed in one step, as a share of one second, one metre, one radian, 10 m/s and 1 rad/s `[-]`.
    pub tolerance: f64,
    /// Greatest step (m).
    pub greatest_step_m: f64,
}

impl Default for Precision {
    fn default() -> Self {
        Precision { pair: Pair::Fifth, tolerance: 1e-6, greatest_step_m: 2.0 }
    }
}

impl Precision {
    /// A coarser one to compare with: ten times the tolerance and twice the greatest step.
    pub(crate) fn coarser(self) -> Precision {
        Precision { tolerance: 10.0 * self.tolerance, greatest_step_m: 2.0 * self.greatest_step_m, ..self }
    }
}

/// What to keep of a descent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Detail {
    /// Splits, energy and events, and how exact the times are.
    Times,
    /// Splits, energy and events only: one integration, no estimate of the error.
    Bare,
    /// Also a trace at this spacing (m), and the corners from it.
    Trace(f64),
}

/// The coarser integration ends its steps on every second knot of the track only.
pub(crate) const COARSER_STRIDE: usize = 2;
/// A time is never called more exact than this (s).
pub(crate) const LEAST_ERROR_S: f64 = 1e-7;

/// Error of a time from the same integration at two precisions, the second [`Precision::coarser`].
///
/// The error of the finer is about a tenth of the difference. Twice the difference is printed,
/// so that the figure also bounds what a still finer tolerance would change.
pub(crate) fn error_s(fine_s: f64, coarse_s: f64) -> f64 {
    (2.0 * (fine_s - coarse_s).abs()).max(LEAST_ERROR_S)
}
