//! Plans as typed.

use super::*;

fn told(text: &str) -> Vec<String> {
    let faults = read_plan_file("plan.toml", text).expect_err("bad");
    faults.0.iter().map(ToString::to_string).collect()
}

#[test]
fn exact_an_empty_plan_but_one_key_takes_the_usual() {
    let plan = read_plan_file("plan.toml", "hours = 1.5\n").expect("fine");
    assert_eq!((plan.rides, plan.seed, plan.hours, plan.most_lost), (120, 1, 1.5, 0.05));
    assert_eq!(plan.skill.name, "club");
    // 2.5 to 5.5 by 0.5; the present bow drops its neighbour within a tenth
    assert_eq!(plan.other_bows_mm(3.46, true), [2.5, 3.0, 4.0, 4.5, 5.0, 5.5]);
    assert_eq!(plan.other_bows_mm(3.3, true).len(), 7);
    assert_eq!(plan.ices_c(-5.0), [-3.0, -6.0, -9.0]);
}

#[test]
fn exact_every_fault_of_a_plan_with_its_line_value_and_what_is_allowed() {
    let text = "skil = \"club\"\nrides = 3\nbows_mm = [3, 9.5, \"x\"]\npairs = [\"A\", \"A\"]\nbow_now_mm = 3\n\
                readings = \"r.csv\"\nskill = \"champion\"\n[ice]\ntemperature_c = 2\nspred_k = 1\n[rules]\n\
                most_mass_kg = 9\n";
    let told = told(text);
    let wanted: [&[&str]; 11] = [
        &["line 1", "skil", "skill"],
        &["line 2", "rides", "3", "whole number from 10"],
        &["line 3", "9.5", "0 to 8 mm"],
        &["line 3", "\"x\"", "a number"],
        &["line 4", "pairs without library", "library"],
        &["line 4", "twice", "once"],
        &["line 6", "readings beside bow_now_mm", "take the other out"],
        &["line 7", "champion", "novice"],
        &["line 9", "ice.temperature_c", "2", "-40 to 0 degC"],
        &["line 10", "spred_k", "spread_k"],
        &["line 12", "rules.most_mass_kg", "9", "30 to 300 kg"],
    ];
    assert_eq!(told.len(), wanted.len(), "{told:#?}");
    for parts in wanted {
        let there = told.iter().any(|t| parts.iter().all(|p| t.contains(p)));
        assert!(there, "{parts:?} in {told:#?}");
    }
}

#[test]
fn exact_named_bows_and_the_spread_of_the_ice() {
    let plan = read_plan_file("p", "bows_mm = [4, 3.5, 4]\n[ice]\nspread_k = 3\n").expect("fine");
    assert_eq!(plan.other_bows_mm(3.5, true), [4.0]);
    // an uneven bow is no even one of the same mean
    assert_eq!(plan.other_bows_mm(3.5, false), [3.5, 4.0]);
    // no ice above melting
    assert_eq!(plan.ices_c(-2.0), [0.0, -2.0, -5.0]);
}

#[test]
fn exact_spreads_of_the_air_are_keys_of_the_set_up_and_zero_is_none() {
    let text = "[air]\ntemperature_spread_k = 3\nhumidity_spread_percent = 0\npressure_spread_hpa = 5.5\n";
    let plan = read_plan_file("p", text).expect("fine");
    assert_eq!(plan.air_spreads, [("air.temperature_c", 3.0), ("air.pressure_hpa", 5.5)]);
    // a spread is no forecast
    assert!(plan.forecast.is_empty());
    let told =
        told("[air]\ntemperature_spread_k = -1\nhumidity_spread_percent = 60\npressure_spread_hpa = \"5\"\n");
    assert_eq!(told.len(), 3, "{told:?}");
    for (i, (got, allowed)) in [("-1", "0 to 15 K"), ("60", "0 to 50 %"), ("\"5\"", "")].iter().enumerate() {
        assert!(told[i].contains(&format!("line {}", i + 2)), "{told:?}");
        assert!(told[i].contains(got) && told[i].contains(allowed), "{told:?}");
    }
}
