//! Points of a design in the unit cube: grid, Latin hypercube, scrambled Sobol sequence.
//!
//! Every point is found from its index alone, so that points can be made in any order, by anyone, without a list
//! of the others.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Most points of the scrambled Sobol sequence.
pub const MOST_SOBOL_POINTS: usize = 1 << 16;
/// Most dimensions of the scrambled Sobol sequence.
pub(crate) const MOST_SOBOL_DIMENSIONS: usize = 256;

/// Number of points of a grid; none if it is more than can be counted.
pub fn grid_size(lengths: &[usize]) -> Option<usize> {
    lengths.iter().try_fold(1_usize, |n, l| n.checked_mul(*l))
}

/// Place of a point of a grid on each axis; the last axis changes fastest. An index past the end begins anew.
pub fn grid_place(index: usize, lengths: &[usize]) -> Vec<usize> {
    let mut left = index;
    let mut place = vec![0; lengths.len()];
    for (at, length) in place.iter_mut().zip(lengths).rev() {
        let length = (*length).max(1);
        *at = left % length;
        left /= length;
    }
    place
}

/// A Latin hypercube: along each axis every one of `points` equal slices holds one point.
///
/// *Source*: McKay, Beckman, Conover, Technometrics 21 (1979) 239. The slices are permuted by a keyed four-round
/// Feistel network (Luby, Rackoff, SIAM J. Comput. 17 (1988) 373), walked until it lands inside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LatinHypercube {
    /// Number of points.
    pub points: usize,
    /// Seed.
    pub seed: u64,
}

impl LatinHypercube {
    /// A point, each coordinate in `[0, 1)`.
    pub fn point(&self, index: usize, dimensions: usize) -> Vec<f64> {
        let mut inside = stream(self.seed, index as u64);
        let count = self.points.max(1) as u64;
        (0..dimensions)
            .map(|d| {
                let slice = permuted(index as u64 % count, count, mixed(self.seed ^ mixed(d as u64 + 1)));
                // the largest sum below `count` may round up to it
                ((slice as f64 + inside.random::<f64>()) / count as f64).min(1.0 - f64::EPSILON)
            })
            .collect()
    }
}

/// The Sobol sequence, Owen-scrambled (single precision).
///
/// *Source*: Burley, J. Computer Graphics Techniques 9(4) (2020) 1; direction numbers of Joe, Kuo, SIAM J. Sci.
/// Comput. 30 (2008) 2635.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ScrambledSobol {
    /// Seed.
    pub seed: u64,
}

impl ScrambledSobol {
    /// A point, each coordinate in `[0, 1)`. Beyond `MOST_SOBOL_POINTS` or `MOST_SOBOL_DIMENSIONS` the
    /// sequence begins anew.
    pub fn point(&self, index: usize, dimensions: usize) -> Vec<f64> {
        let seed = mixed(self.seed) as u32;
        let index = (index % MOST_SOBOL_POINTS) as u32;
        let coordinate = |d: usize| sobol_burley::sample(index, (d % MOST_SOBOL_DIMENSIONS) as u32, seed);
        (0..dimensions).map(|d| f64::from(coordinate(d))).collect()
    }
}

/// Random numbers of one case: the stream with its index.
pub fn stream(seed: u64, index: u64) -> ChaCha8Rng {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(index);
    rng
}

/// SplitMix64's finaliser (Steele, Lea, Flood, OOPSLA 2014): spreads a number over all bits.
fn mixed(x: u64) -> u64 {
    let z = x.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// Where `index` goes in a permutation of `0..count` that `key` chooses.
fn permuted(index: u64, count: u64, key: u64) -> u64 {
    // halves of equal width that together hold every index
    let half = (64 - count.saturating_sub(1).leading_zeros()).div_ceil(2).max(1);
    let mask = (1_u64 << half) - 1;
    let mut at = index;
    loop {
        let (mut left, mut right) = (at >> half, at & mask);
        for round in 0..4 {
            let turned = left ^ (mixed(key ^ mixed(right ^ (round << 56))) & mask);
            (left, right) = (right, turned);
        }
        at = left << half | right;
        if at < count {
            return at;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How many of the points fall into each of `count` slices of an axis.
    fn slices(points: &[Vec<f64>], axis: usize, count: usize) -> Vec<usize> {
        let mut held = vec![0; count];
        for p in points {
            held[(p[axis] * count as f64) as usize] += 1;
        }
        held
    }

    #[test]
    fn exact_grid_counts_like_an_odometer() {
        let places: Vec<_> = (0..7).map(|i| grid_place(i, &[2, 3])).collect();
        let told = [[0, 0], [0, 1], [0, 2], [1, 0], [1, 1], [1, 2], [0, 0]];
        assert_eq!(places, told.map(Vec::from));
        assert_eq!(grid_size(&[2, 3, 4]), Some(24));
        assert_eq!(grid_size(&[usize::MAX, 3]), None);
        assert!(grid_place(5, &[]).is_empty());
    }

    #[test]
    fn exact_each_slice_of_a_latin_hypercube_holds_one_point() {
        for count in [1, 2, 7, 64, 1000] {
            let design = LatinHypercube { points: count, seed: 11 };
            let points: Vec<_> = (0..count).map(|i| design.point(i, 3)).collect();
            for axis in 0..3 {
                assert_eq!(slices(&points, axis, count), vec![1; count], "{count} points, axis {axis}");
            }
        }
    }

    #[test]
    fn exact_axes_of_a_latin_hypercube_are_not_tied() {
        let count = 2000;
        let design = LatinHypercube { points: count, seed: 3 };
        let points: Vec<_> = (0..count).map(|i| design.point(i, 2)).collect();
        let mean = points.iter().map(|p| (p[0] - 0.5) * (p[1] - 0.5)).sum::<f64>() / count as f64;
        // correlation of independent permutations: standard deviation 1/sqrt(2000) = 0.022, four of them
        assert!((12.0 * mean).abs() < 0.09, "correlation {}", 12.0 * mean);
    }

    #[test]
    fn exact_scrambled_sobol_fills_every_slice_equally() {
        for seed in [0, 1, 99] {
            let sobol = ScrambledSobol { seed };
            let points: Vec<_> = (0..1024).map(|i| sobol.point(i, 6)).collect();
            for axis in 0..6 {
                // a (t, m, 1)-net with t = 0: one point in each of 1024 slices
                assert_eq!(slices(&points, axis, 1024), vec![1; 1024], "seed {seed}, axis {axis}");
            }
        }
        assert_ne!(ScrambledSobol { seed: 1 }.point(5, 3), ScrambledSobol { seed: 2 }.point(5, 3));
    }

    #[test]
    fn exact_same_seed_same_points_in_any_order() {
        let design = LatinHypercube { points: 50, seed: 8 };
        assert_eq!(design.point(17, 4), design.point(17, 4));
        assert_eq!(design.point(17, 2)[..], design.point(17, 4)[..2]);
        assert_ne!(design.point(17, 4), LatinHypercube { points: 50, seed: 9 }.point(17, 4));
    }
}
