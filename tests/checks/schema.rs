//! `docs/summary.schema.json` against what the program prints: every kind of descent fits, damage does not.

use crate::cli::sagitta;
use serde_json::Value;

fn schema() -> Value {
    serde_json::from_str(include_str!("../../docs/summary.schema.json")).unwrap()
}

/// The summary that `descend --json` prints.
fn summary(arguments: &[&str]) -> Value {
    let output = sagitta(&[&["descend", "--json"], arguments].concat()).output().unwrap();
    serde_json::from_slice(&output.stdout).unwrap()
}

#[test]
fn cli_summaries_of_every_kind_fit_the_schema() {
    let schema = schema();
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    let kinds: [&[&str]; 6] = [
        &[],
        &["--model", "first-pilot"],
        &["--model", "guided"],
        &["--model", "hands-off"],
        &["--model", "frictionless", "--set", "ice.temperature_c=-8"],
        &["--track", "tracks/quillmere", "--setup", "examples/clubs-man.toml", "--model", "first-pilot"],
    ];
    let mut outcomes = std::collections::BTreeSet::new();
    for arguments in kinds {
        let summary = summary(arguments);
        let faults: Vec<String> =
            validator.iter_errors(&summary).map(|e| format!("{}: {e}", e.instance_path())).collect();
        assert!(faults.is_empty(), "{arguments:?}: {faults:?}");
        outcomes.insert(summary["outcome"].to_string());
    }
    assert_eq!(outcomes.len(), 2, "both outcomes are seen: {outcomes:?}");
}

#[test]
fn cli_a_damaged_summary_does_not_fit_the_schema() {
    let schema = schema();
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    let whole = summary(&["--model", "first-pilot"]);
    assert!(validator.is_valid(&whole));
    let damages: [(&str, Value); 8] = [
        ("/outcome", "won".into()),
        ("/finish_time_s", "54.8".into()),
        ("/finish_time_s", (-1.0).into()),
        ("/splits/0/speed_km_h", Value::Null),
        ("/corners/0/pressures", 1.5.into()),
        ("/inputs/track_sha256", "abc".into()),
        ("/seed", (-1).into()),
        ("/energy_j/glide", Value::Null),
    ];
    for (place, value) in damages {
        let mut damaged = whole.clone();
        *damaged.pointer_mut(place).unwrap() = value;
        assert!(!validator.is_valid(&damaged), "{place}");
    }
    for (object, key) in
        [("", "splits"), ("/energy_j", "glide"), ("/inputs", "version"), ("/corners/0", "exit_m")]
    {
        let mut damaged = whole.clone();
        damaged.pointer_mut(object).unwrap().as_object_mut().unwrap().remove(key).unwrap();
        assert!(!validator.is_valid(&damaged), "{object}/{key} left out");
        let mut damaged = whole.clone();
        damaged.pointer_mut(object).unwrap().as_object_mut().unwrap().insert("extra".into(), "x".into());
        assert!(!validator.is_valid(&damaged), "{object}/extra put in");
    }
}

#[test]
fn conserves_energy_in_the_summary() {
    let summary = summary(&["--model", "first-pilot"]);
    let j = |name: &str| summary["energy_j"][name].as_f64().unwrap();
    let lost: f64 =
        ["kinetic", "air", "glide", "plough", "skid", "toe", "walls", "shaking"].iter().map(|n| j(n)).sum();
    let left = j("potential") + j("push") - lost - j("residual");
    // eleven numbers of 1e5 J at most, each rounded to 1e-16 of itself
    assert!(left.abs() < 1e-9 * j("potential"), "{left} J");
    // what a descent may leave unaccounted for
    assert!(j("residual").abs() < 1e-6 * j("potential"), "{} J", j("residual"));
}

#[test]
fn house_every_field_of_the_schema_says_what_it_is() {
    fn look(at: &Value, place: &str, fields: &mut usize) {
        for (name, field) in at["properties"].as_object().into_iter().flatten() {
            let place = format!("{place}/{name}");
            let told = field["description"].as_str().unwrap_or("");
            assert!(told.len() > 3, "{place} has no description");
            let units = [("_s", "(s)"), ("_m", "(m)"), ("_km_h", "(km/h)"), ("_j", "(J)"), ("_n_s", "(N s)")];
            // the longest suffix counts: `impulse_n_s` is no time
            if let Some((_, unit)) =
                units.iter().filter(|(s, _)| name.ends_with(s)).max_by_key(|(suffix, _)| suffix.len())
            {
                assert!(told.contains(unit), "{place} does not tell its unit {unit}");
            }
            *fields += 1;
            look(field, &place, fields);
            look(&field["items"], &place, fields);
        }
    }
    let mut fields = 0;
    look(&schema(), "", &mut fields);
    assert!(fields > 50, "{fields}");
}
