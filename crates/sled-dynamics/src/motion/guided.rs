//! The guided estimate: the sled held on the reference line, with constant friction on the
//! exact normal load. The classic first estimate; it knows no line, no steering and no skid.
//!
//! ```text
//!   m v dv/ds = m g sin(theta) - mu |N_load| - K v^2,   N_load = m (v^2 r_ss.N - g.N) at u = 0
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | mu | `friction` | - |
//! | K | `drag_kg_per_m` | kg/m |
//!
//! *Assumes* that the side force which the line asks for costs nothing. *Source*: Newton's second
//! law along the line. *Checked by* `exact_incline`, `exact_corner_friction`.

use crate::motion::corners::corner_rides;
use crate::motion::descent::{Descent, Energy, Loss, Outcome, Sample, Split};
use crate::motion::equations::Constants;
use crate::motion::launch::Launch;
use crate::motion::on_the_line::{line_sample, on_the_line};
use crate::motion::precision::{COARSER_STRIDE, Detail, Precision, error_s};
use numerics::stepping::{Dense, End, Next, Steps, System, integrate};
use track_geometry::track::Track;

/// Time, speed, energy lost to air, energy lost to glide.
const STATES: usize = 4;
const TIME: usize = 0;
const SPEED: usize = 1;
const TO_AIR: usize = 2;
const TO_GLIDE: usize = 3;

/// Below this the sled counts as halted (m/s).
const HALT_M_S: f64 = 0.2;

struct Guided<'a> {
    track: &'a Track,
    constants: &'a Constants,
    friction: f64,
    record: Record,
}

/// What is kept of the steps.
struct Record {
    eyes: Vec<f64>,
    splits: Vec<(f64, f64, f64)>,
    spacing_m: f64,
    next_m: f64,
    trace: Vec<Sample>,
}

impl System<STATES> for Guided<'_> {
    fn rates(&mut self, x: f64, y: &[f64; STATES]) -> [f64; STATES] {
        let v = y[SPEED];
        let at = self.track.surface.station(x);
        let m = on_the_line(&at, v, self.constants.gravity_m_s2);
        let glide_n = self.friction * self.constants.mass_kg * m.load_m_s2.abs();
        let drag_n = self.constants.drag_kg_per_m * v * v;
        let pull = m.gravity_x_m_s2 - (glide_n + drag_n) / self.constants.mass_kg;
        [1.0 / v, pull / v, drag_n, glide_n]
    }

    fn accepted(&mut self, step: &Dense<STATES>) -> Next {
        if step.y1[SPEED] < HALT_M_S {
            return Next::Stop(step.x1());
        }
        let r = &mut self.record;
        let done = r.splits.len();
        if done < r.eyes.len() && step.x1() >= r.eyes[done] {
            r.splits.push((r.eyes[done], step.y1[TIME], step.y1[SPEED]));
        }
        while r.next_m <= step.x1() {
            let y = step.at(r.next_m);
            let mut sample =
                line_sample(&self.track.surface.station(r.next_m), self.constants, y[TIME], y[SPEED]);
            sample.lost_j = [y[TO_AIR], y[TO_GLIDE], 0.0, 0.0, 0.0, 0.0, 0.0];
            r.trace.push(sample);
            r.next_m += r.spacing_m;
        }
        Next::Go
    }
}

/// Stations where steps end: the eyes, the ends of corners and every `stride`-th knot of the track and of the
/// ride
/// between two stations (m).
pub(crate) fn stops(track: &Track, from_m: f64, to_m: f64, stride: usize, kinks_m: &[f64]) -> Vec<f64> {
    let inside = |x: &f64| *x > from_m && *x < to_m;
    let eyes = track.data.eyes.iter().map(|e| e.station_m);
    let corners = track.data.corners.iter().flat_map(|c| [c.entry_m, c.exit_m]);
    let knots = track.surface.knots_m().iter().copied().step_by(stride);
    let kinks = kinks_m.iter().copied().step_by(stride);
    let all = knots.chain(eyes).chain(corners).chain(kinks);
    let mut stops: Vec<f64> = all.filter(inside).chain([from_m, to_m]).collect();
    stops.sort_by(f64::total_cmp);
    stops.dedup();
    stops
}

/// Time (s since the block) and speed (m/s) of a guided sled at a station, from the launch; for the start only.
pub(crate) fn ahead_to(
    track: &Track,
    constants: &Constants,
    launch: &Launch,
    friction: f64,
    to_m: f64,
) -> Option<(f64, f64)> {
    let record = Record {
        eyes: vec![],
        splits: vec![],
        spacing_m: f64::INFINITY,
        next_m: f64::INFINITY,
        trace: vec![],
    };
    let mut guided = Guided { track, constants, friction, record };
    let knots = stops(track, launch.station_m, to_m, 1, &[]);
    let y0 = [launch.time_s, launch.speed_m_s, 0.0, 0.0];
    let out = integrate(&mut guided, y0, &knots, steps(Precision::default()));
    (out.end == End::Reached).then_some((out.y[TIME], out.y[SPEED]))
}

fn steps(p: Precision) -> Steps<'static, STATES> {
    let t = p.tolerance;
    Steps::Adaptive {
        pair: p.pair,
        tolerance: [t, 10.0 * t, f64::INFINITY, f64::INFINITY],
        first: 0.1,
        greatest: p.greatest_step_m,
    }
}

/// A guided descent from the launch to the last eye.
pub fn guided(
    track: &Track,
    constants: &Constants,
    launch: &Launch,
    friction: f64,
    precision: Precision,
    detail: Detail,
) -> Descent {
    let finish_m = track.finish_m();
    let eyes: Vec<f64> =
        track.data.eyes.iter().map(|e| e.station_m).filter(|s| *s > launch.station_m).collect();
    let once = |precision: Precision, stride: usize, spacing_m: f64| {
        let knots = stops(track, launch.station_m, finish_m, stride, &[]);
        let mut trace = launch.trace(track, constants, spacing_m);
        trace.reserve(((finish_m - launch.station_m) / spacing_m) as usize + 2);
        let next_m = if spacing_m.is_finite() { trace.len() as f64 * spacing_m } else { f64::INFINITY };
        let splits = Vec::with_capacity(eyes.len());
        let record = Record { eyes: eyes.clone(), splits, spacing_m, next_m, trace };
        let mut g = Guided { track, constants, friction, record };
        let y0 = [launch.time_s, launch.speed_m_s, 0.0, 0.0];
        let out = integrate(&mut g, y0, &knots, steps(precision));
        (g.record, out)
    };
    let spacing_m = if let Detail::Trace(spacing_m) = detail { spacing_m } else { f64::INFINITY };
    let (record, out) = once(precision, 1, spacing_m);
    let coarse = if detail == Detail::Bare {
        None
    } else {
        Some(once(precision.coarser(), COARSER_STRIDE, f64::INFINITY).0.splits)
    };
    let splits = launch.splits(track, &record.splits, |i| match &coarse {
        Some(c) => c.get(i).map_or(f64::INFINITY, |c| error_s(record.splits[i].1, c.1)),
        None => f64::NAN,
    });
    let finished = out.end == End::Reached;
    let energy = Energy {
        potential_j: launch.fall_j(track, constants, track.surface.station(out.x).elevation_m),
        push_j: launch.push_j(track, constants),
        disturbance_j: 0.0,
        kinetic_j: 0.5 * constants.mass_kg * out.y[SPEED] * out.y[SPEED],
        lost_j: [out.y[TO_AIR], out.y[TO_GLIDE], 0.0, 0.0, 0.0, 0.0, 0.0],
    };
    Descent {
        outcome: if finished {
            Outcome::Finished
        } else {
            Outcome::ControlLost { station_m: out.x, cause: Loss::Halted }
        },
        finish_time_s: splits.last().filter(|_| finished).map(|s: &Split| s.split_time_s),
        numerical_error_s: splits.last().map_or(f64::NAN, |s| s.numerical_error_s),
        splits,
        energy,
        events: vec![],
        corners: corner_rides(track, &record.trace),
        trace: record.trace,
        evaluations: out.evaluations,
    }
}
