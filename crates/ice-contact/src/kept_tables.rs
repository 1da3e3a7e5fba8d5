//! Tables that were built once are not built again: the last ones of this process, and those that a store keeps.
//!
//! A table hangs on runner, bow and ice alone, so that one that is read back or found again is the one that would be
//! built, bit for bit.

use crate::runner::{Bow, Fault, IceState, RunnerSpec};
use crate::tables::RunnerTable;
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Where bytes of tables are kept from run to run. Nothing here is ever an error: what cannot be read is built anew.
pub trait TableStore: Send + Sync {
    /// The bytes that were kept under a key.
    fn kept(&self, key: &str) -> Option<Vec<u8>>;
    /// Keeps bytes under a key.
    fn keep(&self, key: &str, bytes: &[u8]);
}

/// Tables that one process remembers; one takes about 0.6 MB.
const MOST: usize = 48;

static STORE: OnceLock<Box<dyn TableStore>> = OnceLock::new();
static LAST: Mutex<VecDeque<(String, Arc<RunnerTable>)>> = Mutex::new(VecDeque::new());

/// Keeps the tables of this process in a store from now on; false if there is one already.
pub fn keep_tables_in(store: Box<dyn TableStore>) -> bool {
    STORE.set(store).is_ok()
}

/// The table of a runner with a bow on ice: found, read or else built; every fault of the numbers at once otherwise.
pub fn runner_table(runner: &RunnerSpec, bow: Bow, ice: &IceState) -> Result<Arc<RunnerTable>, Vec<Fault>> {
    let key = format!("{runner:?} {bow:?} {ice:?}");
    if let Some(found) = remembered(&key) {
        return Ok(found);
    }
    let read = STORE.get().and_then(|s| s.kept(&key)).and_then(|bytes| RunnerTable::of_bytes(&bytes, runner));
    let table = match read {
        Some(table) => table,
        // nothing is locked here: building shares its work among threads
        None => {
            let built = RunnerTable::build(runner, bow, ice)?;
            if let Some(store) = STORE.get() {
                store.keep(&key, &built.bytes());
            }
            built
        }
    };
    let table = Arc::new(table);
    let mut last = LAST.lock().unwrap_or_else(PoisonError::into_inner);
    last.truncate(MOST - 1);
    last.push_front((key, Arc::clone(&table)));
    Ok(table)
}

/// A table that this process built or read before; it counts as the last one from now on.
fn remembered(key: &str) -> Option<Arc<RunnerTable>> {
    let mut last = LAST.lock().unwrap_or_else(PoisonError::into_inner);
    let found = last.iter().position(|(k, _)| k == key).and_then(|i| last.remove(i))?;
    let table = Arc::clone(&found.1);
    last.push_front(found);
    Some(table)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_a_table_comes_back_from_its_bytes() {
        let (runner, ice) = (RunnerSpec::default(), IceState::at_temperature(-5.0, 0.25));
        let built = runner_table(&runner, Bow::even(8e-3), &ice).expect("solvable");
        let bytes = built.bytes();
        let read = RunnerTable::of_bytes(&bytes, &runner).expect("whole");
        for at in [[300.0, 0.0, 0.02, 20.0], [2000.0, 0.03, -0.1, 35.0]] {
            let looks = [&*built, &read].map(|t| format!("{:?}", t.look(at[0], at[1], at[2], at[3])));
            assert_eq!(looks[0], looks[1]);
            let reports = [&*built, &read].map(|t| format!("{:?}", t.report(at[0], at[1], at[2])));
            assert_eq!(reports[0], reports[1]);
        }
        assert_eq!(read.built, built.built);
        // any damage, and any other length, is no table
        let mut damaged = bytes.clone();
        damaged[bytes.len() / 3] ^= 4;
        assert!(RunnerTable::of_bytes(&damaged, &runner).is_none());
        assert!(RunnerTable::of_bytes(&bytes[..bytes.len() - 1], &runner).is_none());
        assert!(RunnerTable::of_bytes(&[], &runner).is_none());
        // the same one again, not another
        let again = runner_table(&runner, Bow::even(8e-3), &ice).expect("solvable");
        assert!(Arc::ptr_eq(&built, &again));
    }
}
