//! What a key of a set-up is.

use crate::setup::Setup;
use crate::setup::faults::Problem;
use crate::setup::units::Unit;

/// How well a default is founded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// Published or handbook value, and where.
    Published(&'static str),
    /// Common practice in the sport, no source.
    CommonPractice,
    /// Assumed, to be calibrated.
    Assumed,
}

/// A key of a set-up file.
#[derive(Debug)]
pub struct Key {
    /// Tables and name with dots, for example `runners.left.bow_front_mm`.
    pub path: &'static str,
    /// What it is, for a coach.
    pub doc: &'static str,
    /// How well the default is founded.
    pub source: Source,
    /// What it takes.
    pub kind: Kind,
}

/// What a key takes.
#[derive(Debug)]
pub enum Kind {
    /// A number.
    Number(Number),
    /// The name of the set-up.
    Name,
    /// One of [`FRICTIONS`].
    FrictionChoice,
    /// Rows of speed and coefficient.
    FrictionTable,
}

/// The choices of `ice.friction`.
pub(crate) const FRICTIONS: &[&str] = &["film", "constant", "table"];

/// A key that takes a number.
#[derive(Debug)]
pub struct Number {
    /// Unit in the file.
    pub unit: Unit,
    /// Least allowed, in that unit.
    pub least: f64,
    /// Greatest allowed, in that unit.
    pub most: f64,
    /// Default in that unit; none where the set-up does without.
    pub default: Option<f64>,
    /// Keys that a `--set` of this one takes out of the file: the other ways to say the same.
    pub replaces: &'static [&'static str],
    /// Value in a set-up, in SI; none where the set-up does without.
    pub(crate) get: fn(&Setup) -> Option<f64>,
    /// Puts a value in SI into a set-up.
    pub set: fn(&mut Setup, f64),
}

impl Number {
    /// Checks a value in the unit of the file against the limits; not-a-number fails.
    pub fn check(&self, value: f64) -> Result<(), Problem> {
        if value >= self.least && value <= self.most {
            return Ok(());
        }
        Err(Problem::OutOfRange { value, least: self.least, most: self.most, unit: self.unit.symbol() })
    }
}

impl Key {
    /// The number it takes, if it takes one.
    pub fn number(&self) -> Option<&Number> {
        match &self.kind {
            Kind::Number(number) => Some(number),
            _ => None,
        }
    }

    /// The last part of the path.
    pub fn name(&self) -> &'static str {
        self.path.rsplit('.').next().unwrap_or(self.path)
    }

    /// The table it stands in; empty at the top.
    pub fn table(&self) -> &'static str {
        self.path.rsplit_once('.').map_or("", |(table, _)| table)
    }

    /// Short for several other keys, which a written set-up has instead.
    pub fn is_shorthand(&self) -> bool {
        self.number().is_some_and(|number| number.replaces.len() > 1)
    }

    /// What is allowed, in words and with its unit.
    pub fn allowed(&self) -> String {
        match &self.kind {
            Kind::Number(n) if n.unit.symbol().is_empty() => format!("{} to {}", n.least, n.most),
            Kind::Number(n) => format!("{} to {} {}", n.least, n.most, n.unit.symbol()),
            Kind::Name => "text on one line".to_string(),
            Kind::FrictionChoice => format!("\"{}\"", FRICTIONS.join("\", \"")),
            Kind::FrictionTable => "rows [speed in m/s, coefficient], speeds rising".to_string(),
        }
    }
}

impl std::fmt::Display for Source {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Published(place) => write!(f, "published: {place}"),
            Self::CommonPractice => write!(f, "common practice"),
            Self::Assumed => write!(f, "assumed"),
        }
    }
}
