//! The table of a sweep while it grows: opened by one sweep alone, every row with its hash beside it.

use crate::files;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::Path;
use sweep_runner::study::shards::kept;

/// A table that is being written, and the hashes of its rows beside it: a row without its hash, or with another one,
/// was not written by this program.
pub struct Growing {
    /// The table.
    pub table: File,
    rows: File,
}

/// First digits of the hash of a row.
fn row_sha256(row: &str) -> String {
    files::sha256(&[row])[..16].to_string()
}

impl Growing {
    /// Goes on with what is there: the table without what was not wholly written, and how many rows it has.
    pub fn go_on(
        mut table: File,
        hashes: &Path,
        head: &str,
        cases: &[usize],
    ) -> Result<(Growing, usize), String> {
        let fail = |e: std::io::Error| format!("{}: cannot be written: {e}", hashes.display());
        let mut before = Vec::new();
        table.read_to_end(&mut before).map_err(fail)?;
        let before = String::from_utf8(before).unwrap_or_default();
        let (bytes, _) = kept(&before, head, cases);
        let written = fs::read_to_string(hashes).unwrap_or_default();
        let ended = |line: &&str| line.ends_with('\n');
        let (mut end, mut made) = (head.len(), 0);
        let lines = before.get(head.len()..bytes).unwrap_or("").split_inclusive('\n');
        for (line, hash) in lines.zip(written.split_inclusive('\n').take_while(ended)) {
            if row_sha256(line) != hash.trim_end() {
                return Err(format!(
                    "{}: line {} was changed after it was computed; take another folder for --out",
                    hashes.with_extension("csv").display(),
                    made + 2
                ));
            }
            end += line.len();
            made += 1;
        }
        let mut rows = OpenOptions::new();
        let mut rows = rows.create(true).write(true).truncate(false).open(hashes).map_err(fail)?;
        rows.set_len(17 * made as u64).and_then(|()| rows.seek(SeekFrom::End(0))).map_err(fail)?;
        table.set_len(if bytes == 0 { 0 } else { end as u64 }).map_err(fail)?;
        table.seek(SeekFrom::End(0)).map_err(fail)?;
        if bytes == 0 {
            table.write_all(head.as_bytes()).map_err(fail)?;
        }
        Ok((Growing { table, rows }, made))
    }

    /// One more row, and its hash.
    pub fn add(&mut self, row: &str) -> std::io::Result<()> {
        self.table.write_all(row.as_bytes())?;
        self.rows.write_all((row_sha256(row) + "\n").as_bytes())
    }
}

/// The table, opened for this sweep alone as long as it is held.
pub fn locked(table: &Path) -> Result<File, String> {
    let mut open = OpenOptions::new();
    let file = open.create(true).read(true).write(true).truncate(false).open(table);
    let file = file.map_err(|e| format!("{}: cannot be written: {e}", table.display()))?;
    match file.try_lock() {
        Err(TryLockError::WouldBlock) => Err(format!(
            "{}: another sweep is writing this table at this moment; wait for it, or take another folder for --out",
            table.display()
        )),
        // a file system without locks is used as it is
        Ok(()) | Err(TryLockError::Error(_)) => Ok(file),
    }
}
