//! A told line: planned anew beside the plan, ridden without help, and what was ridden beside what was asked.

use crate::rides::planner::plan_told;
use crate::rides::prepared::Prepared;
use crate::rides::skidding::skidding;
use sled_dynamics::laws::walls::{CORNERS_M, Side, is_lip};
use sled_dynamics::motion::course::Course;
use sled_dynamics::motion::descend::descend;
use sled_dynamics::motion::descent::{Descent, Event, EventKind, Outcome, Sample};
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::pilot::Steering;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::notes::{Note, Word};
use sled_dynamics::riding::pieces::Piece;
use sled_dynamics::riding::plan_state::{FORWARD, OFFSET};
use sled_dynamics::riding::planned_ride::PlannedRide;
use sled_dynamics::riding::told_line::{MET_M, ToldPlace, plan_offset_m, told_nodes};
use track_geometry::track::{Hand, Track};

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
    pub(crate) descent: Descent,
}

/// Offset on a trace at a station (m), by straight lines; none outside.
fn offset_on_trace(trace: &[Sample], station_m: f64) -> Option<f64> {
    let i = trace.partition_point(|s| s.station_m < station_m);
    let after = trace.get(i)?;
    let before = trace.get(i.checked_sub(1).unwrap_or(i))?;
    let way_m = after.station_m - before.station_m;
    let t = if way_m > 0.0 { (station_m - before.station_m) / way_m } else { 0.0 };
    (station_m >= before.station_m).then_some(before.offset_m + t * (after.offset_m - before.offset_m))
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

/// Prices of a told line that are tried in turn (s/s for 0.1 m): a dearer one meets it more closely, a cheaper one leaves
/// the ride more of its room.
const PRICES: [f64; 4] = [10.0, 30.0, 3.0, 1.0];

/// Plans the ride of a set-up anew through told places and rides it without help; an error says in words why it cannot
/// be ridden, and how near it comes.
pub fn told_ride(prepared: &Prepared<'_>, places: &[ToldPlace]) -> Result<ToldRide, String> {
    let track = prepared.ready.track;
    let cannot: Vec<String> = places.iter().filter_map(|p| impossible(track, prepared, p)).collect();
    if !cannot.is_empty() {
        return Err(cannot.join("\n"));
    }
    let mut why = String::new();
    for price in PRICES {
        match told_ride_at(prepared, places, price) {
            Ok(ride) => return Ok(ride),
            // the first price is the usual one: its reason is told
            Err(words) if why.is_empty() => why = words,
            Err(_) => {}
        }
    }
    Err(why)
}

fn told_ride_at(prepared: &Prepared<'_>, places: &[ToldPlace], price: f64) -> Result<ToldRide, String> {
    let ready = &prepared.ready;
    let (track, plan, lag_s) = (ready.track, &prepared.planned.plan, prepared.ride.lag_s());
    let told = told_nodes(&plan.station_m, &plan.states, places);
    let on = (track, &ready.constants, &ready.ice, &ready.launch);
    let planned = plan_told(on, lag_s, plan, told, price)
        .map_err(|f| f.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))?;
    let states = &planned.plan.states;
    let near = |p: &ToldPlace| {
        let was = plan_offset_m(&plan.station_m, &plan.states, p.station_m)?;
        let is = plan_offset_m(&plan.station_m, states, p.station_m)?;
        let asked = was + p.aside_m;
        let words = format!("station {:.0} m: asked offset {asked:+.2} m, planned {is:+.2} m", p.station_m);
        ((is - asked).abs() > MET_M).then_some(words)
    };
    let near: Vec<String> = places.iter().filter_map(near).collect();
    let nearest = if near.is_empty() { String::new() } else { format!("; nearest: {}", near.join("; ")) };
    if let Some(why) = planned.status.why_not(track) {
        return Err(format!("{why}{nearest}"));
    }
    if !near.is_empty() {
        return Err(format!("this sled cannot come within {MET_M} m of it{nearest}"));
    }
    let ride = PlannedRide::new(&planned.plan, lag_s).map_err(|e| e.to_string())?;
    let course = Course { track, constants: &ready.constants, ice: &ready.ice, pilot: &ride };
    let detail = Detail::Trace(TRACE_M);
    let descent = descend(&course, &ready.launch, Entry::STRAIGHT, Precision::default(), detail);
    let met = beside_asked(prepared, places, &descent.trace);
    if let Outcome::ControlLost { station_m, cause } = descent.outcome {
        let words = cause.words();
        return Err(format!("ridden without help, control is lost at station {station_m:.0} m: {words}"));
    }
    // a touch that is not told throws the sled off its line
    let told_touch = |e: &Event| {
        let here = |p: &ToldPlace| p.wall.is_some() && (e.station_m - p.station_m).abs() < TOUCH_WITHIN_M;
        places.iter().any(here)
    };
    let touch =
        |e: &&Event| matches!(e.kind, EventKind::Wall { .. } | EventKind::Lip { .. }) && !told_touch(e);
    let after_told = places.iter().any(|p| p.wall.is_some());
    if let Some(e) = descent.events.iter().find(touch).filter(|_| !after_told) {
        return Err(format!("ridden without help, it touches an edge at station {:.0} m", e.station_m));
    }
    let missed: Vec<String> = met.iter().filter(|m| m.off_m() > MET_M).map(Met::words).collect();
    if !missed.is_empty() {
        return Err(format!("ridden without help, it is not met within {MET_M} m; {}", missed.join("; ")));
    }
    Ok(ToldRide { ride, met, descent })
}

/// A touch so far from its told place still counts as that (m), assumed.
const TOUCH_WITHIN_M: f64 = 15.0;
/// Depths into a wall that are tried in turn, as shares of the size told `[-]`: yaw decides which corner of the sled
/// comes first, and the lightest touch is taken.
const DEPTHS: [f64; 3] = [1.0, 3.0, 6.0];

/// The piece of a planned ride that a note tells of. A wall is looked for beside the plan, and touched on a ride of its
/// own, a skid by the kick that brings it about; an error says why there is no such piece.
pub fn piece_of(prepared: &Prepared<'_>, note: &Note) -> Result<Piece, String> {
    let track = prepared.ready.track;
    let plan = &prepared.planned.plan;
    let i = plan.station_m.partition_point(|s| *s < note.place_m(track)).min(plan.states.len() - 1);
    let piece = note.piece(track, plan.states[i][FORWARD]);
    if note.word == Word::Skid {
        return skidding(prepared, note, plan.states[i][FORWARD]);
    }
    if !matches!(note.word, Word::Tap | Word::Wall) {
        return Ok(piece);
    }
    let (side, sign) = if note.side == Hand::Left { (Side::Left, 1.0) } else { (Side::Right, -1.0) };
    let name = ["left", "right"][side as usize];
    let (from_m, to_m) = note.stretch_m(track);
    // the place where the wall is nearest to the plan; lips are none
    let nearest = plan
        .station_m
        .iter()
        .zip(&plan.states)
        .filter(|(s, _)| from_m <= **s && **s < to_m)
        .map(|(s, x)| (*s, track.surface.station(*s), x[OFFSET]))
        .filter(|(_, at, _)| !is_lip(at, side))
        .map(|(s, at, u)| {
            let edge = if side == Side::Left { at.left_edge[0] } else { at.right_edge[0] };
            (s, sign * (edge - u) - CORNERS_M[0][1])
        })
        .min_by(|a, b| a.1.total_cmp(&b.1));
    let Some((station_m, gap_m)) = nearest else {
        let words = note.words(track);
        return Err(format!("{words}: the {name} edge is a lip all the way there, no wall to touch"));
    };
    let mut why = String::new();
    for share in DEPTHS {
        let aside_m = sign * (gap_m + share * note.size);
        let place = ToldPlace { station_m, aside_m, wall: Some(side) };
        match told_ride_at(prepared, &[place], PRICES[0]) {
            Ok(told) if touched(&told.descent, side, station_m).is_some() => {
                return Ok(Piece { of_m: station_m, told: Some(place), ..piece });
            }
            Ok(_) => why = format!("the ride passes it without a touch at station {station_m:.0} m"),
            Err(words) => why = words,
        }
    }
    let words = note.words(track);
    Err(format!("{words}: the {name} wall is {gap_m:.2} m beside the plan and cannot be reached: {why}"))
}

/// Impulse of the first touch of a wall near a station (N s).
fn touched(descent: &Descent, side: Side, station_m: f64) -> Option<f64> {
    descent.events.iter().find_map(|e| match e.kind {
        EventKind::Wall { side: s, impulse_n_s, .. }
            if s == side && (e.station_m - station_m).abs() < TOUCH_WITHIN_M =>
        {
            Some(impulse_n_s)
        }
        _ => None,
    })
}
