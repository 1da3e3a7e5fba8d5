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
        assert!(lines < 400, "{} has {lines} lines; allowed are fewer than 400", path.display());
        let name = path.file_stem().unwrap().to_string_lossy().to_string();
        for banned in ["utils", "common", "helpers", "prelude", "misc"] {
            assert_ne!(name, banned, "{}", path.display());
        }
    }
}

/// The code of a file without its tests, which stand last.
fn without_tests(text: &str) -> &str {
    text.split("#[cfg(test)]\nmod tests {").next().unwrap_or("")
}

/// The files of a crate that are built into the program: path and code.
fn code_of(name: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    rust_files(&root().join("crates").join(name).join("src"), &mut found);
    assert!(!found.is_empty(), "crates/{name}/src has no files");
    found
        .into_iter()
        .map(|p| {
            // from the top: the way there leads through a folder of tests
            let place = p.strip_prefix(root()).unwrap().display().to_string();
            (place, fs::read_to_string(&p).unwrap())
        })
        .filter(|(place, _)| !place.ends_with("tests.rs") && !place.contains("/tests/"))
        .map(|(place, text)| (place, without_tests(&text).to_string()))
        .collect()
}

/// The program, and its command line: they may know every crate.
const PROGRAM: [&str; 2] = ["sagitta", "command-line"];

fn crates() -> Vec<String> {
    let entries = fs::read_dir(root().join("crates")).unwrap();
    entries.map(|e| e.unwrap().file_name().to_string_lossy().to_string()).collect()
}

#[test]
fn house_only_the_command_line_prints_and_only_it_opens_files() {
    for name in crates().iter().filter(|n| !PROGRAM.contains(&n.as_str())) {
        for (place, code) in code_of(name) {
            // an example in a doc may print and read
            let code: String = code.lines().filter(|l| !l.trim_start().starts_with("//")).collect();
            for banned in ["print!(", "println!(", "dbg!(", "std::fs", "File::", "std::env", "process::"] {
                assert!(!code.contains(banned), "{place} has {banned}");
            }
        }
    }
}

#[test]
fn house_crates_know_only_what_they_may() {
    let words: [(&str, &[&str]); 5] = [
        ("numerics", &["friction", "athlete", "gravity", "runner", "ice_", "track"]),
        ("track-geometry", &["mass_kg", "force_n", "load_n", "_time_s", "friction"]),
        ("ice-contact", &["track_geometry", "athlete", "station_m"]),
        ("sled-dynamics", &["rayon", "std::thread"]),
        ("page", &["UdpSocket", "UnixListener", "TcpStream", "UNSPECIFIED", "innerHTML"]),
    ];
    for (name, banned) in words {
        for (place, code) in code_of(name) {
            for word in banned {
                // what a doc says of the use of a thing is not code
                let there = code.lines().any(|l| !l.trim_start().starts_with("//") && l.contains(word));
                assert!(!there, "{place} knows of {word}");
            }
        }
    }
}

#[test]
fn house_dependencies_point_down() {
    let order = [
        ("numerics", vec![]),
        ("file-faults", vec![]),
        ("evidence", vec!["numerics", "file-faults"]),
        ("track-geometry", vec!["numerics", "file-faults"]),
        ("ice-contact", vec!["numerics"]),
        ("sled-bench", vec!["numerics", "ice-contact", "file-faults"]),
        ("sled-dynamics", vec!["numerics", "file-faults", "track-geometry", "ice-contact"]),
        ("pictures", vec!["numerics", "track-geometry", "sled-dynamics"]),
        (
            "sweep-runner",
            vec!["numerics", "file-faults", "track-geometry", "ice-contact", "sled-dynamics", "pictures"],
        ),
        ("page", vec!["file-faults", "ice-contact", "track-geometry", "sled-dynamics", "sweep-runner"]),
    ];
    let ours = crates();
    for name in ours.iter().filter(|n| !PROGRAM.contains(&n.as_str())) {
        let (_, allowed) =
            order.iter().find(|o| o.0 == name).expect("every crate has its place in the order");
        let manifest = fs::read_to_string(root().join(format!("crates/{name}/Cargo.toml"))).unwrap();
        let (_, after) = manifest.split_once("[dependencies]").expect("a table of dependencies");
        // tests keep to the order as well: the table of their dependencies follows
        for line in after.lines() {
            let key = line.split(['.', ' ', '=']).next().unwrap_or("");
            let fine = !ours.iter().any(|o| o == key) || allowed.contains(&key);
            assert!(fine, "{name} must not depend on {key}");
            assert!(
                !line.contains("path"),
                "{name}: {line}: crates are named in the workspace's manifest only"
            );
        }
    }
}

#[test]
fn house_tests_say_their_kind() {
    let kinds =
        ["exact_", "order_", "conserves_", "published_", "pins_", "trade_", "plan_", "cli_", "house_"];
    let mut found = Vec::new();
    rust_files(&root().join("tests"), &mut found);
    let mut tests = 0;
    for path in found {
        let text = fs::read_to_string(&path).unwrap();
        for after in text.split(&["#", "[test]"].concat()).skip(1) {
            let line = after.lines().find(|l| l.contains("fn ")).unwrap_or("");
            let name = line.trim().trim_start_matches("fn ");
            tests += 1;
            let kind = kinds.iter().any(|k| name.starts_with(k));
            assert!(kind, "{}: {name} does not say its kind", path.display());
        }
    }
    assert!(tests > 50, "{tests}");
}

#[test]
fn house_nothing_names_a_place_on_a_machine() {
    fn texts(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().to_string();
            if path.is_dir() {
                if !["target", ".git", "out"].contains(&name.as_str()) {
                    texts(&path, found);
                }
            } else if name == "run" || ["rs", "md", "toml", "json"].iter().any(|e| name.ends_with(e)) {
                found.push(path);
            }
        }
    }
    let mut found = Vec::new();
    texts(&root(), &mut found);
    assert!(found.len() > 100, "{}", found.len());
    for path in found {
        let text = fs::read_to_string(&path).unwrap();
        for place in ["tmp", "home", "root", "work", "Users"] {
            for before in [" ", "\"", "`", "(", "="] {
                let banned = format!("{before}/{place}/");
                assert!(!text.contains(&banned), "{} has {banned}", path.display());
            }
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
                let is_name = name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
                // `exact_` alone stands for all of its kind
                if is_name && !name.ends_with('_') {
                    named += 1;
                    let there = everything.contains(&format!("fn {name}("));
                    assert!(there, "{} names {name}, which is no test", path.display());
                }
            }
        }
    }
    assert!(named > 20, "{named}");
}

/// The paths named in backticks in a document.
fn paths_named(text: &str) -> Vec<&str> {
    let folders = ["crates/", "tests/", "benches/", "docs/", "tracks/", "examples/", ".ci/"];
    text.split('`')
        .skip(1)
        .step_by(2)
        .filter(|w| folders.iter().any(|f| w.starts_with(f)) && !w.contains([' ', '*', ':']))
        .collect()
}

#[test]
fn house_the_map_for_developers_is_true() {
    let map = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    for name in crates() {
        let named = map.split("\n- ").find(|l| l.starts_with(&format!("`crates/{name}/`")));
        let named = named.unwrap_or_else(|| panic!("the map does not name crates/{name}/"));
        assert!(named.contains("Invariant:"), "the map does not say what crates/{name}/ may not know");
    }
}

#[test]
fn house_rooms_know_only_those_before_them() {
    // the order that DEVELOPERS.md states; tests may look anywhere
    for (krate, rooms) in [
        ("sled-dynamics", &["setup", "laws", "motion", "analysis", "riding"][..]),
        ("sweep-runner", &["rides", "study", "plausible", "evening", "records"][..]),
    ] {
        let mut seen = 0;
        for (place, code) in code_of(krate) {
            let inner = place.split("/src/").nth(1).unwrap();
            let Some(own) = rooms.iter().position(|r| inner.starts_with(&format!("{r}/"))) else { continue };
            seen += 1;
            for later in &rooms[own + 1..] {
                assert!(
                    !code.contains(&format!("crate::{later}::")),
                    "{place} knows of the later room {later}"
                );
            }
        }
        assert!(seen > 10, "{krate}: {seen} files in rooms");
    }
}

/// The files of a crate that a file names by `crate::` or `super::`; a file and its parts (`a.rs`, `a/b.rs`) are one.
fn named_files(own: &str, code: &str, files: &[String]) -> Vec<String> {
    let above = own.rsplit_once('/').map_or("", |(above, _)| above);
    let mut found = Vec::new();
    for (start, base) in [("crate::", ""), ("super::", above)] {
        for rest in code.split(start).skip(1) {
            let end =
                rest.find(|c: char| !(c.is_ascii_lowercase() || c == '_' || c == ':')).unwrap_or(rest.len());
            let parts = rest[..end].split("::").filter(|p| !p.is_empty());
            let path = parts.fold(base.to_string(), |path, part| format!("{path}/{part}"));
            let mut path = path.trim_start_matches('/');
            while !path.is_empty() && !files.iter().any(|f| f == path) {
                path = path.rsplit_once('/').map_or("", |(above, _)| above);
            }
            let one = path.starts_with(&format!("{own}/")) || own.starts_with(&format!("{path}/"));
            if !path.is_empty() && path != own && !one {
                found.push(path.to_string());
            }
        }
    }
    found
}

#[test]
fn house_files_know_each_other_one_way_only() {
    let mut seen = 0;
    for krate in crates() {
        let code = code_of(&krate);
        let place = |p: &str| p.split("/src/").nth(1).unwrap().trim_end_matches(".rs").to_string();
        let files: Vec<String> = code.iter().map(|(p, _)| place(p)).collect();
        let mut left: Vec<(String, Vec<String>)> =
            code.iter().map(|(p, c)| (place(p), named_files(&place(p), without_tests(c), &files))).collect();
        seen += left.iter().map(|l| l.1.len()).sum::<usize>();
        // take away what names nothing that is left, until nothing goes
        loop {
            let names: Vec<String> = left.iter().map(|l| l.0.clone()).collect();
            let before = left.len();
            left.retain(|(_, named)| named.iter().any(|n| names.contains(n)));
            if left.len() == before {
                break;
            }
        }
        // what stands above a circle is no part of it: take away what nobody left names
        loop {
            let named: Vec<String> = left.iter().flat_map(|l| l.1.clone()).collect();
            let before = left.len();
            left.retain(|(own, _)| named.contains(own));
            if left.len() == before {
                break;
            }
        }
        let names: Vec<&String> = left.iter().map(|l| &l.0).collect();
        assert!(left.is_empty(), "crates/{krate}: a circle of files among {names:?}");
    }
    assert!(seen > 300, "{seen}");
}

#[test]
fn house_every_law_is_called() {
    let all: Vec<(String, String)> = crates().iter().flat_map(|name| code_of(name)).collect();
    let mut laws = 0;
    for (place, code) in all.iter().filter(|(place, _)| place.contains("/sled-dynamics/src/laws/")) {
        for name in code.replace("pub(crate) fn ", "pub fn ").split("pub fn ").skip(1) {
            let name = name.split(['(', '<']).next().unwrap();
            laws += 1;
            // once where it is defined, and once where it is used
            let uses: usize = all.iter().map(|(_, c)| c.matches(name).count()).sum();
            assert!(uses > 1, "{place}: nothing that is built calls {name}");
        }
    }
    assert!(laws > 20, "{laws}");
}

#[test]
fn house_paths_named_in_documents_exist() {
    for document in [
        "README.md",
        "DEVELOPERS.md",
        "SOURCES.md",
        "docs/model.md",
        "docs/bow.md",
        "docs/commands.md",
        "docs/descent.md",
        "docs/lost-time.md",
        "docs/page.md",
        "docs/studies.md",
        "docs/trust.md",
        "tracks/README.md",
    ] {
        let text = fs::read_to_string(root().join(document)).unwrap();
        for path in paths_named(&text) {
            // from the top, or from where the document stands
            let beside = root().join(document).with_file_name(path);
            assert!(root().join(path).exists() || beside.exists(), "{document} names {path}: no such place");
        }
    }
}

#[test]
fn house_files_named_in_the_model_exist() {
    let model = fs::read_to_string(root().join("docs/model.md")).unwrap();
    let files = all_rust();
    let mut named = 0;
    for word in model.split('`').skip(1).step_by(2).filter(|w| w.ends_with(".rs")) {
        named += 1;
        let there = files.iter().any(|(p, _)| p.ends_with(word));
        assert!(there, "docs/model.md names {word}, which does not exist");
    }
    assert!(named > 20, "{named}");
}
