//! What is wrong with an input: place, what was read, what is allowed; and warnings, which are data.

use std::fmt;

/// A fault in a file of readings or of runners. Lines and columns count from 1.
#[derive(Clone, Debug, PartialEq)]
pub struct FileFault {
    /// File name as the caller gave it.
    pub file: String,
    /// Line; 0 when the fault belongs to the whole file.
    pub line: u64,
    /// Number of the field; 0 when the fault belongs to the whole line.
    pub column: usize,
    /// Name of the column.
    pub key: &'static str,
    /// What was read.
    pub got: String,
    /// What is allowed, or what is asked.
    pub allowed: String,
}

impl fmt::Display for FileFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let FileFault { file, line, column, key, got, allowed } = self;
        write!(f, "{file}")?;
        if *line > 0 {
            write!(f, ", line {line}")?;
        }
        if *column > 0 {
            write!(f, ", column {column}")?;
        }
        write!(f, " ({key}): got {got}; allowed: {allowed}")
    }
}

impl std::error::Error for FileFault {}

/// A number outside its limits.
#[derive(Clone, Debug, PartialEq)]
pub struct NumberFault {
    /// The field.
    pub field: &'static str,
    /// What was given.
    pub got: f64,
    /// Least allowed value.
    pub least: f64,
    /// Greatest allowed value.
    pub greatest: f64,
}

impl NumberFault {
    pub(crate) fn check(found: &mut Vec<Self>, field: &'static str, got: f64, least: f64, greatest: f64) {
        if !(least <= got && got <= greatest) {
            found.push(NumberFault { field, got, least, greatest });
        }
    }
}

impl fmt::Display for NumberFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let NumberFault { field, got, least, greatest } = self;
        write!(f, "{field} is {got}; allowed {least} to {greatest}")
    }
}

impl std::error::Error for NumberFault {}
