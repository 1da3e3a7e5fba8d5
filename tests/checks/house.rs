//! The rules of the house, kept by tests.

use std::fs;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn rust_files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() && !path.ends_with("target") {
            rust_files(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

fn all_rust() -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    for folder in ["crates", "tests", "benches"] {
        rust_files(&root().join(folder), &mut found);
    }
    assert!(found.len() > 50, "{}", found.len());
    found.into_iter().map(|p| (p.clone(), fs::read_to_string(&p).unwrap())).collect()
}

#[test]
fn house_files_are_short_and_say_what_they_are() {
    for (path, text) in all_rust() {
        assert!(text.starts_with("//!"), "{} does not begin with //!", path.display());
        let lines = text.lines().count();
        assert!(lines <= 400, "{} has {lines} lines; allowed are 400", path.display());
        let name = path.file_stem().unwrap().to_string_lossy().to_string();
        for banned in ["utils", "common", "helpers", "prelude", "misc"] {
            assert_ne!(name, banned, "{}", path.display());
        }
    }
}

#[test]
fn house_only_the_program_prints_and_only_it_opens_files() {
    for (path, text) in all_rust() {
        let place = path.display().to_string();
        let below = place.contains("/crates/") && !place.contains("/crates/sagitta/");
        let code = text.split("#[cfg(test)]").next().unwrap_or("");
        if below && !place.ends_with("tests.rs") && !place.contains("/tests/") {
            for banned in ["println!", "eprintln!", "std::fs", "File::open"] {
                assert!(!code.contains(banned), "{place} has {banned}");
            }
        }
    }
}

#[test]
fn house_dependencies_point_down() {
    let order = [
        ("numerics", vec![]),
        ("track-geometry", vec!["numerics"]),
        ("ice-contact", vec!["numerics"]),
        ("sled-bench", vec!["numerics", "ice-contact"]),
        ("sled-dynamics", vec!["numerics", "track-geometry", "ice-contact"]),
        ("pictures", vec!["numerics", "track-geometry", "sled-dynamics"]),
        ("sweep-runner", vec!["numerics", "track-geometry", "ice-contact", "sled-dynamics", "pictures"]),
    ];
    let ours: Vec<&str> = order.iter().map(|o| o.0).chain(["sagitta"]).collect();
    for (name, allowed) in &order {
        let manifest = fs::read_to_string(root().join(format!("crates/{name}/Cargo.toml"))).unwrap();
        let dependencies = manifest.split("[dependencies]").nth(1).unwrap_or("");
        let dependencies = dependencies.split("[dev-dependencies]").next().unwrap_or("");
        for other in &ours {
            let there = dependencies.lines().any(|l| l.starts_with(&format!("{other}.")));
            assert!(!there || allowed.contains(other), "{name} must not depend on {other}");
        }
    }
}

#[test]
fn house_checks_named_in_docs_exist() {
    let files = all_rust();
    let everything: String = files.iter().map(|f| f.1.as_str()).collect();
    let mut named = 0;
    for (path, text) in &files {
        let docs: String =
            text.lines().filter_map(|l| l.trim().strip_prefix("//")).collect::<Vec<_>>().join(" ");
        for claim in docs.split("Checked by").skip(1) {
            let sentence = claim.split(". ").next().unwrap_or(claim);
            for name in sentence.split('`').skip(1).step_by(2) {
                let is_test = ["exact_", "order_", "conserves_", "published_", "trade_", "plan_"]
                    .iter()
                    .any(|k| name.starts_with(k) && name.len() > k.len());
                if is_test {
                    named += 1;
                    let there = everything.contains(&format!("fn {name}("));
                    assert!(there, "{} names {name}, which is no test", path.display());
                }
            }
        }
    }
    assert!(named > 20, "{named}");
}

#[test]
fn house_the_map_for_developers_is_true() {
    let map = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    for entry in fs::read_dir(root().join("crates")).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().to_string();
        assert!(map.contains(&format!("crates/{name}/")), "DEVELOPERS.md does not name crates/{name}/");
    }
    for word in map.split('`').skip(1).step_by(2) {
        let is_path =
            word.contains('/') && !word.contains(' ') && !word.contains('*') && !word.contains("::");
        if is_path
            && ["crates/", "tests/", "benches/", "docs/", "tracks/", "examples/"]
                .iter()
                .any(|p| word.starts_with(p))
        {
            assert!(root().join(word).exists(), "DEVELOPERS.md names {word}, which does not exist");
        }
    }
}
