//! Checks of the rules: verdicts by hand, and that nothing unread passes for checked.

use super::reading::read_rules;
use super::*;

const SHIPPED: &str = include_str!("../../../../examples/rules.toml");

fn of(basis: &str) -> Season {
    let text = format!(
        "[[season]]\nname = \"x\"\nedition = \"book\"\nsource = \"me\"\nbasis = \"{basis}\"\n\
         looked_through = \"2026-11-27\"\nmargin_kg = 0.3\n[season.women]\nmost_mass_kg = 102\n[season.men]\n\
         most_mass_kg = 120\n[season.all]\nleast_gauge_mm = 340\n"
    );
    read_rules("r.toml", &text).expect("rules").remove(0)
}

fn weighed(mass_kg: f64) -> Measured {
    Measured { mass_kg: Some(mass_kg), sled_mass_kg: Some(36.0), gauge_m: Some(0.34), ..Measured::default() }
}

#[test]
fn exact_verdicts_by_hand() {
    let season = of("looked up");
    let verdict = |kg: f64| season.verdict(Class::Women, 0, &weighed(kg));
    assert_eq!(verdict(101.5), Verdict::Inside(0.5));
    assert!(matches!(verdict(101.9), Verdict::TooNear(by) if (by - 0.1).abs() < 1e-9));
    assert_eq!(verdict(102.5), Verdict::Outside(0.5));
    assert_eq!(season.verdict(Class::Men, 0, &weighed(102.5)), Verdict::Inside(17.5));
    // at the bound of a length there is nothing to keep free
    assert_eq!(season.verdict(Class::Men, 2, &weighed(80.0)), Verdict::Inside(0.0));
    assert_eq!(season.verdict(Class::Men, 1, &weighed(80.0)), Verdict::NoLimit);
    assert_eq!(season.verdict(Class::Men, 0, &Measured::default()), Verdict::NotMeasured);
}

#[test]
fn exact_masses_in_words() {
    assert_eq!(
        of("looked up").mass_words(Some(Class::Women), &weighed(102.5)),
        "mass of athlete and sled 102.5 kg: OUTSIDE women's limit 102 kg by 0.5; mass of the sled with ballast 36.0 \
         kg: not checked; season x, looked up in book"
    );
    // what nobody read in the book is never called checked, whatever it says
    for basis in ["secondary", "from memory"] {
        let words = of(basis).mass_words(None, &weighed(102.5));
        assert!(words.starts_with(
            "mass of athlete and sled 102.5 kg: not checked (limit said to be 102 kg for women: 0.5 OUTSIDE; 120 kg for men: 17.5 inside)"
        ), "{words}");
        assert!(words.ends_with("not the rule book: look it up"), "{words}");
    }
}

#[test]
fn exact_what_is_not_known_is_not_checked() {
    let lines = of("looked up").other_words(None, &weighed(90.0));
    assert_eq!(lines[0], "distance of the runners 340.0 mm: inside the limit 340 mm by 0.0");
    assert_eq!(
        lines[1],
        "not checked: diameter of the runners, length of the sled, height of the sled, runners warmer than the \
         reference runner"
    );
    let lines = of("secondary").other_words(None, &weighed(90.0));
    assert_eq!(lines.len(), 1);
    assert!(lines[0].starts_with("not checked: distance of the runners, "), "{lines:?}");
}

#[test]
fn exact_faults_of_rules_come_together() {
    let text = "[[season]]\nname = \"x\"\nbasis = \"sure\"\nlooked_through = \"today\"\n[season.women]\nmost_mas_kg = 3\n\
                most_mass_kg = 3\n[other]\n";
    let found = read_rules("r.toml", text).expect_err("bad");
    let told: Vec<String> = found.iter().map(ToString::to_string).collect();
    for part in [
        "(basis): got sure",
        "(edition): got nothing",
        "(source)",
        "(looked_through): got today",
        "(key): got most_mas_kg",
        "(most_mass_kg): got 3; allowed: 30 to 300 kg",
        "(key): got other",
    ] {
        assert!(told.iter().any(|t| t.contains(part)), "{part}\n{told:#?}");
    }
    assert_eq!(told.len(), 7, "{told:#?}");
}

#[test]
fn house_no_shipped_limit_passes_for_looked_up() {
    let seasons = read_rules("examples/rules.toml", SHIPPED).expect("rules");
    assert!(seasons.len() >= 2);
    for season in seasons {
        assert_ne!(season.basis, Basis::LookedUp, "{}: nobody here read the book", season.name);
    }
}
