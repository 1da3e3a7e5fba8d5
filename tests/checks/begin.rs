//! How somebody begins: a folder with a scenario, completions of a shell, manual pages.

use crate::cli::sagitta;
use std::fs;
use std::path::Path;

#[test]
fn cli_the_demo_runs_from_its_folder() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("demo");
    let demo = || sagitta(&["demo", "--out", out.to_str().unwrap()]).output().unwrap();
    let told = String::from_utf8(demo().stdout).unwrap();
    // what lies there is what the repository holds
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    for part in ["examples", "tracks/oskerdale", "tracks/quillmere"] {
        for file in fs::read_dir(out.join(part)).unwrap() {
            let file = file.unwrap();
            let ours = fs::read(root.join(part).join(file.file_name())).unwrap();
            assert!(fs::read(file.path()).unwrap() == ours, "{file:?}");
        }
    }
    let next: Vec<&str> = told.lines().filter_map(|l| l.strip_prefix("  sagitta ")).collect();
    assert_eq!(next.len(), 5, "{told}");
    // the last takes minutes: its plan is asked for a wrong number of rides instead, so that all files it names are read
    for command in next {
        let mut words: Vec<&str> = command.split_whitespace().collect();
        let evening = words[0] == "evening";
        if evening {
            let plan = out.join("examples/evening.toml");
            let wrong = fs::read_to_string(&plan).unwrap().replace("rides = 120", "rides = 1");
            fs::write(&plan, wrong).unwrap();
        }
        if let Some(rides) = words.iter().position(|w| *w == "--rides") {
            words[rides + 1] = "6";
        }
        let output = sagitta(&words).current_dir(&out).output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(if evening { 2 } else { 0 }), "{command}: {said}");
        assert!(!evening || said.contains("rides"), "{said}");
    }
    // what somebody has put there is not written over
    let again = demo();
    assert_eq!(again.status.code(), Some(2));
    assert!(String::from_utf8(again.stderr).unwrap().contains("holds files already"));
}

#[test]
fn cli_completions_and_manual_know_every_command() {
    let help = String::from_utf8(sagitta(&["--help"]).output().unwrap().stdout).unwrap();
    let listed = help.split("Commands:").nth(1).unwrap().split("\n\n").next().unwrap();
    let names: Vec<&str> = listed
        .lines()
        .filter_map(|l| l.split_whitespace().next())
        .filter(|name| *name != "help" && name.chars().all(|c| c.is_ascii_lowercase()))
        .collect();
    assert!(names.contains(&"evening"), "{names:?}");
    let folder = tempfile::tempdir().unwrap();
    let pages = sagitta(&["manual", "--out", folder.path().to_str().unwrap()]).output().unwrap();
    assert!(pages.status.success());
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = String::from_utf8(sagitta(&["completions", shell]).output().unwrap().stdout).unwrap();
        for name in &names {
            assert!(script.contains(name), "{shell}: {name}");
        }
    }
    for name in &names {
        let page = fs::read_to_string(folder.path().join(format!("sagitta-{name}.1"))).unwrap();
        assert!(page.contains(".SH NAME"), "{name}");
    }
    let read = fs::read_to_string(folder.path().join("sagitta-bow-read.1")).unwrap();
    assert!(read.contains("READINGS.csv") && read.contains("millimetres"), "{read}");
}
