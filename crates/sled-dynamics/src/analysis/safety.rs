//! Safety flags of a descent, corner by corner: load and how long it lasts, nearness to lips and walls, a light
//! sled, walls and lips touched.
//!
//! Speed and load on an ice track injure. Flags of a model of an approximate track replace no inspection: the
//! coach, the track's officials and the rule book decide what is ridden.

use crate::analysis::sections::{Section, sections};
use crate::laws::state::State;
use crate::laws::walls::{self, Side};
use crate::motion::descent::{Event, EventKind, Sample};
use crate::motion::extremes::crossings;
use track_geometry::track::Track;

/// What must be said where a lip was touched.
pub const LIP_CAUTION: &str = "a lip was touched: the sled was at the upper edge of a bank. The model returns it as a wall does (assumed); \
a real one may hurt, throw off or overturn. Such a ride is none to try";

/// Loads over weight whose duration is told `[-]`.
pub(crate) const LEVELS_G: [f64; 3] = [3.0, 4.0, 5.0];

/// How near the sled came to an edge of the ice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// From the sled's nearest corner to the edge (m); below zero it is beyond.
    pub clear_m: f64,
    /// Where (m).
    pub station_m: f64,
    /// Which edge.
    pub side: Side,
    /// A lip, not a wall.
    pub lip: bool,
}

/// The flags of one section of the way.
#[derive(Clone, Debug, PartialEq)]
pub struct Flags {
    /// The section.
    pub section: Section,
    /// Greatest load over weight `[-]`.
    pub greatest_g_load: f64,
    /// Time above each of [`LEVELS_G`] (s).
    pub above_s: [f64; 3],
    /// Nearest to an edge.
    pub nearest: Nearest,
    /// Way with no load on the ice (m).
    pub light_m: f64,
    /// Impulses of the walls touched, in order (N s).
    pub walls_n_s: Vec<f64>,
    /// Impulses of the lips touched, in order (N s).
    pub lips_n_s: Vec<f64>,
}

/// Time during which the load is above a level (s), with its ends found between the samples.
pub fn time_above_s(trace: &[Sample], level_g: f64) -> f64 {
    let time_s: Vec<f64> = trace.iter().map(|s| s.time_s).collect();
    let load: Vec<f64> = trace.iter().map(|s| s.g_load).collect();
    let (Some(first), Some(last)) = (trace.first(), trace.last()) else { return 0.0 };
    let mut total_s = 0.0;
    let mut since_s = (first.g_load > level_g).then_some(first.time_s);
    for (at_s, upwards) in crossings(&time_s, &load, level_g) {
        match (upwards, since_s) {
            (true, _) => since_s = Some(at_s),
            (false, Some(from_s)) => {
                total_s += at_s - from_s;
                since_s = None;
            }
            (false, None) => {}
        }
    }
    total_s + since_s.map_or(0.0, |from_s| last.time_s - from_s)
}

fn nearest(track: &Track, trace: &[Sample]) -> Option<Nearest> {
    let clear = |s: &Sample| {
        let at = track.surface.station(s.station_m);
        let state = State {
            offset_m: s.offset_m,
            yaw_rad: s.yaw_rad,
            forward_m_s: s.speed_m_s,
            lateral_velocity_m_s: 0.0,
            yaw_rate_rad_s: 0.0,
        };
        let stretch = at.patch(s.offset_m).r_s.norm();
        let one = |side| {
            let clear_m = -walls::deepest_m(&at, &state, stretch, side);
            Nearest { clear_m, station_m: s.station_m, side, lip: walls::is_lip(&at, side) }
        };
        let (left, right) = (one(Side::Left), one(Side::Right));
        if left.clear_m <= right.clear_m { left } else { right }
    };
    trace.iter().map(clear).min_by(|a, b| a.clear_m.total_cmp(&b.clear_m))
}

/// The flags of a descent, section by section, for those that its trace covers.
pub fn flags(track: &Track, trace: &[Sample], events: &[Event]) -> Vec<Flags> {
    let flag = |section: Section| {
        let from = trace.partition_point(|s| s.station_m < section.from_m);
        let to = trace.partition_point(|s| s.station_m <= section.to_m);
        let inside = trace.get(from..to)?;
        let here = |e: &&Event| section.from_m <= e.station_m && e.station_m < section.to_m;
        let impulses_n_s = |of: &dyn Fn(&EventKind) -> bool| -> Vec<f64> {
            let touched = events.iter().filter(here).filter(|e| of(&e.kind));
            touched.filter_map(|e| Some(e.kind.touch()?.1)).collect()
        };
        let light = events.iter().filter(|e| e.kind == EventKind::Light);
        Some(Flags {
            greatest_g_load: inside.iter().map(|s| s.g_load).fold(f64::NEG_INFINITY, f64::max),
            above_s: LEVELS_G.map(|level| time_above_s(inside, level)),
            nearest: nearest(track, inside)?,
            light_m: light
                .map(|e| (e.until_m.min(section.to_m) - e.station_m.max(section.from_m)).max(0.0))
                .sum(),
            walls_n_s: impulses_n_s(&|k| matches!(k, EventKind::Wall { .. })),
            lips_n_s: impulses_n_s(&|k| matches!(k, EventKind::Lip { .. })),
            section,
        })
    };
    sections(track).into_iter().filter_map(flag).collect()
}
