//! An answer as it goes to the browser: words and cells as the command line prints them, curves as numbers.

use crate::asked::{Asked, Sled};
use crate::curves::{Pinned, curves};
use crate::ridden::Ridden;
use serde_json::{Value, json};
use sled_dynamics::analysis::losses::{CAUSE_NAMES, Losses, Ridden as Ride, SectionLoss, losses};
use sled_dynamics::analysis::safety::LIP_CAUTION;
use sled_dynamics::motion::descent::{Descent, Outcome};
use sweep_runner::records::summary::event_words;
use sweep_runner::rides::beside_steps::{
    PLAN_S, TABLES_AND_PLANS_S, TABLES_S, of_difference_s, of_rides_difference_s,
};
use sweep_runner::rides::ensemble::Ensemble;
use sweep_runner::rides::figures::Figure;
use sweep_runner::rides::paired::paired;
use sweep_runner::rides::words::{PairedWords, figure, paired_words};
use track_geometry::track::Track;

const KM_H: f64 = 3.6;
/// What the two set-ups are called in a verdict.
const NAMES: [&str; 2] = ["this set-up", "the pinned one"];

/// What an answer is made of.
pub(crate) struct Told<'a> {
    /// The track.
    pub(crate) track: &'a Track,
    /// The question.
    pub(crate) asked: &'a Asked,
    /// The sled that was asked for.
    pub(crate) sled: &'a Sled,
    /// Its descent.
    pub(crate) descent: &'a Descent,
    /// What is known of it beyond that.
    pub(crate) ridden: Option<&'a Ridden>,
    /// The pinned sled, once it was ridden.
    pub(crate) pinned: Option<&'a Ridden>,
    /// Finish time of the guided estimate (s).
    pub(crate) guided_s: Option<f64>,
    /// How a quick answer was found.
    pub(crate) rough: Option<&'a str>,
    /// What is being done, how many are done, of how many.
    pub(crate) doing: Option<(&'a str, usize, usize)>,
}

/// The answer.
pub(crate) fn told(t: &Told<'_>) -> Value {
    let d = t.descent;
    let is_pinned = t.pinned.is_some_and(|p| p.key == t.sled.key());
    json!({
        "number": t.asked.number,
        "rough": t.rough,
        "is_pinned": is_pinned,
        "doing": t.doing.map(|(what, done, of)| json!([what, done, of])),
        "name": t.sled.setup.name,
        "mass_kg": format!("{:.1}", t.sled.setup.sled.mass_kg()),
        "finish": finish(d),
        "numerical_error_ms": milliseconds_known(d.numerical_error_s),
        "error_beside_steps": format!("tables {:.0} ms, plan {:.0} ms", 1e3 * TABLES_S, 1e3 * PLAN_S),
        "guided_s": t.guided_s.map(|s| format!("{s:.3}")),
        "top_speed_km_h": format!("{:.1}", d.top_speed_m_s() * KM_H),
        "greatest_g": format!("{:.2}", d.greatest_g_load()),
        "difference": t.pinned.and_then(|p| difference(d, p, t.ridden)),
        "splits": splits(d, t.pinned),
        "corners": corners(t),
        "loads": t.ridden.map(|r| loads(t, r)),
        "events": events(d),
        "lip": (d.lip_touches() > 0).then_some(LIP_CAUTION),
        "causes": causes(t),
        "sections": sections(t),
        "rides": t.ridden.map(|r| rides(t.asked, r, t.pinned)),
        "curves": curves(d, None),
        // a window that moves has them already
        "pinned_curves": t.pinned.filter(|_| t.rough.is_none()).map(|p| curves(&p.descent, None)),
        "pinned_of": t.pinned.map(|p| p.number.to_string()),
        "gap": t.pinned.map(|p| curves(d, Some(Pinned { descent: &p.descent }))),
    })
}

/// Milliseconds with their sign, as every table has them.
pub(crate) fn milliseconds(s: f64) -> String {
    if s.abs() < 5e-5 { "0".to_string() } else { format!("{:+.1}", 1e3 * s) }
}

fn milliseconds_known(s: f64) -> Option<String> {
    s.is_finite().then(|| format!("{:.4}", 1e3 * s))
}

fn finish(d: &Descent) -> Value {
    match (d.outcome, d.finish_time_s) {
        (Outcome::ControlLost { station_m, cause }, _) => {
            json!({ "lost": format!("at station {station_m:.1} m: {}", cause.words()), "station_m": station_m })
        }
        (Outcome::Finished, t) => json!({ "time_s": t.map(|t| format!("{t:.3}")) }),
    }
}

/// What tables and plans of two sleds may move their difference by (s).
fn beside_steps_s(here: &Ridden, pinned: &Ridden) -> f64 {
    of_difference_s((&here.ice, &here.planned.plan), (&pinned.ice, &pinned.planned.plan))
}

/// The planned times' difference (ms), and whether errors of steps, tables and plans hide it.
fn difference(d: &Descent, pinned: &Ridden, ridden: Option<&Ridden>) -> Option<Value> {
    let gap_s = d.finish_time_s? - pinned.descent.finish_time_s?;
    let beside_s = ridden.map_or(TABLES_AND_PLANS_S, |here| beside_steps_s(here, pinned));
    let error_s = d.numerical_error_s + pinned.descent.numerical_error_s + beside_s;
    Some(json!({
        "ms": milliseconds(gap_s),
        "slower": gap_s > error_s,
        "faster": gap_s < -error_s,
    }))
}

fn splits(d: &Descent, pinned: Option<&Ridden>) -> Vec<Vec<String>> {
    let row = |(i, s): (usize, &sled_dynamics::motion::descent::Split)| {
        let other = pinned.and_then(|p| p.descent.splits.get(i));
        vec![
            s.eye.clone(),
            format!("{:.0}", s.station_m),
            format!("{:.3}", s.split_time_s),
            other.map_or("-".into(), |o| milliseconds(s.split_time_s - o.split_time_s)),
            format!("{:.1}", s.speed_m_s * KM_H),
        ]
    };
    d.splits.iter().enumerate().map(row).collect()
}

fn corners(t: &Told<'_>) -> Vec<Vec<String>> {
    let touched = |from_m: f64, to_m: f64| {
        let inside = |s: f64| from_m <= s && s <= to_m;
        t.descent.events.iter().any(|e| e.kind.touch().is_some() && inside(e.station_m))
    };
    let row = |c: &sled_dynamics::motion::descent::CornerRide| {
        let swing = t.ridden.and_then(|r| r.swings.iter().find(|s| s.corner == c.name));
        let amplitude = swing.and_then(|s| s.amplitude_m).map_or("-".into(), |a| format!("{a:.2}"));
        let outside = |share: f64| if share > 0.5 { "yes".to_string() } else { "no".to_string() };
        vec![
            c.name.clone(),
            format!("{:.1}", c.entry.speed_m_s * KM_H),
            format!("{:.1}", c.exit.speed_m_s * KM_H),
            format!("{:.2}", c.entry.height_m),
            format!("{:.2}", c.highest.height_m),
            format!("{:.2}", c.exit.height_m),
            format!("{:.2}", c.greatest_g_load),
            // the pressures of `descend`, at the load alone
            c.pressures.to_string(),
            amplitude,
            swing.map_or("-".into(), |s| outside(s.outside_screws)),
            if touched(c.entry.station_m, c.exit.station_m) { "yes".into() } else { "no".into() },
            format!("{:.1}", c.entry.station_m),
            format!("{:.1}", c.exit.station_m),
        ]
    };
    t.descent.corners.iter().map(row).collect()
}

/// How rides with mistakes load the corners, of this sled and the pinned one: the middle, and eight rides in ten.
fn loads(t: &Told<'_>, here: &Ridden) -> Value {
    let most = t.asked.rides as usize;
    let pinned = t.pinned.filter(|p| p.key != here.key);
    let band = |r: Option<&Ridden>, name: &str| {
        let band = r.and_then(|r| r.load_band(t.asked.seed, most, name));
        band.map_or(["-".to_string(), "-".to_string()], |b| {
            let ([low, middle, high], [few, usual, many]) = (b.greatest_g_load, b.pressures);
            let presses = if few == many { usual.to_string() } else { format!("{usual} ({few} to {many})") };
            [format!("{middle:.2} ({low:.2} to {high:.2})"), presses]
        })
    };
    let corners = &t.track.data.corners;
    let row = |c: &track_geometry::track::Corner| {
        let ([g, presses], [other_g, other_presses]) = (band(Some(here), &c.name), band(pinned, &c.name));
        vec![c.name.clone(), g, other_g, presses, other_presses]
    };
    // middle of the corner (m), least and greatest of the band, for the chart
    let bars = |r: Option<&Ridden>| -> Vec<[f64; 3]> {
        let bar = |c: &track_geometry::track::Corner| {
            let [low, _, high] = r?.load_band(t.asked.seed, most, &c.name)?.greatest_g_load;
            Some([0.5 * (c.entry_m + c.exit_m), low, high])
        };
        corners.iter().filter_map(bar).collect()
    };
    json!({
        "cells": corners.iter().map(row).collect::<Vec<_>>(),
        "here": bars(Some(here)),
        "pinned": bars(pinned),
    })
}

fn events(d: &Descent) -> Vec<String> {
    let line = |e: &sled_dynamics::motion::descent::Event| {
        format!("{:.1} to {:.1} m: {}", e.station_m, e.until_m, event_words(&e.kind))
    };
    d.events.iter().map(line).collect()
}

/// The losses of a sled against the pinned one, where both finish.
fn lost(track: &Track, here: &Ridden, pinned: &Ridden) -> Option<Losses> {
    let a = Ride { descent: &here.to_finish, constants: &here.constants };
    let b = Ride { descent: &pinned.to_finish, constants: &pinned.constants };
    losses(track, a, b).ok()
}

/// By cause, as `compare` tells it.
fn causes(t: &Told<'_>) -> Option<Vec<[String; 2]>> {
    let told = lost(t.track, t.ridden?, t.pinned?)?;
    let sums = told.by_cause_s();
    let some = CAUSE_NAMES.iter().zip(sums).filter(|(_, s)| s.abs() >= 5e-5);
    Some(some.map(|(name, s)| [(*name).to_string(), milliseconds(s)]).collect())
}

/// Section by section what each cause costs at the finish (ms), then all of them, and what the clock shows there; the sums
/// are those of `compare`.
fn sections(t: &Told<'_>) -> Option<Value> {
    Some(losses_told(&lost(t.track, t.ridden?, t.pinned.filter(|p| p.key != t.sled.key())?)?))
}

/// A table of losses by section and cause.
pub(crate) fn losses_told(told: &Losses) -> Value {
    let sums = told.by_cause_s();
    // as `losses` shows them
    let some = |c: &usize| told.sections.iter().any(|s| s.by_cause_s[*c].abs() > 5e-5);
    let shown: Vec<usize> = (0..CAUSE_NAMES.len()).filter(some).collect();
    let row = |s: &SectionLoss| {
        let causes = shown.iter().map(|c| s.by_cause_s[*c]).chain([s.total_s(), s.showed_s]);
        json!({
            "name": s.section.name,
            "from_m": s.section.from_m,
            "to_m": s.section.to_m,
            "cells": causes.clone().map(milliseconds).collect::<Vec<_>>(),
            "ms": causes.map(|v| (1e4 * v).round() / 10.0).collect::<Vec<f64>>(),
        })
    };
    json!({
        "causes": shown.iter().map(|c| CAUSE_NAMES[*c]).collect::<Vec<_>>(),
        "rows": told.sections.iter().map(row).collect::<Vec<_>>(),
        "whole": shown.iter().map(|c| milliseconds(sums[*c])).chain([milliseconds(sums.iter().sum()), milliseconds(told.gap_s)]).collect::<Vec<_>>(),
        "remainder_ms": format!("{:.2}", 1e3 * told.remainder_s),
    })
}

/// What rides with mistakes say, each alone and against each other, in the cells of `compare`.
fn rides(asked: &Asked, here: &Ridden, pinned: Option<&Ridden>) -> Value {
    let most = asked.rides as usize;
    let of = |r: &Ridden| r.rides(asked.seed, most);
    let a = of(here);
    let alone = |r: &Ridden, e: &Ensemble| {
        let f = e.figures();
        let some = |f| Some(f).filter(|_| !e.rides.is_empty());
        let percent = Figure { value: 100.0 * f.lost.value, error: 100.0 * f.lost.error };
        let planned = r.to_finish.finish_time_s.map_or("control lost".into(), |t| format!("{t:.3}"));
        vec![
            planned,
            figure(f.median_s, 3),
            figure(f.p90_s, 3),
            figure(f.worst_tenth_s, 3),
            figure(some(percent), 0),
            figure(some(f.touches), 2),
        ]
    };
    let b = pinned.map(of);
    let pair =
        pinned.zip(b.as_ref()).filter(|(_, b)| !a.rides.is_empty() && !b.rides.is_empty()).map(|(p, b)| {
            let pair = paired(&a, b);
            let numerical_s = here.to_finish.numerical_error_s + p.to_finish.numerical_error_s;
            let by_plans_s = of_rides_difference_s(
                (&here.sled.setup, &here.planned.plan),
                (&p.sled.setup, &p.planned.plan),
            );
            let beside_s = beside_steps_s(here, p) + by_plans_s;
            let PairedWords { median, band, said, ahead } =
                paired_words(&pair, numerical_s + beside_s, NAMES);
            json!({
                "median": median, "band": band, "said": said, "ahead": ahead, "pairs": pair.pairs,
                "lost": pair.lost,
            })
        });
    json!({
        "ridden": a.rides.len(),
        "of": most,
        "seed": asked.seed,
        "here": alone(here, &a),
        "pinned": pinned.zip(b.as_ref()).map(|(p, b)| alone(p, b)),
        "pair": pair,
    })
}
