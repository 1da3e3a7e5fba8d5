//! The table of keys: every key there and back, and the table in order with itself.
#![allow(clippy::unwrap_used, reason = "a test may")]

use sled_dynamics::setup::checks::misfits;
use sled_dynamics::setup::file::read_setup;
use sled_dynamics::setup::key::{Kind, Source};
use sled_dynamics::setup::keys::{find, get, keys, set};
use sled_dynamics::setup::write::write_setup;
use sled_dynamics::setup::{Friction, Setup, Sprint};

/// A set-up that every key has an effect on.
fn with_constant_friction() -> Setup {
    let mut setup = Setup::with_defaults("x");
    setup.ice.friction = Friction::Constant(0.01);
    setup
}

/// A value inside the limits that is nobody's default, with digits that binary fractions lack.
fn some_value(least: f64, most: f64) -> f64 {
    let value = least + (most.min(least.abs() * 3.0 + 3.0) - least) * 0.7;
    format!("{value:.3e}").parse::<f64>().unwrap().clamp(least, most)
}

#[test]
fn exact_every_number_goes_in_and_out() {
    for key in keys() {
        let Some(number) = key.number() else { continue };
        for value in [some_value(number.least, number.most), number.least, number.most] {
            let mut setup = with_constant_friction();
            set(&mut setup, key.path, value).unwrap();
            assert_eq!(get(&setup, key.path), Some(value), "{}", key.path); // decimal in, same decimal out
        }
    }
}

#[test]
fn exact_every_number_is_written_and_read_back() {
    for key in keys() {
        let Some(number) = key.number() else { continue };
        let mut setup = with_constant_friction();
        let value = some_value(number.least, number.most);
        set(&mut setup, key.path, value).unwrap();
        if misfits(&setup, None).is_empty() {
            let text = write_setup(&setup);
            assert_eq!(read_setup("x.toml", &text, &[]).unwrap(), setup, "{}\n{text}", key.path);
        }
        // The same through --set on an empty file.
        let sets =
            [("ice.friction", "constant"), ("ice.constant_friction", "0.01"), (key.path, &value.to_string())]
                .map(|(k, v)| (k.to_string(), v.to_string()));
        match read_setup("x.toml", "", &sets) {
            Ok(read) => assert_eq!(read, setup, "{}", key.path),
            Err(_) => assert!(!misfits(&setup, None).is_empty(), "{}", key.path),
        }
    }
}

#[test]
fn exact_every_number_has_a_field_of_its_own() {
    for key in keys() {
        let Some(number) = key.number() else { continue };
        let before = with_constant_friction();
        let mut after = before.clone();
        set(&mut after, key.path, some_value(number.least, number.most)).unwrap();
        assert_ne!(after, before, "{}", key.path);
        for other in keys() {
            let shared = other.path == key.path
                || number.replaces.contains(&other.path)
                || other.number().is_some_and(|o| o.replaces.contains(&key.path));
            if !shared {
                assert_eq!(get(&after, other.path), get(&before, other.path), "{} {}", key.path, other.path);
            }
        }
    }
}

#[test]
fn exact_defaults_are_inside_their_limits_and_fit_together() {
    for key in keys() {
        if let Some(number) = key.number() {
            assert!(number.least < number.most, "{}", key.path);
            if let Some(default) = number.default {
                assert!(number.check(default).is_ok(), "{}", key.path);
                assert_eq!(get(&Setup::with_defaults("x"), key.path), Some(default), "{}", key.path);
            }
        }
    }
    assert!(misfits(&Setup::with_defaults("x"), None).is_empty());
}

#[test]
fn house_keys_are_unique_have_docs_and_end_with_their_unit() {
    for (i, key) in keys().iter().enumerate() {
        assert!(!keys()[..i].iter().any(|k| k.path == key.path), "{} stands twice", key.path);
        assert!(key.doc.len() > 10, "{}", key.path);
        if let Source::Published(place) = key.source {
            assert!(place.len() > 10, "{} names no source", key.path);
        }
        match &key.kind {
            Kind::Number(number) if number.unit.suffix().is_empty() => {
                let units =
                    ["_m", "_mm", "_um", "_kg", "_s", "_n", "_c", "_pa", "_hpa", "_mpa", "_percent", "_deg"];
                assert!(!units.iter().any(|unit| key.path.ends_with(unit)), "{}", key.path);
            }
            Kind::Number(number) => {
                assert!(key.path.ends_with(number.unit.suffix()), "{} {:?}", key.path, number.unit);
            }
            Kind::Name | Kind::FrictionChoice | Kind::FrictionTable => {}
        }
    }
}

#[test]
fn house_keys_of_a_table_stand_together() {
    // A table can be opened once in TOML.
    let mut seen: Vec<&str> = Vec::new();
    for key in keys() {
        if seen.last() != Some(&key.table()) {
            assert!(!seen.contains(&key.table()), "{} comes back", key.table());
            seen.push(key.table());
        }
    }
    assert_eq!(seen[0], "", "keys of the top come first");
}

#[test]
fn exact_set_refuses_and_says_why() {
    let mut setup = Setup::with_defaults("x");
    let before = setup.clone();
    let refused = |setup: &mut Setup, key: &str, value: f64| set(setup, key, value).unwrap_err().to_string();
    assert_eq!(
        refused(&mut setup, "athlete.mass_kg", -5.0),
        "value set (athlete.mass_kg): got -5 kg; allowed: 20 to 200 kg"
    );
    assert!(refused(&mut setup, "athlete.mass_kg", f64::NAN).contains("got NaN kg"));
    assert!(refused(&mut setup, "athlete.mass_kg", f64::INFINITY).contains("got inf kg"));
    assert!(refused(&mut setup, "athlete.mas_kg", 80.0).contains("nearest is athlete.mass_kg"));
    assert!(refused(&mut setup, "name", 80.0).contains("allowed: text"));
    assert_eq!(
        refused(&mut setup, "ice.constant_friction", 0.01),
        "value set (ice.constant_friction): has no effect unless ice.friction = \"constant\" is written"
    );
    assert_eq!(setup, before);
}

#[test]
fn exact_shorthand_and_optional_numbers() {
    let mut setup = Setup::with_defaults("x");
    assert_eq!(get(&setup, "air.pressure_hpa"), None);
    assert_eq!(get(&setup, "name"), None);
    assert_eq!(get(&setup, "no.such"), None);
    set(&mut setup, "runners.bow_mm", 2.3).unwrap();
    assert_eq!(setup.runners.right.rear_m, 0.0023);
    set(&mut setup, "runners.left.bow_front_mm", 2.4).unwrap();
    assert_eq!(get(&setup, "runners.bow_mm"), None); // no longer one number
    set(&mut setup, "push.top_sprint_speed_m_s", 10.5).unwrap();
    assert_eq!(setup.push.sprint, Sprint::TopSpeed(10.5));
    assert_eq!(get(&setup, "push.start_time_s"), None);
}

#[test]
fn exact_allowed_and_source_in_words() {
    assert_eq!(find("air.humidity_percent").unwrap().allowed(), "0 to 100 %");
    assert_eq!(find("ice.grip_factor").unwrap().allowed(), "0.1 to 3");
    assert_eq!(find("ice.friction").unwrap().allowed(), "\"film\", \"constant\", \"table\"");
    assert_eq!(find("pilot.lag_s").unwrap().source.to_string(), "assumed");
    assert!(
        find("runners.diameter_mm").unwrap().source.to_string().starts_with("published: federation rule")
    );
}
