//! What is wrong with a file that people write: place, what was read, what is allowed; and cells of CSV that are safe
//! to open.
//!
//! Invariant: no file is opened here, and no word of what a file holds.
//!
//! ```
//! let fault = file_faults::FileFault {
//!     file: "sheet.csv".into(),
//!     line: 4,
//!     column: 6,
//!     key: "finish_s".into(),
//!     got: "\"fast\"".into(),
//!     allowed: "a time of 10 to 200 s".into(),
//! };
//! assert_eq!(
//!     fault.to_string(),
//!     "sheet.csv, line 4, column 6 (finish_s): got \"fast\"; allowed: a time of 10 to 200 s"
//! );
//! ```

pub mod cell;

use std::fmt;

/// A fault in a file. Lines and columns count from 1.
#[derive(Clone, Debug, PartialEq)]
pub struct FileFault {
    /// File name as the caller gave it.
    pub file: String,
    /// Line; 0 when the fault belongs to the whole file.
    pub line: u64,
    /// Number of the field; 0 when the fault belongs to the whole line.
    pub column: usize,
    /// Name of the column or key.
    pub key: String,
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

/// Line and column of a byte of a text, both from 1.
pub fn line_and_column(text: &str, byte: usize) -> (u64, usize) {
    let before = text.get(..byte).unwrap_or(text);
    let column = before.chars().rev().take_while(|c| *c != '\n').count() + 1;
    (1 + before.matches('\n').count() as u64, column)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_lines_and_columns_count_from_one() {
        let text = "ab\ncäd\n";
        // the letter after a wide one, the start of the third line, a byte beyond the text
        let places = [0, 1, 3, 6, 8, 99].map(|byte| line_and_column(text, byte));
        assert_eq!(places, [(1, 1), (1, 2), (2, 1), (2, 3), (3, 1), (3, 1)]);
    }
}
