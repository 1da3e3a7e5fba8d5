//! A week before travel: its plan, its page, and masses told alike wherever they are told.

use crate::cli::sagitta;
use serde_json::Value;
use std::fs;
use sweep_runner::evening::travel_file::read_travel_file;

fn said(arguments: &[&str]) -> (Option<i32>, String, String) {
    let output = sagitta(arguments).output().unwrap();
    let [out, err] = [output.stdout, output.stderr].map(|t| String::from_utf8(t).unwrap());
    (output.status.code(), out, err)
}

#[test]
fn cli_the_example_of_a_journey_is_read_and_its_faults_are_told() {
    let (status, example, _) = said(&["travel", "--example"]);
    assert_eq!(status, Some(0));
    let plan = read_travel_file("example", &example).unwrap();
    assert_eq!((plan.athletes.len(), plan.runs, plan.spread_k), (1, 6, 3.0));
    // the commented lines are keys as well
    let all: String = example
        .lines()
        .map(|l| if l.contains(" = ") { l.trim_start_matches("# ") } else { l }.to_string() + "\n")
        .collect();
    read_travel_file("example", &all.replace("# [rules]", "[rules]")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.toml");
    fs::write(&path, format!("{example}skil = 3\n[[athlete]]\nname = \"Ada\"\n")).unwrap();
    let out = folder.path().join("out");
    let (status, out_text, told) = said(&["travel", path.to_str().unwrap(), "--out", out.to_str().unwrap()]);
    assert_eq!(status, Some(2), "{told}");
    assert!(told.contains("skil") && told.contains("\"Ada\" twice") && out_text.is_empty(), "{told}");
    assert!(!out.exists());
}

#[test]
fn cli_a_small_journey_is_one_harmless_page_and_the_figures_of_its_rides() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.toml");
    let plan = "rides = 10\nbows_mm = [3.5]\nmost_lost_percent = 50\n[ice]\ntemperature_c = -6\nspread_k = 1\n\
                [[athlete]]\nname = \"<b>Ada</b>\"\nclass = \"women\"\nskill = \"national\"\n";
    fs::write(&path, plan).unwrap();
    let out = folder.path().join("out");
    let (status, text, told) = said(&["travel", path.to_str().unwrap(), "--out", out.to_str().unwrap()]);
    assert_eq!(status, Some(0), "{told}");
    assert!(text.contains("Start from 3.50 mm with the pair on the sled."), "{text}");
    let page = fs::read_to_string(out.join("travel.html")).unwrap();
    assert!(page.contains("&lt;b&gt;Ada&lt;/b&gt;") && !page.contains("<b>Ada") && !page.contains("src="));
    assert!(fs::read_to_string(out.join("setup-1.toml")).unwrap().contains("bow_front_mm = 3.5"));
    // one bow on three ices, the forecast in the middle; the middle one is that of the bow itself
    let json: Value = serde_json::from_str(&fs::read_to_string(out.join("travel.json")).unwrap()).unwrap();
    let athlete = &json["athletes"][0];
    let ices = athlete["pairs"][0]["on_each_ice"].as_array().unwrap();
    assert_eq!(ices.len(), 3);
    assert_eq!(ices[1], athlete["bows"][0]);
    assert_eq!(athlete["take"][0], "on the sled");
}

#[test]
fn cli_masses_are_told_in_the_same_words_and_checked_only_where_looked_up() {
    let line = |arguments: &[&str]| -> String {
        let (status, text, told) = said(arguments);
        assert_eq!(status, Some(0), "{told}");
        text.lines().find(|l| l.starts_with("mass of athlete and sled")).unwrap().to_string()
    };
    let women = ["--class", "women"];
    let descend = line(&[&["descend", "--model", "guided"], &women[..]].concat());
    assert_eq!(descend, line(&[&["balance"], &women[..]].concat()));
    assert!(
        descend.contains("101.5 kg: not checked (limit said to be 102 kg for women: 0.5 inside)"),
        "{descend}"
    );
    // ballast that is asked about is weighed
    let more = line(&["balance", "--ballast", "1", "--class", "women"]);
    assert!(
        more.contains("102.5 kg: not checked (limit said to be 102 kg for women: 0.5 OUTSIDE)"),
        "{more}"
    );
    // the same limits, read in a book by somebody who says so
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("rules.toml");
    let text = fs::read_to_string(format!("{}/../examples/rules.toml", env!("CARGO_MANIFEST_DIR"))).unwrap();
    fs::write(&path, text.replace("\"secondary\"\nlooked", "\"looked up\"\nlooked")).unwrap();
    let file = path.to_str().unwrap();
    let checked = line(&["balance", "--ballast", "1", "--class", "women", "--rules", file]);
    assert!(checked.contains("102.5 kg: OUTSIDE women's limit 102 kg by 0.5"), "{checked}");
    let older = line(&["balance", "--class", "women", "--rules", file, "--season", "2015"]);
    assert!(older.contains("101.5 kg: OUTSIDE women's limit 92 kg by 9.5"), "{older}");
    let (status, _, told) = said(&["balance", "--season", "2099"]);
    assert!(status == Some(2) && told.contains("2099") && told.contains("2015, after 2015"), "{told}");
}
