//! Which presses matter most: each press of the planned ride left out, all others made, ridden on to the finish.

use crate::rides::pieced::pieced;
use crate::rides::prepared::Prepared;
use crate::rides::ride_card::{Press, presses};
use rayon::prelude::*;
use sled_dynamics::analysis::sections::{Section, sections};
use sled_dynamics::motion::pilot::Steering;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::pieces::Piece;

/// A press that is not made.
#[derive(Clone, Debug, PartialEq)]
pub struct MissedPress {
    /// The section it is in: "start", the name of a corner, or "finish".
    pub section: String,
    /// Whether that is a corner.
    pub(crate) in_corner: bool,
    /// The press.
    pub press: Press,
    /// What it costs at the finish (s); none where control is lost.
    pub cost_s: Option<f64>,
}

impl MissedPress {
    /// Where, which limbs, how hard.
    pub fn words(&self) -> String {
        let of = if self.in_corner { "corner " } else { "" };
        format!("{of}{}, {}", self.section, self.press.words())
    }

    /// What missing it costs.
    pub fn cost_words(&self) -> String {
        self.cost_s.map_or("control lost".into(), |s| format!("{:+.0} ms", 1e3 * s))
    }
}

/// The presses of a planned ride that cost most when they are missed, the dearest first: losing control before any
/// time. One press at a time; the rest of the ride is steered as planned.
pub(crate) fn dearest_presses(prepared: &Prepared<'_>, many: usize) -> Vec<MissedPress> {
    let track = prepared.ready.track;
    let plan = &prepared.planned.plan;
    let Some(reference_s) = pieced(prepared, &[], Precision::default(), Detail::Bare).finish_time_s else {
        return vec![];
    };
    let all_sections = sections(track);
    let speed_m_s = |s: f64| {
        let i = plan.station_m.partition_point(|a| *a < s).min(plan.states.len() - 1);
        plan.states[i][2]
    };
    let one = |(section, press): &(&Section, Press)| {
        // what is felt here was asked for a lag before
        let from_m = press.from_m - prepared.ride.lag_s() * speed_m_s(press.from_m);
        let piece = Piece { amount: 0.0, ..Piece::between(from_m, press.to_m) };
        let descent = pieced(prepared, &[piece], Precision::default(), Detail::Bare);
        MissedPress {
            section: section.name.clone(),
            in_corner: section.corner.is_some(),
            press: press.clone(),
            cost_s: descent.finish_time_s.map(|t| t - reference_s),
        }
    };
    // cut at the ends of sections, as the ride card tells them
    let of = |s: &'_ Section| presses(plan, s.from_m, s.to_m);
    let all: Vec<(&Section, Press)> =
        all_sections.iter().flat_map(|s| of(s).into_iter().map(move |p| (s, p))).collect();
    let mut found: Vec<MissedPress> = all.par_iter().map(one).collect();
    let rank = |m: &MissedPress| m.cost_s.unwrap_or(f64::INFINITY);
    found.sort_by(|a, b| rank(b).total_cmp(&rank(a)));
    found.truncate(many);
    found
}
