//! What a descent says of a track: where a sled left alone leaves the ice, and design speeds beside those ridden.

use crate::files;
use crate::words::Lay;
use sled_dynamics::motion::descent::{Descent, EventKind, Outcome};
use sled_dynamics::motion::precision::{Detail, Precision};
use sweep_runner::rides::case::{Case, Model, Who};
use track_geometry::corner_list::{CornerList, Shape};
use track_geometry::eyes::eyes_in_corners;
use track_geometry::track::Track;

/// A touch of a wall above this is hard (N s), assumed: 0.1 m/s of a sled and athlete of 100 kg.
const HARD_N_S: f64 = 10.0;
/// A design speed further from the speed ridden than this is told [-], assumed.
const FAR: f64 = 0.1;

/// Warnings about a track: eyes in corners, and what happens to a sled left alone, with the built-in set-up.
pub fn warnings(track: &Track) -> Vec<String> {
    let eye = |e: track_geometry::eyes::EyeInCorner| {
        format!("{} at station {:.1} m is a timing eye inside corner {}", e.eye, e.station_m, e.corner)
    };
    let mut told: Vec<String> = eyes_in_corners(&track.data).into_iter().map(eye).collect();
    match descent(track, Model::Runners(Who::HandsOff), Detail::Bare) {
        Ok(d) => told.extend(left_alone(track, &d)),
        Err(why) => told.push(format!("not checked with a sled left alone: {why}")),
    }
    told
}

fn descent(track: &Track, model: Model, detail: Detail) -> Result<Descent, String> {
    let setup = files::setup(None, &[])?.setup;
    let case = Case { track, setup: &setup, model, precision: Precision::default(), detail };
    case.descent().map_err(|e| e.to_string())
}

/// In the corner of a station, in words; nothing on a straight.
fn in_corner(track: &Track, station_m: f64) -> String {
    track.corner_at(station_m).map_or(String::new(), |i| format!(", corner {}", track.data.corners[i].name))
}

fn left_alone(track: &Track, d: &Descent) -> Vec<String> {
    let touch = |e: &sled_dynamics::motion::descent::Event| match e.kind {
        EventKind::Wall { impulse_n_s, .. } if impulse_n_s > HARD_N_S => Some(format!(
            "a sled left alone touches a wall hard at station {:.0} m{}: {impulse_n_s:.0} N s",
            e.station_m,
            in_corner(track, e.station_m)
        )),
        _ => None,
    };
    let lost = match d.outcome {
        Outcome::ControlLost { station_m, cause } => Some(format!(
            "a sled left alone is lost at station {station_m:.0} m{}: {}",
            in_corner(track, station_m),
            cause.words()
        )),
        Outcome::Finished => None,
    };
    d.events.iter().filter_map(touch).chain(lost).collect()
}

/// The design speeds of a corner list beside those that the guided estimate rides at the middle of each corner, and
/// what would fit; with the warnings about those that are far from it.
pub fn design_speeds(
    track: &Track,
    list: &CornerList,
    lay: Lay<'_>,
) -> Result<(String, Vec<String>), String> {
    let d = descent(track, Model::Guided, Detail::Trace(1.0))?;
    let speed_km_h = |s: f64| d.trace.iter().find(|t| t.station_m >= s).map(|t| 3.6 * t.speed_m_s);
    let (mut rows, mut told) = (vec![], vec![]);
    for element in &list.elements {
        let Shape::Corner(listed) = &element.shape else { continue };
        let Some(corner) = track.data.corners.iter().find(|c| c.name == listed.name) else { continue };
        // the square of the design speed grows evenly from entry to exit
        let squares = listed.design_speed_in_m_s.powi(2) + listed.design_speed_out_m_s.powi(2);
        let design = 3.6 * (0.5 * squares).sqrt();
        let middle_m = 0.5 * (corner.entry_m + corner.exit_m);
        let [Some(at_entry), Some(ridden), Some(at_exit)] =
            [corner.entry_m, middle_m, corner.exit_m].map(speed_km_h)
        else {
            continue;
        };
        if (design / ridden - 1.0).abs() > FAR {
            told.push(format!(
                "corner {}: design speed {design:.0} km/h, ridden {ridden:.0} km/h in its middle",
                listed.name
            ));
        }
        rows.push(vec![
            listed.name.clone(),
            format!("{design:.1}"),
            format!("{ridden:.1}"),
            format!("{:+.0}", 100.0 * (design / ridden - 1.0)),
            format!("{at_entry:.0}"),
            format!("{at_exit:.0}"),
        ]);
    }
    let header = ["corner", "design km/h", "ridden km/h", "design %", "proposed in", "proposed out"];
    Ok((lay(&header, rows), told))
}
