//! A told line: planned anew beside the plan, ridden without help, and what was ridden beside what was asked.

use crate::planner::plan_told;
use crate::prepared::Prepared;
use sled_dynamics::descend::{Course, descend};
use sled_dynamics::descent::{Descent, Outcome, Sample};
use sled_dynamics::entry::Entry;
use sled_dynamics::pilot::Steering;
use sled_dynamics::planned_ride::PlannedRide;
use sled_dynamics::precision::{Detail, Precision};
use sled_dynamics::told_line::{MET_M, ToldPlace, plan_offset_m, told_nodes};
use track_geometry::track::Track;

/// Spacing of the trace that a told line is judged by (m).
const TRACE_M: f64 = 0.5;

/// What was asked and what was ridden at a told place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Met {
    /// Station (m).
    pub station_m: f64,
    /// Offset and height of the plan that the line was told beside (m).
    pub planned_m: [f64; 2],
    /// Offset and height asked for (m).
    pub asked_m: [f64; 2],
    /// Offset and height ridden (m); none where the sled did not come so far.
    pub ridden_m: Option<[f64; 2]>,
}

impl Met {
    /// How far from what was asked the sled was, along the ice (m).
    pub fn off_m(&self) -> f64 {
        self.ridden_m.map_or(f64::INFINITY, |r| (r[0] - self.asked_m[0]).abs())
    }

    /// In words.
    pub fn words(&self) -> String {
        let told = |m: [f64; 2]| format!("offset {:+.2} m, height {:.2} m", m[0], m[1]);
        let ridden = self.ridden_m.map_or("not reached".into(), told);
        format!(
            "station {:.0} m: asked {}; ridden {ridden}; plan {}",
            self.station_m,
            told(self.asked_m),
            told(self.planned_m)
        )
    }
}

/// A ride along a told line.
#[derive(Clone, Debug)]
pub struct ToldRide {
    /// The ride, with its own gains.
    pub ride: PlannedRide,
    /// Ridden without error: what came of each place.
    pub met: Vec<Met>,
    /// The descent without error.
    pub descent: Descent,
}

/// Offset on a trace at a station (m), by straight lines; none outside.
fn offset_on_trace(trace: &[Sample], station_m: f64) -> Option<f64> {
    let i = trace.partition_point(|s| s.station_m < station_m);
    let after = trace.get(i)?;
    let before = trace.get(i.checked_sub(1).unwrap_or(i))?;
    let way_m = after.station_m - before.station_m;
    let t = if way_m > 0.0 { (station_m - before.station_m) / way_m } else { 0.0 };
    (station_m >= before.station_m).then(|| before.offset_m + t * (after.offset_m - before.offset_m))
}

/// What was asked beside what was ridden, place by place.
pub fn beside_asked(prepared: &Prepared<'_>, places: &[ToldPlace], trace: &[Sample]) -> Vec<Met> {
    let (track, plan) = (prepared.ready.track, &prepared.planned.plan);
    let one = |p: &ToldPlace| {
        let at = track.surface.station(p.station_m);
        let with_height = |u: f64| [u, at.height_m(u)];
        let planned = plan_offset_m(&plan.station_m, &plan.states, p.station_m)?;
        Some(Met {
            station_m: p.station_m,
            planned_m: with_height(planned),
            asked_m: with_height(planned + p.aside_m),
            ridden_m: offset_on_trace(trace, p.station_m).map(with_height),
        })
    };
    places.iter().filter_map(one).collect()
}

/// Why a place cannot be asked for: it lies outside of the plan or off the ice.
fn impossible(track: &Track, prepared: &Prepared<'_>, place: &ToldPlace) -> Option<String> {
    let plan = &prepared.planned.plan;
    let s = place.station_m;
    let Some(planned) = plan_offset_m(&plan.station_m, &plan.states, s) else {
        return Some(format!("station {s:.0} m: the planned ride does not reach it"));
    };
    let (at, asked) = (track.surface.station(s), planned + place.aside_m);
    let on_ice = at.right_edge[0] < asked && asked < at.left_edge[0];
    (!on_ice).then(|| {
        format!(
            "station {s:.0} m: asked offset {asked:+.2} m, the ice there lies from {:+.2} to {:+.2} m",
            at.right_edge[0], at.left_edge[0]
        )
    })
}

/// Plans the ride of a set-up anew through told places and rides it without help; an error says in words why it cannot
/// be ridden, and how near it comes.
pub fn told_ride(prepared: &Prepared<'_>, places: &[ToldPlace]) -> Result<ToldRide, String> {
    let ready = &prepared.ready;
    let (track, plan, lag_s) = (ready.track, &prepared.planned.plan, prepared.ride.lag_s());
    let cannot: Vec<String> = places.iter().filter_map(|p| impossible(track, prepared, p)).collect();
    if !cannot.is_empty() {
        return Err(cannot.join("\n"));
    }
    let told = told_nodes(&plan.station_m, &plan.states, places);
    let on = (track, &ready.constants, &ready.ice, &ready.launch);
    let planned = plan_told(on, lag_s, plan, told)
        .map_err(|f| f.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))?;
    let states = &planned.plan.states;
    let near: Vec<String> = places
        .iter()
        .filter_map(|p| {
            let was = plan_offset_m(&plan.station_m, &plan.states, p.station_m)?;
            let is = plan_offset_m(&plan.station_m, states, p.station_m)?;
            let words = format!("station {:.0} m: asked {:+.2} m, planned {is:+.2} m", p.station_m, was + p.aside_m);
            ((is - was - p.aside_m).abs() > MET_M).then_some(words)
        })
        .collect();
    let nearest = if near.is_empty() { String::new() } else { format!("\nnearest: {}", near.join("; ")) };
    if let Some(why) = planned.status.why_not(track) {
        return Err(format!("{why}{nearest}"));
    }
    if !near.is_empty() {
        return Err(format!("the sled cannot come there within {MET_M} m without help{nearest}"));
    }
    let ride = PlannedRide::new(&planned.plan, lag_s).map_err(|e| e.to_string())?;
    let course = Course { track, constants: &ready.constants, ice: &ready.ice, pilot: &ride };
    let detail = Detail::Trace(TRACE_M);
    let descent = descend(&course, &ready.launch, Entry::STRAIGHT, Precision::default(), detail);
    let met = beside_asked(prepared, places, &descent.trace);
    if let Outcome::ControlLost { station_m, cause } = descent.outcome {
        return Err(format!("ridden without help, control is lost at station {station_m:.0} m: {}", cause.words()));
    }
    let missed: Vec<String> = met.iter().filter(|m| m.off_m() > MET_M).map(Met::words).collect();
    if !missed.is_empty() {
        return Err(format!("ridden without help, it is not met within {MET_M} m\n{}", missed.join("\n")));
    }
    Ok(ToldRide { ride, met, descent })
}
