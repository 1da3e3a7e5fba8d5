//! `sagitta sweep`: same bytes however it is computed, and what it refuses.

use crate::cli::sagitta;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::{Duration, Instant};

/// A study of many quick cases, with files named from the folder of the repository.
fn quick(design: &str) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").canonicalize().unwrap();
    let root = root.display();
    format!(
        "name = \"quick\"\ntrack = \"{root}/tracks/quillmere\"\nsetup = \"{root}/examples/clubs-man.toml\"\n\
         model = \"guided\"\nseed = 7\n{design}"
    )
}

const GRID: &str = "[design]\nkind = \"grid\"\n[[axis]]\nkey = \"athlete.mass_kg\"\nfrom = 60\nto = 90\nsteps = 20\n\
    [[axis]]\nkey = \"air.drag_area_m2\"\nfrom = 0.05\nto = 0.06\nsteps = 10\n[outputs]\ncorners = \"yes\"\n";

struct Place {
    folder: tempfile::TempDir,
}

impl Place {
    fn new(study: &str) -> Place {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("study.toml"), study).unwrap();
        Place { folder }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn text(&self, name: &str) -> String {
        self.path(name).display().to_string()
    }

    /// Computes into a folder; gives the exit status and what was said on both outputs.
    fn sweep(&self, out: &str, more: &[&str]) -> (Option<i32>, String) {
        let (study, out) = (self.text("study.toml"), self.text(out));
        let output = sagitta(&[&["sweep", &study, "--out", &out], more].concat()).output().unwrap();
        let said = [output.stdout, output.stderr].map(|t| String::from_utf8(t).unwrap()).concat();
        (output.status.code(), said)
    }

    /// Every file of a folder.
    fn files(&self, out: &str) -> BTreeMap<String, Vec<u8>> {
        let entries = fs::read_dir(self.path(out)).unwrap().map(Result::unwrap);
        entries
            .map(|e| {
                let (name, bytes) =
                    (e.file_name().to_string_lossy().to_string(), fs::read(e.path()).unwrap());
                let bytes = if name.ends_with(".json") { without_maker(&bytes) } else { bytes };
                (name, bytes)
            })
            .collect()
    }
}

/// A sidecar without the one thing that tells two ways to the same table apart: the command.
pub fn without_maker(sidecar: &[u8]) -> Vec<u8> {
    let mut read: serde_json::Value = serde_json::from_slice(sidecar).unwrap();
    assert!(read.as_object_mut().unwrap().remove("made_by").is_some());
    read.to_string().into_bytes()
}

/// That two folders hold the same files; tells the first that differs, not its bytes.
fn same(a: &BTreeMap<String, Vec<u8>>, b: &BTreeMap<String, Vec<u8>>, how: &str) {
    assert_eq!(a.keys().collect::<Vec<_>>(), b.keys().collect::<Vec<_>>(), "{how}");
    for (name, bytes) in a {
        assert!(bytes == &b[name], "{how}: {name} differs");
    }
}

#[test]
fn cli_a_sweep_has_the_same_bytes_at_any_number_of_threads_and_in_shards() {
    let place = Place::new(&quick(GRID));
    assert_eq!(place.sweep("one", &["--threads", "1"]).0, Some(0));
    let whole = place.files("one");
    assert!(whole.contains_key("finish_time.png") && whole.contains_key("corner_load.svg"));
    let table = String::from_utf8(whole["sweep.csv"].clone()).unwrap();
    assert_eq!(table.lines().count(), 201);
    for threads in ["2", "8"] {
        assert_eq!(place.sweep(threads, &["--threads", threads]).0, Some(0));
        same(&whole, &place.files(threads), threads);
    }
    for shard in ["1/3", "2/3", "3/3"] {
        let (status, said) = place.sweep("shards", &["--shard", shard]);
        assert_eq!(status, Some(0), "{said}");
    }
    let (study, shards, out) = (place.text("study.toml"), place.text("shards"), place.text("merged"));
    let merge = ["sweep", "merge", study.as_str(), shards.as_str(), "--out", out.as_str()];
    assert!(sagitta(&merge).output().unwrap().status.success());
    same(&whole, &place.files("merged"), "merged");
    // a shard that is missing is told, and nothing is written
    fs::remove_file(place.path("shards").join("sweep-2-of-3.csv")).unwrap();
    let out = place.text("not");
    let output = sagitta(&["sweep", "merge", study.as_str(), shards.as_str(), "--out", out.as_str()])
        .output()
        .unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("67 cases are in no table, the first of them case 1"), "{said}");
    assert!(!place.path("not").exists());
}

#[test]
fn cli_a_sweep_that_is_killed_ends_with_the_same_bytes() {
    let place = Place::new(&quick(GRID));
    assert_eq!(place.sweep("whole", &[]).0, Some(0));
    let whole = place.files("whole");
    let rows = |text: &str| text.matches('\n').count();
    let table = place.path("killed").join("sweep.csv");
    let (study, out) = (place.text("study.toml"), place.text("killed"));
    let mut kills = 0;
    for wanted in [5, 60] {
        let program = sagitta(&[]).get_program().to_owned();
        let mut child = std::process::Command::new(program)
            .args(["sweep", study.as_str(), "--out", out.as_str(), "--threads", "2"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let start = Instant::now();
        while rows(&fs::read_to_string(&table).unwrap_or_default()) < wanted {
            // a machine that is this slow tells nothing about resuming
            assert!(start.elapsed() < Duration::from_secs(60), "no rows within a minute");
            std::thread::sleep(Duration::from_millis(1));
        }
        child.kill().unwrap();
        kills += usize::from(!child.wait().unwrap().success());
        let left = fs::read_to_string(&table).unwrap();
        assert!(rows(&left) < 201, "it was done before it could be killed");
        // half a row, as a loss of power may leave it
        fs::write(&table, left + "77,61.5,0.0").unwrap();
    }
    assert_eq!(kills, 2);
    let (status, said) = place.sweep("killed", &[]);
    assert_eq!(status, Some(0), "{said}");
    assert!(said.contains("of 200 cases are there already"), "{said}");
    same(&whole, &place.files("killed"), "killed twice");
}

#[test]
fn cli_a_sweep_of_other_inputs_is_refused_the_folder() {
    let place = Place::new(&quick(GRID));
    assert_eq!(place.sweep("out", &[]).0, Some(0));
    let before = place.files("out");
    fs::write(place.path("study.toml"), quick(GRID).replace("seed = 7", "seed = 8")).unwrap();
    let (status, said) = place.sweep("out", &[]);
    assert_eq!(status, Some(2));
    assert!(
        said.contains("holds another table (the sidecars differ in ")
            && said.contains("another folder for --out"),
        "{said}"
    );
    same(&before, &place.files("out"), "refused");
}

#[test]
fn cli_a_table_is_made_again_from_its_sidecar_alone() {
    let design = "[set]\n\"sled.ballast_kg\" = 3\n[design]\nkind = \"sobol\"\npoints = 16\n[[axis]]\n\
        key = \"athlete.mass_kg\"\nmean = 75\nsd = 4\n[[axis]]\nkey = \"air.drag_area_m2\"\nfrom = 0.05\nto = 0.06\n";
    let place = Place::new(&quick(design));
    let (status, said) = place.sweep("out", &[]);
    assert_eq!(status, Some(0), "{said}");
    let sidecar: serde_json::Value =
        serde_json::from_slice(&fs::read(place.path("out/sweep.json")).unwrap()).unwrap();
    assert_eq!(sidecar["base"]["sled.ballast_kg"], 3.0);
    assert_eq!(sidecar["axes"][0]["numbers"]["cut_at_sd"], 3.0);
    assert!(sidecar["made_by"]["command"].as_str().unwrap().starts_with("sagitta sweep "), "{sidecar}");
    // the study is gone; its text is in the sidecar
    fs::remove_file(place.path("study.toml")).unwrap();
    let again = |out: &str| {
        let (sidecar, out) = (place.text("out/sweep.json"), place.text(out));
        let output = sagitta(&["sweep", "--again", &sidecar, "--out", &out]).output().unwrap();
        (output.status.code(), [output.stdout, output.stderr].map(|t| String::from_utf8(t).unwrap()).concat())
    };
    let (status, said) = again("second");
    assert_eq!(status, Some(0), "{said}");
    assert!(said.contains("the same bytes as before"), "{said}");
    same(&place.files("out"), &place.files("second"), "again");
    // a sidecar that names another table: said, and the status tells
    let mut other = sidecar.clone();
    other["table_sha256"] = "0".repeat(64).into();
    fs::write(place.path("out/sweep.json"), other.to_string()).unwrap();
    let (status, said) = again("third");
    assert!(status == Some(1) && said.contains("other bytes than before"), "{said}");
    // a track that changed is refused
    let mut other = sidecar;
    other["inputs"]["track_sha256"] = "0".repeat(64).into();
    fs::write(place.path("out/sweep.json"), other.to_string()).unwrap();
    let (status, said) = again("fourth");
    assert!(status == Some(2) && said.contains("its files changed"), "{said}");
}

#[test]
fn cli_a_row_that_was_edited_is_refused() {
    let place = Place::new(&quick(GRID));
    assert_eq!(place.sweep("out", &[]).0, Some(0));
    let table = fs::read_to_string(place.path("out/sweep.csv")).unwrap();
    let edited = table.replacen("finished", "Finished", 1);
    fs::write(place.path("out/sweep.csv"), &edited).unwrap();
    let (status, said) = place.sweep("out", &[]);
    assert!(status == Some(2) && said.contains("sweep.csv: was changed after it was computed"), "{said}");
    // an unfinished table: each row has its hash beside it
    let lines: Vec<&str> = table.split_inclusive('\n').take(4).collect();
    let sidecar = fs::read_to_string(place.path("out/sweep.json")).unwrap();
    let mut unfinished: serde_json::Value = serde_json::from_str(&sidecar).unwrap();
    let hash = |row: &str| {
        let digest = <sha2::Sha256 as sha2::Digest>::digest(row.as_bytes());
        digest.iter().take(8).map(|b| format!("{b:02x}")).collect::<String>()
    };
    unfinished["table_sha256"] = serde_json::Value::Null;
    let hashes: String = lines[1..].iter().map(|l| hash(l) + "\n").collect();
    let put = |third: &str| {
        let folder = place.path("part");
        let _ = fs::create_dir(&folder);
        fs::write(folder.join("sweep.json"), unfinished.to_string()).unwrap();
        fs::write(folder.join("sweep.rows"), &hashes).unwrap();
        fs::write(folder.join("sweep.csv"), [lines[0], lines[1], lines[2], third].concat()).unwrap();
        place.sweep("part", &[])
    };
    let (status, said) = put(&lines[3].replacen("finished", "Finished", 1));
    assert!(status == Some(2) && said.contains("line 4 was changed after it was computed"), "{said}");
    let (status, said) = put(lines[3]);
    assert!(status == Some(0) && said.contains("3 of 200 cases are there already"), "{said}");
    assert!(fs::read_to_string(place.path("part/sweep.csv")).unwrap() == table);
    assert!(!place.path("part/sweep.rows").exists());
}

#[test]
fn cli_a_failed_case_is_a_row_with_its_reason() {
    let design =
        "[design]\nkind = \"grid\"\n[[axis]]\nkey = \"runners.yield_stress_mpa\"\nlist = [600, 100, 500]\n";
    let place = Place::new(&quick(design).replace("guided", "first-pilot"));
    let (status, said) = place.sweep("out", &[]);
    assert_eq!(status, Some(1), "{said}");
    assert!(said.contains("3 cases: 2 finished, 0 lost control, 1 failed"), "{said}");
    let table = fs::read_to_string(place.path("out").join("sweep.csv")).unwrap();
    let row = table.lines().nth(2).unwrap();
    assert!(row.starts_with("1,100,failed,,") && row.contains("allowed: up to the yield stress"), "{row}");
    assert!(table.lines().nth(3).unwrap().starts_with("2,500,finished,"));
}

#[test]
fn cli_a_faulty_study_is_refused_with_every_fault() {
    let refused = |text: &str| {
        let place = Place::new(text);
        let (status, said) = place.sweep("out", &[]);
        assert_eq!(status, Some(2), "{said}");
        assert!(!place.path("out").exists(), "something was written");
        said
    };
    let axis = |key: &str, more: &str| format!("[[axis]]\nkey = \"{key}\"\n{more}\n");
    let range = "from = 60\nto = 90\nsteps = 4";
    let wrong = [
        axis("runners.bow_m", "list = [0.001]"),
        axis("atlete.mass_kg", range),
        axis("athlete.mass_kg", "from = 60\nto = 250\nsteps = 4"),
        axis("sled.ballast_kg", "mean = 3\nsd = 1"),
        axis("ice.guided_friction", "list = [0.009, \"much\"]"),
        axis("runners.roughness_um", "list = [0.2]"),
    ];
    let said = refused(
        &quick(&format!("[design]\nkind = \"grid\"\nkinds = 1\n{}", wrong.concat()))
            .replace("seed = 7\n", ""),
    );
    for told in [
        "(seed): no seed; write one",
        "study.toml, line 7, column 1 (design.kinds)",
        "study.toml, line 9, column 7 (axis.key): got \"runners.bow_m\": wrong unit: runners.bow_mm is in mm",
        "got \"atlete.mass_kg\": no such key, nearest is athlete.mass_kg",
        "athlete.mass_kg reaches 250 kg; allowed: 20 to 200 kg",
        "does not say over which values; allowed: list = [...], or from, to and steps",
        "got the text \"much\"",
        "runners.roughness_um changes nothing here; it needs model = \"first-pilot\" or \"planned\"",
    ] {
        assert!(said.contains(told), "missing \"{told}\" in\n{said}");
    }
    assert_eq!(said.trim().lines().count(), 9, "{said}");
    let many = axis("athlete.mass_kg", "from = 60\nto = 90\nsteps = 1000")
        + &axis("air.drag_area_m2", "from = 0.05\nto = 0.06\nsteps = 1000");
    let said = refused(&quick(&format!("[design]\nkind = \"grid\"\n{many}")));
    assert!(
        said.contains("1000000 cases; allowed: 100000; take fewer steps, or kind = \"latin-hypercube\""),
        "{said}"
    );
    for (text, told) in [
        ("", "line 1, column 1 (name)"),
        ("[design]\nkind = \"sobol\"\npoints = 70000\n", "a whole number from 1 to 65536"),
        ("[design]\nkind = \"grid\"\n", "[[axis]] with a key"),
        ("[design]\nkind = \"cube\"\n", "cube"),
        ("[rides]\nskill = \"master\"\n", "allowed: \"novice\", \"club\", \"national\", \"elite\""),
        ("[set]\n\"ice.guided_friction\" = 7\n", "ice.guided_friction reaches 7; allowed: 0 to 0.2"),
    ] {
        let study = if text.is_empty() { String::new() } else { quick(text) };
        let said = refused(&study);
        assert!(said.contains(told), "missing \"{told}\" in\n{said}");
    }
    let place = Place::new(&quick(GRID));
    for option in [["--shard", "4/3"], ["--threads", "0"], ["--shard", "x"]] {
        assert_eq!(place.sweep("out", &option).0, Some(2), "{option:?}");
    }
}

#[test]
fn cli_the_sidecar_fits_its_schema_and_names_every_column() {
    let schema: serde_json::Value =
        serde_json::from_str(include_str!("../../docs/sweep.schema.json")).unwrap();
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    let sobol = "[design]\nkind = \"indices\"\npoints = 8\n[[axis]]\nkey = \"athlete.mass_kg\"\nmean = 75\nsd = 4\n\
        [[axis]]\nkey = \"air.drag_area_m2\"\nfrom = 0.05\nmode = 0.052\nto = 0.06\n";
    for design in [GRID, sobol, "[design]\nkind = \"slopes\"\n"] {
        let place = Place::new(&quick(design));
        let (status, said) = place.sweep("out", &[]);
        assert_eq!(status, Some(0), "{said}");
        if design == sobol {
            assert!(said.contains("warning: fewer than 1024 base points"), "{said}");
        }
        let sidecar: serde_json::Value =
            serde_json::from_slice(&fs::read(place.path("out").join("sweep.json")).unwrap()).unwrap();
        let faults: Vec<String> =
            validator.iter_errors(&sidecar).map(|e| format!("{}: {e}", e.instance_path())).collect();
        assert!(faults.is_empty(), "{faults:?}");
        let names: Vec<&str> =
            sidecar["columns"].as_array().unwrap().iter().map(|c| c["name"].as_str().unwrap()).collect();
        let table = fs::read_to_string(place.path("out").join("sweep.csv")).unwrap();
        assert_eq!(table.lines().next().unwrap(), names.join(","));
        assert_eq!(table.lines().count() as u64, 1 + sidecar["cases"].as_u64().unwrap());
        let mut damaged = sidecar.clone();
        damaged["inputs"]["study_sha256"] = "abc".into();
        assert!(!validator.is_valid(&damaged));
    }
}
