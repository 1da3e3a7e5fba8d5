//! From what is wanted of the bow to a bow for each runner.

use super::contact::guided_places;
use crate::files::in_metres;
use crate::number::within;
use crate::words::every_fault;
use ice_contact::runner::Bow;
use sled_bench::passing::{Stretch, passing};
use sled_dynamics::analysis::bow_contact::MOST_BOW_M;
use sled_dynamics::analysis::bow_measures::{BowMeasure, bow_measures};
use sled_dynamics::analysis::places::Place;
use sled_dynamics::setup::Setup;
use track_geometry::track::Track;

/// Steps in which the bows up to [`MOST_BOW_M`] are looked at: 0.2 mm each.
pub const LOOKS: usize = 40;

/// What is wanted; one of these.
#[derive(clap::Args)]
#[group(required = true, multiple = true)]
pub struct Wanted {
    /// The same bow at all four screws (mm)
    #[arg(long, value_name = "MM", allow_hyphen_values = true, value_parser = bow_mm("mm"), conflicts_with_all = ["left", "right", "static_margin", "clear"])]
    bow: Option<f64>,
    /// Bow of the left runner: one number, or front,rear (mm)
    #[arg(long, value_name = "MM[,MM]", allow_hyphen_values = true, value_parser = two_screws, conflicts_with_all = ["static_margin", "clear"])]
    left: Option<Screws>,
    /// Bow of the right runner: one number, or front,rear (mm)
    #[arg(long, value_name = "MM[,MM]", allow_hyphen_values = true, value_parser = two_screws, conflicts_with_all = ["static_margin", "clear"])]
    right: Option<Screws>,
    /// The greatest bow that keeps this static margin at 1 g on flat ice (mm)
    #[arg(long, value_name = "MM", allow_hyphen_values = true, value_parser = within(0.0, 300.0, "mm"), conflicts_with = "clear")]
    static_margin: Option<f64>,
    /// The least bow that clears this corner of the track, if any does
    #[arg(long, value_name = "CORNER")]
    clear: Option<String>,
}

/// Bow of one runner, and what might have been meant as a decimal comma.
#[derive(Clone, Debug)]
struct Screws {
    bow: Bow,
    /// The text with a point, where it has a comma between two whole numbers.
    one_number: Option<String>,
}

/// Reads a bow, and refuses one that looks like metres.
fn bow_mm(unit: &'static str) -> impl Fn(&str) -> Result<f64, String> + Clone + Send + Sync + 'static {
    let read = within(0.0, 1e3 * MOST_BOW_M, unit);
    move |text| {
        let bow_mm = read(text)?;
        in_metres(bow_mm).map_or(Ok(bow_mm), Err)
    }
}

fn two_screws(text: &str) -> Result<Screws, String> {
    let one = bow_mm("mm, one number or front,rear");
    let number = |t: &str| one(t);
    let whole = |t: &str| !t.is_empty() && t.chars().all(|c| c.is_ascii_digit());
    let Some((front, rear)) = text.split_once(',') else {
        return Ok(Screws { bow: Bow::even(1e-3 * number(text)?), one_number: None });
    };
    let one_number = (whole(front) && whole(rear)).then(|| format!("{front}.{rear}"));
    // 1,25 is no bow of 25 mm at the rear screw
    let meant = |why: String| match &one_number {
        Some(point) => format!("{why}; one number of millimetres is written {point}"),
        None => why,
    };
    let bow =
        Bow { front_m: 1e-3 * number(front).map_err(&meant)?, rear_m: 1e-3 * number(rear).map_err(&meant)? };
    Ok(Screws { bow, one_number })
}

/// Bows wanted, left and right, and how they were found; or in words that no bow does it.
pub enum Found {
    /// Left and right.
    Bows([Bow; 2], String),
    /// There is none.
    None(String),
}

impl Wanted {
    /// The bows for a sled that has `old` ones.
    pub fn bows(&self, track: &Track, setup: &Setup, old: [Bow; 2]) -> Result<Found, String> {
        if let Some(margin_mm) = self.static_margin {
            let places = guided_places(track, setup)?;
            return margin(setup, &places[0], margin_mm);
        }
        if let Some(corner) = &self.clear {
            return clear(setup, &guided_places(track, setup)?, corner);
        }
        let bows = match self.bow {
            Some(mm) => [Bow::even(1e-3 * mm); 2],
            None => {
                let asked = |screws: &Option<Screws>, old: Bow| screws.as_ref().map_or(old, |s| s.bow);
                [asked(&self.left, old[0]), asked(&self.right, old[1])]
            }
        };
        let how = match (self.bow, &self.left, &self.right) {
            (None, Some(_), None) => {
                "target: the left runner's bow as asked for; the right runner is left as it is"
            }
            (None, None, Some(_)) => {
                "target: the right runner's bow as asked for; the left runner is left as it is"
            }
            _ => "target: as asked for",
        };
        Ok(Found::Bows(bows, how.to_string()))
    }
}

impl Wanted {
    /// Runners of which nothing is asked: their bow stays.
    pub fn stays(&self) -> [bool; 2] {
        [self.left.is_none() && self.right.is_some(), self.right.is_none() && self.left.is_some()]
    }

    /// What a comma between two whole numbers was taken for, where it may have been meant otherwise.
    pub fn commas(&self) -> String {
        let sides = [("left", &self.left), ("right", &self.right)];
        let told = sides.into_iter().filter_map(|(side, screws)| {
            let Screws { bow, one_number: Some(point) } = screws.as_ref()? else { return None };
            let (front_mm, rear_mm) = (1e3 * bow.front_m, 1e3 * bow.rear_m);
            Some(format!(
                "\n--{side}: read as {front_mm} mm at the front and {rear_mm} mm at the rear screw; {point} mm at both is \
                 --{side} {point}"
            ))
        });
        told.collect()
    }
}

/// One bow at one place; none where it cannot be computed.
pub fn measured(setup: &Setup, bow_m: f64, place: &Place) -> Option<BowMeasure> {
    bow_measures(setup, Bow::even(bow_m), std::slice::from_ref(place)).ok()?.first().copied().flatten()
}

/// Stretches of bow in words.
pub fn stretches(found: &[Stretch]) -> String {
    let one = |s: &Stretch| format!("{:.2} to {:.2} mm", 1e3 * s.from_m, 1e3 * s.to_m);
    if found.is_empty() { "none".into() } else { found.iter().map(one).collect::<Vec<_>>().join(" and ") }
}

fn margin(setup: &Setup, flat: &Place, margin_mm: f64) -> Result<Found, String> {
    bow_measures(setup, Bow::even(0.0), &[]).map_err(every_fault)?;
    let measure = |bow_m: f64| measured(setup, bow_m, flat).map(|m| m.static_margin_m);
    let found = passing(measure, 1e-3 * margin_mm, 0.0, MOST_BOW_M, LOOKS);
    let Some(last) = found.last() else {
        return Ok(Found::None(format!(
            "no even bow up to {:.0} mm has a static margin of {margin_mm} mm at 1 g on flat ice",
            1e3 * MOST_BOW_M
        )));
    };
    let words = format!(
        "static margin of {margin_mm} mm or more at 1 g on flat ice, contact solved without tables: even bows {}; target: the \
         greatest, which turns easiest",
        stretches(&found)
    );
    Ok(Found::Bows([Bow::even(last.to_m); 2], words))
}

fn clear(setup: &Setup, places: &[Place], corner: &str) -> Result<Found, String> {
    let names = || places.iter().skip(1).filter_map(|p| p.name.strip_prefix("corner ")).collect::<Vec<_>>();
    let wanted = format!("corner {corner}");
    let Some(place) = places.iter().find(|p| p.name == wanted) else {
        return Err(format!("--clear {corner}: no such corner; allowed: {}", names().join(", ")));
    };
    bow_measures(setup, Bow::even(0.0), &[]).map_err(every_fault)?;
    let inside = |bow_m: f64| measured(setup, bow_m, place).map(|m| 1.0 - m.outside_share);
    let at = format!("{wanted} ({:.1} g, ice radius {:.0} m)", place.g_load, 1.0 / place.ice_curvature_per_m);
    let found = passing(inside, 0.5, 0.0, MOST_BOW_M, LOOKS);
    let Some(first) = found.first() else {
        let most = inside(MOST_BOW_M).map_or("not known".to_string(), |share| format!("{:.2}", 1.0 - share));
        return Ok(Found::None(format!(
            "no even bow up to {:.0} mm clears {at}: at {:.0} mm the share of the load outside the screws is {most}, wanted \
             0.50 or less",
            1e3 * MOST_BOW_M,
            1e3 * MOST_BOW_M
        )));
    };
    let words = format!(
        "{at} lies clear, half of the load or more between the screws, with even bows {}; target: the least of them",
        stretches(&found)
    );
    Ok(Found::Bows([Bow::even(first.from_m); 2], words))
}
