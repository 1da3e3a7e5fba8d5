//! How an entry is kept: one writer at a time, whole lines, on the disk before anybody is told.

use crate::files::write_new;
use evidence::notebook::Notebook;
use evidence::notebook::lines::{Addition, Fit};
use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

/// Name of a file beside another.
fn beside(book: &Path, before: &str, after: &str) -> PathBuf {
    let name = book.file_name().map(|n| n.to_string_lossy().to_string()).unwrap_or_default();
    book.with_file_name(format!("{before}{name}{after}"))
}

fn fail(path: &Path, e: std::io::Error) -> String {
    format!("{}: cannot be written: {e}", path.display())
}

/// Waits for its turn; the turn ends with the file, also where the program is killed.
fn turn(book: &Path) -> Result<File, String> {
    let path = beside(book, ".", ".lock");
    let file = OpenOptions::new().create(true).truncate(false).write(true).open(&path);
    let file = file.map_err(|e| fail(&path, e))?;
    // a file system without locks is used as it is
    let _ = file.lock();
    Ok(file)
}

/// A spreadsheet that has the file open would save over the entry without having seen it.
fn open_in_a_spreadsheet(book: &Path) -> Option<PathBuf> {
    [beside(book, ".~lock.", "#"), beside(book, "~$", "")].into_iter().find(|p| p.exists())
}

/// Puts a text in the place of the file: beside it first, then renamed.
fn replace(book: &Path, text: &str) -> Result<(), String> {
    let part = beside(book, ".", ".part");
    let written = write_new(&part, text.as_bytes()).and_then(|f| f.sync_all());
    if let Err(e) = written.and_then(|()| fs::rename(&part, book)) {
        let _ = fs::remove_file(&part);
        return Err(fail(book, e));
    }
    // the name itself; not every system lets a folder be opened for this
    let folder = book.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let _ = File::open(folder).and_then(|f| f.sync_all());
    Ok(())
}

/// What came of an entry.
pub struct Kept {
    /// Its number.
    pub entry: String,
    /// Columns that are new.
    pub new_columns: Vec<String>,
}

/// Writes an entry, into a new notebook with these headings where there is none. Returns once it is on the disk.
pub fn keep(book: &Path, headings: &[&str], addition: &Addition) -> Result<Kept, String> {
    let _turn = turn(book)?;
    // in its turn there is no part but of a run that was killed
    let _ = fs::remove_file(beside(book, ".", ".part"));
    if let Some(open) = open_in_a_spreadsheet(book) {
        return Err(format!(
            "{}: open in a spreadsheet ({}), which would save over this entry; close it there first",
            book.display(),
            open.display()
        ));
    }
    let _whole = crate::interrupt::writing();
    let there = book.exists();
    let text = if there { crate::files::read_text(book)? } else { String::new() };
    let text = if text.trim().is_empty() { Notebook::begun(headings) } else { text };
    let name = book.display().to_string();
    let read = Notebook::read(&name, &text).map_err(|f| format!("this notebook cannot be used\n{f}"))?;
    let numbered = read.numbered(addition, &now());
    let new_columns = read.new_columns(&numbered).into_iter().map(String::from).collect();
    match read.fit(&text, &numbered) {
        Fit::Append(more) if there && text.len() as u64 == fs::metadata(book).map_or(0, |m| m.len()) => {
            let mut file = OpenOptions::new().append(true).open(book).map_err(|e| fail(book, e))?;
            let written = file.write_all(more.as_bytes()).and_then(|()| file.sync_all());
            written.map_err(|e| {
                // half an entry that nobody was told of, as on a full disk: it goes again
                let _ = file.set_len(text.len() as u64);
                fail(book, e)
            })?;
        }
        Fit::Append(more) => replace(book, &(text + &more))?,
        Fit::Replace(whole) => replace(book, &whole)?,
    }
    let entry = numbered.get(evidence::notebook::ENTRY).unwrap_or("").to_string();
    Ok(Kept { entry, new_columns })
}

/// Seconds since 1970.
fn seconds() -> u64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.as_secs())
}

/// Year, month and day of a number of days since 1970, by the calendar in use.
///
/// Checked by: `exact_days_of_the_calendar`.
fn day(days: u64) -> (u64, u64, u64) {
    // years that begin in March, so that the leap day is the last one; eras of 400 years
    let shifted = days + 719_468;
    let (era, of_era) = (shifted / 146_097, shifted % 146_097);
    let year = (of_era - of_era / 1_460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year + year / 4 - year / 100);
    let month = (5 * of_year + 2) / 153;
    let d = of_year - (153 * month + 2) / 5 + 1;
    let m = if month < 10 { month + 3 } else { month - 9 };
    (era * 400 + year + u64::from(m <= 2), m, d)
}

/// Today by the clock, in UTC.
pub fn today() -> String {
    let (y, m, d) = day(seconds() / 86_400);
    format!("{y:04}-{m:02}-{d:02}")
}

/// Now by the clock, in UTC.
fn now() -> String {
    let s = seconds() % 86_400;
    format!("{}T{:02}:{:02}:{:02}Z", today(), s / 3600, s / 60 % 60, s % 60)
}

#[cfg(test)]
mod tests {
    use super::day;

    #[test]
    fn exact_days_of_the_calendar() {
        // counted by hand: 1970 to 2000 are 30 years of 365 days and 7 leap days; 2000 and 2024 have a leap day
        for (days, date) in [
            (0, (1970, 1, 1)),
            (10_957, (2000, 1, 1)),
            (10_957 + 59, (2000, 2, 29)),
            (10_957 + 60, (2000, 3, 1)),
            (10_957 + 24 * 365 + 6 + 31 + 28, (2024, 2, 29)),
            (10_957 + 365, (2000, 12, 31)),
        ] {
            assert_eq!(day(days), date, "{days}");
        }
    }
}
