//! Which of the numbers that nobody has measured are worth a ride: those that move the guided estimate most, and those
//! that only a ride knows.
//!
//! The guided estimate has one friction for all runners: it is moved in proportion to that of the runners on flat ice at
//! 1 g, which a single contact gives, without tables and without a plan. What it cannot see, grip and mistakes, is always
//! among the chosen where rides can see it.

use super::points::{Axis, Band, axes_of, axis_of};
use super::{Target, UNKNOWNS};
use crate::rides::case::{Case, Model};
use sled_dynamics::analysis::bow_measures::own_measure;
use sled_dynamics::analysis::places::flat_place;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::setup::Setup;
use track_geometry::track::Track;

/// Numbers that are taken by the guided estimate.
pub(crate) const BY_ESTIMATE: usize = 3;
/// Numbers that only rides with mistakes know.
pub const OF_RIDES: [&str; 4] =
    ["ice.grip_factor", "sled.balance_shift_mm", "skill.disturbance_factor", "skill.error_factor"];
/// Numbers that only planned rides without mistakes know.
pub const OF_PLANS: [&str; 2] = ["ice.grip_factor", "sled.balance_shift_mm"];
/// Numbers that the contact of runners and ice knows.
pub const OF_CONTACT: [&str; 7] = [
    "runners.groove_edge_radius_mm",
    "runners.groove_width_mm",
    "runners.tip_radius_mm",
    "ice.hardness_factor",
    "ice.unevenness_um",
    "ice.grip_factor",
    "sled.balance_shift_mm",
];

/// Friction of the runners of a set-up on flat ice at 1 g `[-]`.
pub fn flat_friction(setup: &Setup) -> Option<f64> {
    own_measure(setup, &flat_place()).ok()?.map(|m| m.friction)
}

/// The set-up with the friction of the guided estimate moved in proportion to that of its runners; `base` is the
/// friction on flat ice that the estimate stands for.
pub fn for_the_estimate(setup: &Setup, base: f64) -> Option<Setup> {
    let mut there = setup.clone();
    there.ice.guided_friction *= flat_friction(setup)? / base;
    Some(there)
}

/// The guided time (s), its friction moved in proportion to that of the runners.
pub fn guided_s(track: &Track, setup: &Setup, base: f64) -> Option<f64> {
    let setup = &for_the_estimate(setup, base)?;
    let (precision, detail) = (Precision::default(), Detail::Bare);
    Case { track, setup, model: Model::Guided, precision, detail }.descent().ok()?.finish_time_s
}

/// The axes that are worth a ride: of the set-ups the last less the first, or the time of the only one. Numbers in `known`
/// are left out; `of_rides` are added.
pub fn chosen(track: &Track, setups: &[&Setup], known: &[&str], of_rides: &[&str]) -> Vec<Axis> {
    let (Some(first), Some(last)) = (setups.first(), setups.last()) else { return vec![] };
    let Some(base) = flat_friction(first) else { return axes_of(of_rides) };
    let answer = |on: &dyn Fn(&Setup) -> Option<Setup>| -> f64 {
        let time_s = |setup: &Setup| guided_s(track, &on(setup)?, base);
        let less = if setups.len() > 1 { time_s(first) } else { Some(0.0) };
        time_s(last).zip(less).map_or(f64::NAN, |(b, a)| b - a)
    };
    let middle = answer(&|setup| Some(setup.clone()));
    let seen = |u: &&super::Unknown| {
        let on_sled = matches!(u.target, Target::Key | Target::HardnessFactor | Target::BalanceShift);
        on_sled && !known.contains(&u.name) && !of_rides.contains(&u.name)
    };
    let axes: Vec<Axis> = UNKNOWNS.iter().filter(seen).map(axis_of).collect();
    let ends: Vec<[f64; 2]> =
        axes.iter().map(|a| a.ends.each_ref().map(|set| answer(&|setup| set.on(setup).ok()))).collect();
    let mut ranked: Vec<(f64, Axis)> = Band::new(middle, &ends).by_axis.into_iter().zip(axes).collect();
    // what the estimate cannot compute may move it most
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
    ranked.retain(|(moved, _)| *moved > 0.0);
    ranked.into_iter().take(BY_ESTIMATE).map(|r| r.1).chain(axes_of(of_rides)).collect()
}
