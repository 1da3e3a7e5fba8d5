//! Sweeps in the hands of other programs: GNU parallel, and the example for pandas in `docs/`.
//!
//! Without those programs these checks tell that they were left out; where `EXAMPLES_MUST_BE_RUN` is set, as in
//! `.ci/run`, they fail.

use crate::cli::sagitta;
use std::fs;
use std::path::Path;
use std::process::Command;

fn left_out(why: &str) {
    assert!(std::env::var_os("EXAMPLES_MUST_BE_RUN").is_none(), "{why}");
    println!("left out: {why}");
}

fn runs(program: &str, arguments: &[&str]) -> bool {
    Command::new(program).args(arguments).output().is_ok_and(|o| o.status.success())
}

#[test]
fn cli_shards_by_gnu_parallel_merge_to_the_whole() {
    if !runs("parallel", &["--will-cite", "--version"]) {
        return left_out("GNU parallel is not installed");
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").canonicalize().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let study = format!(
        "name = \"shared out\"\ntrack = \"{0}/tracks/quillmere\"\nsetup = \"{0}/examples/clubs-man.toml\"\n\
         model = \"guided\"\nseed = 3\n[design]\nkind = \"latin-hypercube\"\npoints = 50\n\
         [[axis]]\nkey = \"athlete.mass_kg\"\nmean = 75\nsd = 5\n",
        root.display()
    );
    fs::write(folder.path().join("study.toml"), study).unwrap();
    let program = sagitta(&[]).get_program().to_string_lossy().to_string();
    let shards = Command::new("parallel")
        .args([
            "--will-cite",
            "-j",
            "2",
            &program,
            "sweep",
            "study.toml",
            "--out",
            "shards",
            "--shard",
            "{}/4",
        ])
        .args([":::", "1", "2", "3", "4"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert!(shards.status.success(), "{}", String::from_utf8_lossy(&shards.stderr));
    let in_folder = |arguments: &[&str]| {
        let done = Command::new(&program).args(arguments).current_dir(folder.path()).output().unwrap();
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    };
    in_folder(&["sweep", "merge", "study.toml", "shards", "--out", "merged"]);
    in_folder(&["sweep", "study.toml", "--out", "whole"]);
    for name in ["sweep.csv", "sweep.json"] {
        let read = |out: &str| {
            let bytes = fs::read(folder.path().join(out).join(name)).unwrap();
            if name.ends_with("json") { crate::sweep::without_maker(&bytes) } else { bytes }
        };
        assert!(read("merged") == read("whole"), "{name} differs");
    }
}

#[test]
fn cli_the_example_for_pandas_works_as_it_stands() {
    // the python that the system's packages belong to may not be the first in the path
    let python = ["python3", "/usr/bin/python3"].into_iter().find(|p| runs(p, &["-c", "import pandas"]));
    let Some(python) = python else { return left_out("no python3 with pandas") };
    let guide = include_str!("../../docs/reading-a-sweep.md");
    let (_, rest) = guide.split_once("```python\n").unwrap();
    let (example, _) = rest.split_once("```").unwrap();
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out").display().to_string();
    assert!(
        sagitta(&["sweep", "examples/bow-and-ice.toml", "--out", &out]).output().unwrap().status.success()
    );
    let done = Command::new(python).args(["-c", example]).current_dir(folder.path()).output().unwrap();
    let said = String::from_utf8(done.stdout).unwrap();
    assert!(done.status.success(), "{said}{}", String::from_utf8_lossy(&done.stderr));
    assert!(said.contains("Bow and ice seed 1") && said.contains("0 of 20 cases have no time"), "{said}");
    // the best bows are those of the table itself
    let table = fs::read_to_string(folder.path().join("out/sweep.csv")).unwrap();
    for ice in ["-4", "-10"] {
        let rows = table.lines().map(|l| l.split(',').collect::<Vec<_>>()).filter(|f| f[2] == ice);
        let best =
            rows.min_by(|a, b| a[4].parse::<f64>().unwrap().total_cmp(&b[4].parse().unwrap())).unwrap();
        let bow: f64 = best[1].parse().unwrap();
        assert!(said.contains(&format!("{ice} degC: best {bow:?} mm")), "{ice} degC, {bow} mm:\n{said}");
    }
}
