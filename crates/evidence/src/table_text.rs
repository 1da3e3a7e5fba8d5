//! The reader of a table that people wrote: comma, semicolon or tab, comments, rows of any length.

/// The text without a byte order mark.
pub(crate) fn without_mark(text: &str) -> &str {
    text.trim_start_matches('\u{feff}')
}

/// A reader of its rows, parted as its first line is: by what stands there most often, the comma last.
pub(crate) fn rows_of(text: &str) -> csv::Reader<&[u8]> {
    let head = text.lines().find(|l| !l.trim().is_empty() && !l.starts_with('#')).unwrap_or("");
    let count = |c: char| head.matches(c).count();
    let delimiter = [';', '\t', ','].into_iter().max_by_key(|c| (count(*c), *c != ',')).unwrap_or(',');
    csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .comment(Some(b'#'))
        .flexible(true)
        .delimiter(delimiter as u8)
        .from_reader(text.as_bytes())
}

/// Line of the headings, from 1: the reader of CSV counts comments above them to them.
pub(crate) fn head_line(text: &str) -> u64 {
    let is_head = |l: &str| !l.trim().is_empty() && !l.starts_with('#');
    1 + text.lines().position(is_head).unwrap_or(0) as u64
}
