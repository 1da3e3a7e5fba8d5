//! The page in a real browser: the same numbers as the command line's, one cursor, no word to any other machine.
//!
//! Chromium and the package `playwright-core` (found by `NODE_PATH`, or in `page/node_modules` of the folder of the
//! build) are needed; without them the check tells that it was left out, and fails where `EXAMPLES_MUST_BE_RUN` is set.

use crate::cli::sagitta;
use serde_json::Value;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

const TRACK: &str = "tracks/quillmere";
/// Reaction lag of the skill that the page begins with (s).
const CLUB: &str = "pilot.lag_s=0.22";

/// A page that is served until it is dropped.
struct Served {
    program: Child,
    address: String,
}

impl Served {
    fn new() -> Served {
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

    fn host(&self) -> &str {
        self.address.trim_start_matches("http://").trim_end_matches('/')
    }

    /// Sends bytes as they are and says that there are no more; what comes back, or nothing.
    fn sends(&self, bytes: &[u8]) -> String {
        self.told(bytes, true)
    }

    /// What comes back for bytes until the page closes.
    fn told(&self, bytes: &[u8], no_more: bool) -> String {
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

/// Where `playwright-core` lies.
fn modules() -> PathBuf {
    let this = std::env::current_exe().unwrap();
    let beside = this.ancestors().nth(3).unwrap().join("page").join("node_modules");
    std::env::var_os("NODE_PATH").map_or(beside, PathBuf::from)
}

fn printed(arguments: &[&str]) -> String {
    let output = sagitta(arguments).output().unwrap();
    String::from_utf8(output.stdout).unwrap()
}

/// The cells of a row of a printed table, parted by two blanks or more.
fn cells(line: &str) -> Vec<String> {
    line.split("  ").map(str::trim).filter(|c| !c.is_empty()).map(String::from).collect()
}

fn words(told: &Value, path: &str) -> String {
    told.pointer(path).and_then(Value::as_str).unwrap_or_else(|| panic!("{path}")).to_string()
}

#[test]
fn cli_the_page_shows_the_numbers_of_the_command_line() {
    let chromium = std::env::var("CHROMIUM").unwrap_or("/usr/bin/chromium".into());
    if !Path::new(&chromium).exists() || !modules().join("playwright-core").exists() {
        return left_out("Chromium or playwright-core is not installed");
    }
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
    assert!(fault.contains("line 26, column") && fault.contains("radius_m"), "{fault}");
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

#[test]
fn cli_malformed_requests_do_the_page_no_harm() {
    let served = Served::new();
    let host = served.host().to_string();
    let post = |body: &str| {
        format!(
            "POST /api/rough HTTP/1.1\r\nHost: {host}\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
            body.len()
        )
    };
    let good = post(
        "{\"window\":\"w\",\"number\":1,\"here\":{\"sets\":[],\"skill\":\"club\"},\
         \"pinned\":{\"sets\":[],\"skill\":\"club\"},\"rides\":6,\"seed\":1}",
    );
    // a fixed sequence (Knuth's generator of 64 bits): the same requests each time
    let mut random = 1_u64;
    let mut next = |below: usize| {
        random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (random >> 33) as usize % below
    };
    let begun = Instant::now();
    let (mut answered, mut refused) = (0_usize, 0_usize);
    let many = std::env::var("PAGE_REQUESTS").ok().and_then(|n| n.parse().ok()).unwrap_or(10_000_usize);
    for _ in 0..many {
        let mut bytes = good.clone().into_bytes();
        for _ in 0..1 + next(6) {
            if bytes.len() < 2 {
                break;
            }
            let at = next(bytes.len());
            match next(3) {
                0 => bytes[at] = next(256) as u8,
                1 => drop(bytes.remove(at)),
                _ => bytes.truncate(at.max(1)),
            }
        }
        let back = served.sends(&bytes);
        let Some(status) = back.split(' ').nth(1) else { continue };
        answered += 1;
        refused += usize::from(status.starts_with('4'));
        assert!(!status.starts_with('5'), "{back}\n{}", String::from_utf8_lossy(&bytes));
    }
    println!("{many} malformed requests: {answered} answered, {refused} refused");
    assert!(answered > many / 3 && refused > many / 5, "{answered} answered, {refused} refused");
    // slow clients beside it: heads that never end
    let slow: Vec<TcpStream> = (0..40)
        .map(|_| {
            let mut stream = TcpStream::connect(&host).unwrap();
            stream.write_all(b"GET / HTTP/1.1\r\nHost: ").unwrap();
            stream
        })
        .collect();
    let get = format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
    let page = served.told(get.as_bytes(), false);
    assert!(page.starts_with("HTTP/1.1 200") && page.contains("Sled bench"), "{page}");
    drop(slow);
    // far beyond what it takes; a hang would never end
    assert!(begun.elapsed() < Duration::from_secs(120));
}

#[test]
fn cli_a_written_page_holds_the_numbers_and_asks_nobody() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("comparison.html");
    let set = ["--track", TRACK, "--set", "sled.ballast_kg=3"];
    let arguments = [&["page"], &set[..], &["--rides", "6", "--write", file.to_str().unwrap()]].concat();
    assert!(sagitta(&arguments).output().unwrap().status.success());
    let page = std::fs::read_to_string(&file).unwrap();
    let descended = printed(&[&["descend", "--set", CLUB], &set[..]].concat());
    let finish = descended.split("\nfinish ").nth(1).unwrap().split(' ').next().unwrap();
    assert!(page.contains(&format!("\"time_s\":\"{finish}\"")), "{finish}");
    assert!(page.contains("default-src 'none'") && page.contains("Speed and load on an ice track injure"));
    // nothing is fetched: every script and style stands in the file
    let (text, scripts) = page.split_once("<script type=\"application/json\"").unwrap();
    assert!(!text.contains(" src=\"") && !text.contains("<link") && text.contains("<style>"));
    assert_eq!(scripts.matches("</script><script>").count(), 6, "the data, the library, five of its own");
    let nothing = sagitta(&["page", "--write", file.to_str().unwrap()]).output().unwrap();
    assert_eq!(nothing.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&nothing.stderr).contains("nothing to compare"));
}
