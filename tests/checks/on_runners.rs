//! The sled on its runners: symmetry, power, energy, steps, derivatives.

use crate::made::{setup, shipped};
use numerics::dual::Dual;
use numerics::stepping::{Steps, System, integrate};
use sled_dynamics::laws::ice::{Ice, Riding};
use sled_dynamics::laws::on_runners::{OnRunners, runner_tables};
use sled_dynamics::motion::course::Course;
use sled_dynamics::motion::descend::{descend, time_on_grid_s};
use sled_dynamics::motion::descent::{Descent, EventKind, Outcome};
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::pilot::FirstPilot;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::setup::Friction;
use track_geometry::track::{Track, TrackData};

fn sled() -> (Constants, OnRunners) {
    let s = setup("clubs-man", &[]);
    let tables = runner_tables(&s).unwrap();
    (Constants::new(&s, &shipped("tests/edge-free").data), OnRunners::new(&s, tables))
}

fn states() -> impl Iterator<Item = [f64; 6]> {
    // load over weight, ice curvature, forward, sideways, spin, steer
    (0..60).map(|i| {
        let w = |k: f64| (k * f64::from(i) + 0.3 * k).sin();
        [2.5 + 2.0 * w(1.0), 0.02 + 0.02 * w(2.3), 22.0 + 14.0 * w(0.7), 0.8 * w(3.1), 0.6 * w(1.7), w(2.9)]
    })
}

fn riding([g, k, vx, vy, w, steer]: [f64; 6], toes: [f64; 2]) -> Riding<f64> {
    Riding {
        load_n: g * 1150.0,
        ice_curvature_per_m: k,
        // as much as corners ask for, both ways
        nose_up_rad_s2: (g - 2.5) * k.signum(),
        forward_m_s: vx,
        lateral_velocity_m_s: vy,
        yaw_rate_rad_s: w,
        speed_m_s: vx.hypot(vy),
        steer,
        toes,
    }
}

#[test]
fn exact_mirror_of_forces() {
    let (_, ice) = sled();
    for x in states() {
        let a = ice.force(&riding(x, [0.3, 0.7]));
        let b = ice.force(&riding([x[0], x[1], x[2], -x[3], -x[4], -x[5]], [0.7, 0.3]));
        // rounding of forces of thousands of newtons
        assert!((a.x_n - b.x_n).abs() < 1e-9 && (a.y_n + b.y_n).abs() < 1e-9);
        assert!((a.moment_n_m + b.moment_n_m).abs() < 1e-9);
    }
}

#[test]
fn exact_the_pull_of_the_ice_moves_the_load_forward() {
    // straight ahead: a mass 150 mm high is as one on the ice that lies 0.012 x 150 mm further forward (assumed pull)
    let straight = |height_mm: &str, balance_mm: &str| {
        let keys = [("sled.mass_height_mm", height_mm), ("sled.balance_point_mm", balance_mm)];
        let s = setup("clubs-man", &keys);
        let ice = OnRunners::new(&s, runner_tables(&s).unwrap());
        states()
            .map(|[g, k, v, ..]| {
                ice.force(&Riding { nose_up_rad_s2: 0.0, ..riding([g, k, v, 0.0, 0.0, 0.0], [0.0; 2]) }).x_n
            })
            .collect::<Vec<f64>>()
    };
    let (high, low, as_far_back) = (straight("150", "0"), straight("0", "1.8"), straight("0", "0"));
    let apart = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| (a / b - 1.0).abs()).fold(0.0, f64::max);
    // rounding; and the place matters
    assert!(apart(&high, &low) < 1e-10 && apart(&high, &as_far_back) > 1e-5);
}

#[test]
fn conserves_power_on_runners() {
    let (_, ice) = sled();
    for x in states() {
        let r = riding(x, [0.5, 0.0]);
        let f = ice.force(&r);
        let taken =
            -(f.x_n * r.forward_m_s + f.y_n * r.lateral_velocity_m_s + f.moment_n_m * r.yaw_rate_rad_s);
        let lost: f64 = f.lost_w.iter().sum();
        // the small angle of the runner is taken to second order: delta^4/8 of the power, and rounding
        assert!((taken - lost).abs() < 1e-6 * lost.abs().max(1.0), "{taken} {lost}");
        // no way of losing power gives any
        assert!(f.lost_w.iter().all(|w| *w >= -1e-9), "{:?}", f.lost_w);
    }
}

#[test]
fn exact_derivatives_of_the_forces() {
    let (_, ice) = sled();
    type D = Dual<4>;
    for x in states().take(12) {
        let r = riding(x, [0.0; 2]);
        let d = Riding {
            load_n: D::from(r.load_n),
            ice_curvature_per_m: D::from(r.ice_curvature_per_m),
            nose_up_rad_s2: D::from(r.nose_up_rad_s2),
            forward_m_s: D::variable(r.forward_m_s, 0),
            lateral_velocity_m_s: D::variable(r.lateral_velocity_m_s, 1),
            yaw_rate_rad_s: D::variable(r.yaw_rate_rad_s, 2),
            speed_m_s: D::from(r.speed_m_s),
            steer: D::variable(r.steer, 3),
            toes: [0.0; 2],
        };
        let exact = ice.force(&d);
        assert!((exact.y_n.re - ice.force(&r).y_n).abs() < 1e-3); // single precision tables, two ways of summing
        for i in 1..3 {
            let e = 1e-4;
            let at = |sign: f64| {
                let mut r = r;
                if i == 1 {
                    r.lateral_velocity_m_s += sign * e
                } else {
                    r.yaw_rate_rad_s += sign * e
                }
                ice.force(&r)
            };
            let slope = (at(1.0).y_n - at(-1.0).y_n) / (2.0 * e);
            // central difference; the grip bends within millimetres per second of slip
            assert!(
                (exact.y_n.du[i] - slope).abs() < 0.02 * slope.abs() + 5.0,
                "{i}: {} {slope}",
                exact.y_n.du[i]
            );
        }
    }
}

fn piloted(track: &Track, entry: Entry, p: Precision) -> Descent {
    let (c, ice) = sled();
    let course = Course { track, constants: &c, ice: &ice, pilot: &FirstPilot::with_lag(0.15) };
    descend(&course, &Launch::moving(15.0, 9.0), entry, p, Detail::Times)
}

const ASIDE: Entry = Entry { offset_m: 0.05, yaw_rad: 0.005, extra_spin_rad_s: 0.0 };

#[test]
fn conserves_energy_on_runners() {
    for folder in ["tests/edge-free", "quillmere", "oskerdale"] {
        let d = piloted(&shipped(folder), ASIDE, Precision::default());
        let share = d.energy.residual_j().abs() / d.energy.potential_j;
        println!("{folder}: {:?}, residual {share:.1e}, walls {}", d.outcome, d.touches());
        assert!(share < 1e-6, "{folder}: residual {share:e} of the potential energy");
    }
}

#[test]
fn conserves_energy_with_walls() {
    // hands off on Oskerdale the sled meets walls; what they take is booked
    let (c, ice) = sled();
    let track = shipped("oskerdale");
    let course =
        Course { track: &track, constants: &c, ice: &ice, pilot: &sled_dynamics::motion::pilot::HandsOff };
    let d = descend(&course, &Launch::moving(15.0, 9.0), ASIDE, Precision::default(), Detail::Times);
    assert!(d.touches() > 0 && d.energy.lost_j[5] > 0.0);
    assert!(d.energy.residual_j().abs() < 1e-6 * d.energy.potential_j);
}

#[test]
fn conserves_time_in_the_mirror_on_runners() {
    let track = shipped("tests/edge-free");
    let mirror = Track::new(TrackData { table: track.data.table.mirrored(), ..track.data.clone() }).unwrap();
    let other = Entry { offset_m: -0.05, yaw_rad: -0.005, extra_spin_rad_s: 0.0 };
    let (a, b) =
        (piloted(&track, ASIDE, Precision::default()), piloted(&mirror, other, Precision::default()));
    assert_eq!(a.outcome, Outcome::Finished);
    // the promise
    assert!((a.finish_time_s.unwrap() - b.finish_time_s.unwrap()).abs() < 1e-9);
}

#[test]
fn order_halving_the_steps_on_runners() {
    let track = shipped("tests/edge-free");
    let (c, ice) = sled();
    let course = Course { track: &track, constants: &c, ice: &ice, pilot: &FirstPilot::with_lag(0.15) };
    let grid = |n: usize| -> Vec<f64> {
        let end = track.finish_m();
        (0..=n).map(|i| 15.0 + (end - 15.0) * i as f64 / n as f64).collect()
    };
    let time = |n| time_on_grid_s(&course, &Launch::moving(15.0, 9.0), ASIDE, &grid(n)).unwrap();
    // steps of a third and a sixth of a metre
    let (whole, half) = (time(3210), time(6420));
    println!("halving moves the finish by {:.1e} s", whole - half);
    assert!((whole - half).abs() < 1e-4);
}

#[test]
fn order_the_printed_error_on_runners_bounds_a_tighter_tolerance() {
    let track = shipped("tests/edge-free");
    let d = piloted(&track, ASIDE, Precision::default());
    let fine = piloted(&track, ASIDE, Precision { tolerance: 1e-7, ..Precision::default() });
    let moved = (d.finish_time_s.unwrap() - fine.finish_time_s.unwrap()).abs();
    println!("moved {moved:.1e} s, printed {:.1e} s", d.numerical_error_s);
    assert!(moved <= d.numerical_error_s && d.numerical_error_s < 1e-4);
}

#[test]
fn exact_regularised_skid() {
    // m v' = -F tanh(v/vs): sinh(v/vs) = sinh(v0/vs) exp(-mu g t/vs); evaluated independently; mu 0.3, vs 0.15 m/s,
    // v0 2 m/s, g 9.81: the stepper on a saturating friction
    struct Skid;
    impl System<1> for Skid {
        fn rates(&mut self, _t: f64, v: &[f64; 1]) -> [f64; 1] {
            [-0.3 * 9.81 * (v[0] / 0.15).tanh()]
        }
    }
    for (t, v) in [(0.3, 1.117_100_050_981_91), (0.6, 0.240_407_874_210_349)] {
        let steps = Steps::Adaptive {
            pair: numerics::stepping::Pair::Fifth,
            tolerance: [1e-12],
            first: 1e-3,
            greatest: 0.1,
        };
        let out = integrate(&mut Skid, [2.0], &[0.0, t], steps);
        approx::assert_relative_eq!(out.y[0], v, max_relative = 1e-9); // 1e-12 a step, over some hundred
    }
}

#[test]
fn exact_a_sled_higher_than_wide_lifts_a_runner_and_a_low_one_cannot() {
    // spun into a slip in a level corner at about 4 g on sharp edges, where the grip saturates at a quarter of the load
    let mut table = crate::made::even(60.0, 2.0, 0.0, -0.04);
    table.trough_curvature_per_m = vec![1.0 / 2.6; table.len()];
    let track = crate::made::track(table, &[15.0, 60.0]);
    let thrown = Entry { offset_m: 2.6 * 1.2, yaw_rad: 0.0, extra_spin_rad_s: 2.0 };
    let lifts = |high_mm: &str, wide_mm: &str| {
        let s = setup(
            "clubs-man",
            &[
                ("sled.mass_height_mm", high_mm),
                ("sled.gauge_mm", wide_mm),
                ("runners.groove_edge_radius_mm", "0.1"),
            ],
        );
        let c = Constants::new(&s, &track.data);
        let ice = OnRunners::new(&s, runner_tables(&s).unwrap());
        let hands_off = sled_dynamics::motion::pilot::HandsOff;
        let course = Course { track: &track, constants: &c, ice: &ice, pilot: &hands_off };
        let launch = Launch::moving(15.0, 30.0);
        let d = descend(&course, &launch, thrown, Precision::default(), Detail::Times);
        assert!(d.energy.residual_j().abs() < 1e-6 * d.energy.potential_j.abs().max(1e4));
        d.events.iter().any(|e| matches!(e.kind, EventKind::RunnerLifted { .. }))
    };
    // statics: a side force of c N at height h over gauge b moves c N h/b of the load, all of one half when c h/b > 1/2
    assert!(!lifts("150", "360"));
    assert!(lifts("500", "200"));
}

#[test]
fn exact_constant_friction_is_a_table_of_equal_rows() {
    let track = shipped("tests/edge-free");
    let ridden = |friction: Friction| {
        let mut s = setup("clubs-man", &[]);
        s.ice.friction = friction;
        let (c, ice) = (Constants::new(&s, &track.data), OnRunners::new(&s, runner_tables(&s).unwrap()));
        let course = Course { track: &track, constants: &c, ice: &ice, pilot: &FirstPilot::with_lag(0.15) };
        let launch = Launch::moving(15.0, 9.0);
        let d = descend(&course, &launch, Entry::STRAIGHT, Precision::default(), Detail::Bare);
        d.finish_time_s.unwrap()
    };
    let constant = ridden(Friction::Constant(0.0045));
    let table = ridden(Friction::Table(vec![(5.0, 0.0045), (20.0, 0.0045), (40.0, 0.0045)]));
    let film = ridden(Friction::Film);
    // the same arithmetic but for a slope of zero: rounding of a time of a minute
    assert!((constant - table).abs() < 1e-12 * constant, "{constant} {table}");
    assert!((constant - film).abs() > 0.01, "the film is another law: {constant} {film}");
}
