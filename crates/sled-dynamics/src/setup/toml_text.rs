//! The keys in the text of a set-up file, each with its line and column.

use crate::setup::faults::{Fault, Problem};
use crate::setup::keys::{find, is_table};
use crate::setup::values::{Entry, decimal_comma, described, given_by_file};
use file_faults::Place;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// Every key with a good value; what is wrong with the others goes to `faults`.
pub(crate) fn entries_of_file(file: &str, text: &str, faults: &mut Vec<Fault>) -> Vec<Entry> {
    let (table, errors) = DeTable::parse_recoverable(text);
    let mut broken_lines = Vec::new();
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        let (line, column) = line_and_column(text, &span);
        if broken_lines.contains(&line) {
            continue; // one fault a line: the rest are consequences
        }
        broken_lines.push(line);
        faults.push(comma_on_line(file, text, line).unwrap_or_else(|| {
            let mut message = error.message().to_string();
            if unquoted(text, &span) {
                message = "a text stands in quotation marks, as in friction = \"film\"".into();
            }
            let problem = Problem::Syntax { message };
            Fault { place: Place::column(file, line, column), problem }
        }));
    }
    let mut reader = Reader { file, text, faults, entries: Vec::new(), broken_lines };
    reader.walk("", table.get_ref());
    reader.entries
}

/// True where a line gives a bare word for a value.
fn unquoted(text: &str, span: &Range<usize>) -> bool {
    let start = text.get(..span.start).and_then(|t| t.rfind('\n')).map_or(0, |i| i + 1);
    let line = text.get(start..).and_then(|t| t.lines().next()).unwrap_or("");
    let value = line.split('#').next().and_then(|l| l.split_once('=')).map_or("", |v| v.1).trim();
    let word = |c: char| c.is_alphanumeric() || "-_ ".contains(c);
    value.starts_with(char::is_alphabetic) && value.chars().all(word) && !["true", "false"].contains(&value)
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
                        let (line, column) = line_and_column(self.text, &value.span());
                        let place = Place::field(self.file, line, column, &path);
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
        let (line, column) = line_and_column(self.text, span);
        // A broken line has said what is wrong with it; what was rescued from it is not what was written.
        if !self.broken_lines.contains(&line) {
            self.faults.push(Fault { place: Place::field(self.file, line, column, key), problem });
        }
    }
}

/// Line and column of a span.
fn line_and_column(text: &str, span: &Range<usize>) -> (usize, usize) {
    let before = text.get(..span.start).unwrap_or(text);
    let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    let line = 1 + before.matches('\n').count();
    let column = 1 + before[line_start..].trim_start_matches('\u{feff}').chars().count();
    (line, column)
}

/// The fault of a line `key = 12,5`, at the number.
fn comma_on_line(file: &str, text: &str, line: usize) -> Option<Fault> {
    let written = text.lines().nth(line - 1)?;
    let (key, value) = written.split_once('=')?;
    let value = value.split('#').next().unwrap_or(value);
    let problem = decimal_comma(value)?;
    let gap = value.len() - value.trim_start().len();
    let column = 1 + key.chars().count() + 1 + gap;
    let above = text.lines().take(line - 1).map(str::trim);
    let table =
        above.filter(|line| line.starts_with('[')).last().map_or("", |line| line.trim_matches(['[', ']']));
    let key = if table.is_empty() { key.trim().to_string() } else { format!("{table}.{}", key.trim()) };
    Some(Fault { place: Place::field(file, line, column, &key), problem })
}
