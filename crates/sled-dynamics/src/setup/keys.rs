//! What a key of a set-up is, and how one is found by its name.

use crate::setup::Setup;
use crate::setup::faults::{Fault, Place, Problem};
use crate::setup::table::KEYS;
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
pub const FRICTIONS: &[&str] = &["film", "constant", "table"];

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
    pub get: fn(&Setup) -> Option<f64>,
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

/// Every key, in the order of a written set-up.
pub fn keys() -> &'static [Key] {
    KEYS
}

/// The key with a path.
pub fn find(path: &str) -> Result<&'static Key, Problem> {
    KEYS.iter().find(|key| key.path == path).ok_or_else(|| Problem::UnknownKey { nearest: nearest(path) })
}

/// Value of a key that takes a number, in the unit of the file; none where the set-up does without, or for any
/// other key.
pub fn get(setup: &Setup, path: &str) -> Option<f64> {
    let number = find(path).ok()?.number()?;
    (number.get)(setup).map(|si| number.unit.from_si(si))
}

/// Sets a key that takes a number, value in the unit of the file. Whether the numbers of a set-up fit together
/// is another question: see `setup_checks`.
pub fn set(setup: &mut Setup, path: &str, value: f64) -> Result<(), Fault> {
    let fault = |problem| Fault { place: Place::Value, key: path.to_string(), problem };
    let key = find(path).map_err(fault)?;
    let Some(number) = key.number() else {
        return Err(fault(Problem::WrongType { read: format!("the number {value}"), allowed: "text" }));
    };
    number.check(value).map_err(fault)?;
    if key.path == "ice.constant_friction" && (number.get)(setup).is_none() {
        return Err(fault(Problem::NoEffect { other: "ice.friction", needed: "constant" }));
    }
    (number.set)(setup, number.unit.to_si(value));
    Ok(())
}

/// Whether a path is a table of a set-up.
pub(crate) fn is_table(path: &str) -> bool {
    KEYS.iter()
        .any(|key| key.table() == path || key.table().strip_prefix(path).is_some_and(|r| r.starts_with('.')))
}

/// The key or table nearest to a path that is neither.
pub(crate) fn nearest(path: &str) -> Option<String> {
    let path: String = path.chars().take(80).collect();
    let leaf = path.rsplit('.').next().unwrap_or(&path);
    let distance = |known: &str| {
        let known_leaf = known.rsplit('.').next().unwrap_or(known);
        let same_leaf = known_leaf == leaf;
        let unit_left_out = known.strip_prefix(path.as_str()).is_some_and(|rest| rest.starts_with('_'));
        if same_leaf || unit_left_out { 1 } else { edits(&path, known) }
    };
    let tables = KEYS.iter().map(Key::table).filter(|table| !table.is_empty());
    let (edits, known) = KEYS
        .iter()
        .map(|key| key.path)
        .chain(tables)
        .map(|known| (distance(known), known))
        .min_by_key(|c| c.0)?;
    (edits <= (path.chars().count() / 3).max(2)).then(|| known.to_string())
}

/// Least number of letters to insert, delete or change (Levenshtein).
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let change = diagonal + usize::from(x != *y);
            diagonal = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}
