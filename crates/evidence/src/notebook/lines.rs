//! Lines of a notebook as text: one more at its end, or a field more in each.

use super::{Dialect, ENTRY, Notebook, WRITTEN, plain};
use crate::sheet::cells::{Mark, number};

/// What is to be written to a notebook so that an entry stands in it.
#[derive(Clone, Debug, PartialEq)]
pub enum Fit {
    /// This text at its end.
    Append(String),
    /// This text in its place: there are new columns.
    Replace(String),
}

/// An entry that is to be written: headings and what stands below them, numbers with a decimal point.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Addition {
    /// Heading and cell.
    pub cells: Vec<(String, String)>,
}

impl Addition {
    /// Puts a cell; a later one of the same heading takes the place of an earlier one.
    pub fn put(&mut self, heading: &str, cell: impl Into<String>) {
        let cell = cell.into();
        match self.cells.iter_mut().find(|(h, _)| plain(h) == plain(heading)) {
            Some((_, old)) => *old = cell,
            None => self.cells.push((heading.to_string(), cell)),
        }
    }

    /// What stands below a heading.
    pub fn get(&self, heading: &str) -> Option<&str> {
        self.cells.iter().find(|(h, _)| plain(h) == plain(heading)).map(|(_, c)| c.as_str())
    }
}

/// A cell in quotes where it needs them; a line break in it is a stroke, so that an entry is one line.
fn quoted(cell: &str, dialect: &Dialect) -> String {
    let flat = cell.replace("\r\n", " / ").replace(['\n', '\r'], " / ");
    let marks = flat.contains([dialect.separator, '"']) || flat.starts_with('#') || flat != flat.trim();
    if marks { format!("\"{}\"", flat.replace('"', "\"\"")) } else { flat }
}

/// Cells as a line.
pub(super) fn line<'c>(cells: impl Iterator<Item = &'c str>, dialect: &Dialect) -> String {
    let fields: Vec<String> = cells.map(|c| quoted(c, dialect)).collect();
    fields.join(&dialect.separator.to_string()) + if dialect.windows { "\r\n" } else { "\n" }
}

/// A record of CSV in a text: where it begins and ends, its line ends not among it, and its line from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Span {
    /// First byte.
    pub(crate) from: usize,
    /// Byte after the last.
    pub(crate) to: usize,
    /// Line.
    pub(crate) line: u64,
}

/// The records of a text, blank lines and comments left out, and whether quotes are open at its end. Quotes count where
/// a cell begins with them, and nowhere else.
pub(super) fn spans(text: &str, separator: char) -> (Vec<Span>, bool) {
    let (mut all, mut line) = (vec![], 1);
    // inside quotes; at the begin of a cell; just behind the quotes of a cell
    let (mut quotes, mut begins, mut closed) = (false, true, false);
    let (mut from, mut first) = (0, 1);
    let mut add = |from: usize, to: usize, line: u64| {
        let record = &text[from..to];
        let bare = record.trim_start_matches('\u{feff}');
        if !bare.trim().is_empty() && !bare.starts_with('#') {
            all.push(Span { from, to: from + record.trim_end_matches('\r').len(), line });
        }
    };
    let mut comment = text.trim_start_matches('\u{feff}').starts_with('#');
    for (at, c) in text.char_indices() {
        match c {
            '\n' if !quotes => {
                add(from, at, first);
                (from, first, begins, closed) = (at + 1, line + 1, true, false);
                comment = text[from..].starts_with('#');
            }
            '"' if quotes => (quotes, closed) = (false, true),
            // twice over it stands for itself and quotes go on
            '"' if !comment && (begins || closed) => (quotes, begins, closed) = (true, false, false),
            '\u{feff}' => {}
            c => (begins, closed) = (c == separator && !quotes, false),
        }
        line += u64::from(c == '\n');
    }
    add(from, text.len(), first);
    (all, quotes)
}

impl Notebook {
    /// A new notebook with these headings and no entry.
    pub fn begun(headings: &[&str]) -> String {
        line(headings.iter().copied(), &Dialect { separator: ',', mark: Mark::Point, windows: false })
    }

    /// Headings of an addition that this notebook does not have.
    pub fn new_columns<'a>(&self, addition: &'a Addition) -> Vec<&'a str> {
        let lacks = |h: &&str| self.column(h).is_none();
        addition.cells.iter().map(|(h, _)| h.as_str()).filter(lacks).collect()
    }

    /// What to write so that this entry stands in the notebook whose text this is. What a killed writer or a careless
    /// hand left without an end is ended first, and stays.
    ///
    /// Checked by: `exact_every_byte_that_stood_there_stays`, `exact_a_line_cut_short_is_ended_and_told`.
    pub fn fit(&self, text: &str, addition: &Addition) -> Fit {
        let new = self.new_columns(addition);
        let cell = |heading: &str| -> String {
            let text = addition.get(heading).unwrap_or("");
            // a number as the sheet writes numbers; a day or a time of day has other marks, or none
            let decimal = number(text).is_some() && self.dialect.mark == Mark::Comma;
            if decimal { text.replace('.', ",") } else { text.to_string() }
        };
        let headings = self.headings.iter().map(String::as_str).chain(new.iter().copied());
        let cells: Vec<String> = headings.map(cell).collect();
        let added = line(cells.iter().map(String::as_str), &self.dialect);
        let end = if self.dialect.windows { "\r\n" } else { "\n" };
        let (records, open) = spans(text, self.dialect.separator);
        let mut before = String::new();
        if open {
            before.push('"');
        }
        if !text.ends_with('\n') || open {
            before += end;
        }
        if new.is_empty() {
            return Fit::Append(before + &added);
        }
        let empty = vec![""; new.len()];
        let [heads, fields] = [&new, &empty].map(|more| {
            let more = line(more.iter().copied(), &self.dialect);
            format!("{}{}", self.dialect.separator, more.trim_end_matches(['\r', '\n']))
        });
        let (mut whole, mut done) = (String::new(), 0);
        for (i, record) in records.iter().enumerate() {
            whole += &text[done..record.to];
            done = record.to;
            if open && i + 1 == records.len() {
                whole.push('"');
                before = end.into();
            }
            whole += if i == 0 { &heads } else { &fields };
        }
        Fit::Replace(format!("{whole}{}{before}{added}", &text[done..]))
    }

    /// An addition with the number of the next entry first and the time of writing last.
    pub fn numbered(&self, addition: &Addition, written: &str) -> Addition {
        let mut all = Addition::default();
        all.put(ENTRY, self.next().to_string());
        for (heading, cell) in &addition.cells {
            all.put(heading, cell.clone());
        }
        all.put(WRITTEN, written);
        all
    }
}
