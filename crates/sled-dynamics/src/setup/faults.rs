//! What can be wrong with a set-up: where it stands, what was read, what is allowed.

use std::fmt;

/// Where something stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// In a file.
    Line {
        /// Name of the file as given.
        file: String,
        /// Line, from 1.
        line: usize,
        /// Column in characters, from 1.
        column: usize,
    },
    /// In a file, at no line of its own: something not written there.
    File {
        /// Name of the file as given.
        file: String,
    },
    /// On the command line.
    SetOption {
        /// The argument, `KEY=VALUE`.
        argument: String,
    },
    /// In a value that was set without file or command line, as in a sweep.
    Value,
}

/// One thing wrong with a set-up.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// Where.
    pub place: Place,
    /// The key it is about; empty if it is about none.
    pub key: String,
    /// What is wrong.
    pub problem: Problem,
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq)]
pub enum Problem {
    /// The text is no TOML.
    Syntax {
        /// What the reader of TOML says.
        message: String,
    },
    /// A number with a decimal comma.
    DecimalComma {
        /// As written.
        read: String,
        /// With a point.
        point: String,
    },
    /// No such key or table.
    UnknownKey {
        /// The nearest key or table there is, if one is near.
        nearest: Option<String>,
    },
    /// Another type than the key has.
    WrongType {
        /// As written, with its type.
        read: String,
        /// What the key takes.
        allowed: &'static str,
    },
    /// A number outside its limits.
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
    NotAChoice {
        /// As written.
        read: String,
        /// The choices.
        allowed: &'static [&'static str],
    },
    /// A name that is empty, too long or has control characters.
    BadName {
        /// As written.
        read: String,
        /// The greatest length in characters.
        longest: usize,
    },
    /// A row of a friction table that cannot be.
    BadRow {
        /// Row, from 1.
        row: usize,
        /// As read: speed (m/s) and coefficient.
        read: (f64, f64),
        /// What is allowed.
        allowed: &'static str,
    },
    /// Too few rows.
    TooFewRows {
        /// How many there are.
        rows: usize,
        /// How many there must be.
        least: usize,
    },
    /// Two keys that exclude each other.
    BothGiven {
        /// The other key.
        other: &'static str,
    },
    /// A value that needs another key.
    Needs {
        /// As read.
        read: &'static str,
        /// The key that is missing.
        other: &'static str,
    },
    /// A key that changes nothing here.
    NoEffect {
        /// The key that decides about it.
        other: &'static str,
        /// What that key would have to be.
        needed: &'static str,
    },
    /// Two numbers that do not fit together.
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
    PastYield {
        /// Greatest bending stress of the runner as screwed, off the ice (MPa).
        stress_mpa: f64,
        /// Yield stress (MPa).
        yield_mpa: f64,
    },
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
#[derive(Clone, Debug, PartialEq)]
pub struct Faults(pub Vec<Fault>);

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Line { file, line, column } => write!(f, "{file}, line {line}, column {column}"),
            Self::File { file } => write!(f, "{file}"),
            Self::SetOption { argument } => write!(f, "--set {argument}"),
            Self::Value => write!(f, "value set"),
        }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.key.is_empty() {
            write!(f, "{}: {}", self.place, self.problem)
        } else {
            write!(f, "{}: {}: {}", self.place, self.key, self.problem)
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Syntax { message } => write!(f, "not TOML: {message}"),
            Self::DecimalComma { read, point } => {
                write!(f, "read {read}, numbers are written with a decimal point: {point}")
            }
            Self::UnknownKey { nearest: Some(nearest) } => write!(f, "no such key, nearest is {nearest}"),
            Self::UnknownKey { nearest: None } => write!(f, "no such key"),
            Self::WrongType { read, allowed } => write!(f, "read {read}, allowed {allowed}"),
            Self::OutOfRange { value, least, most, unit } => {
                let gap = if unit.is_empty() { "" } else { " " };
                write!(f, "read {value}{gap}{unit}, allowed {least} to {most}{gap}{unit}")
            }
            Self::NotAChoice { read, allowed } => {
                write!(f, "read \"{read}\", allowed \"{}\"", allowed.join("\", \""))
            }
            Self::BadName { read, longest } => {
                write!(f, "read {read:?}, allowed 1 to {longest} characters on one line")
            }
            Self::BadRow { row, read, allowed } => {
                write!(f, "row {row}: read [{}, {}], allowed {allowed}", read.0, read.1)
            }
            Self::TooFewRows { rows, least } => write!(f, "read {rows} rows, allowed {least} or more"),
            Self::BothGiven { other } => write!(f, "given together with {other}, allowed one of the two"),
            Self::Needs { read, other } => write!(f, "read \"{read}\", which needs {other}"),
            Self::NoEffect { other, needed } => {
                write!(f, "has no effect unless {other} = \"{needed}\" is written")
            }
            Self::DoNotFit { value, unit, relation, limit, from } => {
                write!(f, "is {value} {unit}, allowed {relation} {limit} {unit} ({from})")
            }
            Self::PastYield { stress_mpa, yield_mpa } => write!(
                f,
                "bends the runner to {stress_mpa:.0} MPa, allowed up to the yield stress, {yield_mpa:.0} MPa"
            ),
        }
    }
}

impl fmt::Display for Relation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::AtMost => "at most",
            Self::AtLeast => "at least",
            Self::NearerThan => "nearer to the middle than",
        })
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, fault) in self.0.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{fault}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Fault {}
impl std::error::Error for Faults {}
