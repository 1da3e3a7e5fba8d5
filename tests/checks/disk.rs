//! A disk that is full or may only be read, and a kill amid writing: nothing acknowledged is lost, no half file stands
//! under its name, and the program says what it could not write.

use crate::cli::sagitta;
use crate::refused::study;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// A small disk in memory, gone with this value.
struct Disk(tempfile::TempDir);

impl Disk {
    /// None where the machine does not let us have one, which is printed.
    fn new(options: &str) -> Option<Disk> {
        let disk = Disk(tempfile::tempdir().unwrap());
        disk.mounted(options).then_some(disk)
    }

    fn mounted(&self, options: &str) -> bool {
        let done =
            Command::new("mount").args(["-t", "tmpfs", "-o", options, "tmpfs"]).arg(self.0.path()).output();
        let refused = match done {
            Ok(done) if done.status.success() => return true,
            Ok(done) => String::from_utf8_lossy(&done.stderr).trim().to_string(),
            Err(e) => e.to_string(),
        };
        println!("skipped: no disk can be mounted here: {refused}");
        false
    }

    fn path(&self, name: &str) -> String {
        self.0.path().join(name).display().to_string()
    }
}

impl Drop for Disk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0.path()).output();
    }
}

/// Status, standard output, standard error.
fn ended(arguments: &[&str]) -> (Option<i32>, String, String) {
    let output = sagitta(arguments).output().unwrap();
    let [out, err] = [output.stdout, output.stderr].map(|t| String::from_utf8(t).unwrap());
    (output.status.code(), out, err)
}

fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).map_or(vec![], |all| all.map(|e| e.unwrap()).collect());
    // a file may be renamed while we look
    let read = |e: fs::DirEntry| Some((e.file_name().into_string().unwrap(), fs::read(e.path()).ok()?));
    entries.into_iter().filter_map(read).collect()
}

#[test]
fn cli_a_full_disk_takes_no_half_file() {
    // less than the pictures of a descent
    let Some(disk) = Disk::new("size=64k") else { return };
    let out = disk.path("out");
    let (status, told, err) = ended(&["descend", "--model", "guided", "--out", &out]);
    assert!(status == Some(2) && told.is_empty(), "{status:?} {told}{err}");
    assert!(err.contains("cannot be written: No space left on device"), "{err}");
    assert!(files(Path::new(&out)).is_empty(), "{:?}", files(Path::new(&out)).keys());
}

#[test]
fn cli_a_result_that_cannot_be_printed_is_an_error() {
    let Ok(full) = fs::OpenOptions::new().write(true).open("/dev/full") else {
        println!("skipped: no /dev/full here");
        return;
    };
    let program = sagitta(&[]).get_program().to_owned();
    let child = Command::new(program).arg("keys").stdout(full).stderr(Stdio::piped()).spawn().unwrap();
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(output.status.code() == Some(2) && said.contains("standard output: cannot be written"), "{said}");
}

#[test]
fn cli_a_sweep_goes_on_when_there_is_room_again() {
    let folder = tempfile::tempdir().unwrap();
    let study = study(folder.path(), 1000);
    let whole = folder.path().join("whole");
    let (status, _, err) = ended(&["sweep", &study, "--out", whole.to_str().unwrap()]);
    assert_eq!(status, Some(0), "{err}");
    let bytes = |at: &Path| fs::read(at.join("sweep.csv")).unwrap();
    // room for the sidecar and a part of the table
    let rows = bytes(&whole).len() / 1024;
    let sidecar = fs::read(whole.join("sweep.json")).unwrap().len() / 1024;
    let Some(disk) = Disk::new(&format!("size={}k", 2 * sidecar + rows / 2)) else { return };
    let out = disk.path("out");
    let (status, told, err) = ended(&["sweep", &study, "--out", &out]);
    assert!(status == Some(2) && told.is_empty(), "{status:?} {told}{err}");
    assert!(err.contains("sweep.csv: cannot be written: No space left on device"), "{err}");
    let left = fs::read_to_string(Path::new(&out).join("sweep.csv")).unwrap().lines().count();
    assert!((2..1000).contains(&left), "{left} lines");
    assert!(disk.mounted("remount,size=16m"));
    let (status, _, err) = ended(&["sweep", &study, "--out", &out]);
    assert!(status == Some(0) && err.contains("of 1000 cases are there already"), "{status:?} {err}");
    assert!(bytes(Path::new(&out)) == bytes(&whole), "other bytes than without a fault");
}

#[test]
fn cli_a_notebook_on_a_full_disk_loses_nothing_acknowledged() {
    let Some(disk) = Disk::new("size=64k") else { return };
    let book = disk.path("book.csv");
    let add = |note: &str| ended(&["notebook", "add", &book, "--date", "2026-01-20", "--notes", note]);
    let mut acknowledged = vec![];
    let mut refused = 0;
    for i in 0..40 {
        // each entry is longer than what is left of a page of the disk now and then
        let note = format!("note-{i}-{}", "x".repeat(3000));
        match add(&note) {
            (Some(0), told, _) if told.starts_with("entry ") => acknowledged.push(note),
            (status, told, err) => {
                assert!(status == Some(2) && told.is_empty(), "{status:?} {told}{err}");
                assert!(err.contains("book.csv: cannot be written: No space left on device"), "{err}");
                refused += 1;
            }
        }
    }
    assert!(acknowledged.len() > 5 && refused > 5, "{} acknowledged, {refused}", acknowledged.len());
    assert!(disk.mounted("remount,size=1m"));
    assert_eq!(add("note-last").0, Some(0));
    let text = fs::read_to_string(&book).unwrap();
    for note in acknowledged.iter().map(String::as_str).chain(["note-last"]) {
        assert!(text.contains(note), "{} is gone", &note[..8]);
    }
    // no half entry either: every line is a good one
    assert_eq!(text.lines().count(), 1 + acknowledged.len() + 1);
    assert_eq!(ended(&["notebook", "list", &book]).0, Some(0));
}

/// A folder that nothing can be written into, and what keeps it so.
fn read_only() -> Option<(PathBuf, Option<Disk>, tempfile::TempDir)> {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("read-only");
    fs::create_dir(&path).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o555)).unwrap();
    if fs::write(path.join("mine"), "").is_err() {
        return Some((path, None, folder));
    }
    // whoever may do everything needs a disk that is read-only
    let disk = Disk::new("ro")?;
    Some((disk.0.path().to_path_buf(), Some(disk), folder))
}

#[test]
fn cli_a_folder_that_may_only_be_read_is_told() {
    let Some((place, _disk, folder)) = read_only() else { return };
    let (study, at) = (study(folder.path(), 5), |name: &str| place.join(name).display().to_string());
    for arguments in [
        &["descend", "--model", "guided", "--out", place.to_str().unwrap()][..],
        &["descend", "--model", "guided", "--out", &at("new")],
        &["sweep", &study, "--out", place.to_str().unwrap()],
        &["notebook", "add", &at("book.csv"), "--notes", "x"],
        &["demo", "--out", &at("demo")],
    ] {
        let (status, told, err) = ended(arguments);
        assert!(status == Some(2) && told.is_empty(), "{arguments:?}: {status:?} {told}{err}");
        assert!(err.contains("cannot be written") && err.contains(place.to_str().unwrap()), "{err}");
    }
}

#[test]
fn cli_a_descent_killed_amid_writing_leaves_whole_files_and_no_waste() {
    let folder = tempfile::tempdir().unwrap();
    let (whole, out) = (folder.path().join("whole"), folder.path().join("out"));
    let run = |at: &Path| ["descend", "--model", "guided", "--out", at.to_str().unwrap()].map(String::from);
    let alone = ended(&run(&whole).each_ref().map(String::as_str));
    assert_eq!(alone.0, Some(0), "{}", alone.2);
    let whole = files(&whole);
    // what a killed run leaves behind, with a number that no process has; a file of another name is not ours
    fs::create_dir(&out).unwrap();
    let (left, not_ours) = (".summary.json.4194305.part", ".mine.4194305.part");
    fs::write(out.join(left), "half").unwrap();
    fs::write(out.join(not_ours), "mine").unwrap();
    let mut killed = 0;
    for i in 0..24 {
        let before = files(&out).len();
        let mut child = Command::new(sagitta(&[]).get_program())
            .args(run(&out))
            .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(".."))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        // as soon as something happens in the folder, and a little later each time
        let begun = Instant::now();
        while files(&out).len() == before && begun.elapsed() < Duration::from_secs(5) {
            if child.try_wait().unwrap().is_some() {
                break;
            }
        }
        std::thread::sleep(Duration::from_micros(100 * i));
        child.kill().unwrap();
        killed += usize::from(!child.wait().unwrap().success());
        for (name, bytes) in files(&out).iter().filter(|(name, _)| !name.ends_with(".part")) {
            assert!(whole.get(name) == Some(bytes), "{name} is not whole after {i} kills");
        }
    }
    assert!(killed > 0, "each was done before it could be killed");
    let last = ended(&run(&out).each_ref().map(String::as_str));
    assert_eq!(last.0, Some(0), "{}", last.2);
    let mut there = files(&out);
    assert_eq!(there.remove(not_ours).as_deref(), Some(&b"mine"[..]));
    assert!(there == whole, "{:?}", there.keys());
}
