//! What a calibration leaves open of tonight's answer: the expected time, and what the change gains.

use super::asked::Asked;
use crate::commands::calibrated::at_points_of_each;
use crate::commands::compare_points::{self, ridden_at};
use sweep_runner::evening::ridden::Tonight;
use sweep_runner::evening::{Evening, Place};
use sweep_runner::plausible::points::Band;
use sweep_runner::rides::ensemble::Ensemble;
use sweep_runner::rides::paired::paired;

/// The bands.
pub struct Over {
    /// Median time of the advised set-up (s).
    pub expected: Band,
    /// The advised set-up less the present one (s); none where nothing changes.
    pub change: Option<Band>,
}

fn median_s(rides: Option<&Ensemble>) -> f64 {
    rides.and_then(|e| e.figures().median_s).map_or(f64::NAN, |m| m.value)
}

fn less_s(advised: Option<&Ensemble>, now: Option<&Ensemble>) -> f64 {
    advised.zip(now).and_then(|(a, b)| paired(a, b).median_s).unwrap_or(f64::NAN)
}

/// Rides the advised and the present set-up at the points of the calibration, where the plan names one.
pub fn over(asked: &Asked, tonight: &Tonight<'_>, found: &Evening) -> Option<Over> {
    let used = asked.used.as_ref()?;
    let advised = found.advised()?;
    let present = found.ridden(Place { pair: 0, bow: asked.question.now });
    let present = present.filter(|_| !found.stays(&asked.question));
    let own = tonight.prepared(&advised.setup, Some(advised)).ok()?;
    let now = match present {
        Some(r) => Some((r, tonight.prepared(&r.setup, Some(r)).ok()?)),
        None => None,
    };
    let with = compare_points::Asked { skill: tonight.skill, rides: tonight.rides, seed: tonight.seed };
    let axes = used.axes_of_rides(tonight.skill);
    let mut points = at_points_of_each(&axes, "points of the calibration", |set| {
        let there = ridden_at(&with, &own, set);
        let before = now.as_ref().and_then(|(_, now)| ridden_at(&with, now, set));
        [median_s(there.as_ref()), less_s(there.as_ref(), before.as_ref())]
    });
    points.resize(axes.len(), [[f64::NAN; 2]; 2]);
    let ends = |i: usize| -> Vec<[f64; 2]> { points.iter().map(|p| [p[0][i], p[1][i]]).collect() };
    let change = now.as_ref().map(|(r, _)| Band::new(less_s(advised.rides(), r.rides()), &ends(1)));
    Some(Over { expected: Band::new(median_s(advised.rides()), &ends(0)), change })
}

/// Facts for the sheet: label and value.
pub fn facts(asked: &Asked, over: Option<&Over>) -> Vec<[String; 2]> {
    let Some(used) = &asked.used else { return vec![] };
    let words = used.words.trim().replace('\n', "; ").replacen("calibrated by ", "", 1);
    let mut all = vec![["Calibration".to_string(), words]];
    let Some(over) = over else { return all };
    let band = |b: &Band, sign: bool| {
        let [low, high] = b.ends();
        if sign { format!("{low:+.3} s to {high:+.3} s") } else { format!("{low:.3} to {high:.3} s") }
    };
    let mut text = match over.expected.sd.is_finite() {
        true => format!("median {}", band(&over.expected, false)),
        false => "no band: rides are lost at one of its points".into(),
    };
    if let Some(change) = &over.change {
        text += &match change.sd.is_finite() {
            true if change.keeps_its_sign() => {
                format!("; the change (- faster) {:+.3} s, {}", change.middle, band(change, true))
            }
            true => format!(
                "; the change (- faster) {:+.3} s, {}: the runs do not settle its sign",
                change.middle,
                band(change, true)
            ),
            false => "; the change: no band".into(),
        };
    }
    all.push(["What it leaves open, 95 %".into(), text]);
    all
}
