//! What people typed, and what befell their files: told in a sentence, with nothing half-written taken as whole.

use crate::cli::sagitta;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

pub fn root() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Status, standard output, standard error.
pub fn ended(arguments: &[&str]) -> (Option<i32>, String, String) {
    let output = sagitta(arguments).output().unwrap();
    let [out, err] = [output.stdout, output.stderr].map(|t| String::from_utf8(t).unwrap());
    (output.status.code(), out, err)
}

/// What is said on standard error with status 2 and without a result.
pub fn refusal(arguments: &[&str]) -> String {
    let (status, out, err) = ended(arguments);
    assert!(status == Some(2) && out.is_empty(), "{arguments:?}: {status:?} {out}{err}");
    err
}

pub fn says(said: &str, parts: &[&str]) {
    for part in parts {
        assert!(said.contains(part), "missing \"{part}\" in\n{said}");
    }
}

/// A study of so many quick cases, in a folder.
pub fn study(folder: &Path, steps: usize) -> String {
    let text = format!(
        "name = \"many\"\ntrack = \"Quillmere\"\nmodel = \"guided\"\nseed = 1\n[design]\nkind = \"grid\"\n\
         [[axis]]\nkey = \"athlete.mass_kg\"\nfrom = 60\nto = 90\nsteps = {steps}\n[outputs]\npictures = \"no\"\n"
    );
    let path = folder.join("study.toml");
    fs::write(&path, text).unwrap();
    path.display().to_string()
}

#[test]
fn cli_a_closed_standard_error_ends_no_sweep_and_hangs_none() {
    let folder = tempfile::tempdir().unwrap();
    let (study, out) = (study(folder.path(), 2000), folder.path().join("out"));
    let (nobody, err) = std::io::pipe().unwrap();
    drop(nobody);
    let mut child = Command::new(sagitta(&[]).get_program())
        .args(["sweep", &study, "--threads", "2", "--out", out.to_str().unwrap()])
        .stdout(Stdio::null())
        .stderr(err)
        .spawn()
        .unwrap();
    let start = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        // some ten seconds; the first line of progress comes after one
        if start.elapsed() > Duration::from_secs(240) {
            child.kill().unwrap();
            panic!("it hangs");
        }
        std::thread::sleep(Duration::from_millis(20));
    };
    assert!(status.success(), "{status}");
    // the header, and no row lost
    assert_eq!(fs::read_to_string(out.join("sweep.csv")).unwrap().lines().count(), 2001);
}

#[cfg(unix)]
#[test]
fn cli_a_sweep_that_nobody_reads_stops_and_one_with_a_folder_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    // minutes of work
    let (many, out) = (study(folder.path(), 100_000), folder.path().join("out"));
    let unread = |arguments: &[&str]| {
        let (nobody, out) = std::io::pipe().unwrap();
        drop(nobody);
        let child = Command::new(sagitta(&[]).get_program())
            .args(arguments)
            .stdout(out)
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let output = child.wait_with_output().unwrap();
        (output.status.code(), String::from_utf8(output.stderr).unwrap())
    };
    let begun = Instant::now();
    let (status, err) = unread(&["sweep", &many]);
    assert_eq!(status, Some(130), "{err}");
    assert_eq!(err.matches("nobody reads the result any more; stopping").count(), 1, "{err}");
    assert!(begun.elapsed() < Duration::from_secs(30), "{:?}", begun.elapsed());
    // what is written is wanted all the same
    let few = study(folder.path(), 50);
    let (status, err) = unread(&["sweep", &few, "--out", out.to_str().unwrap()]);
    assert_eq!(status, Some(0), "{err}");
    assert_eq!(fs::read_to_string(out.join("sweep.csv")).unwrap().lines().count(), 51);
}

#[cfg(unix)]
#[test]
fn cli_a_path_that_is_no_text_is_refused_like_any_other() {
    use std::os::unix::ffi::OsStringExt;
    let path = std::ffi::OsString::from_vec(b"no-such-\xff.toml".to_vec());
    for command in ["descend", "sweep"] {
        let option = if command == "descend" { "--setup" } else { "--threads=1" };
        let output =
            Command::new(sagitta(&[]).get_program()).args([command, option]).arg(&path).output().unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(said.contains("cannot be read"), "{said}");
    }
}

#[test]
fn cli_a_track_is_named_in_whatever_case_and_a_file_is_no_track() {
    fn with(track: &str) -> [&str; 5] {
        ["descend", "--model", "guided", "--track", track]
    }
    let (status, out, err) = ended(&with("Quillmere"));
    assert!(status == Some(0) && out.contains("on Quillmere"), "{out}{err}");
    let list = "tracks/quillmere/corner_list.toml";
    says(&refusal(&with(list)), &["is a file", &format!("sagitta track build {list} --out DIR")]);
    says(&refusal(&with("tracks/quillmere/track.toml")), &["is a file", "name the folder"]);
    says(&refusal(&with("Oskadale")), &["Oskadale: no track is there", "oskerdale or quillmere"]);
}

#[test]
fn cli_a_decimal_comma_of_a_bow_is_told() {
    let said = refusal(&["bow", "target", "--left", "1,2"]);
    says(&said, &["read as 1 mm at the front and 2 mm at the rear screw", "--left 1.2"]);
    says(&refusal(&["bow", "target", "--left", "1,25"]), &["--left 1,25", "written 1.25"]);
}

#[test]
fn cli_readings_with_commas_or_semicolons_are_told_once() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.csv");
    let text = fs::read_to_string(root().join("examples/readings.csv")).unwrap();
    let read = |text: String| {
        fs::write(&file, text).unwrap();
        refusal(&["bow", "read", file.to_str().unwrap()])
    };
    let rows =
        text.lines().filter(|l| l.contains(".")).filter(|l| l.contains("left,") || l.contains("right,"));
    let rows = rows.count();
    let commas: String = text
        .lines()
        .map(|l| if l.starts_with('#') { l.into() } else { l.replace('.', ",") } + "\n")
        .collect();
    let said = read(commas);
    says(&said, &["mine.csv, line 4", &format!("so in {} more lines", rows - 1), "decimal point"]);
    assert_eq!(said.trim().lines().count(), 2, "{said}");
    let said = read(text.replace(',', ";"));
    says(&said, &["mine.csv, line 3", "semicolons"]);
    assert_eq!(said.trim().lines().count(), 2, "{said}");
}

#[test]
fn cli_what_a_corner_list_builds_is_read_before_it_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let (file, out) = (folder.path().join("list.toml"), folder.path().join("out"));
    let text = fs::read_to_string(root().join("tracks/quillmere/corner_list.toml")).unwrap();
    // a trough that a corner list may have and a track may not
    fs::write(&file, text.replace("straight_trough_radius_m = 2.2", "straight_trough_radius_m = 0.2"))
        .unwrap();
    let said = refusal(&["track", "build", file.to_str().unwrap(), "--out", out.to_str().unwrap()]);
    says(&said, &["list.toml: nothing is written", "trough_radius_m", "0.2"]);
    assert!(!out.exists());
}

#[test]
fn cli_a_damaged_shard_is_named_with_its_line() {
    let folder = tempfile::tempdir().unwrap();
    let study = study(folder.path(), 6);
    let at = |name: &str| folder.path().join(name).display().to_string();
    for shard in ["1/2", "2/2"] {
        let (status, _, err) = ended(&["sweep", &study, "--shard", shard, "--out", &at("shards")]);
        assert_eq!(status, Some(0), "{err}");
    }
    let table = folder.path().join("shards/sweep-2-of-2.csv");
    let good = fs::read_to_string(&table).unwrap();
    let merge = ["sweep", "merge", &study, &at("shards"), "--out", &at("whole")];
    let finish = good.lines().nth(2).unwrap().split(',').nth(3).unwrap();
    fs::write(&table, good.replacen(finish, "NaN", 1)).unwrap();
    says(&refusal(&merge), &["sweep-2-of-2.csv: was changed after it was computed; line 3 holds NaN"]);
    fs::write(&table, good.trim_end()).unwrap();
    says(&refusal(&merge), &["sweep-2-of-2.csv", "line 4 is cut short"]);
    assert!(!Path::new(&at("whole")).exists());
    fs::write(&table, &good).unwrap();
    let (status, _, err) = ended(&merge);
    assert_eq!(status, Some(0), "{err}");
}

#[test]
fn cli_names_move_no_terminal_and_planted_links_are_not_followed() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.csv");
    fs::write(&file, "runner,point\u{1b}[2J,distance_mm,error_mm\n").unwrap();
    let said = refusal(&["bow", "read", file.to_str().unwrap()]);
    assert!(!said.contains('\u{1b}'), "{said:?}");
    // a name with an escape is refused where it is read
    let text = fs::read_to_string(root().join("tracks/quillmere/corner_list.toml")).unwrap();
    let list = folder.path().join("list.toml");
    fs::write(&list, text.replace("name = \"Quillmere\"", "name = \"Quill\\u001bmere\"")).unwrap();
    let out = folder.path().join("out");
    let build = |list: &Path| {
        ["track", "build", list.to_str().unwrap(), "--out", out.to_str().unwrap()].map(String::from)
    };
    let arguments = build(&list);
    let said = refusal(&arguments.iter().map(String::as_str).collect::<Vec<_>>());
    says(&said, &["list.toml, line 6", "control characters"]);
}

#[cfg(unix)]
#[test]
fn cli_a_link_in_the_place_of_a_part_is_not_followed() {
    let folder = tempfile::tempdir().unwrap();
    let victim = folder.path().join("victim");
    fs::write(&victim, "mine").unwrap();
    let out = folder.path().join("out");
    fs::create_dir(&out).unwrap();
    std::os::unix::fs::symlink(&victim, out.join(".track.toml.part")).unwrap();
    let list = root().join("tracks/quillmere/corner_list.toml");
    let (status, _, err) = ended(&["track", "build", list.to_str().unwrap(), "--out", out.to_str().unwrap()]);
    assert_eq!(status, Some(0), "{err}");
    assert_eq!(fs::read_to_string(&victim).unwrap(), "mine");
}

#[test]
fn cli_a_level_track_has_a_ledger_and_a_start_time_a_range() {
    let folder = tempfile::tempdir().unwrap();
    let rows: String = (0..=200).map(|i| format!("{},600,,0,3,0.7,-0.7\n", 2 * i)).collect();
    let header = "station_m,elevation_m,radius_m,banking_deg,trough_radius_m,left_edge_m,right_edge_m\n";
    fs::write(folder.path().join("stations.csv"), format!("{header}{rows}")).unwrap();
    let eye = |name: &str, at: u32| format!("[[eyes]]\nname = \"{name}\"\nstation_m = {at}\n");
    let words = |second: u32| {
        let eyes = [eye("start", 15), eye("start time", second), eye("finish", 390)].concat();
        format!(
            "name = \"Level\"\naltitude_m = 600\nlatitude_deg = 60\nquality = \"invented\"\nsource = \"made up\"\n{eyes}"
        )
    };
    let ride = ["descend", "--model", "guided", "--track", folder.path().to_str().unwrap()];
    fs::write(folder.path().join("track.toml"), words(65)).unwrap();
    let (_, out, err) = ended(&ride);
    assert!(out.contains("of fall and push") && !out.contains("inf"), "{out}{err}");
    // a slow sled halts before a second eye so far away
    fs::write(folder.path().join("track.toml"), words(380)).unwrap();
    let said = refusal(&ride);
    assert!(said.contains("push.start_time_s") && !said.contains("NaN") && !said.contains("inf"), "{said}");
}

#[test]
fn cli_a_variant_is_told_as_a_variant_and_a_step_of_nothing_is_refused() {
    for variant in ["foo=1", "foo"] {
        let said = refusal(&["compare", "--variant", variant]);
        assert!(said.contains(&format!("--variant {variant}")) && !said.contains("--set"), "{said}");
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("slopes.toml");
    let text = "name = \"s\"\nmodel = \"guided\"\nseed = 1\n[design]\nkind = \"slopes\"\n[[axis]]\n\
                key = \"athlete.mass_kg\"\nstep = 1e-300\n";
    fs::write(&file, text).unwrap();
    says(&refusal(&["sweep", file.to_str().unwrap()]), &["slopes.toml, line 6", "step must be at least"]);
}

#[test]
fn cli_a_mass_beyond_all_limits_is_told_before_anything_is_ridden() {
    let (_, out, _) = ended(&["descend", "--model", "guided", "--set", "athlete.mass_kg=140.5"]);
    says(&out, &["mass of athlete and sled 176.0 kg", "OUTSIDE"]);
    let (_, _, err) = ended(&["compare", "--variant", "athlete.mass_kg=140.5", "--rides", "2"]);
    says(&err, &["with athlete.mass_kg=140.5: mass of athlete and sled 176.0 kg", "OUTSIDE"]);
    // of the first set-up, which is within a limit, nothing is said
    assert_eq!(err.lines().filter(|l| l.contains("mass of athlete")).count(), 1, "{err}");
}

#[test]
fn cli_two_that_write_into_one_folder_leave_the_files_of_one() {
    let folder = tempfile::tempdir().unwrap();
    let arguments = |mass: &str, out: &Path| {
        let out = out.display().to_string();
        ["descend", "--model", "guided", "--set", &format!("athlete.mass_kg={mass}"), "--out", &out]
            .map(String::from)
    };
    let masses = ["66", "67"];
    let files = |at: &Path| -> Vec<(std::ffi::OsString, Vec<u8>)> {
        let mut all: Vec<_> = fs::read_dir(at)
            .unwrap()
            .map(|f| f.unwrap())
            .map(|f| (f.file_name(), fs::read(f.path()).unwrap()))
            .collect();
        all.sort();
        all
    };
    let alone = masses.map(|mass| {
        let out = folder.path().join(mass);
        let (status, _, err) = ended(&arguments(mass, &out).each_ref().map(String::as_str));
        assert_eq!(status, Some(0), "{err}");
        files(&out)
    });
    assert!(alone[0].len() > 3 && alone[0] != alone[1]);
    for round in 0..8 {
        let out = folder.path().join(format!("both{round}"));
        let both = masses.map(|mass| {
            Command::new(sagitta(&[]).get_program())
                .args(arguments(mass, &out))
                .current_dir(root())
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .spawn()
                .unwrap()
        });
        for mut child in both {
            assert!(child.wait().unwrap().success());
        }
        assert!(alone.contains(&files(&out)), "round {round}: files of both");
    }
}
