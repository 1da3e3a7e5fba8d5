//! A calibration read, refused and put on a set-up.

use super::*;
use sled_dynamics::riding::errors_of_ride::SKILLS;
use sled_dynamics::setup::keys::set;
use sled_dynamics::setup::write::write_setup;

fn text(setup: &Setup) -> String {
    format!(
        "sheet = \"week.csv\"\ntrack = \"Hill\"\ntrack_sha256 = \"abc\"\nruns = [\"1\", \"2\"]\nsetup_text = '''\n{}'''\n\
         covariance = [[0.04, 0.0, -0.0003], [0.0, 1e-6, 0.0], [-0.0003, 0.0, 9e-6]]\n\
         [[unknown]]\nname = \"friction factor\"\nkey = \"ice.friction_factor\"\nestimate = 1.1\nerror = 0.2\n\
         [[unknown]]\nname = \"line loss, whole way\"\nestimate = 0.002\nerror = 0.001\n\
         [[unknown]]\nname = \"drag area m2\"\nkey = \"air.drag_area_m2\"\nestimate = 0.06\nerror = 0.003\n",
        write_setup(setup)
    )
}

fn made() -> (Setup, Calibration) {
    let setup = Setup::with_defaults("sled");
    let read = read_calibration("c", &text(&setup)).unwrap();
    (setup, read)
}

#[test]
fn exact_a_calibration_is_read_as_written() {
    let (setup, c) = made();
    assert_eq!((c.runs, c.keys.as_slice()), (2, &["ice.friction_factor", "air.drag_area_m2"][..]));
    assert_eq!((c.mean.as_slice(), c.line_loss), (&[1.1, 0.06][..], Some([0.002, 0.001])));
    // with a level of skill the line losses are beyond what it loses
    let of_level = read_calibration("c", &format!("level_loss = 0.004\n{}", text(&setup))).unwrap();
    assert_eq!(of_level.line_loss, Some([0.006, 0.001]));
    assert_eq!((c.sd.clone(), c.axes.len()), (vec![0.2, 0.003], 2));
    assert_eq!(c.goes_with(&setup), Ok(None));
    let on = c.middle().on(&setup).unwrap();
    assert_eq!((on.ice.friction_factor, on.air.drag_area_m2), (1.1, 0.06));
    // the guided estimate slides on the same ice; rounding
    approx::assert_relative_eq!(
        on.ice.guided_friction,
        1.1 * setup.ice.guided_friction,
        max_relative = 1e-15
    );
}

#[test]
fn exact_bow_and_weather_are_told_and_the_rest_is_refused() {
    let (setup, c) = made();
    let with = |key: &str, value: f64| {
        let mut other = setup.clone();
        set(&mut other, key, value).unwrap();
        other
    };
    for (key, value, what) in [
        ("runners.bow_mm", 1.6, "bow"),
        ("sled.balance_point_mm", -12.0, "saddle"),
        ("sled.ballast_kg", 3.0, "ballast"),
        ("ice.temperature_c", -9.0, "ice temperature"),
        ("push.start_time_s", 5.2, "push"),
    ] {
        let told = c.goes_with(&with(key, value)).unwrap().unwrap();
        assert!(told.contains(&format!("another {what}:")), "{key}: {told}");
    }
    for (key, value) in
        [("athlete.mass_kg", 71.0), ("runners.roughness_um", 0.4), ("air.drag_area_m2", 0.066)]
    {
        let why = c.goes_with(&with(key, value)).unwrap_err();
        assert!(why.contains(key) && why.contains(&value.to_string()), "{key}: {why}");
    }
    // what is compared may be another pair, but not what the calibration sets
    assert_eq!(c.goes_with_other(&with("runners.roughness_um", 0.4)), Ok(()));
    assert!(c.goes_with_other(&with("ice.friction_factor", 0.9)).is_err());
    assert!(c.goes_with_track("Hill", "abc").is_ok());
    assert!(c.goes_with_track("Hill", "abd").unwrap_err().contains("files were changed"));
    assert!(c.goes_with_track("Dale", "abd").unwrap_err().contains("is of Hill, and Dale"));
}

#[test]
fn exact_what_is_no_calibration_is_refused_with_its_place() {
    let (setup, _) = made();
    let good = text(&setup);
    for (bad, part) in [
        ("sample,seed\n0,1\n".to_string(), "c, line 1, column"),
        (good.replace("estimate = 1.1", "estimate = 9"), "ice.friction_factor = 9"),
        (good.replace("[0.04, 0.0, -0.0003]", "[0.04]"), "(covariance): got other than 3 rows of 3"),
        (good.replace("9e-6", "-9e-6"), "not positive"),
        (good.replace("setup_text", "set_up_text"), "setup_text"),
    ] {
        let why = read_calibration("c", &bad).unwrap_err();
        assert!(
            (why.starts_with("c (") || why.starts_with("c, line")) && why.contains(part),
            "{part}: {why}"
        );
        assert!(why.contains("as `calibrate --out` writes it"), "{why}");
    }
}

#[test]
fn exact_errors_of_an_athlete_are_those_of_rides_of_the_level() {
    let (setup, without) = made();
    let told = |log: f64, sd: f64| {
        let errors = format!("skill = \"club\"\nerror_factor_log = {log:?}\nerror_factor_log_sd = {sd:?}\n");
        read_calibration("c", &format!("{errors}{}", text(&setup)))
    };
    let c = told(1.2_f64.ln(), 0.3).unwrap();
    let [novice, club] = ["novice", "club"].map(|n| SKILLS.into_iter().find(|s| s.name == n).unwrap());
    let ridden = c.skilled(&club);
    // by hand: 1.2 times the errors of timing, at the ends exp(0.3) times less and more
    approx::assert_relative_eq!(ridden.timing_s, 1.2 * club.timing_s, max_relative = 1e-14); // rounding
    let axes = c.axes_of_rides(&club);
    assert_eq!((axes.len(), axes[2].name.as_str()), (3, "errors of the athlete"));
    for (end, side) in axes[2].ends.iter().zip([-0.3_f64, 0.3]) {
        let there = end.skilled(&ridden).timing_s;
        approx::assert_relative_eq!(there, ridden.timing_s * side.exp(), max_relative = 1e-14); // rounding
        // the set-up with the middle of the calibration stays as it is
        let on = c.middle().on(&setup).unwrap();
        assert_eq!(end.on(&on).unwrap().ice.friction_factor, on.ice.friction_factor);
    }
    // exp(ln 1.2 -+ 1.96 x 0.3)
    let words = c.words_of_rides(&club);
    assert!(words.contains("1.20 times") && words.contains("0.67 to 2.16"), "{words}");
    // another level, and a calibration that knows none
    assert_eq!((c.skilled(&novice), c.axes_of_rides(&novice).len()), (novice, 2));
    assert!(c.words_of_rides(&novice).contains("club"), "{}", c.words_of_rides(&novice));
    assert_eq!((without.skilled(&club), without.words_of_rides(&club)), (club, String::new()));
    let alone = read_calibration("c", &format!("error_factor_log = 0.1\n{}", text(&setup))).unwrap_err();
    assert!(alone.contains("error_factor_log"), "{alone}");
    for (log, sd) in [(f64::INFINITY, 0.3), (9.0, 0.3), (0.1, -0.3)] {
        let why = told(log, sd).unwrap_err();
        assert!(why.contains("error_factor_log"), "{why}");
    }
}
