//! What the solver hands back.

use std::fmt;

/// Why a solve made no more progress.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stall {
    /// No step improved the merit, at any regularisation.
    NoDescent {
        /// Stage at which the last tried step left the domain, if it did.
        left_domain_at: Option<usize>,
    },
    /// The Hessian of a stage stayed indefinite, at any regularisation.
    NotConvex {
        /// The stage.
        stage: usize,
    },
}

/// How a solve ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Dynamics met, first-order optimal within the tolerances.
    Converged,
    /// Not converged within the allowed iterations.
    MaxIterations,
    /// Not converged, but the cost hardly falls any more: see [`Settings::patience`](super::settings::Settings).
    Creeping,
    /// No more progress.
    Stalled(Stall),
    /// The start is outside the domain at this stage (the number of stages stands for
    /// the final cost), or its derivatives are.
    LeftDomain {
        /// The stage.
        stage: usize,
    },
}

impl fmt::Display for Status {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Status::Converged => write!(f, "converged"),
            Status::MaxIterations => write!(f, "not converged within the allowed iterations"),
            Status::Creeping => write!(f, "not converged, and the cost hardly falls any more"),
            Status::Stalled(Stall::NoDescent { left_domain_at: None }) => {
                write!(f, "stalled: no step improves")
            }
            Status::Stalled(Stall::NoDescent { left_domain_at: Some(stage) }) => {
                write!(f, "stalled: no step improves; the last one left the domain at stage {stage}")
            }
            Status::Stalled(Stall::NotConvex { stage }) => {
                write!(f, "stalled: stage {stage} has no least cost")
            }
            Status::LeftDomain { stage } => write!(f, "the start is outside the domain at stage {stage}"),
        }
    }
}

/// One iteration.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Iteration {
    /// Cost before the step.
    pub(crate) cost: f64,
    /// Greatest entry of a gap before the step.
    pub(crate) gap: f64,
    /// Slope of the cost along the full step (negative: downhill); not a number if the
    /// sweep failed.
    pub(crate) slope: f64,
    /// Greatest cost gradient of a control that no limit holds, with the feedback acting
    /// after it (without, an unstable system would make it huge); not a number if the
    /// sweep failed.
    pub(crate) gradient: f64,
    /// Regularisation of the sweep.
    pub(crate) regularisation: f64,
    /// Length of the step taken, zero if none was.
    pub(crate) step: f64,
}

/// The best trajectory found and how good it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution<const N: usize, const M: usize> {
    /// How the solve ended. Everything else is only an optimum if converged.
    pub status: Status,
    /// States, one more than stages.
    pub states: Vec<[f64; N]>,
    /// Controls.
    pub controls: Vec<[f64; M]>,
    /// Feedback: `u = controls[k] + gains[k] (x - states[k])`; rows of controls held
    /// by a limit are zero. From the last sweep; belongs to `states` if converged.
    pub gains: Vec<[[f64; N]; M]>,
    /// Derivative of the cost-to-go by the next state of each stage.
    pub costates: Vec<[f64; N]>,
    /// Cost.
    pub cost: f64,
    /// Greatest entry of a gap: above the tolerance, `states` is no motion of the system.
    pub gap: f64,
    /// Number of backward sweeps.
    pub iterations: usize,
    /// Every iteration.
    pub history: Vec<Iteration>,
}
