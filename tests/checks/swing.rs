//! How the sled swings, through the counter of pressures, and the times of flags, against closed forms.

use crate::made::{constants, even, track};
use approx::assert_relative_eq;
use numerics::roots::brent;
use sled_dynamics::analysis::oscillation::{pressures, turns};
use sled_dynamics::analysis::safety::time_above_s;
use sled_dynamics::laws::ice::Point;
use sled_dynamics::laws::state::State;
use sled_dynamics::motion::course::Course;
use sled_dynamics::motion::descend::{descend, rates_at};
use sled_dynamics::motion::descent::EventKind;
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::extremes::crossings;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::pilot::HandsOff;
use sled_dynamics::motion::precision::{Detail, Pair, Precision};
use std::f64::consts::{PI, TAU};

const FRICTIONLESS: Point = Point { friction: 0.0 };

#[test]
fn exact_torus_corner_through_the_counter() {
    // centreline radius 25 m, tube radius 2.2 m, level, frictionless: small oscillation about the steady bank,
    // derived independently; speeds are those of the sled on its own path
    for (v, omega, wavelength) in [
        (20.0, 2.934_982_811_945_6, 42.815_823_531_276_2),
        (30.0, 4.003_773_704_755_59, 47.079_473_795_308_8),
    ] {
        let mut table = even(300.0, 5.0, 0.0, 0.04);
        table.trough_curvature_per_m = vec![1.0 / 2.2; table.len()];
        let torus = track(table, &[0.0, 300.0]);
        let c = constants(9.81, 115.0, 0.0);
        let course = Course { track: &torus, constants: &c, ice: &FRICTIONLESS, pilot: &HandsOff };
        let sideways = |offset_m: f64| {
            let mut s = State {
                offset_m,
                yaw_rad: 0.0,
                forward_m_s: v,
                lateral_velocity_m_s: 0.0,
                yaw_rate_rad_s: 0.0,
            };
            s.yaw_rate_rad_s = rates_at(&course, 150.0, &s, 0.0).motion.line_turn_rad_s;
            rates_at(&course, 150.0, &s, 0.0).sled[3]
        };
        let steady = brent(-3.3, -0.5, 1e-13, sideways).unwrap();
        // 0.01 mm towards the middle: the swing begins where the load is least
        let entry = Entry { offset_m: steady + 1e-5, yaw_rad: 0.0, extra_spin_rad_s: 0.0 };
        let precision = Precision { pair: Pair::Fifth, tolerance: 1e-13, greatest_step_m: 0.5 };
        let d = descend(&course, &Launch::moving(0.0, v), entry, precision, Detail::Trace(0.5));
        // a swing of 0.01 mm changes the load by about 1e-5 of the weight
        let found = pressures(&d.trace, 1e-7);
        assert!(found.len() >= 4, "{}", found.len());
        let (first, last, n) = (found[0], found[found.len() - 1], found.len() as f64 - 1.0);
        let turned = turns(&d.trace, 1e-7);
        let (from, to, half) = (turned[0], turned[turned.len() - 1], turned.len() as f64 - 1.0);
        assert!(half >= 6.0, "{half}");
        // the same from the turning points of the height, two for each swing
        assert_relative_eq!(0.5 * TAU * half / (to.time_s - from.time_s), omega, max_relative = 1e-6);
        assert_relative_eq!(2.0 * (to.path_m - from.path_m) / half, wavelength, max_relative = 1e-6);
        // the amplitude changes the speed by 2e-7 and with it frequency and wavelength; interpolation 1e-8
        assert_relative_eq!(TAU * n / (last.time_s - first.time_s), omega, max_relative = 1e-6);
        assert_relative_eq!((last.path_m - first.path_m) / n, wavelength, max_relative = 1e-6);
    }
}

#[test]
fn exact_time_above_a_load() {
    // vertical circular wall, no gravity: load v^2/R, v = v0 / (1 + mu v0 t / R), so 4 g is left at a time of closed form
    let (v0, radius, mu) = (30.0, 20.0, 0.02);
    let quarter = 0.5 * PI * radius;
    let mut table = even(2.0 * quarter, quarter / 16.0, 0.0, 1.0 / radius);
    table.banking_rad = vec![0.5 * PI; table.len()];
    let wall = track(table, &[0.0, 2.0 * quarter]);
    let c = constants(0.0, 115.0, 0.0);
    let ice = Point { friction: mu };
    let course = Course { track: &wall, constants: &c, ice: &ice, pilot: &HandsOff };
    let d = descend(
        &course,
        &Launch::moving(0.0, v0),
        Entry::STRAIGHT,
        Precision { pair: Pair::Fifth, tolerance: 1e-10, greatest_step_m: 1.0 },
        Detail::Trace(0.5),
    );
    let level = 4.4;
    let slow = (level * 9.806_65 * radius).sqrt();
    let expected = (v0 / slow - 1.0) * radius / (mu * v0);
    // event times to 1 ms are promised; the polynomial between samples leaves much less
    assert!((time_above_s(&d.trace, level) - expected).abs() < 1e-6, "{expected}");
}

#[test]
fn exact_time_of_a_wall() {
    // level, no friction, at 20 m/s and 0.03 rad to the left: the front left corner meets the wall at a time of
    // closed form; the sled does not turn before
    let flat = {
        let mut table = even(60.0, 5.0, 0.0, 0.0);
        table.left_edge_m = vec![1.0; table.len()];
        track(table, &[0.0, 60.0])
    };
    let c = constants(9.81, 115.0, 0.0);
    let course = Course { track: &flat, constants: &c, ice: &FRICTIONLESS, pilot: &HandsOff };
    let yaw = 0.03_f64;
    let entry = Entry { offset_m: 0.0, yaw_rad: yaw, extra_spin_rad_s: 0.0 };
    let d = descend(&course, &Launch::moving(0.0, 20.0), entry, Precision::default(), Detail::Trace(0.25));
    let reach = 0.42 * yaw.sin() + 0.19 * yaw.cos();
    let expected = (1.0 - reach) / (20.0 * yaw.sin());
    let touch = d.events.iter().find(|e| matches!(e.kind, EventKind::Wall { .. })).unwrap();
    assert!((touch.time_s - expected).abs() < 1e-5, "{} {expected}", touch.time_s); // promised is 1 ms
    // and the same from the trace alone
    let (time, offset): (Vec<f64>, Vec<f64>) = d.trace.iter().map(|s| (s.time_s, s.offset_m)).unzip();
    let (at, _) = crossings(&time, &offset, 1.0 - reach)[0];
    assert!((at - expected).abs() < 1e-3, "{at} {expected}");
}
