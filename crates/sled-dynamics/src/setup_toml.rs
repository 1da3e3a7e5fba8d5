//! The keys in the text of a set-up file, each with its line and column.

use crate::faults::{Fault, Place, Problem};
use crate::setup_file::Entry;
use crate::setup_keys::{find, is_table};
use crate::setup_values::{decimal_comma, described, given_by_file};
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// Every key with a good value; what is wrong with the others goes to `faults`.
pub(crate) fn entries_of_file(file: &str, text: &str, faults: &mut Vec<Fault>) -> Vec<Entry> {
    let (table, errors) = DeTable::parse_recoverable(text);
    let mut broken_lines = Vec::new();
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        let place = place_of(file, text, &span);
        let Place::Line { line, .. } = place else { continue };
        if broken_lines.contains(&line) {
            continue; // one fault a line: the rest are consequences
        }
        broken_lines.push(line);
        let (key, problem) = match comma_in(line_text(text, line)) {
            Some((key, problem)) => (key, problem),
            None => (String::new(), Problem::Syntax { message: error.message().to_string() }),
        };
        faults.push(Fault { place, key, problem });
    }
    let mut reader = Reader { file, text, faults, entries: Vec::new(), broken_lines };
    reader.walk("", table.get_ref());
    reader.entries
}

struct Reader<'a> {
    file: &'a str,
    text: &'a str,
    faults: &'a mut Vec<Fault>,
    entries: Vec<Entry>,
    broken_lines: Vec<usize>,
}

impl Reader<'_> {
    fn walk(&mut self, above: &str, table: &DeTable<'_>) {
        for (name, value) in table {
            let path = if above.is_empty() {
                name.get_ref().to_string()
            } else {
                format!("{above}.{}", name.get_ref())
            };
            match (find(&path), value.get_ref()) {
                (Ok(key), given) => match given_by_file(key, given) {
                    Ok(given) => {
                        let place = place_of(self.file, self.text, &value.span());
                        self.entries.push(Entry { key, place, given });
                    }
                    Err(problem) => self.fault(&value.span(), &path, problem),
                },
                (Err(_), DeValue::Table(below)) if is_table(&path) => self.walk(&path, below),
                (Err(_), given) if is_table(&path) => {
                    let problem = Problem::WrongType { read: described(given), allowed: "a table" };
                    self.fault(&value.span(), &path, problem);
                }
                (Err(problem), _) => self.fault(&name.span(), &path, problem),
            }
        }
    }

    fn fault(&mut self, span: &Range<usize>, key: &str, problem: Problem) {
        let place = place_of(self.file, self.text, span);
        // A broken line has said what is wrong with it; what was rescued from it is not what was written.
        if !matches!(place, Place::Line { line, .. } if self.broken_lines.contains(&line)) {
            self.faults.push(Fault { place, key: key.to_string(), problem });
        }
    }
}

/// Line and column of a span.
fn place_of(file: &str, text: &str, span: &Range<usize>) -> Place {
    let before = text.get(..span.start).unwrap_or(text);
    let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    let line = 1 + before.matches('\n').count();
    let column = 1 + before[line_start..].trim_start_matches('\u{feff}').chars().count();
    Place::Line { file: file.to_string(), line, column }
}

/// One line of a text, counted from 1.
fn line_text(text: &str, line: usize) -> &str {
    text.lines().nth(line - 1).unwrap_or("")
}

/// The key and the fault of a line `key = 12,5`.
fn comma_in(line: &str) -> Option<(String, Problem)> {
    let (key, value) = line.split_once('=')?;
    let value = value.split('#').next().unwrap_or(value);
    Some((key.trim().to_string(), decimal_comma(value)?))
}
