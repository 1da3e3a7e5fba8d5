//! Walls and lips: how they return the sled, what a touch is worth, and what throws the sled over.

use crate::made::{constants, even, track};
use approx::assert_relative_eq;
use sled_dynamics::laws::capsize::{Balance, ROLL_INERTIA_KG_M2, Roll, TOUCH_HEIGHT_M};
use sled_dynamics::laws::ice::Point;
use sled_dynamics::laws::state::{State, motion};
use sled_dynamics::laws::walls::{DAMPING_N_S_PER_M, STIFFNESS_N_PER_M, Side, is_lip, push_n, wall_force};
use sled_dynamics::motion::course::Course;
use sled_dynamics::motion::descend::descend;
use sled_dynamics::motion::descent::{Descent, EventKind, Loss, Outcome};
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::pilot::HandsOff;
use sled_dynamics::motion::precision::{Detail, Precision};
use track_geometry::track::Track;

const MASS_KG: f64 = 115.0;

/// A level plane, or one banked all over, with its left edge at 1 m.
fn plane(banking_rad: f64) -> Track {
    let mut table = even(80.0, 5.0, 0.0, 0.0);
    table.left_edge_m = vec![1.0; table.len()];
    table.banking_rad = vec![banking_rad; table.len()];
    track(table, &[0.0, 80.0])
}

/// Frequency (1/s) and damping ratio of a square hit on two corners.
fn square_hit() -> (f64, f64) {
    let frequency = (2.0 * STIFFNESS_N_PER_M / MASS_KG).sqrt();
    (frequency, DAMPING_N_S_PER_M / (MASS_KG * frequency))
}

#[test]
fn exact_square_hit_comes_back() {
    // the law in the equations, stepped by a classical Runge-Kutta of its own, against the closed form of a spring
    // and damper that let go where the force ends
    let flat = plane(0.0);
    let at = flat.surface.station(40.0);
    let (_, ratio) = square_hit();
    let expected = (-2.0 * ratio * ratio.acos() / (1.0 - ratio * ratio).sqrt()).exp();
    // as asked of wood, ice and bodies (assumed), to the digits in the law's doc
    assert!((expected - 0.30).abs() < 0.005, "{expected}");
    for speed in [1.0, 2.0, 3.0] {
        let force = |offset_m: f64, lateral_velocity_m_s: f64| {
            let state = State {
                offset_m,
                yaw_rad: 0.0,
                forward_m_s: 20.0,
                lateral_velocity_m_s,
                yaw_rate_rad_s: 0.0,
            };
            let m = motion(&at, &at.patch(offset_m), &state, 9.81);
            let force = wall_force(&at, &state, &m, 0.0).map_or(0.0, |f| f.y_n);
            // the edge never pulls
            assert!(force <= 0.0 && push_n(&at, &state, m.stretch, Side::Left) == -force);
            force / MASS_KG
        };
        let (mut u, mut v, dt) = (0.81, speed, 1e-5);
        for _ in 0..60_000 {
            let (k1, l1) = (v, force(u, v));
            let (k2, l2) = (v + 0.5 * dt * l1, force(u + 0.5 * dt * k1, v + 0.5 * dt * l1));
            let (k3, l3) = (v + 0.5 * dt * l2, force(u + 0.5 * dt * k2, v + 0.5 * dt * l2));
            let (k4, l4) = (v + dt * l3, force(u + dt * k3, v + dt * l3));
            u += dt * (k1 + 2.0 * k2 + 2.0 * k3 + k4) / 6.0;
            v += dt * (l1 + 2.0 * l2 + 2.0 * l3 + l4) / 6.0;
        }
        // the force jumps at the touch: first order in the step of 1e-5 s against 1/22 s
        assert_relative_eq!(-v / speed, expected, max_relative = 1e-3);
    }
}

fn slide(track: &Track, c: &Constants, yaw_rad: f64, speed_m_s: f64) -> Descent {
    traced(track, c, yaw_rad, speed_m_s, 0.25)
}

fn traced(track: &Track, c: &Constants, yaw_rad: f64, speed_m_s: f64, spacing_m: f64) -> Descent {
    let course = Course { track, constants: c, ice: &Point { friction: 0.0 }, pilot: &HandsOff };
    let entry = Entry { offset_m: 0.0, yaw_rad, extra_spin_rad_s: 0.0 };
    descend(&course, &Launch::moving(0.0, speed_m_s), entry, Precision::default(), Detail::Trace(spacing_m))
}

#[test]
fn exact_a_lip_pushes_as_a_wall() {
    // without gravity a plane is the same at any banking, and so is its edge: only the name differs
    let c = constants(0.0, MASS_KG, 0.0);
    let [wall, lip] = [0.0, 70.0_f64.to_radians()].map(plane);
    let side = |t: &Track| is_lip(&t.surface.station(40.0), Side::Left);
    assert_eq!((side(&wall), side(&lip)), (false, true));
    // the name changes at 60 degrees
    assert_eq!([59.5_f64, 60.5].map(|deg| side(&plane(deg.to_radians()))), [false, true]);
    let low = Constants { mass_height_m: TOUCH_HEIGHT_M, ..c };
    let [a, b] = [&wall, &lip].map(|t| slide(t, &low, 0.04, 20.0));
    let (
        EventKind::Wall { side: s, impulse_n_s: i, lost_j: l },
        EventKind::Lip { side, impulse_n_s, lost_j },
    ) = (
        a.events.iter().find(|e| e.kind != EventKind::Light).unwrap().kind,
        b.events.iter().find(|e| e.kind != EventKind::Light).unwrap().kind,
    )
    else {
        panic!("{:?} {:?}", a.events, b.events)
    };
    assert_eq!((s, side), (Side::Left, Side::Left));
    // rounding of the turned frame over some hundred steps
    assert_relative_eq!(i, impulse_n_s, max_relative = 1e-6);
    assert_relative_eq!(l, lost_j, max_relative = 1e-6);
    assert_eq!((a.touches(), a.lip_touches(), b.lip_touches()), (b.touches(), 0, b.touches()));
    for d in [&a, &b] {
        // the promise of the ledger, of the energy that there is
        assert!(d.energy.residual_j().abs() < 1e-6 * 0.5 * MASS_KG * 400.0);
        assert!(d.energy.lost_j[5] > 0.0);
    }
}

#[test]
fn exact_a_slanted_wall_pushes_square_to_itself() {
    // a left wall that comes nearer by 0.2 m a metre, 1 m away at 40 m, and its mirror on the right
    let mut table = even(80.0, 5.0, 0.0, 0.0);
    table.left_edge_m = table.station_m.iter().map(|s| 1.0 - 0.2 * (s - 40.0)).map(|u| u.max(0.1)).collect();
    let left = track(table.clone(), &[0.0, 80.0]);
    let right = track(table.mirrored(), &[0.0, 80.0]);
    for (slanted, side, mirror) in [(&left, Side::Left, 1.0), (&right, Side::Right, -1.0)] {
        let at = slanted.surface.station(20.0);
        let [offset_m, lateral_velocity_m_s] = [mirror * 4.9, 0.0];
        let state =
            State { offset_m, yaw_rad: 0.0, forward_m_s: 20.0, lateral_velocity_m_s, yaw_rate_rad_s: 0.0 };
        let m = motion(&at, &at.patch(offset_m), &state, 9.81);
        let force = wall_force(&at, &state, &m, 0.0).unwrap();
        let push = push_n(&at, &state, m.stretch, side);
        let slant = if side == Side::Left { at.left_edge[1] } else { at.right_edge[1] };
        // against the way and off the wall: tangent (1, slant), so that the push is (slant, -1) on the left; rounding
        let length = slant.hypot(1.0);
        assert!(push > 0.0 && mirror * slant < 0.0, "{push} {slant}");
        assert_relative_eq!(force.x_n, push * mirror * slant / length, max_relative = 1e-9);
        assert_relative_eq!(force.y_n, -push * mirror / length, max_relative = 1e-9);
    }
}

#[test]
fn exact_impulse_is_the_change_of_momentum() {
    // a straight edge pushes across the way alone: the impulses told add up to what the sled's sideways momentum changed
    let flat = plane(0.0);
    let c = Constants { mass_height_m: TOUCH_HEIGHT_M, ..constants(9.81, MASS_KG, 0.0) };
    let d = slide(&flat, &c, 0.04, 20.0);
    let across = |i: usize| d.trace[i].speed_m_s * (d.trace[i].yaw_rad + d.trace[i].slip_rad).sin();
    let last = d.trace.len() - 1;
    let told: f64 = d.events.iter().filter_map(|e| e.kind.touch()).map(|t| t.1).sum();
    let changed = MASS_KG * (across(0) - across(last));
    println!("{told} of {changed} N s in {} touches", d.touches());
    // midpoints of four parts of each step, with a force that jumps
    assert!(told > 0.0);
    assert_relative_eq!(told, changed, max_relative = 0.01);
}

const SLED: Balance = Balance { mass_kg: MASS_KG, mass_height_m: 0.15, gauge_m: 0.36 };

#[test]
fn exact_capsize_of_a_blow() {
    // by hand: 300 N s 0.03 m above the mass on 6.7 kg m2 are 1.3 rad/s; a sled that is light for 0.05 s comes to
    // 0.07 rad and lies down again under its weight, one that stays light for a second is over at 0.88 rad
    for (light_s, over) in [(0.05, false), (1.0, true)] {
        let mut roll = Roll::default();
        let blown = roll.go_on(&SLED, 300.0 / 1e-3, 0.0, 1e-3).is_some();
        let light = roll.go_on(&SLED, 0.0, 0.0, light_s).is_some();
        let loaded = !light && roll.go_on(&SLED, 0.0, 1000.0, 2.0).is_some();
        assert!(!blown && (light || loaded) == over, "{light_s} s");
        assert!(over || !roll.is_up());
    }
    // one that pushes less than the load holds throws nobody however long, one that pushes more does
    let arm_m = 0.15 - TOUCH_HEIGHT_M;
    let hold_n = 1000.0 * 0.18 / arm_m;
    let leans = |push_n: f64| Roll::default().go_on(&SLED, push_n, 1000.0, 10.0).is_some();
    assert!(!leans(0.99 * hold_n) && leans(1.01 * hold_n));
    // by hand: a blow of impulse J gives the rate J b/I; it goes over when I rate^2/2 is more than N times the rise
    let inertia = ROLL_INERTIA_KG_M2 + MASS_KG * 0.18_f64.powi(2);
    let rise = (0.15_f64.powi(2) + 0.18_f64.powi(2)).sqrt() - 0.15;
    let impulse_n_s = (2.0 * inertia * 1000.0 * rise).sqrt() / arm_m;
    // in a millionth of a second the load takes back a millionth
    let blow = |j: f64| {
        let mut roll = Roll::default();
        let at_once = roll.go_on(&SLED, j / 1e-6, 1000.0, 1e-6).is_some();
        at_once || roll.go_on(&SLED, 0.0, 1000.0, 5.0).is_some()
    };
    // steps of half a millisecond move the limit by less than half a per cent
    assert!(!blow(0.995 * impulse_n_s) && blow(1.005 * impulse_n_s));
}

/// Push of the edge at a time after a square hit, by the closed form of the damped spring (N).
fn hit_n(speed_m_s: f64, time_s: f64) -> f64 {
    let (frequency, ratio) = square_hit();
    let (decay, damped) = (ratio * frequency, frequency * (1.0 - ratio * ratio).sqrt());
    let (sin, cos) = (damped * time_s).sin_cos();
    let pen = speed_m_s / damped * (-decay * time_s).exp() * sin;
    let pen_dot = speed_m_s / damped * (-decay * time_s).exp() * (damped * cos - decay * sin);
    (2.0 * (STIFFNESS_N_PER_M * pen + DAMPING_N_S_PER_M * pen_dot)).max(0.0)
}

/// True if a square hit throws the sled over its outer runner, by the whole equation of the roll.
fn thrown(speed_m_s: f64, gravity_m_s2: f64) -> bool {
    let (h, half) = (SLED.mass_height_m, 0.5 * SLED.gauge_m);
    let (mut angle, mut rate, dt) = (0.0_f64, 0.0, 1e-4);
    let touch_s = 2.0 * square_hit().1.acos() / (square_hit().0 * (1.0 - square_hit().1.powi(2)).sqrt());
    for i in 0..20_000 {
        let time_s = dt * f64::from(i);
        let push_n = if time_s < touch_s { hit_n(speed_m_s, time_s) } else { 0.0 };
        // the mass rises by x for a radian: z = h cos + g/2 sin
        let (sin, cos) = angle.sin_cos();
        let (x, bend) = (half * cos - h * sin, -(half * sin + h * cos));
        let moment = push_n * (h - TOUCH_HEIGHT_M) * cos - MASS_KG * (gravity_m_s2 + bend * rate * rate) * x;
        rate += dt * moment / (ROLL_INERTIA_KG_M2 + MASS_KG * x * x);
        angle += dt * rate;
        if angle < 0.0 {
            (angle, rate) = (0.0, 0.0);
        }
        if x < 0.0 {
            return true;
        }
    }
    false
}

/// The least speed at which something happens (m/s).
fn least(happens: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.1, 60.0);
    assert!(happens(high) && !happens(low));
    while high - low > 1e-3 {
        let middle = 0.5 * (low + high);
        if happens(middle) { high = middle } else { low = middle }
    }
    high
}

#[test]
fn exact_capsize_of_a_square_hit() {
    for (g_load, told) in [(1.0, Some(TOLD)), (4.0, None)] {
        let gravity = g_load * 9.81;
        let law = |speed: f64| {
            let mut roll = Roll::default();
            (0..20_000).any(|i| {
                let push_n = hit_n(speed, 1e-4 * (f64::from(i) + 0.5));
                roll.go_on(&SLED, push_n, MASS_KG * gravity, 1e-4).is_some()
            })
        };
        let (law, whole) = (least(law), least(|v| thrown(v, gravity)));
        println!("{g_load} g: {law:.2} m/s by the law, {whole:.2} by the whole equation of the roll");
        // the law steps at 0.1 ms and looks at the energy, the check follows the sled to the top: a percent of a hit
        assert_relative_eq!(law, whole, max_relative = 0.02);
        // the figure in the law's doc, to the digits printed
        assert!(told.is_none_or(|told: f64| (law - told).abs() < 0.1), "{law} {told:?}");
    }
}
/// Speed told in the doc of the law, at 1 g (m/s).
const TOLD: f64 = 9.4;

#[test]
fn exact_ways_to_lose_control() {
    let flat = plane(0.0);
    let c = constants(9.81, MASS_KG, 0.0);
    let how = |mass_height_m: f64, speed_m_s: f64| match slide(
        &flat,
        &Constants { mass_height_m, ..c },
        1.0,
        speed_m_s,
    )
    .outcome
    {
        Outcome::Finished => panic!("came through"),
        Outcome::ControlLost { cause, .. } => cause,
    };
    // a high sled at 25 m/s against the wall goes over it
    assert_eq!(how(0.3, 30.0), Loss::Capsized(Side::Left));
    // one that is pushed at the height of its mass does not roll; fast enough it is beyond the edge for good
    assert_eq!(how(TOUCH_HEIGHT_M, 60.0), Loss::LeftTrack(Side::Left));
    // that is half a metre beyond the edge, which lies at 1 m (assumed); a row each centimetre, the sled some 57 degrees
    // across: the last one is less than 2 cm short of it
    let low = Constants { mass_height_m: TOUCH_HEIGHT_M, ..c };
    let last = traced(&flat, &low, 1.0, 60.0, 0.01).trace.last().unwrap().offset_m;
    assert!(last <= 1.5 && last > 1.48, "{last}");
}
