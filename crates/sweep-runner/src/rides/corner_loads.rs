//! How rides with mistakes load the corners: the greatest load and the number of pressures of each, with their spread.

use crate::rides::ensemble::RideRow;
use crate::rides::mistakes::{Rider, routine_of};
use crate::rides::prepared::Prepared;
use rayon::prelude::*;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::errors_of_ride::Skill;
use std::ops::Range;

/// Spacing of the trace that loads are read from (m), as that of `descend`.
const TRACE_M: f64 = 0.5;
/// Shares of the rides at the ends and the middle of a band `[-]`.
const SHARES: [f64; 3] = [0.1, 0.5, 0.9];

/// A corner of one ride.
#[derive(Clone, Debug, PartialEq)]
pub struct CornerLoad {
    /// Name of the corner.
    pub(crate) corner: String,
    /// Greatest load over weight `[-]`.
    pub(crate) greatest_g_load: f64,
    /// Number of pressures: maxima of the load.
    pub(crate) pressures: usize,
}

/// A corner over many rides: the tenth, the middle and the ninth of ten.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadBand {
    /// Name of the corner.
    pub(crate) corner: String,
    /// Rides that came through it.
    pub rides: usize,
    /// Greatest load over weight `[-]`.
    pub greatest_g_load: [f64; 3],
    /// Number of pressures.
    pub pressures: [usize; 3],
}

/// Rides of these numbers as `ensemble::rides` has them, each with the corners that it came through.
pub fn rides_by_corner(
    prepared: &Prepared<'_>,
    skill: &Skill,
    seed: u64,
    numbers: Range<usize>,
    precision: Precision,
) -> Vec<(RideRow, Vec<CornerLoad>)> {
    let routine = routine_of(prepared, skill);
    let rider = Rider { prepared, skill, routine: routine.as_ref(), seed };
    let one = |ride: usize| {
        let d = rider.ride(ride, precision, Detail::Trace(TRACE_M));
        let load = |c: &sled_dynamics::motion::descent::CornerRide| CornerLoad {
            corner: c.name.clone(),
            greatest_g_load: c.greatest_g_load,
            pressures: c.pressures,
        };
        (RideRow::of(&d), d.corners.iter().map(load).collect())
    };
    numbers.into_par_iter().map(one).collect()
}

/// The value below which a share of sorted values lies, by the nearest rank.
fn at_share<T: Copy>(sorted: &[T], share: f64) -> Option<T> {
    let rank = (share * sorted.len() as f64).ceil().max(1.0) as usize;
    sorted.get(rank - 1).copied()
}

/// The band of a corner over rides; none where no ride came through it.
pub fn load_band(rides: &[Vec<CornerLoad>], corner: &str) -> Option<LoadBand> {
    let here = || rides.iter().filter_map(|r| r.iter().find(|c| c.corner == corner));
    let mut loads: Vec<f64> = here().map(|c| c.greatest_g_load).collect();
    let mut pressures: Vec<usize> = here().map(|c| c.pressures).collect();
    loads.sort_by(f64::total_cmp);
    pressures.sort_unstable();
    let [low, middle, high] = SHARES.map(|s| at_share(&loads, s).zip(at_share(&pressures, s)));
    let (low, middle, high) = (low?, middle?, high?);
    Some(LoadBand {
        corner: corner.into(),
        rides: loads.len(),
        greatest_g_load: [low.0, middle.0, high.0],
        pressures: [low.1, middle.1, high.1],
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_bands_of_a_corner() {
        let ride =
            |g: f64, pressures: usize| vec![CornerLoad { corner: "3".into(), greatest_g_load: g, pressures }];
        // ten rides, out of order; an eleventh was lost before the corner
        let loads = [2.0, 2.9, 2.1, 2.8, 2.2, 2.7, 2.3, 2.6, 2.4, 2.5];
        let mut rides: Vec<_> = loads.iter().enumerate().map(|(i, g)| ride(*g, 1 + i % 3)).collect();
        rides.push(vec![]);
        let band = load_band(&rides, "3").unwrap();
        assert_eq!(band.rides, 10);
        // nearest ranks 1, 5 and 9 of ten
        assert_eq!(band.greatest_g_load, [2.0, 2.4, 2.8]);
        assert_eq!(band.pressures, [1, 2, 3]);
        assert_eq!(load_band(&rides, "4"), None);
    }
}
