//! Turning points of a sampled quantity, found by how far they stand out and placed between the samples.

use numerics::roots::brent;

/// A turning point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Extreme {
    /// The sample nearest to it.
    pub(crate) index: usize,
    /// A maximum, not a minimum.
    pub(crate) maximum: bool,
    /// Where it is, in the unit of the abscissae.
    pub(crate) at: f64,
    /// The value there.
    pub(crate) value: f64,
}

/// Indices of inner turning points, maxima and minima in turn, that rise and fall by at least `rise`; the first
/// is a maximum.
pub fn turning_points(values: &[f64], rise: f64) -> Vec<(usize, bool)> {
    let (mut found, mut rising) = (Vec::new(), true);
    let (mut low, mut high) = ((0, f64::INFINITY), (0, f64::NEG_INFINITY));
    for (i, &v) in values.iter().enumerate() {
        if rising {
            if v > high.1 {
                high = (i, v);
            }
            if high.1 - low.1 >= rise && high.1 - v >= rise {
                found.push((high.0, true));
                rising = false;
                low = (i, v);
            } else if v < low.1 {
                (low, high) = ((i, v), (i, v));
            }
        } else {
            if v < low.1 {
                low = (i, v);
            }
            if v - low.1 >= rise {
                found.push((low.0, false));
                rising = true;
                high = (i, v);
            }
        }
    }
    found
}

/// Turning points between the samples: where the polynomial through the nearest seven turns.
pub(crate) fn extremes(abscissae: &[f64], values: &[f64], rise: f64) -> Vec<Extreme> {
    let count = values.len().min(abscissae.len());
    let (abscissae, values) = (&abscissae[..count], &values[..count]);
    let place = |(index, maximum): (usize, bool)| {
        let (at, value) = refined(abscissae, values, index);
        Extreme { index, maximum, at, value }
    };
    turning_points(values, rise).into_iter().map(place).collect()
}

/// Polynomial through the (up to) seven samples nearest to one, by divided differences.
pub(crate) struct Near {
    nodes: [f64; POINTS],
    coefficients: [f64; POINTS],
    count: usize,
}

const POINTS: usize = 7;

impl Near {
    /// Through the samples round `index`; both columns are equally long.
    pub(crate) fn new(abscissae: &[f64], values: &[f64], index: usize) -> Near {
        let count = POINTS.min(values.len()).min(abscissae.len());
        let first = index.saturating_sub(POINTS / 2).min(values.len() - count);
        let mut near = Near { nodes: [0.0; POINTS], coefficients: [0.0; POINTS], count };
        near.nodes[..count].copy_from_slice(&abscissae[first..first + count]);
        near.coefficients[..count].copy_from_slice(&values[first..first + count]);
        for order in 1..count {
            for i in (order..count).rev() {
                near.coefficients[i] = (near.coefficients[i] - near.coefficients[i - 1])
                    / (near.nodes[i] - near.nodes[i - order]);
            }
        }
        near
    }

    /// Value and first derivative.
    pub(crate) fn at(&self, x: f64) -> (f64, f64) {
        let (mut value, mut slope) = (0.0, 0.0);
        for i in (0..self.count).rev() {
            slope = slope * (x - self.nodes[i]) + value;
            value = value * (x - self.nodes[i]) + self.coefficients[i];
        }
        (value, slope)
    }
}

fn refined(abscissae: &[f64], values: &[f64], index: usize) -> (f64, f64) {
    let near = Near::new(abscissae, values, index);
    let (low, high) = (index.saturating_sub(1), (index + 1).min(values.len() - 1));
    match brent(abscissae[low], abscissae[high], 1e-13, |x| near.at(x).1) {
        Some(x) => (x, near.at(x).0),
        None => (abscissae[index], values[index]),
    }
}

/// Where a quantity crosses `level` between the samples, and whether upwards there.
pub fn crossings(abscissae: &[f64], values: &[f64], level: f64) -> Vec<(f64, bool)> {
    let above = |v: f64| v > level;
    let count = values.len().min(abscissae.len());
    let (abscissae, values) = (&abscissae[..count], &values[..count]);
    (1..count)
        .filter(|&i| above(values[i - 1]) != above(values[i]))
        .map(|i| {
            let near = Near::new(abscissae, values, i);
            let (a, b) = (abscissae[i - 1], abscissae[i]);
            let straight = a + (b - a) * (level - values[i - 1]) / (values[i] - values[i - 1]);
            let at = brent(a, b, 1e-12, |x| near.at(x).0 - level).unwrap_or(straight);
            (at, above(values[i]))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_turning_points_of_a_cosine_between_samples() {
        let x: Vec<f64> = (0..=600).map(|i| f64::from(i) * 0.01).collect();
        let y: Vec<f64> = x.iter().map(|x| (6.0 * x + 0.3).cos()).collect();
        let found = extremes(&x, &y, 0.1);
        // maxima where 6 x + 0.3 = 2 pi n; minima between them
        let expected: Vec<f64> =
            (2..=11).map(|n| (f64::from(n) * std::f64::consts::PI - 0.3) / 6.0).collect();
        assert_eq!(found.len(), expected.len());
        for (e, at) in found.iter().zip(expected) {
            // 0.06 rad between samples: the polynomial leaves 0.06^6 of it
            assert!((e.at - at).abs() < 1e-9, "{} {at}", e.at);
            assert!((e.value - if e.maximum { 1.0 } else { -1.0 }).abs() < 1e-10);
        }
    }

    #[test]
    fn exact_crossings_of_a_cosine() {
        let x: Vec<f64> = (0..=300).map(|i| f64::from(i) * 0.01).collect();
        let y: Vec<f64> = x.iter().map(|x| (6.0 * x).cos()).collect();
        let found = crossings(&x, &y, 0.5);
        // cos = 1/2 at pi/3, 5 pi/3, ...
        let third = std::f64::consts::PI / 18.0;
        assert!((found[0].0 - third).abs() < 1e-9 && !found[0].1);
        assert!((found[1].0 - 5.0 * third).abs() < 1e-9 && found[1].1);
        assert!(crossings(&x, &y, 2.0).is_empty());
    }

    #[test]
    fn exact_nothing_in_a_few_samples() {
        assert!(extremes(&[], &[], 0.1).is_empty());
        assert!(extremes(&[0.0, 1.0], &[1.0, 0.0], 0.1).is_empty());
        assert!(crossings(&[0.0], &[1.0], 0.1).is_empty());
    }

    fn maxima(values: &[f64], rise: f64) -> usize {
        turning_points(values, rise).iter().filter(|p| p.1).count()
    }

    #[test]
    fn exact_count_of_maxima() {
        assert_eq!(maxima(&[1.0, 2.0, 1.0, 1.05, 1.0, 3.0, 0.0], 0.1), 2);
        assert_eq!(maxima(&[1.0, 1.05, 1.0, 1.05, 1.0], 0.1), 0);
        assert_eq!(maxima(&[3.0, 2.0, 1.0], 0.1), 0);
        assert_eq!(maxima(&[], 0.1), 0);
        let wave: Vec<f64> = (0..=600).map(|i| (f64::from(i) * 0.01 * 6.0).cos()).collect();
        // cos(6 t) to t = 6: inner maxima at 6 t = 2 pi n, n = 1..5
        assert_eq!(maxima(&wave, 0.1), 5);
    }
}
