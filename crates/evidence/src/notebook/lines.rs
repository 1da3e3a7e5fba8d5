//! Lines of a notebook as text: one more at its end, or a field more in each.

use super::dialect::{Dialect, line, spans};
use super::{ENTRY, Notebook, WRITTEN, plain};
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
