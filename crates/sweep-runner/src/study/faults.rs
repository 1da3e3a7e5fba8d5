//! What can be wrong with a study: where it stands, what was read, what is allowed.

use crate::study::axes::NoAxis;
use file_faults::Place;
use sled_dynamics::setup::faults::{Problem, with_unit};
use track_geometry::faults::FaultKind;

/// One thing wrong with a study.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{}", file_faults::one_line(&format!("{}: {}", .place, .problem)))]
pub struct StudyFault {
    /// Where.
    pub(crate) place: Place,
    /// What.
    pub(crate) problem: StudyProblem,
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub(crate) enum StudyProblem {
    /// The file, a key or a type.
    #[error(transparent)]
    Reading(FaultKind),
    /// No seed is written.
    #[error("no seed; write one, for example seed = 1: the same seed gives the same table")]
    NoSeed,
    /// A key that cannot be varied.
    #[error("got \"{read}\": {why}")]
    NoAxis {
        /// As written.
        read: String,
        /// Why.
        why: NoAxis,
    },
    /// A key that two axes vary.
    #[error("{key} is varied by an axis above; allowed: one axis for each key")]
    Twice {
        /// The key.
        key: &'static str,
    },
    /// A key that the model does not know.
    #[error("{key} changes nothing here; it needs {needed}")]
    NoEffect {
        /// The key.
        key: &'static str,
        /// What would have to be different.
        needed: &'static str,
    },
    /// A value outside the limits of its key.
    #[error("{key} reaches {}; allowed: {least} to {}", with_unit(.value, .unit), with_unit(.most, .unit))]
    OutOfLimits {
        /// The key.
        key: &'static str,
        /// As read, or as far as a distribution reaches.
        value: f64,
        /// Least allowed.
        least: f64,
        /// Greatest allowed.
        most: f64,
        /// Unit as people write it.
        unit: &'static str,
    },
    /// No level of skill.
    #[error("got \"{read}\"; allowed: \"{}\"", .allowed.join("\", \""))]
    NoLevel {
        /// As written.
        read: String,
        /// The levels.
        allowed: Vec<&'static str>,
    },
    /// Keys of an axis that do not say over which values.
    #[error("does not say over which values; allowed: {allowed}")]
    NoLevels {
        /// What the design takes.
        allowed: &'static str,
    },
    /// Numbers that cannot be.
    #[error("impossible; {allowed}")]
    Impossible {
        /// What must hold.
        allowed: &'static str,
    },
    /// Too many cases.
    #[error(
        "{}; allowed: {most}; {instead}",
        .cases.map_or("more cases than can be counted".into(), |n| format!("{n} cases"))
    )]
    TooManyCases {
        /// How many; none if they cannot be counted.
        cases: Option<usize>,
        /// How many are allowed.
        most: usize,
        /// What to do.
        instead: &'static str,
    },
    /// A whole number outside its limits.
    #[error("got {read}; allowed: a whole number from {least} to {most}")]
    Count {
        /// As read.
        read: f64,
        /// Least allowed.
        least: usize,
        /// Greatest allowed.
        most: usize,
    },
    /// The base set-up cannot take the value.
    #[error(transparent)]
    Setup(Problem),
    /// The base set-up has no value that a step could start from.
    #[error("{key} has no value of its own in this set-up that a step could start from; set it there")]
    NoBase {
        /// The key.
        key: &'static str,
    },
}

/// Everything wrong with a study, in the order of the file; never empty inside an `Err`.
#[derive(Clone, Debug, Default, PartialEq, thiserror::Error)]
#[error("{}", file_faults::lines(.0))]
pub struct StudyFaults(pub Vec<StudyFault>);

impl StudyFaults {
    /// Adds a fault.
    pub(crate) fn add(&mut self, place: Place, problem: StudyProblem) {
        self.0.push(StudyFault { place, problem });
    }

    /// In the order of the file.
    pub(crate) fn sorted(mut self) -> StudyFaults {
        self.0.sort_by_key(|f| (f.place.line, f.place.column));
        self
    }
}
