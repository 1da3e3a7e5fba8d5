//! The cache of the user: where it lies, how a file gets into it whole, and what a thing that is kept there depends on
//! beside its own numbers.

use crate::files::write_new;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, UNIX_EPOCH};

/// A folder of the cache of the user, where there is one: below `$XDG_CACHE_HOME`, or `.cache` in the home.
pub fn folder(of: &str) -> Option<PathBuf> {
    // a path that is not absolute is to be ignored, says the convention
    let named = |name: &str| std::env::var_os(name).map(PathBuf::from).filter(|p| p.is_absolute());
    let cache = named("XDG_CACHE_HOME").or_else(|| named("HOME").map(|home| home.join(".cache")));
    cache.map(|c| c.join("sagitta").join(of))
}

/// A part that is older than this is of a run that was killed: writing takes milliseconds.
const OLD: Duration = Duration::from_secs(3600);

/// Writes a file beside its place under a name of its own, then renames. Parts that killed runs left go.
pub fn write_whole(place: &Path, bytes: &[u8]) {
    let part = place.with_extension(format!("{}.part", std::process::id()));
    let folder = place.with_file_name("");
    for entry in fs::read_dir(&folder).into_iter().flatten().filter_map(Result::ok) {
        let age = entry.metadata().and_then(|m| m.modified()).ok().and_then(|t| t.elapsed().ok());
        if entry.path().extension().is_some_and(|e| e == "part") && age > Some(OLD) {
            let _ = fs::remove_file(entry.path());
        }
    }
    let kept = fs::create_dir_all(folder).and_then(|()| write_new(&part, bytes).map(drop));
    if kept.and_then(|()| fs::rename(&part, place)).is_err() {
        let _ = fs::remove_file(&part);
    }
}

/// Version of the program, length and time of its file: another build may make something else under the same version.
pub fn program() -> String {
    let file = std::env::current_exe().and_then(fs::metadata).ok();
    let length = file.as_ref().map_or(0, fs::Metadata::len);
    let time = file.and_then(|f| f.modified().ok()).and_then(|t| t.duration_since(UNIX_EPOCH).ok());
    format!("{} {length} {}", env!("CARGO_PKG_VERSION"), time.map_or(0, |t| t.as_nanos()))
}
