//! How a notebook is written as text: its marks, its lines, its records.

use crate::sheet::cells::Mark;
use file_faults::cell::guarded;

/// How the file is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Dialect {
    /// Separator of the cells.
    pub(crate) separator: char,
    /// Decimal mark.
    pub(crate) mark: Mark,
    /// Whether lines end as on Windows.
    pub(crate) windows: bool,
}

/// A cell in quotes where it needs them; a line break in it is a stroke, so that an entry is one line.
fn quoted(cell: &str, dialect: &Dialect) -> String {
    let flat = guarded(cell).replace("\r\n", " / ").replace(['\n', '\r'], " / ");
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
