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
