//! Plans and tables of runners kept from run to run in the cache of the user. What is read back is what would be
//! made, bit for bit, and nothing here is ever an error: what cannot be read is made anew, what cannot be kept is not.
//!
//! A plan lies under a SHA-256 of all it depends on: the program, the track's two files, every number of the
//! set-up, the lag. Only plans made from nothing are kept; one made from that of a neighbour depends on it.

use crate::files::sha256;
use ice_contact::kept_tables::{TableStore, keep_tables_in};
use sled_dynamics::setup::Setup;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;
use sweep_runner::rides::plan_bytes::{plan_bytes, read_plan};
use sweep_runner::rides::planner::Planned;

/// Where plans are kept; nowhere if there is no cache, or none is wanted.
pub struct PlanStore(Option<PathBuf>);

impl PlanStore {
    /// The cache of the user: `$XDG_CACHE_HOME`, or `.cache` in the home.
    pub fn of_user() -> PlanStore {
        PlanStore(cache().map(|c| c.join("plans")))
    }

    /// Keeps nothing.
    pub fn none() -> PlanStore {
        PlanStore(None)
    }

    /// The plan for this track, set-up and lag, read or else made and kept.
    pub fn plan<E>(
        &self,
        track_sha256: &str,
        setup: &Setup,
        lag_s: f64,
        make: impl FnOnce() -> Result<Planned, E>,
    ) -> Result<Planned, E> {
        let Some(folder) = &self.0 else { return make() };
        let place = folder.join(format!("{}.plan", key(track_sha256, setup, lag_s)));
        if let Some(kept) = fs::read(&place).ok().and_then(|bytes| read_plan(&bytes)) {
            return Ok(kept);
        }
        let planned = make()?;
        if let Some(bytes) = plan_bytes(&planned) {
            write_whole(&place, &bytes);
        }
        Ok(planned)
    }
}

/// The folder of the cache of the user, where there is one.
fn cache() -> Option<PathBuf> {
    // a path that is not absolute is to be ignored, says the convention
    let named = |name: &str| std::env::var_os(name).map(PathBuf::from).filter(|p| p.is_absolute());
    let cache = named("XDG_CACHE_HOME").or_else(|| named("HOME").map(|home| home.join(".cache")));
    cache.map(|c| c.join("sagitta"))
}

/// Writes a file beside its place under a name of its own, then renames.
fn write_whole(place: &Path, bytes: &[u8]) {
    let part = place.with_extension(format!("{}.part", std::process::id()));
    let folder = place.with_file_name("");
    let kept = fs::create_dir_all(folder).and_then(|()| fs::write(&part, bytes));
    if kept.and_then(|()| fs::rename(&part, place)).is_err() {
        let _ = fs::remove_file(&part);
    }
}

/// Most tables of runners that are kept; the oldest goes when one more comes. One takes 0.6 MB.
const MOST_TABLES: usize = 256;

/// Tables of runners in the cache of the user.
struct StoredTables(PathBuf);

impl StoredTables {
    fn place(&self, key: &str) -> PathBuf {
        let program = format!("{} {}", env!("CARGO_PKG_VERSION"), build());
        self.0.join(format!("{}.table", sha256(&[&program, "\n", key])))
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
    if let Some(cache) = cache() {
        keep_tables_in(Box::new(StoredTables(cache.join("tables"))));
    }
}

/// What a plan depends on, as a SHA-256.
fn key(track_sha256: &str, setup: &Setup, lag_s: f64) -> String {
    let program = format!("{} {}", env!("CARGO_PKG_VERSION"), build());
    sha256(&[&program, "\n", track_sha256, "\n", &numbers_of(setup), "\n", &lag_s.to_bits().to_string()])
}

/// Length and time of the program's file: another build may plan another ride under the same version.
pub fn build() -> String {
    let file = std::env::current_exe().and_then(fs::metadata).ok();
    let length = file.as_ref().map_or(0, fs::Metadata::len);
    let time = file.and_then(|f| f.modified().ok()).and_then(|t| t.duration_since(UNIX_EPOCH).ok());
    format!("{length} {}", time.map_or(0, |t| t.as_nanos()))
}

/// Every number of a set-up but the lag, which is no number of the sled; written so that each differs from every
/// other number.
fn numbers_of(setup: &Setup) -> String {
    let mut bare = setup.clone();
    bare.name.clear();
    bare.pilot.lag_s = 0.0;
    format!("{bare:?}")
}

/// SHA-256 of the numbers of a set-up, whatever it is called and however it is written.
pub fn setup_numbers_sha256(setup: &Setup) -> String {
    sha256(&[&numbers_of(setup)])
}
