//! Ctrl-C leaves finished work usable; what takes more than a second says how far it is.

use crate::cli::sagitta;
use std::fs;
use std::io::Read;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Starts the program with both outputs kept.
fn begun(arguments: &[&str]) -> Child {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    Command::new(sagitta(&[]).get_program())
        .args(arguments)
        .current_dir(root)
        .env("XDG_CACHE_HOME", env!("CARGO_TARGET_TMPDIR"))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

/// Waits until something holds.
fn until(what: &str, holds: impl Fn() -> bool) {
    let start = Instant::now();
    while !holds() {
        assert!(start.elapsed() < Duration::from_secs(120), "{what}: not within two minutes");
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// As Ctrl-C on a terminal would.
fn interrupt(child: &Child) {
    assert!(Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap().success());
}

/// Status, standard output, standard error.
fn ended(child: Child) -> (Option<i32>, String, String) {
    let output = child.wait_with_output().unwrap();
    let [out, err] = [output.stdout, output.stderr].map(|t| String::from_utf8(t).unwrap());
    (output.status.code(), out, err)
}

/// A study of quick cases, with files named from the folder of the repository.
fn study(folder: &Path, steps: usize) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").canonicalize().unwrap();
    let text = format!(
        "name = \"many\"\ntrack = \"{0}/tracks/quillmere\"\nsetup = \"{0}/examples/clubs-man.toml\"\n\
         model = \"guided\"\nseed = 1\n[design]\nkind = \"grid\"\n[[axis]]\nkey = \"athlete.mass_kg\"\nfrom = 60\n\
         to = 90\nsteps = {steps}\n[outputs]\ncorners = \"yes\"\npictures = \"no\"\n",
        root.display()
    );
    let path = folder.join("study.toml");
    fs::write(&path, text).unwrap();
    path.display().to_string()
}

#[test]
fn cli_an_interrupted_sweep_tells_what_is_there_and_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    // 4000 cases take some seconds: enough to be interrupted, and to be told of on the way
    let (study, out) = (study(folder.path(), 4000), folder.path().join("out"));
    let out_text = out.display().to_string();
    let rows = || fs::read_to_string(out.join("sweep.csv")).unwrap_or_default().matches('\n').count();
    let child = begun(&["sweep", &study, "--out", &out_text]);
    until("rows", || rows() > 20);
    // while it is at work, another one is refused the table
    let (status, _, err) = ended(begun(&["sweep", &study, "--out", &out_text]));
    assert_eq!(status, Some(2), "{err}");
    assert!(err.contains("another sweep is writing this table"), "{err}");
    interrupt(&child);
    let (status, told, err) = ended(child);
    assert_eq!(status, Some(130), "{told}{err}");
    let made = rows() - 1;
    assert!((20..4000).contains(&made), "{made}");
    assert!(err.contains(&format!("{made} of 4000 cases are in")), "{err}");
    assert!(told.contains(&format!("of the first {made} of 4000 cases only")), "{told}");
    // goes on, and ends with the same bytes as one that was left alone
    let (status, _, err) = ended(begun(&["sweep", &study, "--out", &out_text]));
    assert_eq!(status, Some(0), "{err}");
    assert!(err.contains(&format!("{made} of 4000 cases are there already")), "{err}");
    let whole = folder.path().join("whole");
    let (status, _, err) = ended(begun(&["sweep", &study, "--out", &whole.display().to_string()]));
    assert_eq!(status, Some(0));
    assert!(err.contains("of 4000 cases, ") && err.contains(" s left"), "no progress in\n{err}");
    for name in ["sweep.csv", "sweep.json"] {
        let [a, b] = [&out, &whole].map(|folder| {
            let bytes = fs::read(folder.join(name)).unwrap();
            if name.ends_with("json") { crate::sweep::without_maker(&bytes) } else { bytes }
        });
        assert!(a == b, "{name} differs");
    }
}

#[test]
fn cli_an_interrupted_comparison_tells_the_rides_that_are_there() {
    let track = ["--track", "tracks/quillmere", "--variant", "runners.bow_mm=3.5"];
    // the built-in set-up and one with the same bow: one plan, kept after the first time
    let arguments = [&["compare", "--rides", "100000"][..], &track[..]].concat();
    let mut child = begun(&arguments);
    // the rides have begun when their progress is told
    let mut err = child.stderr.take().unwrap();
    let mut said = String::new();
    let mut byte = [0_u8; 1];
    while !said.contains("of 200000 rides") && err.read(&mut byte).unwrap() > 0 {
        said.push(char::from(byte[0]));
    }
    interrupt(&child);
    err.read_to_string(&mut said).unwrap();
    let (status, told, _) = ended(child);
    assert_eq!(status, Some(130), "{told}{said}");
    assert!(told.starts_with("interrupted: 2 of 2 set-ups, "), "{told}");
    // as many rides of each, and what they say
    let ridden: usize = told.split_once("set-ups, ").unwrap().1.split(' ').next().unwrap().parse().unwrap();
    assert!(ridden > 0 && ridden < 100_000 && ridden.is_multiple_of(32), "{ridden}");
    assert!(told.contains(&format!("{ridden} pairs\n")) && told.contains("the same in every ride"), "{told}");
}

/// Runs a command until it tells its first set-up, interrupts it, and gives its status, output and standard error.
fn interrupted_after_a_set_up(arguments: &[&str]) -> (Option<i32>, String, String) {
    let mut child = begun(arguments);
    let mut err = child.stderr.take().unwrap();
    let (mut said, mut byte) = (String::new(), [0_u8; 1]);
    while !said.contains(" set-ups, ") && err.read(&mut byte).unwrap() > 0 {
        said.push(char::from(byte[0]));
    }
    interrupt(&child);
    err.read_to_string(&mut said).unwrap();
    let (status, told, _) = ended(child);
    (status, told, said)
}

#[test]
fn cli_an_interrupted_evening_and_journey_tell_the_set_ups_that_are_there() {
    let folder = tempfile::tempdir().unwrap();
    let track = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tracks/quillmere").canonicalize().unwrap();
    // twelve bows take long enough to be interrupted among them
    let plan = format!(
        "track = {track:?}\nbows_mm = [2, 2.25, 2.5, 2.75, 3, 3.25, 3.5, 3.75, 4, 4.25, 4.5, 4.75]\nrides = 60\n\
         [ice]\ntemperature_c = -6\n"
    );
    let athlete = "[[athlete]]\nname = \"Ada\"\nclass = \"women\"\n";
    for (command, plan, page) in [
        ("evening", plan.clone(), "sheet.html"),
        ("travel", format!("{plan}spread_k = 3\n{athlete}"), "travel.html"),
    ] {
        let (path, out) = (folder.path().join("plan.toml"), folder.path().join(command));
        fs::write(&path, plan).unwrap();
        let (path, out_text) = (path.display().to_string(), out.display().to_string());
        let (status, told, err) =
            interrupted_after_a_set_up(&[command, &path, "--no-stored-plans", "--out", &out_text]);
        assert_eq!(status, Some(130), "{told}{err}");
        assert!(told.contains("No advice: interrupted before all bows were ridden."), "{told}{err}");
        // those that are there with their times, on the screen and on the page, and no set-up to put on
        let there = told.lines().filter(|l| l.contains(" mm") && l.contains(" ±")).count();
        assert!((1..13).contains(&there), "{there} in\n{told}");
        let page = fs::read_to_string(out.join(page)).unwrap();
        assert!(page.contains("interrupted: what is finished is shown"), "{page}");
        assert!(!out.join("setup-advised.toml").exists() && !out.join("setup-1.toml").exists());
    }
}

#[test]
fn cli_a_command_with_nothing_to_show_ends_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let mut child = begun(&["ride", "plan", "--no-stored-plans", "--out", &out.display().to_string()]);
    let mut said = [0_u8; 8];
    // it says that it plans, which takes a second or more
    child.stderr.as_mut().unwrap().read_exact(&mut said).unwrap();
    interrupt(&child);
    let (status, told, err) = ended(child);
    assert_eq!((status, told.as_str()), (Some(130), ""), "{err}");
    assert!(err.contains("interrupted") && !out.exists(), "{err}");
}
