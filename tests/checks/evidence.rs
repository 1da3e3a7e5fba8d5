//! Trials as the command line plans them.

use crate::cli::sagitta;
use std::fs;

fn said(arguments: &[&str]) -> (Option<i32>, String, String) {
    let out = sagitta(arguments).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (out.status.code(), text(out.stdout), text(out.stderr))
}

#[test]
fn cli_six_runs_cannot_tell_a_few_hundredths() {
    let (status, told, _) = said(&["trial", "plan", "--difference", "-0.02", "--difference-sd", "0.05"]);
    assert_eq!(status, Some(0));
    // three pairs at 0.165 s resolve 0.76 s; computed independently
    assert!(told.contains("6 runs make 3 pairs") && told.contains("0.76 s or more"), "{told}");
    assert!(told.contains("Do not run this test, it cannot tell you; spend the runs on the line."), "{told}");
    // 173 pairs for 0.05 s at 0.165 s, computed independently
    let (_, told, _) = said(&["trial", "plan", "--difference", "0.05", "--runs", "7"]);
    assert!(told.contains(" 173 "), "{told}");
    assert!(told.contains("One run is left over"), "{told}");
    let (_, told, _) =
        said(&["trial", "plan", "--difference", "-0.4", "--difference-sd", "0.2", "--runs", "40"]);
    assert!(told.contains("Run this test: it is likely to tell you."), "{told}");
}

#[test]
fn cli_questions_are_ranked_by_what_they_are_worth() {
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("questions.toml");
    let text = "[[question]]\nname = \"tape\"\ndifference_s = -0.01\ndifference_sd_s = 0.01\n\
                [[question]]\nname = \"new pair\"\ndifference_s = 0.0\ndifference_sd_s = 0.30\n";
    fs::write(&list, text).unwrap();
    let list = list.to_str().unwrap();
    let (status, told, _) = said(&["trial", "plan", list]);
    assert_eq!(status, Some(0));
    assert!(told.find("new pair").unwrap() < told.find("tape").unwrap(), "{told}");
    fs::write(list, text.replace("0.30", "300").replace("\"tape\"", "1")).unwrap();
    let (status, told, why) = said(&["trial", "plan", list]);
    assert_eq!((status, told.as_str()), (Some(2), ""));
    assert!(why.contains("line 2") && why.contains("line 8") && why.contains("0 to 10 s"), "{why}");
}

#[test]
fn cli_a_question_to_the_simulator_is_the_difference_of_its_rides() {
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("questions.toml");
    // ten percent less drag is a tenth of 1 % of the time for each percent: some half a second (*Drag 2023*)
    fs::write(&list, "[[question]]\nname = \"less drag\"\nb_set = [\"air.drag_area_m2=0.0549\"]\n").unwrap();
    let list = list.to_str().unwrap();
    let (status, told, why) = said(&["trial", "plan", list, "--rides", "12", "--skill", "elite"]);
    assert_eq!(status, Some(0), "{why}");
    let row = told.lines().find(|l| l.trim_start().starts_with("less drag")).unwrap();
    let difference_s: f64 = row.split_whitespace().nth(2).unwrap().parse().unwrap();
    assert!((-0.75..-0.3).contains(&difference_s), "{told}");
}

#[test]
fn cli_runs_of_a_sheet_tell_the_planted_difference() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sheet.csv");
    // ABBABAAB, B 0.3 s faster, ice that slows by 0.02 s a run, and +-0.01 s by hand: means 55.57 and 55.27
    let mut rows = "run;date;set-up;finish\n".to_string();
    for (i, (arm, noise)) in "ABBABAAB".chars().zip([1, -1, 1, -1, -1, 1, -1, 1]).enumerate() {
        let finish = 55.5 + 0.02 * i as f64 - if arm == 'B' { 0.3 } else { 0.0 } + 0.01 * f64::from(noise);
        let finish = format!("{finish:.2}").replace('.', ",");
        rows += &format!("{};15.01.2026;{arm};{finish}\n", i + 1);
    }
    fs::write(&file, &rows).unwrap();
    let file_name = file.to_str().unwrap();
    let (status, told, why) = said(&["trial", "analyse", file_name]);
    assert_eq!(status, Some(0), "{why}");
    let value = |name: &str| -> f64 {
        let line = told.lines().find(|l| l.trim_start().starts_with(name)).unwrap();
        line.split_whitespace().nth(1).unwrap().parse().unwrap()
    };
    // the order is free of drift; noise of 0.01 s in eight runs moves the means by 0.01 s at most
    assert!((value("raw") + 0.3).abs() <= 0.0101 && (value("adjusted") + 0.3).abs() <= 0.0101, "{told}");
    assert!(told.contains("B is faster with a probability of 100 %: B is faster."), "{told}");
    // a faulty row: refused with its place, used without it when asked
    fs::write(&file, rows.replace("4;15.01.2026;A;", "4;15.01.2026;A;1")).unwrap();
    let (status, told, why) = said(&["trial", "analyse", file_name]);
    assert_eq!((status, told.as_str()), (Some(2), ""));
    assert!(why.contains("line 5") && why.contains("rows without a fault: 7"), "{why}");
    let (status, told, _) = said(&["trial", "analyse", file_name, "--keep-good-rows"]);
    assert_eq!(status, Some(0));
    assert!(told.contains("A: A, 3 runs; B: B, 4 runs"), "{told}");
    let (status, _, why) = said(&["trial", "analyse", file_name, "--a", "A", "--b", "C", "--keep-good-rows"]);
    assert_eq!(status, Some(2));
    assert!(why.contains("--b C: not on the sheet; allowed are A, B"), "{why}");
}

const WEEK: &str = include_str!("../../examples/week-sheet.csv");

#[test]
fn cli_a_week_of_runs_is_calibrated_with_its_faults_named() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = folder.path().join("week.csv");
    fs::write(&sheet, WEEK).unwrap();
    let out = folder.path().join("out");
    let (status, told, why) = said(&["calibrate", sheet.to_str().unwrap(), "--out", out.to_str().unwrap()]);
    assert_eq!(status, Some(0), "{why}{told}");
    // what the rides of the sheet were made with, planned on ice 1.1 times as slow with a drag area of 0.061 m2
    for (name, planted) in [("friction factor", 1.1), ("drag area m2", 0.061)] {
        let row = told.lines().find(|l| l.trim_start().starts_with(name)).unwrap();
        let numbers: Vec<f64> = row.split_whitespace().rev().take(3).map(|w| w.parse().unwrap()).collect();
        let [_, high, low] = numbers[..] else { panic!("{row}") };
        assert!(low < planted && planted < high, "{row}");
    }
    for part in [
        "Your runs cannot separate friction and drag: correlation -0.98 by least squares",
        "run 4: start +0.28 s from the middle of the others: a bad push? Noted: slipped at the block.",
        "between eye 5 and eye 6, and goes with the others but for that: a touch or a skid? Noted: tap behind 10.",
        "4 of 6 inside their band",
        "drag area from a wind tunnel, to 2 %",
    ] {
        assert!(told.contains(part), "missing {part} in\n{told}");
    }
    let samples = fs::read_to_string(out.join("calibration.csv")).unwrap();
    assert!(samples.starts_with("sample,seed,ice.friction_factor,air.drag_area_m2\n"), "{samples}");
    assert_eq!(samples.lines().count(), 33);
    // two of them carry the posterior into a comparison
    let few = folder.path().join("few.csv");
    fs::write(&few, samples.lines().take(3).map(|l| l.to_string() + "\n").collect::<String>()).unwrap();
    let few = few.to_str().unwrap();
    let asked = [
        "compare",
        "--variant",
        "air.posture_factor=0.9",
        "--unknowns",
        few,
        "--rides",
        "8",
        "--skill",
        "elite",
    ];
    let (status, told, why) = said(&asked);
    assert_eq!(status, Some(0), "{why}");
    assert!(told.contains("over 2 samples of ice.friction_factor, air.drag_area_m2, 8 rides"), "{told}");
    // a tenth less drag is faster in both: half a second by *Drag 2023*
    assert!(told.contains("(2) ahead in 100 % of sets"), "{told}");
}

#[test]
fn cli_a_sheet_that_cannot_be_calibrated_is_refused_by_place() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = folder.path().join("week.csv");
    let told = |text: &str, more: &[&str]| {
        fs::write(&sheet, text).unwrap();
        let (status, told, why) = said(&[&["calibrate", sheet.to_str().unwrap()], more].concat());
        assert_eq!((status, told.as_str()), (Some(2), ""), "{why}");
        why
    };
    let why = told(&WEEK.replace("eye 4", "eye 14"), &[]);
    let place = "line 1, column 8 (heading): got eye 14; allowed: an eye of Oskerdale between start and finish: eye 3";
    assert!(why.contains(place), "{why}");
    let why = told(&WEEK.replace("eye 3,eye 4", "eye 4,eye 3"), &[]);
    assert!(why.contains("line 1, column 8 (eye 3)") && why.contains("in the order of the track"), "{why}");
    let why = told(&WEEK.replace("5.11,", "2.50,"), &[]);
    assert!(
        why.contains("line 2 (start): got 2.5 s; allowed: push.start_time_s: no sprint takes 2.5 s"),
        "{why}"
    );
    let why = told(&WEEK.replace(",5.11,", ",57.0,"), &[]);
    assert!(
        why.contains("line 2, column 6 (start_s): got 57.0") && why.contains("--keep-good-rows"),
        "{why}"
    );
    let why = told(&WEEK.replace("set_up,", "track,").replace("3.5 mm", "Quillmere"), &[]);
    assert!(why.contains("(track): got Quillmere; allowed: Oskerdale"), "{why}");
    let why = told(WEEK, &["--leave-out", "9"]);
    assert!(why.contains("--leave-out 9: no such run; allowed are 1, 2, 3, 4, 5, 6"), "{why}");
    let why = told(WEEK, &["--skill", "pro"]);
    assert!(why.contains("--skill pro: not known; allowed are novice, club, national, elite"), "{why}");
    let why = told(WEEK, &["--only", "A"]);
    assert!(why.contains("--only A: not on the sheet; allowed are 3.5 mm"), "{why}");
    let why = told(WEEK, &["--spread", "9"]);
    assert!(why.contains("--spread 9: allowed 0.001 to 5 s"), "{why}");
}
