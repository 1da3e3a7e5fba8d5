//! Tables of runners kept from run to run in the cache of the user, under a SHA-256 of the program and of all that a
//! table depends on. One that cannot be read is built anew, one that cannot be kept is not.

use crate::cache::{folder, program, write_whole};
use crate::files::sha256;
use ice_contact::kept_tables::{TableStore, keep_tables_in};
use std::fs;
use std::path::PathBuf;

/// Most tables of runners that are kept; the oldest goes when one more comes. One takes 0.6 MB.
const MOST_TABLES: usize = 256;

/// Tables of runners in the cache of the user.
struct StoredTables(PathBuf);

impl StoredTables {
    fn place(&self, key: &str) -> PathBuf {
        self.0.join(format!("{}.table", sha256(&[&program(), "\n", key])))
    }
}

impl TableStore for StoredTables {
    fn kept(&self, key: &str) -> Option<Vec<u8>> {
        fs::read(self.place(key)).ok()
    }

    fn keep(&self, key: &str, bytes: &[u8]) {
        let entries = fs::read_dir(&self.0).map_or(vec![], |all| all.filter_map(Result::ok).collect());
        if entries.len() >= MOST_TABLES {
            let age = |e: &fs::DirEntry| e.metadata().and_then(|m| m.modified()).ok();
            if let Some(oldest) = entries.iter().min_by_key(|e| age(e)) {
                let _ = fs::remove_file(oldest.path());
            }
        }
        write_whole(&self.place(key), bytes);
    }
}

/// Keeps tables of runners in the cache of the user from now on, if there is one.
pub fn keep_tables() {
    if let Some(folder) = folder("tables") {
        keep_tables_in(Box::new(StoredTables(folder)));
    }
}
