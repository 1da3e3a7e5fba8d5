//! Where the window of bow lies, and where it lies over what is not known: at a few points, and with every kept sample.

use super::contact::guided_places;
use super::wanted::{LOOKS, measured};
use crate::commands::calibrated::at_points_of_each;
use crate::commands::unknowns::{at_sets, many_words};
use ice_contact::runner::Bow;
use sled_bench::passing::{Stretch, in_common, passing};
use sled_dynamics::analysis::bow_contact::MOST_BOW_M;
use sled_dynamics::analysis::bow_measures::{BowMeasure, bow_measures};
use sled_dynamics::analysis::places::Place;
use sled_dynamics::laws::on_runners::bending_stress_pa;
use sled_dynamics::setup::Setup;
use sweep_runner::plausible::bands::LEFT_OUT;
use sweep_runner::plausible::keyed::Set;
use sweep_runner::plausible::points::{Axis, Band};
use sweep_runner::rides::figures::quantile;
use track_geometry::track::Track;

/// Greatest share of the load outside the screws that is no bridging `[-]`.
pub const MOST_SHARE: f64 = 0.5;

/// The name of a corner, as the track has it.
pub fn corner(place: &Place) -> &str {
    place.name.strip_prefix("corner ").unwrap_or(&place.name)
}

/// Bows without bridging, with the margin, and those of both that leave the runner straight again.
pub fn stretches_of(
    setup: &Setup,
    share: &dyn Fn(f64) -> Option<f64>,
    margin_m: &dyn Fn(f64) -> Option<f64>,
    least_margin_m: f64,
) -> (Vec<Stretch>, Vec<Stretch>, Vec<Stretch>) {
    let clear = passing(|b| share(b).map(|s| -s), -MOST_SHARE, 0.0, MOST_BOW_M, LOOKS);
    let stable = passing(margin_m, least_margin_m, 0.0, MOST_BOW_M, LOOKS);
    let runner = &setup.runners.both;
    let spare = |b: f64| Some(runner.yield_stress_pa - bending_stress_pa(runner, Bow::even(b)));
    let unyielding = passing(spare, 0.0, 0.0, MOST_BOW_M, LOOKS);
    let window = in_common(&in_common(&clear, &stable), &unyielding);
    (clear, stable, window)
}

/// What a window is asked of.
pub struct Asked<'a> {
    /// The track.
    pub track: &'a Track,
    /// The corners that count; all where none is named.
    pub corners: &'a [String],
    /// Least static margin (m).
    pub least_margin_m: f64,
}

/// The one window with the numbers of a set: least and greatest bow (m); none where there is not one.
fn window_at(asked: &Asked<'_>, setup: &Setup, set: &Set) -> Option<[f64; 2]> {
    let there = set.on(setup).ok()?;
    let mut places = guided_places(asked.track, &there).ok()?;
    let flat = places.remove(0);
    places.retain(|p| asked.corners.is_empty() || asked.corners.iter().any(|c| c == corner(p)));
    let share = |b: f64| {
        let all: Option<Vec<BowMeasure>> =
            bow_measures(&there, Bow::even(b), &places).ok()?.into_iter().collect();
        all?.into_iter().map(|m| m.outside_share).reduce(f64::max)
    };
    let margin = |b: f64| measured(&there, b, &flat).map(|m| m.static_margin_m);
    match stretches_of(&there, &share, &margin, asked.least_margin_m).2.as_slice() {
        [one] => Some([one.from_m, one.to_m]),
        _ => None,
    }
}

/// The window in each of the sets, in words.
pub fn window_over_sets(asked: &Asked<'_>, setup: &Setup, sets: &[Set]) -> String {
    let all = at_sets(sets, |set| window_at(asked, setup, set));
    let found: Vec<[f64; 2]> = all.iter().flatten().copied().collect();
    let none = match all.len() - found.len() {
        0 => String::new(),
        n => format!("; not one window in {n}"),
    };
    let ends = ["least", "greatest"].into_iter().enumerate().map(|(end, name)| {
        let mut mm: Vec<f64> = found.iter().map(|w| 1e3 * w[end]).collect();
        mm.sort_by(f64::total_cmp);
        format!("{name} {:.1} to {:.1} mm", quantile(&mm, LEFT_OUT), quantile(&mm, 1.0 - LEFT_OUT))
    });
    let words = if found.is_empty() { String::new() } else { ends.collect::<Vec<_>>().join(", ") };
    format!("  over {}: window {words} (nine sets in ten){none}\n", many_words(&sets[..all.len()]))
}

/// What is not known does to the ends of a window that is one stretch.
pub fn window_over(
    asked: &Asked<'_>,
    setup: &Setup,
    window: &[Stretch],
    axes: &[Axis],
    over: &str,
) -> String {
    let [now] = window else {
        return format!("  over {over}: not asked, since there is not one window\n");
    };
    let points = at_points_of_each(axes, "points of the window", |set| window_at(asked, setup, set));
    let bands = [now.from_m, now.to_m].into_iter().enumerate().map(|(i, middle)| {
        let ends: Vec<[f64; 2]> =
            points.iter().map(|p| p.each_ref().map(|e| e.map_or(f64::NAN, |e| e[i]))).collect();
        Band::new(middle, &ends)
    });
    let bands: Vec<Band> = bands.collect();
    let how: Vec<String> = bands.iter().map(|b| b.at_home_words(axes)).collect();
    let words: Vec<String> = bands
        .iter()
        .zip(["least", "greatest"])
        .map(|(band, what)| {
            let most = band.most().filter(|_| axes.len() > 1);
            let most = most.map_or(String::new(), |(i, _)| format!(", most by {}", axes[i].name));
            let half = if band.sd.is_finite() {
                format!("±{:.2}{most}", 1e3 * band.half())
            } else {
                "without a band: at a point there is no window".to_string()
            };
            format!("{what} {:.2} mm {half}", 1e3 * band.middle)
        })
        .collect();
    let again = if how[0] == how[1] { "" } else { how[1].as_str() };
    format!("  over {over}: {}\n{}{again}", words.join("; "), how[0])
}
