//! The planned ride as an optimal control problem over stations: minimum time plus small prices.
//!
//! ```text
//!   minimise  sum over nodes of  dt + dt [ p_s c^2 + p_r r^2 + p_a alpha^2 + p_e edge^2 + p_c over^2
//!                                          + price (a_v^2 + (m_v/M)^2) + told ]
//!   state     u, yaw, vx, vy, w, steer, c           c' = r,  steer' = (c - steer)/lag
//!   control   r (1/s), a_v (m/s2), m_v (rad/s2)     a_v, m_v: virtual help, priced until it vanishes
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | c | steering asked for | - |
//! | alpha | slip over one degree | - |
//! | edge | how far the clearance of the nearest corner of the sled falls short of [`room_m`], over 0.12 m | - |
//! | over | steering asked for beyond [`KEPT_BACK_FROM`], over 0.1 | - |
//! | told | price of a line that is told beside another plan, see [`crate::riding::told_line`]; none without one | - |
//!
//! The plan keeps room beside walls and lips and steering in hand, for the sled that is not quite the planned one and
//! for an athlete who errs: a slow one keeps more room.
//!
//! One node a metre and one stabilised step in it (`numerics::stabilised`), Jacobians by dual numbers. The curvature of the cost is that of
//! its squares (Gauss-Newton) and, towards the end of a solve, of the sled's rates as well (`slopes.rs`).
//! *Source*: differential dynamic programming, e.g. Tassa, Mansard, Todorov, ICRA 2014; the prices are assumed. *Checked by* `plan_is_free_of_walls_and_help`.

use crate::laws::ice::Ice;
use crate::laws::state::{State, motion};
use crate::laws::walls::{CORNERS_M, Side};
use crate::motion::equations::{Constants, rates};
use crate::riding::plan_state::{
    ASKED, CONTROLS, FORWARD, HELP_SIDE, HELP_TURN, LATERAL_VELOCITY, OFFSET, PlanState, RATE, STATES, STEER,
    YAW,
};
use crate::riding::told_line::{MET_M, ToldNode};
use numerics::ddp::{Expansion, FinalExpansion, Problem, Step};
use numerics::dual::Real;
use numerics::stabilised::Stabilised;
use track_geometry::station::Station;
use track_geometry::track::Track;

mod prices;
mod slopes;

pub(crate) use prices::Prices;
pub use slopes::Bend;

/// States that the sled on its ice knows of: all but the steering asked for.
const ON_ICE: usize = 6;
/// Least clearance of the sled's corners to walls and lips that a plan keeps where it costs little (m), assumed.
const LEAST_ROOM_M: f64 = 0.30;
/// A sled that went wrong goes sideways about so fast until its athlete reacts (m/s), assumed.
const SIDEWAYS_M_S: f64 = 2.0;

/// Clearance that an athlete of a reaction lag keeps in a plan (m): what the sled crosses before the athlete reacts.
/// 0.30 m for an elite athlete's 0.15 s, 0.44 m for a club athlete's 0.22 s.
pub(crate) fn room_m(lag_s: f64) -> f64 {
    LEAST_ROOM_M.max(SIDEWAYS_M_S * lag_s)
}

/// A clearance that falls short by this costs the price of the edge (m).
const SHORT_M: f64 = 0.12;
/// Steering beyond this is kept back for corrections `[-]`.
pub(crate) const KEPT_BACK_FROM: f64 = 0.6;
/// One of virtual turn costs as much as this much virtual side acceleration (m/s2 per rad/s2).
const TURN_SCALE: f64 = 0.2;

/// A node of the plan and what is known of its way to the next.
#[derive(Clone, Copy, Debug)]
struct Node {
    station_m: f64,
    length_m: f64,
    /// Stages of the step.
    stages: usize,
}

/// The planning problem of one set-up on one track.
#[derive(Debug)]
pub struct RideProblem<'a, I> {
    track: &'a Track,
    constants: &'a Constants,
    ice: &'a I,
    lag_s: f64,
    /// Clearance that is kept where it costs little (m).
    pub(crate) room_m: f64,
    nodes: Vec<Node>,
    /// Steps by their number of stages.
    steps: Vec<Stabilised>,
    /// Stations within the nodes: where the stages of a step take the rates.
    stations: Vec<Station>,
    first: Vec<usize>,
    /// The nodes, with their edges; the stations within have none, so that a plan never leans on a wall.
    edged: Vec<Station>,
    /// The prices.
    pub prices: Prices,
    /// Whether the bends of the sled's rates count beside those of the cost.
    pub curved: bool,
    /// The line that is told, node by node; empty where none is.
    pub told: Vec<ToldNode>,
}

/// The lag is at least this in a plan (s).
const LEAST_LAG_S: f64 = 0.02;
/// The fastest motion of the sled on its runners dies away at this rate (1/s): steps are stable for it.
const FASTEST_PER_S: f64 = 155.0;

/// The station with its edges out of reach.
fn without_edges(at: Station) -> Station {
    Station { left_edge: [FAR_M, 0.0], right_edge: [-FAR_M, 0.0], ..at }
}
/// Beyond every edge (m).
const FAR_M: f64 = 100.0;

impl<'a, I: Ice> RideProblem<'a, I> {
    /// The problem from a station to the last eye; `speed_m_s` tells about how fast the sled is at a station.
    pub fn new(
        track: &'a Track,
        constants: &'a Constants,
        ice: &'a I,
        lag_s: f64,
        from_m: f64,
        speed_m_s: impl Fn(f64) -> f64,
    ) -> Self {
        let finish_m = track.finish_m();
        let (mut nodes, mut stations, mut first) = (Vec::new(), Vec::new(), Vec::new());
        let mut edged = Vec::new();
        let mut at = from_m;
        while at < finish_m - 1e-9 {
            // whole metres; no sliver at either end
            let next = if at == from_m { (from_m + 1.5).floor() } else { at + 1.0 };
            let next = if next > finish_m - 0.5 { finish_m } else { next };
            let length_m = next - at;
            let step = Stabilised::for_decay(FASTEST_PER_S * length_m / speed_m_s(at));
            let stages = step.stages().len();
            first.push(stations.len());
            stations.extend(step.rates_at().map(|c| without_edges(track.surface.station(at + length_m * c))));
            edged.push(track.surface.station(at));
            nodes.push(Node { station_m: at, length_m, stages });
            at = next;
        }
        let (lag_s, room_m) = (lag_s.max(LEAST_LAG_S), room_m(lag_s));
        let (prices, told, curved) = (Prices::default(), Vec::new(), false);
        let most = nodes.iter().map(|n: &Node| n.stages).max().unwrap_or(0);
        RideProblem {
            steps: (0..=most).map(Stabilised::new).collect(),
            track,
            constants,
            ice,
            lag_s,
            room_m,
            nodes,
            stations,
            first,
            edged,
            prices,
            curved,
            told,
        }
    }

    /// Stations of the nodes (m), the last eye included.
    pub fn stations_m(&self) -> Vec<f64> {
        self.nodes.iter().map(|n| n.station_m).chain([self.track.finish_m()]).collect()
    }

    /// Offset, yaw, forward, sideways, spin and steer to the rates of the first five (per s) and the time for a
    /// metre of station (s/m).
    #[inline]
    fn sled_rates<T: Real>(&self, at: &Station, x: &[T; ON_ICE]) -> [T; ON_ICE] {
        let [offset_m, yaw_rad, forward_m_s, lateral_velocity_m_s, yaw_rate_rad_s, steer] = *x;
        let state = State { offset_m, yaw_rad, forward_m_s, lateral_velocity_m_s, yaw_rate_rad_s };
        let moving = motion(at, &at.patch(offset_m), &state, self.constants.gravity_m_s2);
        let [du, dyaw, dvx, dvy, dw] =
            rates(self.constants, self.ice, at, &state, &moving, steer, [0.0; 2]).sled;
        [du, dyaw, dvx, dvy, dw, T::from(1.0) / moving.station_rate_m_s]
    }

    /// Rates of change per metre of station: the states, then the time.
    #[inline]
    fn per_metre<T: Real>(
        &self,
        x: &[T; STATES],
        u: &[T; CONTROLS],
        sled: impl FnOnce(&[T; ON_ICE]) -> [T; ON_ICE],
    ) -> [T; STATES + 1] {
        let [du, dyaw, dvx, dvy, dw, per] = sled(&std::array::from_fn(|i| x[i]));
        [
            du * per,
            dyaw * per,
            dvx * per,
            (dvy + u[HELP_SIDE]) * per,
            (dw + u[HELP_TURN]) * per,
            (x[ASKED] - x[STEER]) * per / self.lag_s,
            u[RATE] * per,
            per,
        ]
    }

    /// State at the next node and the time to it; `sled` gives [`Self::sled_rates`].
    #[inline]
    fn to_next<T: Real>(
        &self,
        k: usize,
        x: &[T; STATES],
        u: &[T; CONTROLS],
        mut sled: impl FnMut(usize, &Station, &[T; ON_ICE]) -> [T; ON_ICE],
    ) -> Option<([T; STATES], T)> {
        let node = &self.nodes[k];
        let mut rates = |stage: usize, x: &[T; STATES]| {
            let at = &self.stations[self.first[k] + stage];
            self.per_metre(x, u, |own| sled(stage, at, own)).map(|r| r * node.length_m)
        };
        let start: [T; STATES + 1] = std::array::from_fn(|n| if n < STATES { x[n] } else { T::from(0.0) });
        let first = rates(0, x);
        let (mut last, mut before, mut rate) = (start, start, first);
        for (i, stage) in self.steps[node.stages].stages().iter().enumerate() {
            if i > 0 {
                let state = std::array::from_fn(|n| last[n]);
                rate = rates(i, &state);
            }
            let from_start = 1.0 - stage.last - stage.before;
            let next = std::array::from_fn(|n| {
                start[n] * from_start
                    + last[n] * stage.last
                    + before[n] * stage.before
                    + rate[n] * stage.rate
                    + first[n] * stage.first_rate
            });
            (before, last) = (last, next);
        }
        let time = last[STATES];
        let x: [T; STATES] = std::array::from_fn(|n| last[n]);
        // a sled that turned round, slid sideways or left the track is outside of what can be planned
        let fine = x[FORWARD].value() > 0.5
            && x[LATERAL_VELOCITY].value().abs() < 0.7 * x[FORWARD].value()
            && x[OFFSET].value().abs() < 4.0
            && x[YAW].value().abs() < 1.2
            && time.value() > 0.0;
        fine.then_some((x, time))
    }

    #[inline]
    fn plain_to_next(&self, k: usize, x: &PlanState, u: &[f64; CONTROLS]) -> Option<(PlanState, f64)> {
        self.to_next(k, x, u, |_, at, own| self.sled_rates(at, own))
    }

    /// Quantities whose squares are priced; the virtual help and a told line come last.
    #[inline]
    fn priced<T: Real>(&self, k: usize, x: &[T; STATES], u: &[T; CONTROLS]) -> [T; 11] {
        let at = &self.edged[k];
        let p = &self.prices;
        let zero = T::from(0.0);
        let slip = x[LATERAL_VELOCITY] / x[FORWARD] * (180.0 / std::f64::consts::PI);
        let mut edges = [zero; 4];
        for (n, [edge, edge_1]) in [at.left_edge, at.right_edge].into_iter().enumerate() {
            let sign = Side::BOTH[n].sign();
            // front and rear corner on this side, small yaw
            for (m, corner) in [CORNERS_M[0][0], -CORNERS_M[0][0]].into_iter().enumerate() {
                let out = (x[OFFSET] + x[YAW] * corner - edge_1 * corner - edge) * sign + CORNERS_M[0][1];
                edges[2 * n + m] = ((out + self.room_m) / SHORT_M).max(zero);
            }
        }
        let told = self.told.get(k).map_or(zero, |t| {
            for (n, edge) in edges.iter_mut().enumerate() {
                *edge = *edge * t.keeps_room[n / 2];
            }
            (x[OFFSET] - t.offset_m) * ((p.told * t.weight).sqrt() / MET_M)
        });
        let over = ((x[ASKED].abs() - KEPT_BACK_FROM) * 10.0).max(zero);
        [
            x[ASKED] * p.steer.sqrt(),
            u[RATE] * p.rate.sqrt(),
            slip * p.slip.sqrt(),
            edges[0] * p.edge.sqrt(),
            edges[1] * p.edge.sqrt(),
            edges[2] * p.edge.sqrt(),
            edges[3] * p.edge.sqrt(),
            over * p.limit.sqrt(),
            u[HELP_SIDE] * p.help.sqrt(),
            u[HELP_TURN] * (TURN_SCALE * p.help.sqrt()),
            told,
        ]
    }

    /// Root mean square of the virtual help over the controls of a plan (m/s2).
    pub fn help_m_s2(&self, controls: &[[f64; CONTROLS]]) -> f64 {
        let sum: f64 =
            controls.iter().map(|u| u[HELP_SIDE] * u[HELP_SIDE] + (TURN_SCALE * u[HELP_TURN]).powi(2)).sum();
        (sum / controls.len().max(1) as f64).sqrt()
    }

    /// Time of a plan from its first node to the last eye (s); `None` where it leaves what can be planned.
    pub fn time_s(&self, states: &[PlanState], controls: &[[f64; CONTROLS]]) -> Option<f64> {
        (0..self.nodes.len()).map(|k| self.plain_to_next(k, &states[k], &controls[k]).map(|n| n.1)).sum()
    }

    /// Where the help is greatest: station (m) and side acceleration (m/s2).
    pub fn most_help(&self, controls: &[[f64; CONTROLS]]) -> (f64, f64) {
        let size = |u: &[f64; CONTROLS]| u[HELP_SIDE].hypot(TURN_SCALE * u[HELP_TURN]);
        self.nodes
            .iter()
            .zip(controls)
            .map(|(n, u)| (n.station_m, size(u)))
            .fold((0.0, 0.0), |best, here| if here.1 > best.1 { here } else { best })
    }

    /// A start: on the reference line at the given speeds, and what holds the sled there is left to the solver.
    pub fn on_the_line(&self, speed_m_s: impl Fn(f64) -> f64) -> (Vec<PlanState>, Vec<[f64; CONTROLS]>) {
        let state = |s: f64| {
            let v = speed_m_s(s);
            let at = self.track.surface.station(s);
            let straight = State {
                offset_m: 0.0,
                yaw_rad: 0.0,
                forward_m_s: v,
                lateral_velocity_m_s: 0.0,
                yaw_rate_rad_s: 0.0,
            };
            let m = motion(&at, &at.patch(0.0), &straight, self.constants.gravity_m_s2);
            [0.0, 0.0, v, 0.0, m.line_turn_rad_s, 0.0, 0.0]
        };
        (self.stations_m().into_iter().map(state).collect(), vec![[0.0; CONTROLS]; self.nodes.len()])
    }

    /// Length of the node in time, about (s): weight of the prices.
    fn weight_s(&self, k: usize, forward_m_s: f64) -> f64 {
        self.nodes[k].length_m / forward_m_s.max(1.0)
    }
}

impl<I> Clone for RideProblem<'_, I> {
    fn clone(&self) -> Self {
        RideProblem {
            nodes: self.nodes.clone(),
            stations: self.stations.clone(),
            first: self.first.clone(),
            edged: self.edged.clone(),
            steps: self.steps.clone(),
            told: self.told.clone(),
            ..*self
        }
    }
}

impl<I: Ice> Problem<STATES, CONTROLS> for RideProblem<'_, I> {
    fn stages(&self) -> usize {
        self.nodes.len()
    }

    fn step(&self, k: usize, x: &[f64; STATES], u: &[f64; CONTROLS]) -> Option<Step<STATES>> {
        let (next, time) = self.plain_to_next(k, x, u)?;
        let squares: f64 = self.priced(k, x, u).iter().map(|r| r * r).sum();
        Some(Step { next, cost: time + self.weight_s(k, x[FORWARD]) * squares })
    }

    fn expand(
        &self,
        k: usize,
        x: &[f64; STATES],
        u: &[f64; CONTROLS],
        costate: &[f64; STATES],
    ) -> Option<Expansion<STATES, CONTROLS>> {
        self.expand_with(k, x, u, self.bend(k, x, u, costate).as_ref())
    }

    fn final_cost(&self, _x: &[f64; STATES]) -> Option<f64> {
        Some(0.0)
    }

    fn expand_final(&self, _x: &[f64; STATES]) -> Option<FinalExpansion<STATES>> {
        Some(FinalExpansion { cost_x: [0.0; STATES], cost_xx: [[0.0; STATES]; STATES] })
    }
}
