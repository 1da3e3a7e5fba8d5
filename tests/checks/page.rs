//! The page in a real browser: the same numbers as the command line's, one cursor, no word to any other machine.
//!
//! Chromium and the package `playwright-core` (found by `NODE_PATH`, or in `page/node_modules` of the folder of the
//! build) are needed; without them the check tells that it was left out, and fails where `EXAMPLES_MUST_BE_RUN` is set.

use crate::cli::sagitta;
use crate::page_evidence;
use serde_json::Value;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

pub const TRACK: &str = "tracks/quillmere";
/// Reaction lag of the skill that the page begins with (s).
pub const CLUB: &str = "pilot.lag_s=0.22";

/// A page that is served until it is dropped.
pub struct Served {
    program: Child,
    address: String,
}

impl Served {
    /// Serves on a port that is free.
    pub fn new() -> Served {
        let arguments = sagitta(&["page", "--port", "0", "--no-stored-plans", "--track", TRACK]);
        let mut program = Command::new(arguments.get_program())
            .args(arguments.get_args())
            .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(".."))
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(program.stdout.take().unwrap()).read_line(&mut line).unwrap();
        Served { program, address: line.trim().to_string() }
    }

    /// Where it is served.
    pub fn host(&self) -> &str {
        self.address.trim_start_matches("http://").trim_end_matches('/')
    }

    /// Sends bytes as they are and says that there are no more; what comes back, or nothing.
    pub fn sends(&self, bytes: &[u8]) -> String {
        self.told(bytes, true)
    }

    /// What comes back for bytes until the page closes.
    pub fn told(&self, bytes: &[u8], no_more: bool) -> String {
        let mut stream = TcpStream::connect(self.host()).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        // a server that has refused already may have closed its end
        let _ = stream.write_all(bytes);
        if no_more {
            let _ = stream.shutdown(std::net::Shutdown::Write);
        }
        let mut back = Vec::new();
        let _ = stream.read_to_end(&mut back);
        String::from_utf8_lossy(&back).to_string()
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}

fn left_out(why: &str) {
    assert!(std::env::var_os("EXAMPLES_MUST_BE_RUN").is_none(), "{why}");
    println!("left out: {why}");
}

/// Chromium, where it and what drives it are installed.
pub fn chromium() -> Option<String> {
    let chromium = std::env::var("CHROMIUM").unwrap_or("/usr/bin/chromium".into());
    let there = Path::new(&chromium).exists() && modules().join("playwright-core").exists();
    if !there {
        left_out("Chromium or playwright-core is not installed");
    }
    there.then_some(chromium)
}

/// Where `playwright-core` lies.
pub fn modules() -> PathBuf {
    let this = std::env::current_exe().unwrap();
    let beside = this.ancestors().nth(3).unwrap().join("page").join("node_modules");
    std::env::var_os("NODE_PATH").map_or(beside, PathBuf::from)
}

/// What is printed and what is told beside it.
pub fn told_of(arguments: &[&str]) -> String {
    let output = sagitta(arguments).output().unwrap();
    String::from_utf8(output.stdout).unwrap() + &String::from_utf8_lossy(&output.stderr)
}

pub fn printed(arguments: &[&str]) -> String {
    let output = sagitta(arguments).output().unwrap();
    String::from_utf8(output.stdout).unwrap()
}

/// The cells of a row of a printed table, parted by two blanks or more.
pub fn cells(line: &str) -> Vec<String> {
    line.split("  ").map(str::trim).filter(|c| !c.is_empty()).map(String::from).collect()
}

pub fn words(told: &Value, path: &str) -> String {
    told.pointer(path).and_then(Value::as_str).unwrap_or_else(|| panic!("{path}")).to_string()
}

#[test]
fn cli_the_page_shows_the_numbers_of_the_command_line() {
    let Some(chromium) = chromium() else { return };
    let served = Served::new();
    let folder = tempfile::tempdir().unwrap();
    let kept = std::env::var_os("PAGE_PICTURES").map(PathBuf::from);
    let out = kept.as_deref().unwrap_or(folder.path());
    let browser = Command::new("node")
        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("page/bench.cjs"))
        .args([&served.address, out.to_str().unwrap()])
        .env("NODE_PATH", modules())
        .env("CHROMIUM", chromium)
        .output()
        .unwrap();
    assert!(browser.status.success(), "{}", String::from_utf8_lossy(&browser.stderr));
    let told: Value = serde_json::from_slice(&browser.stdout).unwrap();

    // nothing went wrong, and nobody else was asked
    for list in ["/errors_before_faults", "/outside", "/failed"] {
        assert_eq!(told.pointer(list).unwrap(), &serde_json::json!([]), "{list}");
    }

    // one descent: finish, speed, load, splits, heights
    let moved = printed(&["descend", "--track", TRACK, "--set", CLUB, "--set", "runners.bow_mm=2.5"]);
    let how = words(&told, "/moved/how");
    let figures: Vec<&str> = how.split(", ").collect();
    let finish = format!("finish {} s", words(&told, "/moved/finish"));
    let line = format!("{finish}, {}, {}", figures[0].replace("top ", "top speed "), figures[1]);
    assert!(moved.contains(&line), "{line}\n{moved}");
    let splits = told.pointer("/moved/splits").unwrap().as_array().unwrap();
    let corners = told.pointer("/moved/corners").unwrap().as_array().unwrap();
    assert!(splits.len() > 2 && corners.len() > 5);
    let text = |v: &Value| v.as_str().unwrap().to_string();
    let rows: Vec<Vec<String>> = moved.lines().map(cells).collect();
    for split in splits {
        let [eye, at, time, speed] = [0, 1, 2, 4].map(|i| text(&split[i]));
        let there =
            rows.iter().any(|r| r.len() == 5 && [&r[0], &r[1], &r[2], &r[4]] == [&eye, &at, &time, &speed]);
        assert!(there, "{split}\n{moved}");
    }
    for corner in corners {
        // corner, entry and exit speed, heights at entry, top and exit, load, pressures
        let c: Vec<String> = (0..8).map(|i| text(&corner[i])).collect();
        let of = |r: &Vec<String>| [0, 1, 6, 2, 3, 5, 7, 8].map(|i| r[i].clone());
        let there = rows.iter().any(|r| r.len() == 9 && of(r).as_slice() == c.as_slice());
        assert!(there, "{corner}\n{moved}");
    }

    // against the pinned set-up: rides, verdict, causes
    let compared = printed(&[
        "compare",
        "--track",
        TRACK,
        "--variant",
        "runners.bow_mm=2.5",
        "--skill",
        "club",
        "--rides",
        "12",
    ]);
    let ensemble = told.pointer("/moved/ensemble").unwrap().as_array().unwrap();
    for (row, told) in ["(2)", "(1)"].iter().zip(ensemble) {
        let line = compared.lines().find(|l| l.trim_start().starts_with(row)).unwrap();
        let told: Vec<String> = (1..7).map(|i| text(&told[i])).collect();
        let c = cells(line);
        // planned, median, nine in ten, worst tenth, lost; then means of the finished, and touches
        assert_eq!(told[..5], c[1..6], "{compared}");
        assert_eq!(told[5], c[8], "{compared}");
    }
    let said = words(&told, "/moved/verdict").replace("this set-up", "(2)").replace("the pinned one", "(1)");
    assert!(compared.lines().any(|l| l == said), "{said}\n{compared}");
    let plain = |text: &str| text.replace('\u{2212}', "-");
    let gap = plain(&words(&told, "/moved/difference"));
    assert!(compared.contains(&format!("planned rides: gap {gap} ms")), "{gap}\n{compared}");
    let causes = plain(&words(&told, "/moved/causes")).replace("by cause: ", "by cause, ms: ");
    assert!(compared.contains(&causes), "{causes}\n{compared}");

    // quick, marked as such, and visibly replaced
    assert_eq!(told.pointer("/rough/mark").unwrap(), true);
    assert_eq!(told.pointer("/rough/mark_after").unwrap(), false);
    assert_eq!(
        words(&told, "/colour"),
        words(&told, "/colour_again"),
        "a full answer is never drawn as a rough one"
    );
    let rough_s: f64 = words(&told, "/rough/finish").parse().unwrap();
    let full_s: f64 = words(&told, "/moved/finish").parse().unwrap();
    // a rough answer that is a second off would be no answer
    assert!((rough_s - full_s).abs() < 0.5, "{rough_s} {full_s}");

    // the cursor moves through all strips and the plan
    let cursor = |i: usize, what: &str| told.pointer(&format!("/cursor/{i}/{what}")).unwrap().clone();
    let station = |i: usize| cursor(i, "station").as_f64().unwrap();
    assert!(station(1) > station(0) + 50.0);
    assert_ne!(cursor(0, "dot"), cursor(1, "dot"));
    assert_ne!(cursor(0, "line"), cursor(1, "line"));
    for i in [0, 1] {
        let values = cursor(i, "values");
        assert_eq!(values.as_array().unwrap().len(), 7);
        assert!(values.as_array().unwrap().iter().all(|v| !text(v).is_empty()), "{values}");
    }
    let by_key = told.pointer("/by_key").unwrap().as_f64().unwrap();
    assert!((by_key - station(1) - 2.0).abs() < 0.02, "an arrow is 2 m, to the printed centimetre: {by_key}");
    let zoom = told.pointer("/zoom").unwrap();
    assert!(zoom[0].as_f64().unwrap() > 100.0 && zoom[1].as_f64().unwrap() < station(1) + 50.0, "{zoom}");

    // where the time goes: section by section the sums that `compare` tells
    let sections = told.pointer("/sections").unwrap().as_array().unwrap();
    assert!(sections.len() > corners.len() + 2, "a head, the corners, start, finish and the whole way");
    let line =
        compared.lines().find_map(|l| l.trim_start().strip_prefix("by section, ms from 0.5: ")).unwrap();
    assert!(line.split(", ").count() > 5, "{line}");
    for item in line.split(", ") {
        let shown = sections[1..].iter().any(|section| {
            let cells: Vec<String> = section.as_array().unwrap().iter().map(|c| plain(&text(c))).collect();
            format!("{} {}", cells[0].replace("corner ", ""), cells[cells.len() - 2]) == item
        });
        assert!(shown, "{item}\n{sections:?}");
    }
    let ink = words(&told, "/ink");
    assert!(ink.contains("left") && ink.contains("right") && ink.contains("outside the screws"), "{ink}");
    let ice = words(&told, "/ice");
    assert!(ice.contains("both planned rides") || ice.contains("WebGL is off"), "{ice}");

    page_evidence::the_line_is_that_of_losses(&told, out);
    page_evidence::the_sheet_is_that_of_calibrate(&told);
    page_evidence::the_test_is_that_of_trial_analyse(&told);
    page_evidence::left_alone_is_that_of_track_check(&told);
    page_evidence::the_trial_is_that_of_trial_plan(&told);
    // loads over the rides: every corner, the middle inside its band
    let loads = told.pointer("/moved/loads").unwrap().as_array().unwrap();
    assert_eq!(loads.len(), corners.len());
    for row in loads {
        for cell in [text(&row[1]), text(&row[2])] {
            let g: Vec<f64> = cell
                .split(|c: char| !(c.is_ascii_digit() || c == '.'))
                .filter(|t| !t.is_empty())
                .map(|t| t.parse().unwrap())
                .collect();
            assert!(g.len() == 3 && g[1] <= g[0] && g[0] <= g[2] && g[1] > 0.5, "{row}");
        }
    }

    // a track of one's own
    let check = printed(&["track", "check", "tracks/oskerdale"]);
    let head = words(&told, "/track/head");
    assert!(check.starts_with(&head), "{head}\n{check}");
    let lines: Vec<Vec<String>> = check.lines().map(cells).collect();
    let corners = told.pointer("/track/corners").unwrap().as_array().unwrap();
    assert!(corners.len() > 10);
    for corner in corners {
        let told: Vec<String> = corner.as_array().unwrap().iter().map(&text).collect();
        assert!(lines.contains(&told), "{told:?}\n{check}");
    }
    assert!(words(&told, "/track/edited").contains("Quillmere"));
    let fault = words(&told, "/track/faults");
    assert!(fault.contains("line 26, column 12") && fault.contains("radius_m"), "{fault}");
    assert_eq!(told.pointer("/track/marked").unwrap(), &serde_json::json!(["-45"]));
    assert_eq!(words(&told, "/track/at"), "-45", "a click on the fault goes to its line and column");
    let checked = printed(&["track", "check", TRACK]);
    let lines: Vec<Vec<String>> = checked.lines().map(cells).collect();
    let speeds = told.pointer("/track/speeds/0").unwrap().as_array().unwrap();
    assert_eq!(speeds.len(), 12, "a head and eleven corners");
    for row in speeds {
        let row: Vec<String> = row.as_array().unwrap().iter().map(|c| plain(&text(c))).collect();
        assert!(lines.contains(&row), "{row:?}\n{checked}");
    }
    // taken: the list that is saved has them, and they are nearer to what is ridden then
    let far = |path: &str| -> f64 {
        let rows = told.pointer(path).unwrap().as_array().unwrap();
        rows[1..].iter().map(|r| plain(&text(&r[3])).parse::<f64>().unwrap().abs()).sum()
    };
    assert!(
        far("/track/taken/0") < far("/track/speeds/0"),
        "{} {}",
        far("/track/taken/0"),
        far("/track/speeds/0")
    );
    let list = std::fs::read_to_string(out.join("corner_list.toml")).unwrap();
    assert!(list.contains("radius_m = 60") && list.contains("design_speed_km_h = 41\n"), "{list}");
    // the caliper
    let read = printed(&[
        "bow",
        "read",
        "examples/readings.csv",
        "--reference",
        "examples/readings-without-bow.csv",
        "--set",
        "runners.bow_mm=2.5",
    ]);
    let told_lines: Vec<Vec<String>> = words(&told, "/caliper").lines().map(cells).collect();
    let wanted: Vec<Vec<String>> = read.lines().map(cells).filter(|c| c.len() > 5).collect();
    assert!(wanted.len() > 20);
    for row in wanted {
        assert!(told_lines.contains(&row), "{row:?}\n{told_lines:?}");
    }

    page_evidence::the_evening_is_that_of_evening(&told, out);
    page_evidence::every_view_can_be_read_and_reached(&told);

    // saved: the same set-up and the same rows for the command line
    let saved = out.join("saved.toml");
    let again = printed(&["descend", "--track", TRACK, "--setup", saved.to_str().unwrap()]);
    assert!(again.contains(&finish), "{finish}\n{again}");
    let rows = out.join("rows");
    printed(&[
        "descend",
        "--track",
        TRACK,
        "--setup",
        saved.to_str().unwrap(),
        "--out",
        rows.to_str().unwrap(),
    ]);
    let [a, b] = [out.join("trace.csv"), rows.join("trace.csv")].map(|p| std::fs::read(p).unwrap());
    assert!(a == b, "the rows of the page differ from those of descend");
    // a pair of the library: the same ride as that of `runners --put`
    let on = out.join("pair-b");
    printed(&["runners", "examples/runners.toml", "--put", "B", "--out", on.to_str().unwrap()]);
    let on = on.join("setup.toml");
    let put = ["descend", "--track", TRACK, "--setup", on.to_str().unwrap()];
    let text = printed(&[&put[..], &["--set", "runners.bow_mm=2.5", "--set", CLUB]].concat());
    let finish = format!("finish {} s", words(&told, "/pair/finish"));
    assert!(text.contains(&finish), "{finish}\n{text}");
    assert!(!words(&told, "/pair/words").is_empty(), "what is not measured of pair B is told");
    let picture = std::fs::read(out.join("charts.png")).unwrap();
    assert!(picture.starts_with(b"\x89PNG") && picture.len() > 20_000);

    // faults in sentences
    let fault = words(&told, "/fault_of_file");
    assert!(fault.contains("bow_mm") && fault.contains("0 to 8"), "{fault}");
    let fault = words(&told, "/fault_of_field");
    assert!(fault.contains("999") && fault.contains("60"), "{fault}");

    let moves = told.pointer("/moves_ms").unwrap().as_array().unwrap();
    let mut moves: Vec<u64> = moves.iter().map(|m| m.as_u64().unwrap()).collect();
    moves.sort_unstable();
    println!("slider to charts: median {} ms, slowest {}", moves[moves.len() / 2], moves[moves.len() - 1]);
    println!("first paint {} ms, first full answer {} ms", told["first_paint_ms"], told["first_full_ms"]);
    // wanted are 100 ms and 2 s on a quiet machine; here others may build beside it
    assert!(moves[moves.len() / 2] < 1000 && told["first_paint_ms"].as_u64().unwrap() < 10_000, "{moves:?}");
}
