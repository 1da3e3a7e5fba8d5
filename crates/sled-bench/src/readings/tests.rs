//! Checks of reading caliper tables.

use super::*;

/// Line, column (0: none) and key of a fault.
fn place_of(fault: &FileFault) -> (usize, usize, &str) {
    let place = &fault.place;
    (place.line.unwrap_or(0), place.column.unwrap_or(0), place.key.as_deref().unwrap_or(""))
}

fn rules() -> ReadingRules {
    let points = vec![("mid".to_owned(), 0.0), ("front".to_owned(), 0.2)];
    ReadingRules { points, ..ReadingRules::of(&RunnerSpec::default(), false) }
}

#[test]
fn exact_readings_are_read() {
    let text = "runner,point,position_mm,distance_mm,error_mm\nleft,front,,41.5,0.02\n";
    let got = parse_readings("a.csv", text, &rules()).expect("good");
    assert_eq!((got[0].side, got[0].state, got[0].line), (Side::Left, State::Bowed, 2));
    // rounding
    approx::assert_abs_diff_eq!(got[0].distance_m, 0.0415, epsilon = 1e-15);
    approx::assert_abs_diff_eq!(got[0].position_m, 0.2, epsilon = 1e-15);
}

#[test]
fn exact_every_fault_at_once_with_its_place() {
    let text = "runner,state,point,position_mm,distance_mm,error_mm\n\
        middle,bowed,mid,0,40,0.02\nleft,wet,mid,0,40,0.02\nleft,bowed,nose,,40,0.02\n\
        left,bowed,mid,900,40,0.02\nleft,bowed,mid,0,-40,0.02\nleft,bowed,mid,0,40,nan\n\
        left,bowed,front,100,40,0.02\n";
    let found = parse_readings("a.csv", text, &rules()).expect_err("bad");
    let got: Vec<_> = found.iter().map(place_of).collect();
    let wanted = [
        (2, 1, "runner"),
        (3, 2, "state"),
        (4, 3, "point"),
        (5, 4, "position_mm"),
        (6, 5, "distance_mm"),
        (7, 6, "error_mm"),
        (8, 4, "position_mm"),
    ];
    assert_eq!(got, wanted);
    assert_eq!(found[4].got, "-40");
}

#[test]
fn exact_inches_are_asked_about() {
    let text = "runner,point,position_mm,distance_mm,error_mm\nleft,mid,0,1.57,0.02\n";
    let found = parse_readings("a.csv", text, &rules()).expect_err("suspected");
    assert!(found[0].allowed.contains("inches") && found[0].got.starts_with("1.57"), "{}", found[0]);
    assert_eq!((place_of(&found[0]).0, place_of(&found[0]).1), (2, 4));
    let confirmed = ReadingRules { millimetres_confirmed: true, ..rules() };
    assert!(parse_readings("a.csv", text, &confirmed).is_ok());
}

#[test]
fn exact_a_new_name_keeps_its_place_and_a_reference_has_no_bow() {
    let text = "runner,point,position_mm,distance_mm,error_mm\n\
        left,quarter,100,40,0.02\nright,quarter,,40,0.02\nright,quarter,120,40,0.02\n";
    let found = parse_readings("a.csv", text, &rules()).expect_err("moved");
    assert_eq!(
        found.iter().map(|f| (f.place.line, f.place.column)).collect::<Vec<_>>(),
        [(Some(4), Some(3))]
    );
    let text = "runner,state,point,distance_mm,error_mm\nleft,bowed,mid,40,0.02\n";
    let found = parse_readings("a.csv", text, &rules().reference()).expect_err("bow");
    assert_eq!((place_of(&found[0]).2, found[0].allowed.as_str()), ("state", "reference"));
    let text = "runner,point,distance_mm,error_mm\nleft,mid,40,0.02\n";
    let got = parse_readings("a.csv", text, &rules().reference()).expect("good");
    assert_eq!(got[0].state, State::Reference);
}

#[test]
fn exact_semicolons_decimal_commas_and_empty_files_are_told() {
    let told = |text: &str| parse_readings("a.csv", text, &rules()).expect_err("bad")[0].to_string();
    assert!(told("runner;point;distance_mm;error_mm\nleft;mid;40;0.02\n").contains("commas"));
    assert!(told("runner,point,distance_mm,error_mm\nleft,mid,40,5,0.02\n").contains("decimal point"));
    assert!(told("").contains("got an empty file"));
    assert!(
        told("runner,point,distance_mm\nleft,mid,40\n").contains("line 1 (error_mm): got no such column")
    );
    assert!(told("runner,point,distance_mm,error_mm\n").contains("no readings"));
}

#[test]
fn exact_two_columns_of_a_name_and_two_zeros_are_refused() {
    let text = "runner,point,distance_mm,error_mm,distance_mm\nleft,mid,40,0.02,41\n";
    let found = parse_readings("a.csv", text, &rules()).expect_err("twice");
    assert_eq!(
        (found.len(), place_of(&found[0]).0, place_of(&found[0]).1, place_of(&found[0]).2),
        (1, 1, 5, "distance_mm")
    );
    let text = "runner,state,point,distance_mm,error_mm\nleft,reference,mid,40,0.02\n";
    let one = ReadingRules { reference_allowed: false, ..rules() };
    let found = parse_readings("a.csv", text, &one).expect_err("two zeros");
    assert_eq!(place_of(&found[0]), (2, 2, "state"));
    assert!(found[0].allowed.contains("--reference"));
}

#[test]
fn exact_numbers_that_are_none_are_refused() {
    for text in ["nan", "inf", "-inf", "", "40 mm", "4O", "600"] {
        let text = format!("runner,point,distance_mm,error_mm\nleft,mid,{text},0.02\n");
        let found = parse_readings("a.csv", &text, &rules()).expect_err("no number");
        assert_eq!((place_of(&found[0]).0, place_of(&found[0]).1), (2, 3), "{text}");
        assert!(found[0].allowed.starts_with("0 to 500 mm"), "{}", found[0]);
    }
}
