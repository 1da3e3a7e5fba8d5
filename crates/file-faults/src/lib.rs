//! What is wrong with a file that people write: place, what was read, what is allowed; and cells of CSV that are safe
//! to open.
//!
//! Invariant: no file is opened here, and no word of what a file holds.
//!
//! ```
//! let fault = file_faults::FileFault::at("sheet.csv", (4, 6), "finish_s", "\"fast\"", "a time of 10 to 200 s");
//! assert_eq!(
//!     fault.to_string(),
//!     "sheet.csv, line 4, column 6 (finish_s): got \"fast\"; allowed: a time of 10 to 200 s"
//! );
//! ```

pub mod cell;

use std::fmt;

/// Where something was read. Lines and columns count from 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// File as the caller gave it, or what else was read: an option, a sentence.
    pub file: String,
    /// Line; `None` when the fault belongs to the whole file.
    pub line: Option<usize>,
    /// Number of the field in CSV, of the character elsewhere; `None` when the fault belongs to the whole line.
    pub column: Option<usize>,
    /// Name of the column or key.
    pub key: Option<String>,
}

impl Place {
    /// A whole file.
    pub fn file(file: &str) -> Place {
        Place { file: file.to_owned(), line: None, column: None, key: None }
    }

    /// A line of a file.
    pub fn line(file: &str, line: usize) -> Place {
        Place { line: Some(line), ..Place::file(file) }
    }

    /// A column of a line.
    pub fn column(file: &str, line: usize, column: usize) -> Place {
        Place { column: Some(column), ..Place::line(file, line) }
    }

    /// A named field or key of a line.
    pub fn field(file: &str, line: usize, column: usize, key: &str) -> Place {
        Place::column(file, line, column).named(key)
    }

    /// The same place, of this column or key.
    pub fn named(self, key: &str) -> Place {
        Place { key: Some(key.to_owned()), ..self }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        if let Some(column) = self.column {
            write!(f, ", column {column}")?;
        }
        if let Some(key) = &self.key {
            write!(f, " ({key})")?;
        }
        Ok(())
    }
}

/// A fault in a file.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{}", one_line(&format!("{}: got {}; allowed: {}", .place, .got, .allowed)))]
pub struct FileFault {
    /// Where.
    pub place: Place,
    /// What was read.
    pub got: String,
    /// What is allowed, or what is asked.
    pub allowed: String,
}

impl FileFault {
    /// A fault at a line and column; 0 for none.
    pub fn at(
        file: &str,
        (line, column): (u64, usize),
        key: &str,
        got: impl Into<String>,
        allowed: impl Into<String>,
    ) -> FileFault {
        let of = |n: usize| (n > 0).then_some(n);
        let place = Place { line: of(line as usize), column: of(column), ..Place::file(file).named(key) };
        FileFault { place, got: got.into(), allowed: allowed.into() }
    }
}

/// A fault on one line, whatever it tells: line ends in a value that was read are shown as `\n` and `\r`.
pub fn one_line(fault: &str) -> String {
    fault.replace('\n', "\\n").replace('\r', "\\r")
}

/// Faults one below the other.
pub fn lines(faults: &[impl fmt::Display]) -> String {
    faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

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

    #[test]
    fn exact_a_place_says_what_it_knows() {
        let told = |place: Place| place.to_string();
        assert_eq!(told(Place::file("a.csv")), "a.csv");
        assert_eq!(told(Place::line("a.csv", 3)), "a.csv, line 3");
        assert_eq!(told(Place::column("a.csv", 3, 7)), "a.csv, line 3, column 7");
        assert_eq!(told(Place::field("a.csv", 3, 7, "key")), "a.csv, line 3, column 7 (key)");
        let whole = FileFault::at("a.csv", (0, 0), "key", "nothing", "a number");
        assert_eq!(whole.to_string(), "a.csv (key): got nothing; allowed: a number");
    }

    #[test]
    fn exact_a_fault_is_one_line() {
        let fault = FileFault::at("a.csv", (2, 0), "my\r\nheading", "\"1\n2\"", "a number");
        assert_eq!(fault.to_string(), r#"a.csv, line 2 (my\r\nheading): got "1\n2"; allowed: a number"#);
    }
}
