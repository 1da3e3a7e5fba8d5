//! Set-up files: what is read, and what each fault says.
#![allow(clippy::unwrap_used, reason = "a test may")]

use file_faults::Place;
use ice_contact::runner::{Bow, RunnerSpec};
use sled_dynamics::setup::faults::{Faults, Problem};
use sled_dynamics::setup::file::{read_setup, read_setup_with_beam};

use sled_dynamics::setup::write::write_setup;
use sled_dynamics::setup::{Friction, Setup, Sprint};

const WOMAN: &str = include_str!("../../../examples/clubs-woman.toml");
const MAN: &str = include_str!("../../../examples/clubs-man.toml");

fn sets(pairs: &[(&str, &str)]) -> Vec<(String, String)> {
    pairs.iter().map(|(key, value)| (key.to_string(), value.to_string())).collect()
}

fn faults(text: &str, pairs: &[(&str, &str)]) -> Vec<String> {
    let Faults(faults) = read_setup("a.toml", text, &sets(pairs)).expect_err(text);
    faults.iter().map(ToString::to_string).collect()
}

#[test]
fn exact_an_empty_file_is_the_default_set_up() {
    assert_eq!(read_setup("there/a.toml", "", &[]).unwrap(), Setup::with_defaults("a"));
    assert_eq!(read_setup("", "", &[]).unwrap().name, "set-up");
}

#[test]
fn exact_a_file_is_read_in_si() {
    let text = "name = \"pair A\"\n[sled]\nmass_height_mm = 145\n[runners]\nbow_mm = 2\nleft.bow_rear_mm = 1.9\n\
                [ice]\nhardness_mpa = 18\nfriction = \"table\"\nfriction_table = [[5, 0.004], [30, 0.0052]]\n\
                [air]\npressure_hpa = 948.5\nhumidity_percent = 7\n[push]\ntop_sprint_speed_m_s = 10\n";
    for text in [text.to_string(), text.replace('\n', "\r\n"), format!("\u{feff}{text}")] {
        let setup = read_setup("a.toml", &text, &[]).unwrap();
        assert_eq!(setup.name, "pair A");
        assert_eq!(setup.sled.mass_height_m, 0.145);
        assert_eq!(setup.runners.left, Bow { front_m: 0.002, rear_m: 0.0019 });
        assert_eq!(setup.runners.right, Bow { front_m: 0.002, rear_m: 0.002 });
        assert_eq!(setup.ice.hardness_pa, Some(18e6));
        assert_eq!(setup.ice.friction, Friction::Table(vec![(5.0, 0.004), (30.0, 0.0052)]));
        assert_eq!((setup.air.pressure_pa, setup.air.humidity), (Some(94_850.0), 0.07));
        assert_eq!(setup.push.sprint, Sprint::TopSpeed(10.0));
        assert_eq!(read_setup("b.toml", &write_setup(&setup), &[]).unwrap(), setup);
    }
}

#[test]
fn exact_examples_are_good_and_inside_the_mass_limits() {
    // Mass limits of the federation, through secondary pages; not checked against the edition.
    for (file, text, total_kg, sled_kg) in
        [("clubs-woman.toml", WOMAN, 102.0, 38.0), ("clubs-man.toml", MAN, 120.0, 45.0)]
    {
        let setup = read_setup(file, text, &[]).unwrap();
        assert!(setup.sled.mass_kg() <= total_kg, "{file}");
        assert!(setup.sled.sled_mass_kg + setup.sled.ballast_kg <= sled_kg, "{file}");
        assert_eq!(read_setup(file, &write_setup(&setup), &[]).unwrap(), setup);
    }
}

#[test]
fn exact_names_with_quotes_and_other_letters_come_back() {
    for name in ["say \"B\" \\ 2", "Kælv, Ödmark 滑"] {
        let text = write_setup(&Setup::with_defaults(name));
        assert_eq!(read_setup("a.toml", &text, &[]).unwrap().name, name);
    }
    assert!(
        faults("name = \" \"", &[])[0]
            .contains("a.toml, line 1, column 8 (name): got \"\"; allowed: 1 to 80 characters")
    );
    assert!(faults("name = \"a\\nb\"", &[])[0].contains("allowed: 1 to 80 characters on one line"));
}

#[test]
fn exact_all_faults_at_once_in_the_order_of_the_file() {
    let text = "[athlete]\nmass_kg = -5\n[sled]\n  gauge_mm = \"wide\"\nsaddle = 3\n[pilot]\nlag_s = 0.2\n[air]\nhumidity_percent = 120\n";
    assert_eq!(
        faults(text, &[("ice.temperature_c", "3")]),
        [
            "a.toml, line 2, column 11 (athlete.mass_kg): got -5 kg; allowed: 20 to 200 kg",
            "a.toml, line 4, column 14 (sled.gauge_mm): got the text \"wide\"; allowed: a number without quotes",
            "a.toml, line 5, column 1 (sled.saddle): no such key",
            "a.toml, line 9, column 20 (air.humidity_percent): got 120 %; allowed: 0 to 100 %",
            "--set ice.temperature_c=3 (ice.temperature_c): got 3 degC; allowed: -40 to 0 degC",
        ]
    );
}

#[test]
fn exact_unknown_keys_and_tables_get_the_nearest() {
    for (text, expected) in [
        (
            "[sled]\nbalast_kg = 1",
            "a.toml, line 2, column 1 (sled.balast_kg): no such key, nearest is sled.ballast_kg",
        ),
        ("[sled]\ngauge = 1", "(sled.gauge): no such key, nearest is sled.gauge_mm"),
        // a key that had another name before
        (
            "[sled]\nframe_twist_n_m_per_rad = 300",
            "(sled.frame_twist_n_m_per_rad): no such key, nearest is sled.torsional_stiffness_n_m_per_rad",
        ),
        ("[sled]\nlag_s = 1", "(sled.lag_s): no such key, nearest is pilot.lag_s"),
        (
            "[runners]\ndiameter_m = 0.016",
            "(runners.diameter_m): no such key, nearest is runners.diameter_mm",
        ),
        (
            "[runner.left]\nbow_front_mm = 1",
            "a.toml, line 1, column 2 (runner): no such key, nearest is runners",
        ),
        ("nme = \"x\"", "a.toml, line 1, column 1 (nme): no such key, nearest is name"),
    ] {
        let got = faults(text, &[]);
        assert_eq!(got.len(), 1, "{got:?}");
        assert!(got[0].ends_with(expected), "{got:?}");
    }
    assert_eq!(faults("[weather]\nfog = true", &[]), ["a.toml, line 1, column 2 (weather): no such key"]);
}

#[test]
fn exact_wrong_types() {
    for (text, read) in [
        ("true", "the switch true"),
        ("1979-05-27", "the date 1979-05-27"),
        ("[80]", "a list of 1"),
        ("{ a = 1 }", "a table"),
        ("0x50", "the number 0x50"),
        ("\"80\"", "the text \"80\""),
    ] {
        let expected = format!(
            "a.toml, line 1, column 19 (athlete.mass_kg): got {read}; allowed: a number without quotes"
        );
        assert_eq!(faults(&format!("athlete.mass_kg = {text}"), &[]), [expected]);
    }
    assert_eq!(
        faults("sled = 3", &[]),
        ["a.toml, line 1, column 8 (sled): got the number 3; allowed: a table"]
    );
    assert_eq!(
        faults("name = 3", &[]),
        ["a.toml, line 1, column 8 (name): got the number 3; allowed: text in quotes"]
    );
    assert_eq!(
        faults("[[sled]]\nmass_kg = 30", &[]),
        ["a.toml, line 1, column 1 (sled): got a list of 1; allowed: a table"]
    );
    assert!(faults("athlete.mass_kg = nan", &[])[0].contains("got NaN kg; allowed: 20 to 200 kg"));
    assert!(faults("athlete.mass_kg = inf", &[])[0].contains("got inf kg"));
}

#[test]
fn exact_decimal_commas_are_pointed_out() {
    let expected = "got 80,5; allowed: a decimal point, 80.5";
    let got = faults("[athlete]\nmass_kg = 80,5 # kit\n[sled]\nmass_kg = -1\n", &[]);
    assert_eq!(got.len(), 2, "{got:?}");
    assert!(
        got[0].starts_with("a.toml, line 2, ")
            && got[0].ends_with(&format!(" (athlete.mass_kg): {expected}")),
        "{got:?}"
    );
    assert!(got[1].starts_with("a.toml, line 4, column 11 (sled.mass_kg): got -1 kg"), "{got:?}");
    assert_eq!(
        faults("athlete.mass_kg = \"80,5\"", &[]),
        [format!("a.toml, line 1, column 19 (athlete.mass_kg): {expected}")]
    );
    assert_eq!(
        faults("", &[("athlete.mass_kg", "80,5")]),
        [format!("--set athlete.mass_kg=80,5 (athlete.mass_kg): {expected}")]
    );
}

#[test]
fn exact_broken_toml_is_placed_and_the_rest_still_read() {
    let got = faults("[athlete]\nmass_kg = \n[sled]\nmass_kg = 38\nmass_kg = 39\ngauge_mm = 1\n", &[]);
    assert_eq!(got.len(), 3, "{got:?}");
    assert!(got[0].starts_with("a.toml, line 2, ") && got[0].contains("not TOML: "), "{got:?}");
    assert!(got[1].starts_with("a.toml, line 5, column 1: not TOML: duplicate key"), "{got:?}");
    assert!(got[2].starts_with("a.toml, line 6, column 12 (sled.gauge_mm): got 1 mm"), "{got:?}");
}

#[test]
fn exact_friction_choices() {
    let friction =
        |text: &str, pairs: &[(&str, &str)]| read_setup("a.toml", text, &sets(pairs)).unwrap().ice.friction;
    assert_eq!(friction("", &[]), Friction::Film);
    assert_eq!(friction("ice.friction = \"constant\"", &[]), Friction::Constant(0.009));
    let both =
        "[ice]\nfriction = \"film\"\nconstant_friction = 0.008\nfriction_table = [[0, 0.01], [40, 0.02]]\n";
    assert_eq!(friction(both, &[]), Friction::Film);
    assert_eq!(friction(both, &[("ice.friction", "constant")]), Friction::Constant(0.008));
    assert_eq!(
        friction(both, &[("ice.friction", "table")]),
        Friction::Table(vec![(0.0, 0.01), (40.0, 0.02)])
    );
    let rows = [("ice.friction_table", "[[1, 0.01], [2, 0.02]]"), ("ice.friction", "table")];
    assert_eq!(friction("", &rows), Friction::Table(vec![(1.0, 0.01), (2.0, 0.02)]));

    let no_effect = "(ice.constant_friction): has no effect unless ice.friction = \"constant\" is written";
    assert_eq!(
        faults("ice.constant_friction = 0.01", &[]),
        [format!("a.toml, line 1, column 25 {no_effect}")]
    );
    assert_eq!(
        faults(both, &[("ice.constant_friction", "0.01")]),
        [format!("--set ice.constant_friction=0.01 {no_effect}")]
    );
    assert_eq!(
        faults("ice.friction = \"table\"", &[]),
        ["a.toml, line 1, column 16 (ice.friction): got \"table\", which needs ice.friction_table"]
    );
    assert_eq!(
        faults("ice.friction = \"slick\"", &[]),
        [
            "a.toml, line 1, column 16 (ice.friction): got \"slick\"; allowed: \"film\", \"constant\", \"table\""
        ]
    );
}

#[test]
fn exact_friction_tables_that_cannot_be() {
    for (rows, expected) in [
        ("[[5, 0.004]]", "got 1 rows; allowed: 2 or more"),
        ("[[5, 0.004], [5, 0.005]]", "row 2: got [5, 0.005]; allowed: speed 0 to 60 m/s, higher"),
        ("[[5, 0.004], [6, -0.1]]", "row 2: got [6, -0.1]; allowed:"),
        ("[[5, 0.004], [nan, 0.1]]", "row 2: got [NaN, 0.1]; allowed:"),
        ("[5, 0.004]", "got a list of 2; allowed: rows of two numbers"),
        ("[[5, 0.004, 1], [6, 0.1, 1]]", "got a list of 2; allowed: rows of two numbers"),
        ("\"film.csv\"", "got the text \"film.csv\"; allowed: rows of two numbers"),
    ] {
        let got = faults(&format!("[ice]\nfriction = \"table\"\nfriction_table = {rows}"), &[]);
        assert_eq!(got.len(), 1, "{got:?}");
        assert!(
            got[0].starts_with(&format!("a.toml, line 3, column 18 (ice.friction_table): {expected}")),
            "{got:?}"
        );
    }
}

#[test]
fn exact_start_time_or_top_speed() {
    let both = "[push]\ntop_sprint_speed_m_s = 10\nstart_time_s = 4.9\n";
    assert_eq!(
        faults(both, &[]),
        [
            "a.toml, line 2, column 24 (push.top_sprint_speed_m_s): given together with push.start_time_s; allowed: one of the two"
        ]
    );
    let sprint = |pairs: &[(&str, &str)]| {
        read_setup("a.toml", "push.start_time_s = 5", &sets(pairs)).unwrap().push.sprint
    };
    assert_eq!(sprint(&[("push.top_sprint_speed_m_s", "10")]), Sprint::TopSpeed(10.0));
    assert_eq!(sprint(&[("push.start_time_s", "4.8")]), Sprint::StartTime(4.8));
    let got = faults("", &[("push.start_time_s", "4.8"), ("push.top_sprint_speed_m_s", "10")]);
    assert!(
        got[0].starts_with("--set push.top_sprint_speed_m_s=10 (push.top_sprint_speed_m_s): "),
        "{got:?}"
    );
}

#[test]
fn exact_overrides_go_before_the_file() {
    let setup = |text: &str, pairs: &[(&str, &str)]| read_setup("a.toml", text, &sets(pairs)).unwrap();
    assert_eq!(setup("athlete.mass_kg = 70", &[("athlete.mass_kg", "71")]).sled.athlete_mass_kg, 71.0);
    let twice = [("athlete.mass_kg", "71"), ("athlete.mass_kg", " 7.2e1 ")];
    assert_eq!(setup("", &twice).sled.athlete_mass_kg, 72.0); // the last counts
    assert_eq!(setup("", &[("name", "B = 2")]).name, "B = 2");
    let front = "runners.left.bow_front_mm = 1";
    assert_eq!(setup(front, &[("runners.bow_mm", "2")]).runners.left.front_m, 0.002); // all four means all four
    let single = [("runners.bow_mm", "2"), ("runners.left.bow_front_mm", "3")];
    assert_eq!(setup("", &single).runners.left, Bow { front_m: 0.003, rear_m: 0.002 });

    assert_eq!(
        faults("", &[("athlete.mas_kg", "80")]),
        ["--set athlete.mas_kg=80 (athlete.mas_kg): no such key, nearest is athlete.mass_kg"]
    );
    assert_eq!(
        faults("", &[("athlete.mass_kg", "heavy")]),
        ["--set athlete.mass_kg=heavy (athlete.mass_kg): got \"heavy\"; allowed: a number"]
    );
    assert!(
        faults("", &[("ice.friction", "none")])[0]
            .starts_with("--set ice.friction=none (ice.friction): got \"none\"")
    );
    assert!(
        faults("", &[("ice.friction_table", "[[1")])[0]
            .contains("--set ice.friction_table=[[1 (ice.friction_table): ")
    );
}

#[test]
fn exact_numbers_that_do_not_fit_together() {
    for (text, expected) in [
        (
            "[runners]\ngroove_start_mm = 500\n",
            "a.toml, line 2, column 19 (runners.groove_start_mm): got 500 mm; allowed: at most 420 mm (runners.tip_mm)",
        ),
        (
            "[runners]\npin_mm = 300\nscrew_mm = 300\n",
            "a.toml, line 3, column 12 (runners.screw_mm): got 300 mm; allowed: at most 280 mm (20 mm less than runners.pin_mm)",
        ),
        // The key that is written is where it is said.
        (
            "[runners]\ntip_mm = 350\n",
            "a.toml, line 2, column 10 (runners.pin_mm): got 360 mm; allowed: at most 350 mm (runners.tip_mm)",
        ),
        (
            "[runners]\ndiameter_mm = 9\ngroove_edge_radius_mm = 4.75\n",
            "a.toml, line 3, column 25 (runners.groove_edge_radius_mm): got 4.75 mm; allowed: at most 4.5 mm (half of runners.diameter_mm)",
        ),
        (
            "sled.balance_point_mm = -230\n[runners]\npin_mm = 220\nscrew_mm = 100\n",
            "a.toml, line 1, column 25 (sled.balance_point_mm): got -230 mm; allowed: nearer to the middle than 220 mm (runners.pin_mm)",
        ),
    ] {
        assert_eq!(faults(text, &[]), [expected]);
    }
    assert!(
        faults("", &[("runners.screw_mm", "400")])[0]
            .starts_with("--set runners.screw_mm=400 (runners.screw_mm): got 400 mm")
    );
    // A key at fault is not compared as if it had its default.
    assert_eq!(faults("[runners]\ntip_mm = 5\npin_mm = 500\n", &[]).len(), 1);
}

#[test]
fn exact_bow_past_yield_is_said_at_the_screw() {
    // An invented beam, 100 MPa per mm of the greater bow: 7 mm is 700 MPa, the default steel yields at 600.
    let beam = |_: &RunnerSpec, bow: Bow| bow.front_m.max(bow.rear_m) * 1e11;
    let read = |text: &str| read_setup_with_beam("a.toml", text, &[], Some(&beam));
    assert!(read("runners.bow_mm = 5.9").is_ok());
    let Faults(faults) = read("[runners.left]\nbow_front_mm = 7\n").unwrap_err();
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].place, Place::field("a.toml", 2, 16, "runners.left.bow_front_mm"));
    assert_eq!(faults[0].problem, Problem::PastYield { stress_mpa: 700.0, yield_mpa: 600.0 });
    assert!(
        faults[0]
            .to_string()
            .ends_with("bends the runner to 700 MPa; allowed: up to the yield stress, 600 MPa")
    );
    assert_eq!(read("runners.bow_mm = 7").unwrap_err().0.len(), 2); // left and right
}

#[test]
fn exact_nothing_typed_makes_it_fall_over() {
    let long = format!("{} = 1", "a".repeat(100_000));
    let deep = format!("a = {}", "[".repeat(10_000));
    for text in [
        "\0",
        "=",
        "[",
        "[[",
        "\"",
        "'''",
        "a.b.c.d = {",
        "\u{feff}",
        "é=é",
        &long,
        &deep,
        "sled.mass_kg.x = 1",
    ] {
        let _ = read_setup("a.toml", text, &sets(&[("", ""), ("=", "="), ("runners", "1")])).unwrap_err();
    }
}
