//! A line told on the page: the ice of a corner laid flat with the lines on it, the ride planned anew through the
//! places that were dragged or typed, and what that ride loses or gains.

use crate::asked::{AskedSetup, LONGEST_SETUP};
use crate::curves::gap_at_s;
use crate::ridden::Ridden;
use crate::told::{losses_told, milliseconds};
use file_faults::{FileFault, lines};
use serde::Deserialize;
use serde_json::{Value, json};
use sled_dynamics::analysis::losses::spacing_to_finish_m;
use sled_dynamics::motion::descent::{CornerRide, Descent, Outcome, Sample};
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::line_file::{aimed_pieces, read_line};
use sled_dynamics::riding::notes_read::read_phrase;
use sled_dynamics::riding::told_line::ToldPlace;
use sweep_runner::rides::beside_steps::PLANS_S;
use sweep_runner::rides::cause::{Causes, against, causes, pieced_as_told, what_ifs};
use sweep_runner::rides::pieced::pieced;
use sweep_runner::rides::prepared::Prepared;
use sweep_runner::rides::told::beside_asked;
use track_geometry::track::{Hand, Track};

/// Widest spacing of the traces (m), as that of `losses`.
const TRACE_M: f64 = 0.5;
/// Ice that is drawn before and behind a corner (m).
const BESIDE_M: f64 = 20.0;
/// Distance of the points that are drawn (m).
const STEP_M: f64 = 1.0;
/// Points across the ice at a handle.
const ACROSS: usize = 32;

/// What is asked: the ice of a corner, and two set-ups whose lines are wanted.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct AskedPlace {
    /// The set-up.
    pub(crate) here: AskedSetup,
    /// The pinned one.
    pub(crate) pinned: AskedSetup,
    /// The corner, by its name.
    pub(crate) corner: String,
}

/// What is asked: a line as the text of a line file, or a what-if in words.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct AskedLine {
    /// The set-up.
    pub(crate) here: AskedSetup,
    /// The line; empty for a what-if.
    pub(crate) line: String,
    /// A what-if; empty for a line.
    pub(crate) what_if: String,
}

impl AskedLine {
    /// Checks the lengths.
    pub(crate) fn check(&self) -> Result<(), String> {
        for (what, text) in [("line", &self.line), ("what-if", &self.what_if)] {
            if text.len() > LONGEST_SETUP {
                return Err(format!("{what}: {} bytes; allowed are {LONGEST_SETUP}", text.len()));
            }
        }
        Ok(())
    }
}

fn short(v: f64) -> f64 {
    (1e3 * v).round() / 1e3 + 0.0
}

/// The ice of a corner laid flat, the lines on it, and the places that can be dragged.
pub(crate) fn place_told(
    track: &Track,
    asked: &AskedPlace,
    here: Option<&Ridden>,
    pinned: Option<&Ridden>,
) -> Result<Value, String> {
    let Some(corner) = track.data.corners.iter().find(|c| c.name == asked.corner) else {
        let names: Vec<&str> = track.data.corners.iter().map(|c| c.name.as_str()).collect();
        return Err(format!("corner {}: not on this track; allowed are {}", asked.corner, names.join(", ")));
    };
    let from_m = (corner.entry_m - BESIDE_M).max(track.surface.range_m().0);
    let to_m = (corner.exit_m + BESIDE_M).min(track.finish_m());
    let rows = ((to_m - from_m) / STEP_M).ceil().max(1.0) as usize;
    let stations: Vec<f64> = (0..=rows).map(|i| from_m + (to_m - from_m) * i as f64 / rows as f64).collect();
    let edges: Vec<[f64; 3]> = stations
        .iter()
        .map(|s| {
            let at = track.surface.station(*s);
            let (left, right) = (at.left_edge[0], at.right_edge[0]);
            // the higher of the two edges is the outer one
            [left, right, at.height_m(left).max(at.height_m(right))].map(short)
        })
        .collect();
    let column = |k: usize| edges.iter().map(|e| e[k]).collect::<Vec<f64>>();
    let ride = here.and_then(|r| r.to_finish.corners.iter().find(|c| c.name == corner.name));
    let handles: Vec<Value> = ride.map_or(vec![], |r| {
        [("entry", &r.entry), ("highest", &r.highest), ("exit", &r.exit)]
            .map(|(position, s)| handle(track, position, s))
            .into()
    });
    Ok(json!({
        "corner": corner.name,
        "hand": if corner.hand == Hand::Left { "left" } else { "right" },
        "entry_m": corner.entry_m,
        "exit_m": corner.exit_m,
        "station_m": stations.iter().map(|s| short(*s)).collect::<Vec<f64>>(),
        "left_m": column(0),
        "right_m": column(1),
        "high_m": column(2),
        "handles": handles,
        "here": here.map(|r| line(&r.to_finish, from_m, to_m)),
        "pinned": pinned.map(|r| line(&r.to_finish, from_m, to_m)),
    }))
}

/// A place that can be dragged: where the planned ride is, and the ice across there.
fn handle(track: &Track, position: &str, s: &Sample) -> Value {
    let at = track.surface.station(s.station_m);
    let (left, right) = (at.left_edge[0], at.right_edge[0]);
    let across: Vec<f64> = (0..=ACROSS).map(|i| right + (left - right) * i as f64 / ACROSS as f64).collect();
    json!({
        "position": position,
        "station_m": short(s.station_m),
        "offset_m": short(s.offset_m),
        "height_m": short(s.height_m),
        "across_m": across.iter().map(|u| short(*u)).collect::<Vec<f64>>(),
        "heights_m": across.iter().map(|u| short(at.height_m(*u))).collect::<Vec<f64>>(),
    })
}

/// The line of a descent on a stretch.
fn line(d: &Descent, from_m: f64, to_m: f64) -> Value {
    let inside = d.trace.iter().filter(|s| from_m <= s.station_m && s.station_m <= to_m);
    let rows: Vec<&Sample> = inside.collect();
    let column = |of: &dyn Fn(&Sample) -> f64| rows.iter().map(|s| short(of(s))).collect::<Vec<f64>>();
    json!({
        "station_m": column(&|s| s.station_m),
        "offset_m": column(&|s| s.offset_m),
        "height_m": column(&|s| s.height_m),
        "speed_km_h": column(&|s| 3.6 * s.speed_m_s),
    })
}

fn refused(what: &str, faults: &[FileFault]) -> String {
    format!("{what} cannot be used\n{}", lines(faults))
}

/// The answer to a line or a what-if, for a set-up with its planned ride; told how many steps are done.
pub(crate) fn line_told(
    track: &Track,
    ridden: &Ridden,
    asked: &AskedLine,
    done: &dyn Fn(usize, usize),
) -> Result<Value, String> {
    let prepared = ridden.prepared(track)?;
    if !asked.what_if.trim().is_empty() {
        return what_if_told(track, &prepared, &asked.what_if);
    }
    let (precision, detail) = (Precision::default(), Detail::Trace(spacing_to_finish_m(track, TRACE_M)));
    let aims = read_line("the line", &asked.line, track).map_err(|f| refused("this line", &f))?;
    let reference = pieced(&prepared, &[], precision, detail);
    let (pieces, cannot) = aimed_pieces(track, &aims, &reference.corners);
    if !cannot.is_empty() {
        return Err(format!("this line cannot be ridden\n{}", cannot.join("\n")));
    }
    let descent = pieced_as_told(&prepared, &pieces, precision, detail)
        .map_err(|why| format!("this line cannot be ridden\n{why}"))?;
    let places: Vec<ToldPlace> = pieces.iter().filter_map(|p| p.told).collect();
    let met: Vec<Value> = aims
        .iter()
        .zip(beside_asked(&prepared, &places, &descent.trace))
        .map(|(aim, met)| {
            let two = |m: [f64; 2]| m.map(|v| format!("{v:.2}"));
            json!({
                "aim": aim.words(track),
                "words": met.words(),
                "is_met": aim.is_met(&met.asked_m, met.ridden_m),
                "corner": track.data.corners[aim.corner].name,
                "position": aim.position.words(),
                "station": format!("{:.0}", met.station_m),
                "asked": two(met.asked_m),
                "ridden": met.ridden_m.map(two),
                "planned": two(met.planned_m),
            })
        })
        .collect();
    // one corner alone caused all of the gap; several are told apart by riding each alone
    let corners: std::collections::BTreeSet<usize> = aims.iter().map(|a| a.corner).collect();
    done(1, 1 + corners.len());
    let caused = (corners.len() > 1)
        .then(|| causes(&prepared, &pieces, &reference, &descent, (precision, detail)))
        .map(|c| caused_told(&c));
    let lost = match descent.outcome {
        Outcome::Finished => None,
        Outcome::ControlLost { station_m, cause } => {
            Some(format!("control lost at station {station_m:.0} m: {}", cause.words()))
        }
    };
    let losses = against(&prepared, &descent, &reference).ok();
    let gap_s = descent.finish_time_s.zip(reference.finish_time_s).map(|(a, b)| a - b);
    let error_s = descent.numerical_error_s + reference.numerical_error_s;
    let times = [&reference, &descent].map(|d| d.finish_time_s.map_or("lost".into(), |t| format!("{t:.3}")));
    Ok(json!({
        "met": met,
        "lost": lost,
        "gap_ms": gap_s.map(milliseconds),
        "error_ms": format!("{:.2}", 1e3 * error_s),
        "plan_ms": format!("{:.0}", 1e3 * PLANS_S),
        "hidden": gap_s.is_some_and(|g| g.abs() <= PLANS_S + error_s),
        "finish_s": times,
        "sections": losses.as_ref().map(losses_told),
        "caused": caused,
        "corners": side_by_side(&reference, &descent),
        "line": curves(&reference, &descent),
    }))
}

/// The told ride as curves over the whole way, with its gap to the planned ride (ms).
fn curves(reference: &Descent, descent: &Descent) -> Value {
    let rows: Vec<&Sample> = descent.trace.iter().step_by(2).collect();
    let column = |of: &dyn Fn(&Sample) -> f64| rows.iter().map(|s| short(of(s))).collect::<Vec<f64>>();
    let gap = |s: &&Sample| gap_at_s(descent, reference, s.station_m).map(|g| short(1e3 * g));
    json!({
        "station_m": column(&|s| s.station_m),
        "offset_m": column(&|s| s.offset_m),
        "height_m": column(&|s| s.height_m),
        "gap_ms": rows.iter().map(gap).collect::<Vec<Option<f64>>>(),
    })
}

/// Corner by corner, the planned ride and the told one: heights at entry, top and exit, speeds, load.
fn side_by_side(planned: &Descent, told: &Descent) -> Vec<Value> {
    let cells = |c: &CornerRide| {
        [
            format!("{:.2}", c.entry.height_m),
            format!("{:.2}", c.highest.height_m),
            format!("{:.2}", c.exit.height_m),
            format!("{:.1}", 3.6 * c.entry.speed_m_s),
            format!("{:.1}", 3.6 * c.exit.speed_m_s),
            format!("{:.2}", c.greatest_g_load),
        ]
    };
    let row = |c: &CornerRide| {
        let other = told.corners.iter().find(|t| t.name == c.name);
        json!({ "corner": c.name, "planned": cells(c), "told": other.map(cells) })
    };
    planned.corners.iter().map(row).collect()
}

/// What each corner caused, in the cells of `losses`.
fn caused_told(c: &Causes) -> Value {
    let maybe = |v: Option<f64>| v.map_or("lost".into(), milliseconds);
    let row = |one: &sweep_runner::rides::cause::Caused| {
        let without = if one.finishes_without { "finishes" } else { "lost" };
        vec![
            c.sections[one.section].name.clone(),
            maybe(one.alone_s),
            one.recovered_s.map_or(without.into(), milliseconds),
        ]
    };
    json!({
        "rows": c.caused.iter().map(row).collect::<Vec<_>>(),
        "together": c.together_s.map(milliseconds),
    })
}

/// What a single fault would cost.
fn what_if_told(track: &Track, prepared: &Prepared<'_>, text: &str) -> Result<Value, String> {
    let note = read_phrase("the what-if", text.trim(), track).map_err(|f| refused("this what-if", &f))?;
    let found = what_ifs(prepared, &[note], 1, Precision::default());
    let Some(found) = found.first() else { return Err("no such ride".into()) };
    if let Some(why) = &found.refused {
        return Err(format!("no such ride: {why}"));
    }
    let maybe = |v: Option<f64>| v.map_or("lost".into(), milliseconds);
    let [least, most] = found.band_s.map(maybe);
    Ok(json!({ "what_if": {
        "understood": note.understood(track),
        "ms": maybe(found.cost_s),
        "band": format!("{least} to {most}"),
        "touches_more": found.walls,
    } }))
}
