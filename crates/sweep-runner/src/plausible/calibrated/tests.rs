//! A calibration read, refused and put on a set-up.

use super::*;
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
