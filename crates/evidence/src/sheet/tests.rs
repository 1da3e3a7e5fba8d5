//! Sheets as people write them, and as they should not.

use super::read::read_sheet;

const HEAD: &str = "run,date,set_up,ice_c,air_c,start_s,eye 3,eye 4,finish_s,speed_trap_km_h,notes\n";

fn told(text: &str) -> String {
    let faults = match read_sheet("week.csv", text) {
        Ok(sheet) => sheet.faults,
        Err(faults) => faults,
    };
    faults.iter().map(|f| f.to_string() + "\n").collect()
}

#[test]
fn exact_comma_and_minutes_mean_the_same() {
    let point = format!("{HEAD}1,2026-01-17,A,-6,-4,5.10,17.87,25.30,55.37,128.7,\n");
    let comma = HEAD.replace(',', ";") + "1;17.01.2026;A;-6;-4;5,10;0:17,87;25,30;0:55,37;128,7;\n";
    let (a, b) = (read_sheet("p", &point).unwrap(), read_sheet("c", &comma).unwrap());
    assert!(a.faults.is_empty() && b.faults.is_empty(), "{:?} {:?}", a.faults, b.faults);
    assert_eq!(a.runs, b.runs);
    assert_eq!(a.runs[0].finish_s, Some(55.37));
    assert_eq!(a.runs[0].splits_s, [Some(17.87), Some(25.3)]);
    // 128.7 km/h by hand
    assert!((a.runs[0].trap_m_s.unwrap() - 35.75).abs() < 1e-12);
    assert_eq!(a.eyes, ["eye 3", "eye 4"]);
}

#[test]
fn exact_missing_cells_are_missing() {
    let sheet = read_sheet("w", &format!("{HEAD}1,,A,,,5.10,,25.30,55.37,,late in 4\n")).unwrap();
    assert!(sheet.faults.is_empty());
    let run = &sheet.runs[0];
    assert_eq!((run.date, run.ice_c, run.trap_m_s, run.splits_s[0]), (None, None, None, None));
    assert_eq!(run.notes, "late in 4");
}

#[test]
fn exact_every_fault_of_a_sheet_is_told_with_its_place() {
    let text = format!(
        "{HEAD}1,2026-01-17,A,-6,-4,5.10,17.87,25.30,55.37,128.7,\n\
         2,2026-01-17,B,-6,-4,5.10,25.31,17.80,55.40,128.7,\n\
         3,2026-01-17,A,6,-4,\"5,10\",17.90,25.33,1.02.35,128.7,\n\
         1,2026-01-17,B,-6,-4,5.12,17.95,25.41,55.43,128.5,\n\
         5,01/17/2026,B,-6,-4,5.12,17.96,25.42,17.00,128.5,\n\
         6,2026-01-17,B,-6,-4\n"
    );
    let told = told(&text);
    for part in [
        "line 3, column 8 (eye 4): got 17.8 s; allowed: more than 25.31 s of eye 3",
        "line 4, column 4 (ice_c): got 6; allowed: -40 to 0 degC",
        "line 4, column 6 (start_s): got 5,10; allowed: a decimal point as in line 2",
        "line 4, column 9 (finish_s): got 1.02.35; allowed: 20 to 180 s from the first eye, written 55.12",
        "line 5, column 1 (run): got 1; allowed: a run once; line 2 has this run already",
        "line 6, column 2 (date): got 01/17/2026; allowed: a day as 2026-01-17",
        "line 6, column 9 (finish_s): got 17.00",
        "line 7 (line): got 5 fields",
    ] {
        assert!(told.contains(part), "missing {part} in\n{told}");
    }
    let sheet = read_sheet("week.csv", &text).unwrap();
    assert_eq!(sheet.runs.iter().map(|r| r.name.as_str()).collect::<Vec<_>>(), ["1"]);
}

#[test]
fn exact_headings_nobody_knows_are_refused() {
    let told = told("run,colour,finish_min,finish_s\n1,red,0.9,55.1\n");
    assert!(told.contains("column 2 (heading): got colour"), "{told}");
    assert!(told.contains("column 3 (heading): got finish_min"), "{told}");
}

#[test]
fn exact_spread_within_set_up_and_day() {
    // by hand: A 55.0 and 55.2, B 56.0 and 56.2: squares 0.02 each, two degrees of freedom
    let rows = "1,2026-01-17,A,,,,,,55.0,,\n2,2026-01-17,A,,,,,,55.2,,\n\
                3,2026-01-17,B,,,,,,56.0,,\n4,2026-01-17,B,,,,,,56.2,,\n";
    let (spread_s, freedom) = read_sheet("w", &format!("{HEAD}{rows}")).unwrap().spread_s().unwrap();
    assert_eq!(freedom, 2);
    assert!((spread_s - 0.02f64.sqrt()).abs() < 1e-12); // rounding
}

#[test]
fn exact_a_finish_far_from_the_others_is_a_slip_of_the_pen() {
    let text = "run,set-up,finish\n1,A,55.1\n2,B,55.2\n3,A,155.3\n4,B,55.4\n";
    let sheet = read_sheet("s.csv", text).unwrap();
    assert_eq!(sheet.runs.iter().map(|r| r.line).collect::<Vec<_>>(), [2, 3, 5]);
    // the upper of the two middle ones
    let told = sheet.faults[0].to_string();
    assert!(
        told.contains("line 4, column 3 (finish): got 155.30 s; allowed: within 30 % of 55.40 s"),
        "{told}"
    );
}
