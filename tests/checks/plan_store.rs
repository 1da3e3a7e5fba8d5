//! Plans kept from run to run: they save time, and nothing that is printed or written depends on them.

use crate::cli::sagitta;
use std::fs;
use std::path::{Path, PathBuf};

const RIDE: [&str; 5] = ["descend", "--track", "tracks/quillmere", "--model", "planned"];

/// What is printed and written, and whether a ride was planned, with the cache in a folder.
fn ridden(cache: &Path, more: &[&str]) -> (Vec<Vec<u8>>, bool) {
    let out = tempfile::tempdir().unwrap();
    let arguments = [&RIDE, more, &["--out", out.path().to_str().unwrap()]].concat();
    let output = sagitta(&arguments).env("XDG_CACHE_HOME", cache).output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(0), "{said}");
    let written = ["summary.json", "trace.csv"].map(|n| fs::read(out.path().join(n)).unwrap());
    ([vec![output.stdout], written.to_vec()].concat(), said.contains("planning the ride"))
}

fn kept(cache: &Path) -> Vec<PathBuf> {
    in_cache(cache, "plans")
}

fn in_cache(cache: &Path, what: &str) -> Vec<PathBuf> {
    let folder = cache.join("sagitta").join(what);
    fs::read_dir(folder).map_or(vec![], |all| all.map(|e| e.unwrap().path()).collect())
}

#[test]
fn cli_kept_plans_change_no_byte() {
    let cache = tempfile::tempdir().unwrap();
    let (told, planned) = ridden(cache.path(), &["--no-stored-plans"]);
    assert!(planned && kept(cache.path()).is_empty() && in_cache(cache.path(), "tables").is_empty());
    // a part of a run that was killed goes once it is old; a young one may be written at this moment
    let plans = cache.path().join("sagitta/plans");
    fs::create_dir_all(&plans).unwrap();
    let part = |name: &str, hours: u64| {
        let age = std::time::Duration::from_secs(3600 * hours);
        let file = fs::File::create(plans.join(name)).unwrap();
        file.set_modified(std::time::SystemTime::now() - age).unwrap();
        plans.join(name)
    };
    let (old, young) = (part("a.4194305.part", 2), part("b.4194305.part", 0));
    for plans in [true, false] {
        let (made, planned) = ridden(cache.path(), &[]);
        assert_eq!(planned, plans);
        assert!(made == told, "with a plan that was {}", if plans { "made" } else { "kept" });
    }
    assert!(!old.exists() && young.exists());
    fs::remove_file(young).unwrap();
    let files = kept(cache.path());
    assert_eq!(files.len(), 1, "{files:?}");
    assert!(files[0].extension().is_some_and(|e| e == "plan"), "{files:?}");
    // a kept plan of another set-up is another one; names do not matter
    let name = tempfile::tempdir().unwrap();
    let other = name.path().join("renamed.toml");
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/clubs-woman.toml"));
    let text = text.unwrap();
    assert!(text.contains("Club's woman, pair A"));
    fs::write(&other, text.replace("Club's woman, pair A", "Another name")).unwrap();
    assert!(!ridden(cache.path(), &["--setup", other.to_str().unwrap()]).1);
    // both runners alike: one table; a damaged one is made anew, and put in order
    let tables = in_cache(cache.path(), "tables");
    assert_eq!(tables.len(), 1, "{tables:?}");
    let table = fs::read(&tables[0]).unwrap();
    fs::write(&tables[0], &table[..table.len() / 2]).unwrap();
    assert!(ridden(cache.path(), &[]).0 == told);
    assert!(fs::read(&tables[0]).unwrap() == table);
    // a damaged plan is made anew, and put in order
    let whole = fs::read(&files[0]).unwrap();
    let mut damaged = whole.clone();
    damaged[whole.len() / 2] ^= 1;
    fs::write(&files[0], damaged).unwrap();
    let (made, planned) = ridden(cache.path(), &[]);
    assert!(planned && made == told);
    assert_eq!(fs::read(&files[0]).unwrap(), whole);
}

#[test]
fn cli_a_cache_that_cannot_be_used_is_no_error() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a-file");
    fs::write(&file, "").unwrap();
    let (_, planned) = ridden(&file, &[]);
    assert!(planned && fs::read(&file).unwrap().is_empty());
}
