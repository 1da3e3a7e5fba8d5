//! Settings of the solver and the faults of a start.

/// When to stop and how to regularise. All costs in the units of the problem.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Greatest number of backward sweeps.
    pub iterations: usize,
    /// Ends when the cost of a trajectory without gaps fell by less than `gain_tolerance` of it over this many sweeps.
    pub patience: usize,
    /// Converged when the expected gain of a full step is below this share of the cost.
    pub gain_tolerance: f64,
    /// ... or when no free control has a cost gradient above this, whatever the
    /// regularisation. Not a share of the cost: a start that has run away costs so much
    /// that any gradient would be a small share of it.
    pub gradient_tolerance: f64,
    /// ... and in any case only when no entry of a gap is above this.
    pub gap_tolerance: f64,
    /// Regularisation at the start.
    pub regularisation: f64,
    /// Regularisation below this is set to zero.
    pub regularisation_least: f64,
    /// A small expected gain counts as convergence only below this regularisation,
    /// since a large one makes every step small.
    pub regularisation_at_end: f64,
    /// Above this the solver gives up.
    pub regularisation_greatest: f64,
    /// Share of the regularisation that holds the control instead of the state.
    pub control_share: f64,
    /// Number of halvings of the step before it counts as failed.
    pub halvings: usize,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            iterations: 300,
            patience: usize::MAX,
            gain_tolerance: 1e-10,
            gradient_tolerance: 1e-7,
            gap_tolerance: 1e-9,
            regularisation: 1e-6,
            regularisation_least: 1e-9,
            regularisation_at_end: 1e-5,
            regularisation_greatest: 1e10,
            control_share: 1e-3,
            halvings: 12,
        }
    }
}

/// What is wrong with a start; the solver has not begun.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum StartFault {
    /// Number of controls given, and number of stages.
    #[error("{got} controls for {stages} stages")]
    Controls {
        /// Given.
        got: usize,
        /// Wanted.
        stages: usize,
    },
    /// Number of states given; one more than stages is wanted.
    #[error("{got} states where {wanted} are wanted")]
    States {
        /// Given.
        got: usize,
        /// Wanted.
        wanted: usize,
    },
    /// A control that is not a finite number.
    #[error("stage {stage}: control {entry} is {got}; a finite number is wanted")]
    Control {
        /// Stage.
        stage: usize,
        /// Entry of the control.
        entry: usize,
        /// Given.
        got: f64,
    },
    /// A state that is not a finite number.
    #[error("stage {stage}: state {entry} is {got}; a finite number is wanted")]
    State {
        /// Stage.
        stage: usize,
        /// Entry of the state.
        entry: usize,
        /// Given.
        got: f64,
    },
    /// Limits without room between them.
    #[error("stage {stage}: control {entry} has limits {lower} to {upper}; no value fits")]
    Limits {
        /// Stage.
        stage: usize,
        /// Entry of the control.
        entry: usize,
        /// Least value given.
        lower: f64,
        /// Greatest value given.
        upper: f64,
    },
    /// A setting that is negative or not a number.
    #[error("setting {name} is {got}; zero or more is wanted")]
    Setting {
        /// Its name.
        name: &'static str,
        /// Given.
        got: f64,
    },
}

impl Settings {
    pub(super) fn faults(&self) -> impl Iterator<Item = StartFault> {
        [
            ("gain_tolerance", self.gain_tolerance),
            ("gradient_tolerance", self.gradient_tolerance),
            ("gap_tolerance", self.gap_tolerance),
            ("regularisation", self.regularisation),
            ("regularisation_least", self.regularisation_least),
            ("regularisation_at_end", self.regularisation_at_end),
            ("regularisation_greatest", self.regularisation_greatest),
            ("control_share", self.control_share),
        ]
        .into_iter()
        .filter(|(_, got)| got.is_nan() || *got < 0.0)
        .map(|(name, got)| StartFault::Setting { name, got })
    }
}
