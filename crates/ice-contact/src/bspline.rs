//! Uniform quadratic B-splines in a tensor product: value and first derivatives, both continuous.

use nalgebra::DMatrix;

/// Nodes of one axis, uniform in its own measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Axis {
    pub(crate) first: f64,
    pub(crate) last: f64,
    pub(crate) nodes: usize,
}

/// Three weights, their derivatives, and the first padded coefficient.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Weights {
    pub(crate) at: usize,
    pub(crate) value: [f64; 3],
    pub(crate) slope: [f64; 3],
}

impl Axis {
    pub(crate) fn node(&self, i: usize) -> f64 {
        self.first + (self.last - self.first) * i as f64 / (self.nodes - 1) as f64
    }

    /// Weights at `x`; held at the ends of the axis, with no slope there.
    #[inline]
    pub(crate) fn weights(&self, x: f64) -> Weights {
        let per = (self.nodes - 1) as f64 / (self.last - self.first);
        let inside = x >= self.first && x <= self.last;
        let t = (x.max(self.first).min(self.last) - self.first) * per;
        let near = (t + 0.5).floor();
        let d = t - near;
        let per = if inside { per } else { 0.0 };
        let (l, r) = (0.5 - d, 0.5 + d);
        Weights {
            at: near as usize,
            value: [0.5 * l * l, 0.75 - d * d, 0.5 * r * r],
            slope: [-per * l, -2.0 * per * d, per * r],
        }
    }

    /// Matrix from node values to padded coefficients; the third difference vanishes at the ends,
    /// so that a parabola is reproduced.
    pub(crate) fn fit(&self) -> Option<DMatrix<f64>> {
        let n = self.nodes;
        let mut pad = DMatrix::zeros(n + 2, n);
        for i in 0..n {
            pad[(i + 1, i)] = 1.0;
        }
        for (k, w) in [3.0, -3.0, 1.0].into_iter().enumerate() {
            pad[(0, k)] = w;
            pad[(n + 1, n - 1 - k)] = w;
        }
        let mut sample = DMatrix::zeros(n, n + 2);
        for i in 0..n {
            sample[(i, i)] = 0.125;
            sample[(i, i + 1)] = 0.75;
            sample[(i, i + 2)] = 0.125;
        }
        let inverse = (sample * &pad).try_inverse()?;
        Some(pad * inverse)
    }
}

/// Apply `fit` along one axis of a block laid out `[outer][nodes][inner]`.
pub(crate) fn along_axis(block: &[f64], inner: usize, fit: &DMatrix<f64>) -> Vec<f64> {
    let (padded, nodes) = fit.shape();
    let outer = block.len() / (nodes * inner);
    let mut out = vec![0.0; outer * padded * inner];
    for o in 0..outer {
        for p in 0..padded {
            let to = &mut out[(o * padded + p) * inner..][..inner];
            for n in 0..nodes {
                let w = fit[(p, n)];
                let from = &block[(o * nodes + n) * inner..][..inner];
                for (t, f) in to.iter_mut().zip(from) {
                    *t += w * f;
                }
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_parabola_is_reproduced() {
        let axis = Axis { first: -1.0, last: 3.0, nodes: 7 };
        let law = |x: f64| 2.0 - 3.0 * x + 0.7 * x * x;
        let values: Vec<f64> = (0..7).map(|i| law(axis.node(i))).collect();
        let c = along_axis(&values, 1, &axis.fit().expect("regular"));
        for x in [-1.0, -0.9, 0.123, 1.5, 2.99, 3.0] {
            let w = axis.weights(x);
            let value: f64 = (0..3).map(|k| w.value[k] * c[w.at + k]).sum();
            let slope: f64 = (0..3).map(|k| w.slope[k] * c[w.at + k]).sum();
            // rounding
            approx::assert_abs_diff_eq!(value, law(x), epsilon = 1e-12);
            approx::assert_abs_diff_eq!(slope, -3.0 + 1.4 * x, epsilon = 1e-11);
        }
    }
}
