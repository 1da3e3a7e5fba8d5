//! What can be wrong with a study: where it stands, what was read, what is allowed.

use crate::study::axes::NoAxis;
use sled_dynamics::setup::faults::Problem;
use std::fmt;
use track_geometry::faults::{FaultKind, Place};

/// One thing wrong with a study.
#[derive(Clone, Debug, PartialEq)]
pub struct StudyFault {
    /// Where.
    pub(crate) place: Place,
    /// What.
    pub(crate) problem: StudyProblem,
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum StudyProblem {
    /// The file, a key or a type.
    Reading(FaultKind),
    /// No seed is written.
    NoSeed,
    /// A key that cannot be varied.
    NoAxis {
        /// As written.
        read: String,
        /// Why.
        why: NoAxis,
    },
    /// A key that two axes vary.
    Twice {
        /// The key.
        key: &'static str,
    },
    /// A key that the model does not know.
    NoEffect {
        /// The key.
        key: &'static str,
        /// What would have to be different.
        needed: &'static str,
    },
    /// A value outside the limits of its key.
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
    NoLevel {
        /// As written.
        read: String,
        /// The levels.
        allowed: Vec<&'static str>,
    },
    /// Keys of an axis that do not say over which values.
    NoLevels {
        /// What the design takes.
        allowed: &'static str,
    },
    /// Numbers that cannot be.
    Impossible {
        /// What must hold.
        allowed: &'static str,
    },
    /// Too many cases.
    TooManyCases {
        /// How many; none if they cannot be counted.
        cases: Option<usize>,
        /// How many are allowed.
        most: usize,
        /// What to do.
        instead: &'static str,
    },
    /// A whole number outside its limits.
    Count {
        /// As read.
        read: f64,
        /// Least allowed.
        least: usize,
        /// Greatest allowed.
        most: usize,
    },
    /// The base set-up cannot take the value.
    Setup(Problem),
    /// The base set-up has no value that a step could start from.
    NoBase {
        /// The key.
        key: &'static str,
    },
}

impl fmt::Display for StudyProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Reading(kind) => kind.fmt(f),
            Self::NoSeed => {
                write!(f, "no seed; write one, for example seed = 1: the same seed gives the same table")
            }
            Self::NoAxis { read, why } => write!(f, "read \"{read}\": {why}"),
            Self::Twice { key } => write!(f, "{key} is varied by an axis above; one axis a key is allowed"),
            Self::NoEffect { key, needed } => write!(f, "{key} changes nothing here; it needs {needed}"),
            Self::OutOfLimits { key, value, least, most, unit } => {
                let gap = if unit.is_empty() { "" } else { " " };
                write!(f, "{key} reaches {value}{gap}{unit}, allowed {least} to {most}{gap}{unit}")
            }
            Self::NoLevel { read, allowed } => {
                write!(f, "read \"{read}\", allowed \"{}\"", allowed.join("\", \""))
            }
            Self::NoLevels { allowed } => write!(f, "does not say over which values; allowed {allowed}"),
            Self::Impossible { allowed } => write!(f, "impossible; {allowed}"),
            Self::TooManyCases { cases, most, instead } => match cases {
                Some(cases) => write!(f, "{cases} cases, allowed {most}; {instead}"),
                None => write!(f, "more cases than can be counted, allowed {most}; {instead}"),
            },
            Self::Count { read, least, most } => {
                write!(f, "read {read}, allowed a whole number from {least} to {most}")
            }
            Self::Setup(problem) => problem.fmt(f),
            Self::NoBase { key } => {
                write!(
                    f,
                    "{key} has no value of its own in this set-up that a step could start from; set it there"
                )
            }
        }
    }
}

/// Everything wrong with a study, in the order of the file; never empty inside an `Err`.
#[derive(Clone, Debug, Default, PartialEq)]
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

impl fmt::Display for StudyFaults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, fault) in self.0.iter().enumerate() {
            let gap = if i > 0 { "\n" } else { "" };
            write!(f, "{gap}{}: {}", fault.place, fault.problem)?;
        }
        Ok(())
    }
}

impl std::error::Error for StudyFaults {}
