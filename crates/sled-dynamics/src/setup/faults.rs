//! What can be wrong with a set-up: where it stands, what was read, what is allowed.

use file_faults::Place;
use std::fmt;

/// One thing wrong with a set-up.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{}", file_faults::one_line(&format!("{}: {}", .place, .problem)))]
pub struct Fault {
    /// Where: in a file, in an option, or in a value that was set, as in a sweep.
    pub place: Place,
    /// What is wrong.
    pub problem: Problem,
}

impl Fault {
    /// The key it is about; empty if it is about none.
    pub fn key(&self) -> &str {
        self.place.key.as_deref().unwrap_or("")
    }
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Problem {
    /// The text is no TOML.
    #[error("not TOML: {message}")]
    Syntax {
        /// What the reader of TOML says.
        message: String,
    },
    /// A number with a decimal comma.
    #[error("got {read}; allowed: a decimal point, {point}")]
    DecimalComma {
        /// As written.
        read: String,
        /// With a point.
        point: String,
    },
    /// No such key or table.
    #[error("no such key{}", .nearest.as_ref().map_or(String::new(), |n| format!(", nearest is {n}")))]
    UnknownKey {
        /// The nearest key or table there is, if one is near.
        nearest: Option<String>,
    },
    /// Another type than the key has.
    #[error("got {read}; allowed: {allowed}")]
    WrongType {
        /// As written, with its type.
        read: String,
        /// What the key takes.
        allowed: &'static str,
    },
    /// A number outside its limits.
    #[error("got {}; allowed: {least} to {}", with_unit(.value, .unit), with_unit(.most, .unit))]
    OutOfRange {
        /// As read, in the unit of the file.
        value: f64,
        /// Least allowed.
        least: f64,
        /// Greatest allowed.
        most: f64,
        /// Unit as people write it.
        unit: &'static str,
    },
    /// A word that is none of the choices.
    #[error("got \"{read}\"; allowed: \"{}\"", .allowed.join("\", \""))]
    NotAChoice {
        /// As written.
        read: String,
        /// The choices.
        allowed: &'static [&'static str],
    },
    /// A name that is empty, too long or has control characters.
    #[error("got {read:?}; allowed: 1 to {longest} characters on one line")]
    BadName {
        /// As written.
        read: String,
        /// The greatest length in characters.
        longest: usize,
    },
    /// A row of a friction table that cannot be.
    #[error("row {row}: got [{}, {}]; allowed: {allowed}", .read.0, .read.1)]
    BadRow {
        /// Row, from 1.
        row: usize,
        /// As read: speed (m/s) and coefficient.
        read: (f64, f64),
        /// What is allowed.
        allowed: &'static str,
    },
    /// Too few rows.
    #[error("got {rows} rows; allowed: {least} or more")]
    TooFewRows {
        /// How many there are.
        rows: usize,
        /// How many there must be.
        least: usize,
    },
    /// Two keys that exclude each other.
    #[error("given together with {other}; allowed: one of the two")]
    BothGiven {
        /// The other key.
        other: &'static str,
    },
    /// A value that needs another key.
    #[error("got \"{read}\", which needs {other}")]
    Needs {
        /// As read.
        read: &'static str,
        /// The key that is missing.
        other: &'static str,
    },
    /// A key that changes nothing here.
    #[error("has no effect unless {other} = \"{needed}\" is written")]
    NoEffect {
        /// The key that decides about it.
        other: &'static str,
        /// What that key would have to be.
        needed: &'static str,
    },
    /// Two numbers that do not fit together.
    #[error("got {value} {unit}; allowed: {relation} {limit} {unit} ({from})")]
    DoNotFit {
        /// As read or by default, in the unit of the file.
        value: f64,
        /// Unit as people write it.
        unit: &'static str,
        /// How it must stand to the limit.
        relation: Relation,
        /// The limit, in the same unit.
        limit: f64,
        /// Where the limit comes from.
        from: &'static str,
    },
    /// A runner bent further than its steel stays elastic.
    #[error("bends the runner to {stress_mpa:.0} MPa; allowed: up to the yield stress, {yield_mpa:.0} MPa")]
    PastYield {
        /// Greatest bending stress of the runner as screwed, off the ice (MPa).
        stress_mpa: f64,
        /// Yield stress (MPa).
        yield_mpa: f64,
    },
}

/// A number with its unit, if it has one.
pub fn with_unit(value: &f64, unit: &str) -> String {
    if unit.is_empty() { value.to_string() } else { format!("{value} {unit}") }
}

/// How a number must stand to its limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Relation {
    /// The limit or less.
    AtMost,
    /// The limit or more.
    AtLeast,
    /// On either side, nearer to the middle than the limit.
    NearerThan,
}

/// Everything wrong with a set-up, in the order of the file; never empty.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{}", file_faults::lines(.0))]
pub struct Faults(pub Vec<Fault>);

impl fmt::Display for Relation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::AtMost => "at most",
            Self::AtLeast => "at least",
            Self::NearerThan => "nearer to the middle than",
        })
    }
}
