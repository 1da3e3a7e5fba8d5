//! The evening before a race: faults of its plan, one rule of choice, the numbers of `compare`, harmless pages.

use crate::cli::sagitta;
use serde_json::Value;
use sled_dynamics::motion::descent::Loss;
use std::fs;
use std::path::Path;
use sweep_runner::evening::plan_file::read_plan_file;
use sweep_runner::rides::choice::{Candidate, choose};
use sweep_runner::rides::ensemble::{Ensemble, RideRow};

fn example() -> String {
    let output = sagitta(&["evening", "--example"]).output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    String::from_utf8(output.stdout).unwrap()
}

/// What the command says of a plan that it refuses; nothing may be written.
fn refused(plan: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.toml");
    fs::write(&path, plan).unwrap();
    let out = folder.path().join("out");
    let output =
        sagitta(&["evening", path.to_str().unwrap(), "--out", out.to_str().unwrap()]).output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(output.stdout.is_empty() && !out.exists());
    said
}

#[test]
fn cli_the_example_of_an_evening_is_read_by_the_command() {
    let plan = read_plan_file("example", &example()).unwrap();
    assert_eq!((plan.skill.name, plan.rides, plan.hours), ("club", 120, 2.0));
    // every key of the example is known: one more that is not is the only fault
    let said = refused(&format!("pairz = [\"A\"]\n{}", example()));
    let faults: Vec<&str> = said.lines().filter(|l| l.contains("plan.toml, line")).collect();
    assert_eq!(faults.len(), 1, "{said}");
    assert!(faults[0].contains("line 1") && faults[0].contains("pairs"), "{said}");
    // the commented lines are keys as well
    let all: String = example()
        .lines()
        .map(|l| if l.contains(" = ") { l.trim_start_matches("# ") } else { l }.to_string() + "\n")
        .collect();
    let all = all
        .replace("# [rules]", "[rules]")
        .replace("# [[scratch]]", "[[scratch]]")
        .replace("bow_now_mm = 3.5\n", "");
    read_plan_file("example", &all).unwrap();
}

#[test]
fn cli_faults_of_an_evening_come_with_line_value_and_what_is_allowed() {
    let said = refused("skill = \"champion\"\nbow_now_mm = 12\n[air]\nhumidity = 80\n");
    for part in ["line 1", "champion", "national", "line 2", "12", "0 to 8 mm", "line 4", "humidity_percent"]
    {
        assert!(said.contains(part), "missing {part} in\n{said}");
    }
    let runners = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/runners.toml");
    let library = runners.canonicalize().unwrap();
    let said = refused(&format!("library = {library:?}\npairs = [\"A\", \"Z\"]\n"));
    assert!(said.contains("line 2") && said.contains("\"Z\"") && said.contains("A, B, C"), "{said}");
    assert!(refused("setup = \"missing.toml\"\n").contains("missing.toml"));
}

/// Rides of every set-up in a table of `compare`, by its name.
fn rides_of(csv: &str, name: &str) -> Ensemble {
    let rows = csv.lines().filter_map(|l| l.strip_prefix(&format!("\"{name}\",")));
    let rides = rows.map(|row| {
        let cells: Vec<&str> = row.split(',').collect();
        let finish_time_s = cells[1].parse().ok();
        // where and how control was lost decides nothing
        let lost = finish_time_s.is_none().then_some((0.0, Loss::Halted));
        RideRow { finish_time_s, touches: 0, lip_touches: 0, lost }
    });
    Ensemble { planned_time_s: None, rides: rides.collect() }
}

#[test]
fn exact_an_evening_is_one_choice_on_the_rides_of_compare() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).display().to_string();
    let track = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tracks/quillmere").canonicalize().unwrap();
    let clubs =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/clubs-woman.toml"))
            .unwrap();
    let named = clubs.replace("Club's woman, pair A", "Sled <b>one</b> & two");
    assert_ne!(named, clubs);
    fs::write(at("setup.toml"), named).unwrap();
    // ice of one forecast and little spread: three temperatures, two bows
    let plan = format!(
        "track = {track:?}\nsetup = \"setup.toml\"\nbow_now_mm = 2.5\nbows_mm = [4.5]\nskill = \"elite\"\n\
         rides = 12\nseed = 5\n[ice]\nspread_k = 0.5\n[rules]\nmost_mass_kg = 102\nedition = \"<i>none</i>\"\n"
    );
    fs::write(at("plan.toml"), plan).unwrap();
    let output = sagitta(&["evening", &at("plan.toml"), "--out", &at("out")]).output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.code().is_some_and(|c| c < 2), "{}", String::from_utf8(output.stderr).unwrap());
    assert!(said.lines().count() < 60, "{said}");
    let read = |name: &str| fs::read_to_string(folder.path().join("out").join(name)).unwrap();
    let json: Value = serde_json::from_str(&read("evening.json")).unwrap();

    let track = track.display().to_string();
    let compared = sagitta(&[
        "compare",
        &at("out/setup-now.toml"),
        "--variant",
        "runners.bow_mm=4.5",
        "--track",
        &track,
        "--skill",
        "elite",
        "--rides",
        "12",
        "--seed",
        "5",
        "--out",
        &at("compared"),
    ])
    .output()
    .unwrap();
    let told = String::from_utf8(compared.stdout).unwrap();
    let report = read("report.html");
    let number = |bow: usize, figure: &str, part: &str| json["bows"][bow][figure][part].as_f64();
    for bow in 0..2 {
        let name = format!("({})", bow + 1);
        let row = told.lines().find(|l| l.trim_start().starts_with(&format!("{name} Sled"))).unwrap();
        for figure in ["median_s", "p90_s", "worst_tenth_s"] {
            let Some(value) = number(bow, figure, "value") else { continue };
            let error = number(bow, figure, "error").map_or(String::new(), |e| format!(" ±{e:.3}"));
            let printed = format!("{value:.3}{error}");
            assert!(row.contains(&printed), "{figure} {printed} in\n{row}");
            assert!(report.contains(&printed), "{figure} {printed} in the report");
        }
    }

    // the rides as `compare` wrote them, put to the rule of choice: the same advice
    let csv = fs::read_to_string(at("compared/rides.csv")).unwrap();
    let name = "Sled <b>one</b> & two";
    let ridden = [rides_of(&csv, name), rides_of(&csv, &format!("{name} with runners.bow_mm=4.5"))];
    assert_eq!(ridden.each_ref().map(|e| e.rides.len()), [12, 12]);
    let candidates =
        ridden.each_ref().map(|e| Candidate { rides: Some(e), numerical_s: 0.0, by_plan_s: 0.0 });
    let choice = choose(&candidates, Some(0), 0.05);
    let bow_mm = choice.advised.map(|i| [2.5, 4.5][i]);
    let advised = json["advised"]["bow_mm"].as_f64();
    println!("advised {advised:?}, front {:?}, stays {}", choice.front, choice.stays);
    match (advised, bow_mm) {
        // metres to millimetres
        (Some(a), Some(b)) => approx::assert_abs_diff_eq!(a, b, epsilon = 1e-9),
        (a, b) => assert_eq!(a, b),
    }
    assert_eq!(said.contains("Leave it as it is"), choice.stays);
    assert_eq!(Path::new(&at("out/setup-advised.toml")).exists(), choice.advised.is_some());

    // polish and tape on the sheet are those of `compare` by the plan of the advised set-up
    if choice.advised.is_some() {
        let base = at("out/setup-advised.toml");
        let changes = ["--variant", "runners.roughness_um=0.2", "--variant", "air.taping_factor=0.98"];
        let asked =
            ["--track", track.as_str(), "--skill", "elite", "--rides", "12", "--seed", "5", "--one-plan"];
        let output =
            sagitta(&[&["compare", base.as_str()], &changes[..], &asked[..]].concat()).output().unwrap();
        let told = String::from_utf8(output.stdout).unwrap();
        for (change, number) in [("polish", "(2)"), ("tape", "(3)")] {
            let hours = json["hours"].as_array().unwrap();
            let row = hours.iter().find(|h| h["change"].as_str().unwrap().starts_with(change)).unwrap();
            let gain_s = row["gain_s"].as_f64().unwrap();
            let part = format!("{number} less (1): median {:+.3} s,", -gain_s);
            assert!(told.contains(&part), "{part}\n{told}");
        }
    }

    for html in [read("sheet.html"), report] {
        assert!(html.contains("Sled &lt;b&gt;one&lt;/b&gt; &amp; two"), "the name is not escaped");
        for banned in ["<b>", "<i>", "http", "src=", "href", "url(", "@import", "<script", "<img", "<link"] {
            assert!(!html.contains(banned), "a page has {banned}");
        }
        assert!(html.contains("Officials, coach and the rules") && html.contains("not checked"));
    }
    let sheet = read("sheet.html");
    assert!(sheet.contains("@page { size: A4; margin: 8mm 11mm; }"));
}

#[test]
fn cli_weather_by_the_command_and_by_set() {
    let run = |more: &[&str]| {
        let output = sagitta(&[&["weather", "--track", "tracks/quillmere"], more].concat()).output().unwrap();
        (output.status.code(), String::from_utf8(output.stdout).unwrap())
    };
    let (status, told) = run(&["--ice-temperatures", "-8,-6,-2", "--warming", "0.05"]);
    assert_eq!(status, Some(0), "{told}");
    let row = |begins: &str| -> Vec<String> {
        let line =
            told.lines().find(|l| l.trim_start().starts_with(begins)).unwrap_or_else(|| panic!("{told}"));
        line.split_whitespace().map(String::from).collect()
    };
    // the ice of the set-up is no change, exactly
    assert_eq!(row("-6 ")[2], "+0");
    // trade and physics: thin air is fast; a denser air slow; both steps of a small change nearly mirror each other
    let step = |begins: &str, words: usize| -> [f64; 2] {
        let cells = row(begins);
        [words, words + 1].map(|i| cells[i].parse().unwrap())
    };
    let (warm, press) = (step("5 K warmer air", 4), step("10 hPa more pressure", 4));
    assert!(warm[0] < 0.0 && warm[1] > 0.0 && (warm[0] + warm[1]).abs() < 20.0, "{told}");
    assert!(press[0] > 0.0 && press[1] < 0.0 && (press[0] + press[1]).abs() < 20.0, "{told}");
    assert!(told.contains("start numbers against the first, ice +0.05 K"), "{told}");
    let output = sagitta(&["weather", "--ice-temperatures", "4"]).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
}

/// The air on the sheet is that of `weather` for the advised set-up and the same change; one bow and few rides.
#[test]
fn cli_the_air_of_an_evening_is_that_of_weather() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).display().to_string();
    let track = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tracks/quillmere").canonicalize().unwrap();
    // the steps of `weather`, at another forecast than that of the set-up
    let plan = format!(
        "track = {track:?}\nbow_now_mm = 3\nbows_mm = [3]\nrides = 10\nmost_lost_percent = 50\n[ice]\nspread_k = 0.5\n\
         [air]\ntemperature_c = -9\nhumidity_percent = 60\ntemperature_spread_k = 5\nhumidity_spread_percent = 10\n\
         pressure_spread_hpa = 10\n"
    );
    fs::write(at("plan.toml"), plan).unwrap();
    let output = sagitta(&["evening", &at("plan.toml"), "--out", &at("out")]).output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8(output.stderr).unwrap());
    let fact = said.lines().find(|l| l.starts_with("By the air alone: ")).unwrap_or_else(|| panic!("{said}"));

    let lag = format!("pilot.lag_s={}", read_plan_file("p", "skill = \"club\"\n").unwrap().skill.lag_s);
    let advised = at("out/setup-advised.toml");
    let track = track.display().to_string();
    let asked =
        ["weather", "--setup", &advised, "--track", &track, "--set", &lag, "--ice-temperatures", "-6"];
    let output = sagitta(&asked).output().unwrap();
    let told = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8(output.stderr).unwrap());
    let rows = [
        ("5 K warmer air", "air -14 to -4 degC"),
        ("10 hPa more pressure", "pressure"),
        ("10 % more humidity", "humidity 50 to 70 %"),
    ];
    for (step, what) in rows {
        let row =
            told.lines().find_map(|l| l.trim_start().strip_prefix(step)).unwrap_or_else(|| panic!("{told}"));
        // more, then less; 0 is written with a sign there
        let cells: Vec<&str> =
            row.split_whitespace().map(|c| if c == "+0" || c == "-0" { "0" } else { c }).collect();
        let part = format!("{} to {} for {what}", cells[1], cells[0]);
        assert!(fact.contains(&part), "{part} in\n{fact}");
    }
    let report = fs::read_to_string(folder.path().join("out/report.html")).unwrap();
    let sheet = fs::read_to_string(folder.path().join("out/sheet.html")).unwrap();
    let value = fact.split_once(": ").unwrap().1;
    assert!(report.contains(value) && sheet.contains(value), "{value}");
    let json: Value =
        serde_json::from_str(&fs::read_to_string(folder.path().join("out/evening.json")).unwrap()).unwrap();
    assert_eq!(json["air"].as_array().unwrap().len(), 3);
    // thin warm air is fast: the ends differ by more than ten milliseconds, and together by no less than one alone
    let ends = json["air"][0]["ends"].as_array().unwrap();
    let half_s =
        0.5 * (ends[0]["less_expected_s"].as_f64().unwrap() - ends[1]["less_expected_s"].as_f64().unwrap());
    assert!(half_s > 0.005 && json["air_together_s"].as_f64().unwrap() >= half_s, "{json:#}");
}
