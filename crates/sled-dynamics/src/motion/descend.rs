//! A descent with the full state: offset, yaw, both velocities and spin, from the launch to the
//! last eye or to the loss of control.

mod touching;

use crate::laws::capsize::Roll;
use crate::laws::gravity::STANDARD_GRAVITY_M_S2;
use crate::laws::ice::{Ice, Riding};
use crate::laws::state::{Motion, State, motion};
use crate::laws::walls::{self, Side};
use crate::motion::corners::corner_rides;
use crate::motion::course::Course;
use crate::motion::descent::{Descent, Event, EventKind, LOSSES, Loss, Outcome, Sample};
use crate::motion::entry::{Entry, ledger, start};
use crate::motion::equations::{STATES, Vector, along_the_station, asked, place, rates, sled_state};
use crate::motion::guided::stops;
use crate::motion::launch::Launch;
use crate::motion::pilot::{Sight, Steering};
use crate::motion::precision::{COARSER_STRIDE, Detail, Precision, error_s};
use crate::motion::skids::SkidWatch;
use numerics::roots::brent;
use numerics::stepping::{Dense, End, Next, Steps, System, integrate};

/// Slip beyond which the sled lies across its way and control is lost (rad).
pub(crate) const SKID_RAD: f64 = std::f64::consts::PI / 3.0;
/// Below this the sled counts as halted (m/s).
const HALT_M_S: f64 = 0.2;
/// A runner that has been off the ice for longer does not come back (s), assumed.
const LIFTED_S: f64 = 0.5;
/// Parts of a step over which the push of an edge is summed.
const PARTS: usize = 4;
/// Things that may go on: touches at two edges, the sled light, two runners lifted.
const ONGOING: usize = 5;
/// Events are located to this (m).
const EVENT_M: f64 = 1e-6;

struct Sled<'a, I, P> {
    course: Course<'a, I, P>,
    eyes: Vec<f64>,
    splits: Vec<(f64, f64, f64)>,
    spacing_m: f64,
    next_m: f64,
    trace: Vec<Sample>,
    events: Vec<Event>,
    open: [Option<usize>; ONGOING],
    roll: [Roll; 2],
    skid: SkidWatch,
    /// The pilot of this descent, if pilots remember; and which decision is next.
    own: Option<P>,
    decision: usize,
    lost: Option<Loss>,
}

/// Signs that are followed from step to step: positive while something goes on.
/// Left edge, right edge, light sled, left and right runner lifted; then the ways to lose control.
struct Signs {
    ongoing: [f64; ONGOING],
    ending: [(f64, Loss); 4],
}

impl<'a, I: Ice, P: Steering> Sled<'a, I, P> {
    fn pilot(&self) -> &P {
        self.own.as_ref().unwrap_or(self.course.pilot)
    }

    /// Lets the pilot decide at the end of a step, if it is time, and tells where.
    fn decided(&mut self, x: f64, y: &Vector) -> Option<f64> {
        // the end of a step is a knot but for rounding
        let due = self.course.pilot.decides_at_m().get(self.decision).copied().filter(|at| x >= at - 1e-9)?;
        if let Some(own) = self.own.as_mut() {
            let s = sled_state(y);
            let slip_rad = s.lateral_velocity_m_s.atan2(s.forward_m_s);
            let (offset_m, yaw_rad, steer) = (s.offset_m, s.yaw_rad, y[place::STEER]);
            own.decide(&Sight { station_m: x, offset_m, yaw_rad, slip_rad, steer });
        }
        self.decision += 1;
        Some(due)
    }

    fn motion_at(&self, x: f64, state: &State<f64>) -> (track_geometry::station::Station, Motion<f64>) {
        let at = self.course.track.surface.station(x);
        let m = motion(&at, &at.patch(state.offset_m), state, self.course.constants.gravity_m_s2);
        (at, m)
    }

    fn signs(&self, x: f64, y: &Vector) -> Signs {
        let state = sled_state(y);
        let (at, m) = self.motion_at(x, &state);
        let (left, right) = (at.left_edge[0], at.right_edge[0]);
        let near = state.offset_m + 0.5 > left || state.offset_m - 0.5 < right;
        let touch = |side| if near { walls::deepest_m(&at, &state, m.stretch, side) } else { -1.0 };
        let slip = if I::HAS_AXIS {
            state.lateral_velocity_m_s.abs() - state.forward_m_s * SKID_RAD.tan()
        } else {
            -1.0
        };
        let pilot = self.pilot();
        let steer = if pilot.lag_s() > 0.0 { y[place::STEER] } else { asked(pilot, &at, &state, &m, y).0 };
        let lifted = self.course.ice.lifted(&self.riding(&state, &m, steer, pilot.toes(x)));
        Signs {
            ongoing: [touch(Side::Left), touch(Side::Right), -m.load_m_s2, lifted[0], lifted[1]],
            ending: [
                (state.offset_m - left - walls::LEFT_M, Loss::LeftTrack(Side::Left)),
                (right - state.offset_m - walls::LEFT_M, Loss::LeftTrack(Side::Right)),
                (slip, Loss::Across),
                (HALT_M_S - m.station_rate_m_s, Loss::Halted),
            ],
        }
    }

    fn riding(&self, s: &State<f64>, m: &Motion<f64>, steer: f64, toes: [f64; 2]) -> Riding<f64> {
        Riding {
            load_n: m.load_m_s2 * self.course.constants.mass_kg,
            ice_curvature_per_m: m.ice_curvature_per_m(),
            nose_up_rad_s2: m.nose_up_rad_s2,
            forward_m_s: s.forward_m_s,
            lateral_velocity_m_s: s.lateral_velocity_m_s,
            yaw_rate_rad_s: s.yaw_rate_rad_s,
            speed_m_s: m.speed_m_s,
            steer,
            toes,
        }
    }

    fn sample(&self, x: f64, y: &Vector) -> Sample {
        let state = sled_state(y);
        let (at, m) = self.motion_at(x, &state);
        let pilot = self.pilot();
        let steer = if pilot.lag_s() > 0.0 { y[place::STEER] } else { asked(pilot, &at, &state, &m, y).0 };
        let mut lost_j = [0.0; LOSSES.len()];
        lost_j.copy_from_slice(&y[place::LOST..place::LOST + LOSSES.len()]);
        Sample {
            station_m: x,
            time_s: y[place::TIME],
            speed_m_s: m.speed_m_s,
            g_load: m.load_m_s2 / STANDARD_GRAVITY_M_S2,
            offset_m: state.offset_m,
            height_m: at.height_m(state.offset_m),
            elevation_m: m.elevation_m,
            yaw_rad: state.yaw_rad,
            slip_rad: state.lateral_velocity_m_s.atan2(state.forward_m_s),
            yaw_rate_rad_s: state.yaw_rate_rad_s,
            steer,
            lost_j,
            contact: self.course.ice.contact(&self.riding(&state, &m, steer, pilot.toes(x))),
        }
    }
}

impl<I: Ice, P: Steering> System<STATES> for Sled<'_, I, P> {
    fn rates(&mut self, x: f64, y: &Vector) -> Vector {
        let c = &self.course;
        along_the_station(c.constants, c.ice, self.pilot(), &c.track.surface.station(x), y)
    }

    fn accepted(&mut self, step: &Dense<STATES>) -> Next {
        let now = self.signs(step.x1(), &step.y1);
        let (mut until, mut y) = (step.x1(), step.y1);
        let mut next = Next::Go;
        // the first loss of control in the step, if any
        for (i, (value, loss)) in now.ending.iter().enumerate() {
            if *value > 0.0 {
                let at = brent(step.x0, step.x1(), EVENT_M, |x| self.signs(x, &step.at(x)).ending[i].0);
                let at = at.unwrap_or(step.x0);
                if next == Next::Go || at < until {
                    (until, self.lost, next) = (at, Some(*loss), Next::Stop(at));
                }
            }
        }
        let gone = |i: &usize| step.y1[place::TIME] - self.events[*i].time_s > LIFTED_S;
        if next == Next::Go && self.open[3..].iter().flatten().any(gone) {
            (self.lost, next) = (Some(Loss::Lifted), Next::Stop(until));
        }
        // an edge touched or left, the sled light or loaded again: cut the step there
        if next == Next::Go {
            for i in 0..ONGOING {
                if (now.ongoing[i] > 0.0) != self.open[i].is_some() {
                    let at = brent(step.x0, step.x1(), EVENT_M, |x| self.signs(x, &step.at(x)).ongoing[i]);
                    // always some way forward, so that the integration cannot stand still
                    let at = at.unwrap_or(step.x1()).max(step.x0 + 2.0 * EVENT_M);
                    if at <= until {
                        (until, next) = (at.min(step.x1()), Next::Restart(at.min(step.x1())));
                    }
                }
            }
        }
        if let Some((at, loss)) = self.touches(step, until) {
            (until, self.lost, next) = (at, Some(loss), Next::Stop(at));
        }
        if next != Next::Go && until < step.x1() {
            y = step.at(until);
        }
        if I::HAS_AXIS {
            let toed = self.pilot().toes(until).iter().any(|t| *t > 0.0);
            self.skid.follow(&mut self.events, step, until, &y, toed);
        }
        let after = if next == Next::Go { now } else { self.signs(until + EVENT_M, &y) };
        for i in 0..ONGOING {
            match (after.ongoing[i] > 0.0, self.open[i]) {
                (true, None) => {
                    let kind = match i {
                        0 | 1 => self.touch_kind(until, Side::BOTH[i]),
                        2 => EventKind::Light,
                        3 => EventKind::RunnerLifted { side: Side::Left },
                        _ => EventKind::RunnerLifted { side: Side::Right },
                    };
                    self.open[i] = Some(self.events.len());
                    let time_s = y[place::TIME];
                    self.events.push(Event { station_m: until, time_s, until_m: until, kind });
                }
                (false, Some(event)) => {
                    self.events[event].until_m = until;
                    self.open[i] = None;
                }
                (_, Some(event)) => self.events[event].until_m = until,
                _ => {}
            }
        }
        let done = self.splits.len();
        if done < self.eyes.len() && until >= self.eyes[done] {
            self.splits.push((
                self.eyes[done],
                y[place::TIME],
                y[place::FORWARD].hypot(y[place::LATERAL_VELOCITY]),
            ));
        }
        while self.next_m <= until {
            let sample = self.sample(self.next_m, &step.at(self.next_m));
            self.trace.push(sample);
            self.next_m = self.trace.len() as f64 * self.spacing_m;
        }
        // after all that belongs to the way up to here
        if !matches!(next, Next::Stop(_))
            && let Some(at) = self.decided(until, &y)
            && next == Next::Go
        {
            next = Next::Restart(at);
        }
        next
    }
}

fn steps(p: Precision) -> Steps<'static, STATES> {
    let t = p.tolerance;
    let mut tolerance = [f64::INFINITY; STATES];
    tolerance[..8].copy_from_slice(&[t, t, t, 10.0 * t, 10.0 * t, t, t, t]);
    Steps::Adaptive { pair: p.pair, tolerance, first: 0.05, greatest: p.greatest_step_m }
}

/// A descent from the launch to the last eye.
pub fn descend<I: Ice, P: Steering>(
    course: &Course<'_, I, P>,
    launch: &Launch,
    entry: Entry,
    precision: Precision,
    detail: Detail,
) -> Descent {
    let knots = |stride| {
        let (from_m, to_m) = (launch.station_m, course.track.finish_m());
        let mut all = stops(course.track, from_m, to_m, stride, course.pilot.kinks_m());
        let decides = course.pilot.decides_at_m();
        if !decides.is_empty() {
            all.extend(decides.iter().filter(|s| **s > from_m && **s < to_m));
            all.sort_by(f64::total_cmp);
            all.dedup();
        }
        all
    };
    let spacing_m = if let Detail::Trace(spacing_m) = detail { spacing_m } else { f64::INFINITY };
    let (sled, out) = once(course, launch, entry, &knots(1), steps(precision), spacing_m);
    let coarse = (detail != Detail::Bare).then(|| {
        let knots = knots(COARSER_STRIDE);
        once(course, launch, entry, &knots, steps(precision.coarser()), f64::INFINITY).0.splits
    });
    let splits = launch.splits(course.track, &sled.splits, |i| match &coarse {
        Some(c) => c.get(i).map_or(f64::INFINITY, |c| error_s(sled.splits[i].1, c.1)),
        None => f64::NAN,
    });
    let outcome = match (out.end, sled.lost) {
        (End::Reached, _) => Outcome::Finished,
        (_, Some(cause)) => Outcome::ControlLost { station_m: out.x, cause },
        (_, None) => Outcome::ControlLost { station_m: out.x, cause: Loss::Halted },
    };
    let finished = outcome == Outcome::Finished;
    Descent {
        outcome,
        finish_time_s: splits.last().filter(|_| finished).map(|s| s.split_time_s),
        numerical_error_s: splits.last().map_or(f64::NAN, |s| s.numerical_error_s),
        splits,
        energy: ledger(course, launch, entry, out.x, &out.y),
        events: sled.events,
        corners: corner_rides(course.track, &sled.trace),
        trace: sled.trace,
        evaluations: out.evaluations,
    }
}

/// The time (s) of a descent on a given grid of steps from the launch to the last eye, for checks of the stepping.
pub fn time_on_grid_s<I: Ice, P: Steering>(
    course: &Course<'_, I, P>,
    launch: &Launch,
    entry: Entry,
    grid_m: &[f64],
) -> Option<f64> {
    let (_, out) = once(course, launch, entry, grid_m, Steps::Grid(grid_m), f64::INFINITY);
    (out.end == End::Reached).then_some(out.y[place::TIME] - launch.time_s)
}

fn once<'a, I: Ice, P: Steering>(
    course: &Course<'a, I, P>,
    launch: &Launch,
    entry: Entry,
    knots: &[f64],
    steps: Steps<'_, STATES>,
    spacing_m: f64,
) -> (Sled<'a, I, P>, numerics::stepping::Outcome<STATES>) {
    let track = course.track;
    let mut trace = launch.trace(track, course.constants, spacing_m);
    trace.reserve(((track.finish_m() - launch.station_m) / spacing_m) as usize + 2);
    let next_m = if spacing_m.is_finite() { trace.len() as f64 * spacing_m } else { f64::INFINITY };
    let eyes: Vec<f64> =
        track.data.eyes.iter().map(|e| e.station_m).filter(|s| *s > launch.station_m).collect();
    let mut sled = Sled {
        course: Course { ..*course },
        splits: Vec::with_capacity(eyes.len()),
        eyes,
        spacing_m,
        next_m,
        trace,
        events: Vec::with_capacity(64),
        open: [None; ONGOING],
        roll: [Roll::default(); 2],
        skid: SkidWatch::default(),
        own: course.pilot.fresh(),
        decision: course.pilot.decides_at_m().partition_point(|s| *s <= launch.station_m),
        lost: None,
    };
    let y0 = start(course, launch, entry);
    let out = integrate(&mut sled, y0, knots, steps);
    (sled, out)
}

/// Rates of the sled's state at one station, for pictures and checks.
pub fn rates_at<I: Ice, P: Steering>(
    course: &Course<'_, I, P>,
    station_m: f64,
    state: &State<f64>,
    steer: f64,
) -> crate::motion::equations::Rates<f64> {
    let at = course.track.surface.station(station_m);
    let m = motion(&at, &at.patch(state.offset_m), state, course.constants.gravity_m_s2);
    rates(course.constants, course.ice, &at, state, &m, steer, course.pilot.toes(station_m))
}
