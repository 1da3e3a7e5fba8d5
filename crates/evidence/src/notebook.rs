//! A notebook of runs as a table that people and spreadsheets write as well: a line of headings, a line for each entry.
//!
//! Nothing that stands in it is ever changed or taken out: an entry is a line more, a new column a field more in every
//! line. Columns that nobody here knows are kept, and so are the separator, the decimal mark, the line ends and the mark
//! of UTF-8 that the last spreadsheet chose. What is written is text for whoever owns the file.

mod dialect;
pub mod lines;

use crate::sheet::cells::{Mark, mark_of, number, seconds};
use dialect::{Dialect, Span, line, spans};
use file_faults::FileFault;
use file_faults::cell::unguarded;

/// Heading of the number of an entry.
pub const ENTRY: &str = "entry";
/// Heading of the last cell that is written; a line cut short has none.
pub const WRITTEN: &str = "written_utc";
/// Headings of a new notebook before the numbers of the set-up. Those of a timing sheet stand among them.
pub const HEADINGS: [&str; 15] = [
    ENTRY,
    "date",
    "time_of_day",
    "track",
    "athlete",
    "run",
    "set_up",
    "pair",
    "ice_c",
    "air_c",
    "humidity_percent",
    "mass_kg",
    "start_s",
    "finish_s",
    "speed_trap_km_h",
];
/// Headings that a timing sheet has as well, in its order; intermediates, `eye NAME`, stand before the finish.
const OF_A_SHEET: [&str; 12] = [
    "run",
    "date",
    "time_of_day",
    "set_up",
    "track",
    "ice_c",
    "air_c",
    "mass_kg",
    "start_s",
    "finish_s",
    "speed_trap_km_h",
    "notes",
];

/// An entry as it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Line in the file, from 1.
    pub(crate) line: u64,
    /// As many cells as there are headings.
    pub(crate) cells: Vec<String>,
}

/// A notebook as read.
#[derive(Clone, Debug, PartialEq)]
pub struct Notebook {
    /// The headings as they stand.
    pub headings: Vec<String>,
    /// The entries, those cut short left out.
    pub rows: Vec<Row>,
    /// Lines that are no entry: cut short, or with cells too many. They stay in the file.
    pub faults: Vec<FileFault>,
    /// How it is written.
    pub(crate) dialect: Dialect,
}

/// A heading as it is compared: case, spaces and dashes do not matter.
fn plain(heading: &str) -> String {
    heading
        .trim()
        .trim_start_matches('\u{feff}')
        .to_lowercase()
        .replace(['[', ']', '(', ')'], "")
        .replace([' ', '-'], "_")
}

/// The cells of a record.
fn cells_of(record: &str, separator: char) -> Vec<String> {
    let mut table = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator as u8)
        .from_reader(record.trim_start_matches('\u{feff}').as_bytes());
    let first = table.records().next().and_then(Result::ok).unwrap_or_default();
    first.iter().map(|c| unguarded(c).to_string()).collect()
}

impl Notebook {
    /// Reads a notebook. `file` is for messages.
    pub fn read(file: &str, text: &str) -> Result<Notebook, FileFault> {
        let head = text.lines().find(|l| !l.trim().is_empty() && !l.starts_with('#')).unwrap_or("");
        let count = |c: char| head.matches(c).count();
        let separator = [';', '\t', ','].into_iter().max_by_key(|c| (count(*c), *c != ',')).unwrap_or(',');
        let fault = |line: u64, column: usize, key: &str, got: String, allowed: &str| {
            FileFault::at(file, (line, column), key, got, allowed)
        };
        let (mut headings, mut rows, mut faults) = (vec![], vec![], vec![]);
        for Span { from, to, line } in spans(text, separator).0 {
            let cells = cells_of(&text[from..to], separator);
            if headings.is_empty() {
                headings = cells;
            } else if cells.len() == headings.len() || cells.iter().all(|c| c.trim().is_empty()) {
                // a line of separators alone is nobody's entry
                if cells.iter().all(|c| c.trim().is_empty()) {
                    continue;
                }
                rows.push(Row { line, cells });
            } else {
                let got = format!("{} cells", cells.len());
                let allowed =
                    format!("{} as in the headings; a line cut short is kept and not used", headings.len());
                faults.push(fault(line, 0, "line", got, &allowed));
            }
        }
        if headings.iter().all(|h| h.trim().is_empty()) {
            let allowed = "a line of headings, then a line for each entry";
            return Err(fault(0, 0, "line", "an empty file".into(), allowed));
        }
        for (c, heading) in headings.iter().enumerate() {
            let first = headings.iter().position(|h| plain(h) == plain(heading)).unwrap_or(c);
            if first < c && !heading.trim().is_empty() {
                let allowed = format!("each heading once; column {} has it already", first + 1);
                return Err(fault(1, c + 1, "heading", format!("\"{heading}\" twice"), &allowed));
            }
        }
        let decimal = |cell: &String| number(cell.trim()).and_then(|_| mark_of(cell));
        let mark = rows.iter().flat_map(|r| &r.cells).find_map(decimal).unwrap_or(Mark::Point);
        let dialect = Dialect { separator, mark, windows: text.contains("\r\n") };
        Ok(Notebook { headings, rows, faults, dialect })
    }

    /// The column of a heading, from 0.
    pub(crate) fn column(&self, heading: &str) -> Option<usize> {
        self.headings.iter().position(|h| plain(h) == plain(heading))
    }

    /// What stands in a cell of an entry; `None` where there is no such column or nothing in it.
    pub fn cell<'a>(&self, row: &'a Row, heading: &str) -> Option<&'a str> {
        let text = row.cells.get(self.column(heading)?)?.trim();
        (!text.is_empty() && text != "-").then_some(text)
    }

    /// A cell as a number, with either decimal mark; minutes and seconds, 0:56.12, as seconds.
    pub fn number(&self, row: &Row, heading: &str) -> Option<f64> {
        let cell = self.cell(row, heading)?;
        number(cell).or_else(|| seconds(cell))
    }

    /// What an entry is called: its number, or its line where it has none.
    pub fn name(&self, row: &Row) -> String {
        self.cell(row, ENTRY).map_or_else(|| format!("line {}", row.line), String::from)
    }

    /// The entry of this name.
    pub fn entry(&self, name: &str) -> Option<&Row> {
        self.rows.iter().find(|r| self.name(r) == name.trim())
    }

    /// The number of the next entry.
    pub(crate) fn next(&self) -> u64 {
        let last = self.rows.iter().filter_map(|r| self.cell(r, ENTRY)?.parse::<u64>().ok()).max();
        last.unwrap_or(0) + 1
    }

    /// Names of the intermediates, `eye NAME`.
    pub(crate) fn eyes(&self) -> Vec<&str> {
        let eye = |h: &&str| plain(h).starts_with("eye_");
        self.headings.iter().map(String::as_str).filter(eye).collect()
    }

    /// Whether an entry is a run with a finish, as a timing sheet needs it.
    pub fn is_run(&self, row: &Row) -> bool {
        self.cell(row, "run").is_some() && self.cell(row, "finish_s").is_some()
    }

    /// A timing sheet of the entries that have a run and a finish, as `calibrate` and `trial analyse` read it.
    pub fn sheet(&self, rows: &[&Row]) -> String {
        let eyes = self.eyes();
        let (before, after) = OF_A_SHEET.split_at(9);
        let columns: Vec<&str> = before.iter().copied().chain(eyes).chain(after.iter().copied()).collect();
        let here: Vec<&str> = columns.into_iter().filter(|c| self.column(c).is_some()).collect();
        let dialect = Dialect { separator: ',', mark: Mark::Point, windows: false };
        let mut text = line(here.iter().copied(), &dialect);
        for row in rows.iter().filter(|r| self.is_run(r)) {
            let cell = |heading: &&str| {
                let text = self.cell(row, heading).unwrap_or("");
                let words = ["run", "set_up", "track", "notes"].contains(heading);
                let decimal = !words && (number(text).is_some() || text.contains(':'));
                if decimal { text.replace(',', ".") } else { text.to_string() }
            };
            let cells: Vec<String> = here.iter().map(cell).collect();
            text += &line(cells.iter().map(String::as_str), &dialect);
        }
        text
    }
}

#[cfg(test)]
mod tests;
