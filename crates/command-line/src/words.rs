//! Words and tables that several commands print.

use comfy_table::{CellAlignment, ContentArrangement, Table, presets::NOTHING};
use std::io::{ErrorKind, Write};

/// The usual caution.
pub const CAUTION: &str = "Speed and load on an ice track injure. What is computed here is a model of an invented \
or approximate track; the coach, the track's officials and the rule book decide what is ridden.";

/// What holds for every absolute time.
pub const ABSOLUTE: &str = "Absolute times are good only after calibration to timing sheets; \
differences and rank orders are what this is for.";

/// Every fault, a line each.
pub fn every_fault<F: ToString>(faults: Vec<F>) -> String {
    faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

/// A text without what would move a terminal: a name in a file may hold anything.
fn plain(text: &str) -> String {
    let shown =
        |c: char| if c.is_control() && !['\n', '\t'].contains(&c) { char::REPLACEMENT_CHARACTER } else { c };
    text.replace("\r\n", "\n").chars().map(shown).collect()
}

/// Prints a result. A reader that has closed the pipe has had enough: that is no error.
pub fn say(text: &str) -> Result<(), String> {
    let mut out = std::io::stdout().lock();
    match out.write_all(plain(text).as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => {
            Err(format!("standard output: cannot be written: {e}"))
        }
        _ => Ok(()),
    }
}

/// Whether standard output is a pipe whose reader has gone, as after `| head`.
#[cfg(unix)]
pub fn nobody_reads() -> bool {
    use rustix::event::{PollFd, PollFlags, Timespec, poll};
    let out = std::io::stdout();
    let mut asked = [PollFd::new(&out, PollFlags::empty())];
    let at_once = Timespec { tv_sec: 0, tv_nsec: 0 };
    poll(&mut asked, Some(&at_once)).is_ok() && asked[0].revents().contains(PollFlags::ERR)
}

/// Elsewhere it is found out when the result is printed.
#[cfg(not(unix))]
pub fn nobody_reads() -> bool {
    false
}

/// A line on standard error, with the form and arguments of `format!`.
macro_rules! tell {
    ($($words:tt)*) => { $crate::words::tell_line(&format!($($words)*)) };
}

/// Prints a line on standard error; nobody can be told that nobody reads it.
pub fn tell_line(text: &str) {
    let _ = std::io::stderr().lock().write_all(format!("{}\n", plain(text)).as_bytes());
}

fn laid_out(header: &[&str], rows: impl IntoIterator<Item = Vec<String>>, right: bool) -> String {
    let mut t = Table::new();
    t.load_style(NOTHING).set_content_arrangement(ContentArrangement::Disabled).set_header(header.to_vec());
    for row in rows {
        t.add_row(row);
    }
    for column in t.column_iter_mut().skip(1).filter(|_| right) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    t.lines().map(|l| l.trim_end().to_string()).collect::<Vec<_>>().join("\n")
}

/// How a report lays out a table: as text, or kept apart for the page.
pub type Lay<'a> = &'a dyn Fn(&[&str], Vec<Vec<String>>) -> String;

/// A table of numbers as text, as [`numbers`] has it.
pub fn as_text(header: &[&str], rows: Vec<Vec<String>>) -> String {
    numbers(header, rows)
}

/// A table with aligned columns and no lines.
pub fn table(header: &[&str], rows: impl IntoIterator<Item = Vec<String>>) -> String {
    laid_out(header, rows, false)
}

/// A table whose columns after the first are aligned to the right.
pub fn numbers(header: &[&str], rows: impl IntoIterator<Item = Vec<String>>) -> String {
    laid_out(header, rows, true)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_nothing_that_is_told_moves_a_terminal() {
        assert_eq!(plain("a\tb\r\nc\n"), "a\tb\nc\n");
        assert_eq!(plain("\u{1b}[2J\u{7}\u{9b}x\r"), "\u{fffd}[2J\u{fffd}\u{fffd}x\u{fffd}");
    }
}
