//! This program's side of the comparison with other integrators: two models that need no tables, integrated by this
//! program and by a general library for Rust on the same right-hand side. Prints TOML that `benches/peers/peers.py`
//! reads: the numbers of both models, and for each tolerance the finish time and how long it took.

use differential_equations::prelude::{ExplicitRungeKutta, IVP};
use sled_dynamics::laws::ice::Point;
use sled_dynamics::laws::state::State;
use sled_dynamics::motion::course::Course;
use sled_dynamics::motion::descend::{descend, rates_at};
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::equations::{Constants, STATES, Vector, along_the_station};
use sled_dynamics::motion::guided::guided;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::pilot::HandsOff;
use sled_dynamics::motion::precision::{Detail, Precision};
use std::hint::black_box;
use timings::{Times, setup, track};

const FRICTION: f64 = 0.009;
const FROM_M: f64 = 15.0;
const SPEED_M_S: f64 = 9.0;
/// Relative tolerance of the general library: that of the time (s) is the absolute one then.
const LEAST_RELATIVE: f64 = 2.3e-14;
/// One over ten to this power, from loose to tight.
const TOLERANCES: std::ops::RangeInclusive<i32> = 2..=12;

fn numbers(model: &str, folder: &str, finish_m: f64, c: &Constants) {
    println!(
        "[models.{model}]\ntrack = \"{folder}\"\nfrom_m = {FROM_M:?}\nfinish_m = {finish_m:?}\nspeed_m_s = {SPEED_M_S:?}\n\
         friction = {FRICTION:?}\nmass_kg = {:?}\nyaw_inertia_kg_m2 = {:?}\ngravity_m_s2 = {:?}\ndrag_kg_per_m = {:?}\n\
         air_yaw_n_m_s2_per_rad_m2 = {:?}\nshaking_n_s_per_m = {:?}\n",
        c.mass_kg,
        c.yaw_inertia_kg_m2,
        c.gravity_m_s2,
        c.drag_kg_per_m,
        c.air_yaw_n_m_s2_per_rad_m2,
        c.shaking_n_s_per_m
    );
}

/// One row for each tolerance; a ride that does not finish has none.
fn rows(model: &str, solver: &str, ride: impl Fn(f64) -> Option<f64>) {
    for power in TOLERANCES {
        let tolerance = 10.0_f64.powi(-power);
        let Some(finish_s) = ride(tolerance) else { continue };
        let times = Times::measured(|| black_box(ride(black_box(tolerance))));
        println!(
            "[[rows]]\nmodel = \"{model}\"\nsolver = \"{solver}\"\nsetting = \"{tolerance:e}\"\nfinish_s = {finish_s:?}\n\
             least_ms = {:?}\nmedian_ms = {:?}\n",
            1e3 * times.least_s(),
            1e3 * times.median_s()
        );
    }
}

fn main() {
    let setup = setup("clubs-woman");
    let launch = Launch::moving(FROM_M, SPEED_M_S);
    let precision = |tolerance| Precision { tolerance, ..Precision::default() };

    let folder = "oskerdale";
    let t = track(folder);
    let c = Constants::new(&setup, &t.data);
    numbers("guided", folder, t.finish_m(), &c);
    rows("guided", "sagitta", |tolerance| {
        guided(&t, &c, &launch, FRICTION, precision(tolerance), Detail::Bare).finish_time_s
    });

    let folder = "tests/edge-free";
    let t = track(folder);
    let c = Constants::new(&setup, &t.data);
    numbers("point", folder, t.finish_m(), &c);
    let ice = Point { friction: FRICTION };
    let course = Course { track: &t, constants: &c, ice: &ice, pilot: &HandsOff };
    rows("point", "sagitta", |tolerance| {
        descend(&course, &launch, Entry::STRAIGHT, precision(tolerance), Detail::Bare).finish_time_s
    });
    let start = State {
        offset_m: 0.0,
        yaw_rad: 0.0,
        forward_m_s: SPEED_M_S,
        lateral_velocity_m_s: 0.0,
        yaw_rate_rad_s: 0.0,
    };
    let mut y0: Vector = [0.0; STATES];
    y0[3] = SPEED_M_S;
    y0[5] = rates_at(&course, FROM_M, &start, 0.0).motion.line_turn_rad_s;
    let rates = |x: f64, y: &Vector, d: &mut Vector| {
        *d = along_the_station(&c, &ice, &HandsOff, &t.surface.station(x), y);
    };
    for (solver, eighth) in [("differential-equations DP5", false), ("differential-equations DOP853", true)] {
        rows("point", solver, |tolerance| {
            // as in this program: shares of 1 s, 1 m, 1 rad, 10 m/s, 1 rad/s, and of full steering; energies have none
            let mut atol = [f64::INFINITY; STATES];
            atol[..8]
                .copy_from_slice(&[1.0, 1.0, 1.0, 10.0, 10.0, 1.0, 1.0, 1.0].map(|about| about * tolerance));
            let problem = IVP::ode_from_fn(rates, FROM_M, t.finish_m(), y0);
            let solved = if eighth {
                let method = ExplicitRungeKutta::dop853().max_steps(1_000_000);
                problem.method(method.rtol(LEAST_RELATIVE).atol(atol)).solve()
            } else {
                let method = ExplicitRungeKutta::dopri5().max_steps(1_000_000);
                problem.method(method.rtol(LEAST_RELATIVE).atol(atol)).solve()
            };
            solved.ok()?.y.last().map(|y| y[0])
        });
    }
}
