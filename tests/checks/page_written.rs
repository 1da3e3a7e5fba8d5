//! Pages written as one file: the numbers of the command line, nothing asked, and alive on a phone's screen.

use crate::cli::sagitta;
use crate::page::{CLUB, TRACK, cells, chromium, modules, printed};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;
use std::process::Command;

/// A short evening: two bows, few rides.
const EVENING: &str = "skill = \"club\"\nrides = 24\nseed = 1\nhours = 1\nbows_mm = [2.5, 3]\n\
    [ice]\ntemperature_c = -6\n[air]\ntemperature_c = -4\nhumidity_percent = 80\n";

/// What a browser sees of written pages; nothing where there is none.
fn in_a_browser(folder: &Path, files: &[&Path]) -> Option<Vec<Value>> {
    let chromium = chromium()?;
    let kept = std::env::var_os("PAGE_PICTURES");
    let browser = Command::new("node")
        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("page/written.cjs"))
        .arg(kept.as_deref().map_or(folder, Path::new))
        .args(files)
        .env("NODE_PATH", modules())
        .env("CHROMIUM", chromium)
        .output()
        .unwrap();
    assert!(browser.status.success(), "{}", String::from_utf8_lossy(&browser.stderr));
    Some(serde_json::from_slice(&browser.stdout).unwrap())
}

/// Nothing is fetched: every script and style stands in the file.
fn asks_nobody(page: &str) {
    assert!(page.contains("default-src 'none'") && page.contains("Speed and load on an ice track injure"));
    let (text, scripts) = page.split_once("<script type=\"application/json\"").unwrap();
    assert!(!text.contains(" src=\"") && !text.contains("<link") && text.contains("<style>"));
    assert_eq!(scripts.matches("</script><script>").count(), 6, "the data, the library, five of its own");
}

fn is_alive(told: &Value) {
    for list in ["/errors", "/outside", "/seen/contrast", "/seen/beside", "/seen/unnamed"] {
        assert_eq!(told.pointer(list).unwrap(), &json!([]), "{list}");
    }
    let cursor = told["cursor"].as_array().unwrap();
    assert!(cursor[0] != cursor[1] && cursor[0].as_str().unwrap().starts_with("station "), "{cursor:?}");
}

#[test]
fn cli_a_written_page_holds_the_numbers_and_asks_nobody() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("comparison.html");
    let set = ["--track", TRACK, "--set", "sled.ballast_kg=3"];
    let arguments = [&["page"], &set[..], &["--rides", "6", "--write", file.to_str().unwrap()]].concat();
    assert!(sagitta(&arguments).output().unwrap().status.success());
    let page = fs::read_to_string(&file).unwrap();
    let descended = printed(&[&["descend", "--set", CLUB], &set[..]].concat());
    let finish = descended.split("\nfinish ").nth(1).unwrap().split(' ').next().unwrap();
    assert!(page.contains(&format!("\"time_s\":\"{finish}\"")), "{finish}");
    asks_nobody(&page);
    let nothing = sagitta(&["page", "--write", file.to_str().unwrap()]).output().unwrap();
    assert_eq!(nothing.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&nothing.stderr).contains("nothing to compare"));
    for told in in_a_browser(folder.path(), &[&file]).into_iter().flatten() {
        is_alive(&told);
        assert_eq!(told["finish"], finish);
    }
}

#[test]
fn cli_a_written_evening_holds_its_report_and_asks_nobody() {
    let folder = tempfile::tempdir().unwrap();
    let (plan, file) = (folder.path().join("plan.toml"), folder.path().join("evening.html"));
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let named = |key: &str, file: &str| {
        format!("{key} = {:?}\n", fs::canonicalize(root.join(file)).unwrap().display().to_string())
    };
    // with the bow that was read, far from the two that are tried: something is advised
    let files = named("track", TRACK)
        + &named("readings", "examples/readings.csv")
        + &named("readings_without_bow", "examples/readings-without-bow.csv");
    fs::write(&plan, files + EVENING).unwrap();
    let report = printed(&["evening", plan.to_str().unwrap()]);
    assert!(report.lines().count() > 10, "{report}");
    let arguments = ["page", "--evening", plan.to_str().unwrap(), "--write", file.to_str().unwrap()];
    let output = sagitta(&arguments).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let page = fs::read_to_string(&file).unwrap();
    asks_nobody(&page);
    for told in in_a_browser(folder.path(), &[&file]).into_iter().flatten() {
        is_alive(&told);
        // the report of the command, line by line, and its median beside the curves
        let shown = told.pointer("/report/0").unwrap().as_str().unwrap();
        assert_eq!(shown.trim(), report.trim());
        let expected = report.lines().find(|l| l.starts_with("Expected time: median ")).unwrap();
        let median = expected.trim_start_matches("Expected time: median ").split(" s").next().unwrap();
        assert_eq!(told.pointer("/median/0").unwrap(), median, "{expected}");
        let now =
            report.lines().map(cells).find(|c| c[..].first().is_some_and(|n| n.ends_with(", now"))).unwrap();
        assert_eq!(told.pointer("/median/1").unwrap(), now[1].as_str(), "{now:?}");
    }
    let lone = sagitta(&["page", "--evening", plan.to_str().unwrap()]).output().unwrap();
    assert_eq!(lone.status.code(), Some(2));
}
