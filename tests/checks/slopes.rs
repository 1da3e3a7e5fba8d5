//! Slopes of a study against closed forms on an incline.

use crate::made::{even, setup, track};
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys;
use sweep_runner::study::Study;
use sweep_runner::study::case::Base;
use sweep_runner::study::file::read_study;
use sweep_runner::study::slopes::{Slope, slopes};
use track_geometry::track::Track;

const GRADE_RAD: f64 = 0.0798;
const FROM_M: f64 = 35.0;
const TO_M: f64 = 1535.0;

/// Time on an incline with constant friction and quadratic drag (closed form, by separation of the variables):
/// v(s)^2 = vt^2 + (v0^2 - vt^2) exp(-2 k s), v(t) = vt tanh(k vt t + atanh(v0/vt)).
fn closed_form_s(g: f64, friction: f64, drag_per_m: f64, v0: f64, s: f64) -> f64 {
    let a = g * (GRADE_RAD.sin() - friction * GRADE_RAD.cos());
    let vt = (a / drag_per_m).sqrt();
    let v = (vt * vt + (v0 * v0 - vt * vt) * (-2.0 * drag_per_m * s).exp()).sqrt();
    ((v / vt).atanh() - (v0 / vt).atanh()) / (drag_per_m * vt)
}

#[test]
fn published_closed_form_of_the_incline() {
    // evaluated in high precision by mpmath 1.3: 115 kg, 0.052 m2, 1.27 kg/m3, friction 0.0045, 11 m/s
    let k = 1.27 * 0.052 / (2.0 * 115.0);
    for (s, t) in [(50.0, 4.03075533810968), (600.0, 29.3293459150171), (1500.0, 55.4326219148731)] {
        // both are rounded to about fifteen digits
        assert!((closed_form_s(9.81, 0.0045, k, 11.0, s) - t).abs() < 1e-11, "{s} m");
    }
}

fn incline() -> (Track, Setup) {
    // the clock starts where the athlete lies down, so that the time is that of the incline alone
    let t = track(even(1600.0, 5.0, GRADE_RAD, 0.0), &[FROM_M, TO_M]);
    let sets = [
        ("push.top_sprint_speed_m_s", "12"),
        ("ice.guided_friction", "0.0045"),
        ("air.pressure_hpa", "950"),
        ("push.load_station_m", "35"),
    ];
    (t, setup("clubs-man", &sets))
}

/// The closed form for a set-up with one key changed.
fn told_s(t: &Track, base: &Setup, key: &str, value: f64) -> f64 {
    let mut s = base.clone();
    keys::set(&mut s, key, value).unwrap();
    let c = Constants::new(&s, &t.data);
    let launch = Launch::from_push(&s.push, t, &c, s.ice.guided_friction).unwrap();
    let k = c.drag_kg_per_m / c.mass_kg;
    closed_form_s(c.gravity_m_s2, s.ice.guided_friction, k, launch.speed_m_s, TO_M - FROM_M)
}

const STEPS: [(&str, f64); 6] = [
    ("ice.guided_friction", 0.001),
    ("air.drag_area_m2", 0.0005),
    ("athlete.mass_kg", 1.0),
    ("air.pressure_hpa", 10.0),
    ("push.top_sprint_speed_m_s", 0.1),
    ("air.temperature_c", 1.0),
];

fn made() -> (Track, Setup, Vec<Slope>) {
    let (t, s) = incline();
    let axes: String =
        STEPS.iter().map(|(key, step)| format!("[[axis]]\nkey = \"{key}\"\nstep = {step}\n")).collect();
    let text =
        format!("name = \"slopes\"\nmodel = \"guided\"\nseed = 1\n[design]\nkind = \"slopes\"\n{axes}");
    let study = Study::new(read_study("slopes.toml", &text).unwrap(), t.clone(), s.clone()).unwrap();
    let times: Vec<_> = (0..study.cases())
        .map(|case| study.made(case, &Base::NONE).unwrap().descent)
        .map(|d| Some((d.finish_time_s?, d.numerical_error_s)))
        .collect();
    (t, s, slopes(&times).into_iter().map(Option::unwrap).collect())
}

#[test]
fn exact_slopes_on_the_incline() {
    let (t, s, made) = made();
    for ((key, step), slope) in STEPS.into_iter().zip(made) {
        let base = keys::get(&s, key).unwrap();
        let told = told_s(&t, &s, key, base + step / 2.0) - told_s(&t, &s, key, base - step / 2.0);
        let off = (slope.per_step_s - told).abs();
        // a time errs by no more than its printed error, here below a microsecond, and a slope has two
        assert!(off < 2e-6 && off <= slope.error_s, "{key}: {slope:?}, closed form {told} s, off {off:e} s");
        // an error as large as the slope would let anything pass
        assert!(slope.error_s < 0.01 * told.abs(), "{key}: {slope:?}");
    }
}

#[test]
fn trade_time_grows_with_friction_and_drag_and_falls_with_mass_and_push() {
    let (_, _, made) = made();
    let signs: Vec<bool> = made.iter().map(|s| s.per_step_s > 0.0).collect();
    // friction, drag, mass, pressure, push, warmer air
    assert_eq!(signs, [true, true, false, true, false, false]);
}
