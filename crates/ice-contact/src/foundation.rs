//! How the ice answers an indentation, integrated over a cell in which the indentation is linear.
//!
//! Integrating the cell exactly, instead of sampling it, keeps force and stiffness continuous
//! while the edge of the contact moves through the cells.

use numerics::dual::Real;

/// The ice under one cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Law {
    /// Line load `c sqrt(d)`: yielding ice under a round section.
    Root,
    /// Line load `c G(d)` of uneven ice ([`Uneven`]).
    Uneven(Uneven),
    /// Line load `c d`: a Winkler foundation that does not pull.
    #[cfg_attr(not(test), allow(dead_code, reason = "kept for checks against closed forms"))]
    Linear,
    /// Line load `c d` that also pulls: the Winkler foundation of the closed forms.
    #[cfg_attr(not(test), allow(dead_code, reason = "kept for checks against closed forms"))]
    TwoSided,
}

/// Gradient and Hessian of the cell's energy, both divided by coefficient and cell length.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Cell {
    /// Force at the two ends.
    pub(crate) g: [f64; 2],
    /// Stiffness: rear-rear, rear-front, front-front.
    pub(crate) h: [f64; 3],
}

impl Law {
    /// Force and stiffness of a cell whose indentation goes from `a` to `b`; `u` and `v` are the
    /// roots of their positive parts (not looked at by the linear law).
    #[inline]
    pub(crate) fn cell(self, a: f64, b: f64, u: f64, v: f64) -> Cell {
        match self {
            Law::Root => root(a, b, u, v),
            Law::Uneven(ice) => ice.cell(a, b),
            Law::Linear => linear(a, b),
            Law::TwoSided => whole(a, b),
        }
    }
}

/// Ice whose height along the path is uneven: every height between the deepest trough and the highest crest is as
/// frequent as any other. What a length of runner carries is the mean over these heights.
///
/// ```text
/// G(d)  = mean of sqrt(max(d - z, 0)),  z from 0 (highest crest) to 2 a
///       = [d^(3/2) - (d - 2 a)^(3/2)] / (3 a)          (a term counts while its bracket is positive)
/// wet   = min(d / (2 a), 1)
/// int_0^d G = 2 [d^(5/2) - (d - 2 a)^(5/2)] / (15 a)
/// ```
///
/// | symbol | name | unit |
/// |---|---|---|
/// | d | depth of the steel below the highest crests | m |
/// | a | `half_m`: half the height from trough to crest, sqrt 3 times its RMS | m |
/// | wet | part of the ice that touches | - |
///
/// *Valid for* waves short against the contact. *Assumes* evenly spread heights (a triangular wave).
/// *Source*: assumed; the mean over heights is that of Greenwood and Williamson, Proc. R. Soc. A 295 (1966).
/// *Checked by* `exact_uneven_ice_is_the_mean_over_its_heights`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Uneven {
    /// Half the height from trough to crest (m).
    pub(crate) half_m: f64,
    /// From crest to crest (m).
    pub(crate) wave_m: f64,
}

impl Uneven {
    /// Ice without waves.
    pub(crate) const FLAT: Uneven = Uneven { half_m: 0.0, wave_m: 1.0 };

    #[inline]
    fn powers<T: Real>(self, depth_m: T) -> (T, T) {
        let zero = T::from(0.0);
        (depth_m.max(zero), (depth_m - 2.0 * self.half_m).max(zero))
    }

    /// G (m^(1/2)).
    #[inline]
    pub(crate) fn mean_root<T: Real>(self, depth_m: T) -> T {
        let (d, e) = self.powers(depth_m);
        if self.half_m == 0.0 {
            return d.sqrt();
        }
        // x sqrt(x), with a derivative at zero
        let cubed = |x: T| {
            let root = x.value().sqrt();
            x.chain(x.value() * root, 1.5 * root)
        };
        (cubed(d) - cubed(e)) / (3.0 * self.half_m)
    }

    /// dG/dd (m^(-1/2)).
    #[inline]
    fn slope(self, depth_m: f64) -> f64 {
        let (d, e) = self.powers(depth_m);
        if d == 0.0 {
            0.0
        } else if self.half_m == 0.0 {
            0.5 / d.sqrt()
        } else {
            (d.sqrt() - e.sqrt()) / (2.0 * self.half_m)
        }
    }

    /// Integrals of G over a cell from depth `rear_m` to `front_m` of length one, weighted towards either end; and
    /// their derivatives by rear and front depth.
    #[inline]
    pub(crate) fn ends(self, rear_m: f64, front_m: f64) -> ([f64; 2], [[f64; 2]; 2]) {
        let (mut ends, mut slopes) = ([0.0; 2], [[0.0; 2]; 2]);
        for t in [0.5 - GAUSS, 0.5 + GAUSS] {
            let depth_m = rear_m * (1.0 - t) + front_m * t;
            let (g, slope) = (0.5 * self.mean_root(depth_m), 0.5 * self.slope(depth_m));
            let to = [1.0 - t, t];
            for i in 0..2 {
                ends[i] += to[i] * g;
                for j in 0..2 {
                    slopes[i][j] += to[i] * to[j] * slope;
                }
            }
        }
        (ends, slopes)
    }

    /// Integral of G from nothing to a depth (m^(3/2)).
    pub(crate) fn integral(self, depth_m: f64) -> f64 {
        let (d, e) = self.powers(depth_m);
        if self.half_m == 0.0 {
            return 2.0 / 3.0 * d * d.sqrt();
        }
        2.0 * (d * d * d.sqrt() - e * e * e.sqrt()) / (15.0 * self.half_m)
    }

    /// Part of the ice that touches `[-]`.
    #[inline]
    pub(crate) fn wet<T: Real>(self, depth_m: T) -> T {
        if self.half_m == 0.0 {
            return T::from(1.0);
        }
        (depth_m / (2.0 * self.half_m)).max(T::from(1e-6)).min(T::from(1.0))
    }

    /// Part of the film that is left behind in the troughs on a metre (1/m).
    ///
    /// ```text
    /// (1 - wet) / (wet wave)
    /// ```
    #[inline]
    pub(crate) fn loss_per_m<T: Real>(self, wet: T) -> T {
        (T::from(1.0) - wet) / (wet * self.wave_m)
    }

    /// A cell by Gauss's rule with two points.
    #[inline]
    fn cell(self, a: f64, b: f64) -> Cell {
        let mut cell = Cell::default();
        for t in [0.5 - GAUSS, 0.5 + GAUSS] {
            let (d, e) = self.powers(a + (b - a) * t);
            let (u, v) = (d.sqrt(), e.sqrt());
            let g = 0.5 * (d * u - e * v) / (3.0 * self.half_m);
            let h = 0.25 * (u - v) / self.half_m;
            cell.g[0] += (1.0 - t) * g;
            cell.g[1] += t * g;
            cell.h[0] += (1.0 - t) * (1.0 - t) * h;
            cell.h[1] += (1.0 - t) * t * h;
            cell.h[2] += t * t * h;
        }
        cell
    }
}

/// Half the distance of the points of Gauss's rule, 1/(2 sqrt 3).
const GAUSS: f64 = 0.288_675_134_594_812_9;

/// ```text
/// g_a = int_0^1 (1-s) sqrt(max(d,0)) ds,  g_b = int_0^1 s sqrt(max(d,0)) ds,  d = a + (b-a) s
/// ```
#[inline]
fn root(a: f64, b: f64, u: f64, v: f64) -> Cell {
    if a > 0.0 && b > 0.0 {
        let sum = u + v;
        let k = 1.0 / (15.0 * sum * sum);
        let (u2, uv, v2) = (u * u, u * v, v * v);
        let kh = k / sum;
        Cell {
            g: [
                2.0 * k * (3.0 * u * u2 + 6.0 * u2 * v + 4.0 * u * v2 + 2.0 * v * v2),
                2.0 * k * (3.0 * v * v2 + 6.0 * v2 * u + 4.0 * v * u2 + 2.0 * u * u2),
            ],
            h: [
                kh * (3.0 * u2 + 9.0 * uv + 8.0 * v2),
                2.0 * kh * (u2 + 3.0 * uv + v2),
                kh * (3.0 * v2 + 9.0 * uv + 8.0 * u2),
            ],
        }
    } else if a > 0.0 {
        let (g, h) = root_edge(a, b, u);
        Cell { g, h }
    } else if b > 0.0 {
        let (g, h) = root_edge(b, a, v);
        Cell { g: [g[1], g[0]], h: [h[2], h[1], h[0]] }
    } else {
        Cell::default()
    }
}

/// Many cells: [`Cell`] by quantity.
#[derive(Clone, Debug)]
pub(crate) struct Cells<const N: usize> {
    /// Force at the rear and at the front ends.
    pub(crate) g: [[f64; N]; 2],
    /// Stiffness: rear-rear, rear-front, front-front.
    pub(crate) h: [[f64; N]; 3],
}

impl<const N: usize> Cells<N> {
    pub(crate) const NONE: Self = Cells { g: [[0.0; N]; 2], h: [[0.0; N]; 3] };
}

/// [`Law::Root`] for cells in full touch, from the roots of the indentations at their `P = N + 1` ends.
#[inline]
pub(crate) fn all_wet<const N: usize, const P: usize>(root: &[f64; P], cells: &mut Cells<N>) {
    let ([g0, g1], [h0, h1, h2]) = (&mut cells.g, &mut cells.h);
    for i in 0..N {
        let (u, v) = (root[i], root[i + 1]);
        let inverse = 1.0 / (u + v);
        let k = (1.0 / 15.0) * inverse * inverse;
        let (k2, kh) = (2.0 * k, k * inverse);
        let (u2, uv, v2) = (u * u, u * v, v * v);
        g0[i] = k2 * (u2 * (3.0 * u + 6.0 * v) + v2 * (4.0 * u + 2.0 * v));
        g1[i] = k2 * (v2 * (3.0 * v + 6.0 * u) + u2 * (4.0 * v + 2.0 * u));
        h0[i] = kh * (3.0 * u2 + 9.0 * uv + 8.0 * v2);
        h1[i] = kh * 2.0 * (u2 + 3.0 * uv + v2);
        h2[i] = kh * (3.0 * v2 + 9.0 * uv + 8.0 * u2);
    }
}

/// A cell that is only partly in contact: near end `wet` > 0, far end `dry` <= 0.
#[inline]
fn root_edge(wet: f64, dry: f64, root: f64) -> ([f64; 2], [f64; 3]) {
    let f = wet / (wet - dry);
    let e = 1.0 - f;
    let k = f / (2.0 * root);
    let h = [
        k * (2.0 * e * e + (4.0 / 3.0) * e * f + 0.4 * f * f),
        k * f * ((4.0 / 3.0) * e + (4.0 / 15.0) * f),
        k * f * f * (16.0 / 15.0),
    ];
    let g = [f * root * (2.0 / 3.0 - f * (4.0 / 15.0)), f * root * f * (4.0 / 15.0)];
    (g, h)
}

/// A cell of linear foundation in full touch.
#[inline]
fn whole(a: f64, b: f64) -> Cell {
    Cell { g: [a / 3.0 + b / 6.0, a / 6.0 + b / 3.0], h: [1.0 / 3.0, 1.0 / 6.0, 1.0 / 3.0] }
}

#[inline]
fn linear(a: f64, b: f64) -> Cell {
    if a > 0.0 && b > 0.0 {
        whole(a, b)
    } else if a > 0.0 || b > 0.0 {
        let (wet, dry) = if a > 0.0 { (a, b) } else { (b, a) };
        let f = wet / (wet - dry);
        let e = 1.0 - f;
        let g = [f * wet * (0.5 * e + f / 3.0), f * f * wet / 6.0];
        let h = [f * (e * e + e * f + f * f / 3.0), f * f * (0.5 * e + f / 6.0), f * f * f / 3.0];
        if a > 0.0 { Cell { g, h } } else { Cell { g: [g[1], g[0]], h: [h[2], h[1], h[0]] } }
    } else {
        Cell::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(law: Law, a: f64, b: f64) -> Cell {
        law.cell(a, b, a.max(0.0).sqrt(), b.max(0.0).sqrt())
    }

    #[test]
    fn exact_uneven_ice_is_the_mean_over_its_heights() {
        let ice = Uneven { half_m: 8e-6, wave_m: 0.05 };
        for depth_m in [1e-6, 5e-6, 15.9e-6, 16.1e-6, 30e-6, 200e-6] {
            let n = 100_000;
            let heights = (0..n).map(|i| (i as f64 + 0.5) / n as f64 * 16e-6);
            let mean: f64 = heights.map(|z| (depth_m - z).max(0.0).sqrt()).sum::<f64>() / n as f64;
            // midpoint rule with a root at the end of the touch: n^-1.5
            approx::assert_relative_eq!(ice.mean_root(depth_m), mean, max_relative = 1e-5);
            let step = 1e-3 * depth_m;
            let rise = (ice.integral(depth_m + step) - ice.integral(depth_m - step)) / (2.0 * step);
            // central difference, and the bend where the last trough is reached
            approx::assert_relative_eq!(rise, ice.mean_root(depth_m), max_relative = 1e-4);
        }
        // hardly any waves: flat ice
        let flat = Uneven { half_m: 1e-9, wave_m: 0.05 };
        approx::assert_relative_eq!(flat.mean_root(1e-5), 1e-5_f64.sqrt(), max_relative = 2e-4);
    }

    const CASES: [(f64, f64); 6] =
        [(2e-5, 3e-5), (3e-5, 2e-5), (1e-5, -2e-5), (-1e-5, 4e-5), (-1e-5, -1e-5), (5e-5, 5e-5)];

    #[test]
    fn exact_cell_force_is_the_integral_over_the_cell() {
        for law in [Law::Root, Law::Linear] {
            for (a, b) in CASES {
                let n = 200_000;
                let mut sum = [0.0; 2];
                for i in 0..n {
                    let s = (i as f64 + 0.5) / n as f64;
                    let d: f64 = (a + (b - a) * s).max(0.0);
                    let q = if law == Law::Root { d.sqrt() } else { d };
                    sum[0] += q * (1.0 - s) / n as f64;
                    sum[1] += q * s / n as f64;
                }
                for (k, sum) in sum.iter().enumerate() {
                    // midpoint rule with a root at the edge of the contact: n^-1.5
                    approx::assert_abs_diff_eq!(cell(law, a, b).g[k], *sum, epsilon = 1e-9);
                }
            }
        }
    }

    #[test]
    fn exact_cell_stiffness_is_the_derivative_of_the_force() {
        let e = 1e-10;
        for law in [Law::Root, Law::Linear, Law::Uneven(Uneven { half_m: 8e-6, wave_m: 0.05 })] {
            for (a, b) in CASES {
                let here = cell(law, a, b);
                for k in 0..2 {
                    let da = (cell(law, a + e, b).g[k] - cell(law, a - e, b).g[k]) / (2.0 * e);
                    let db = (cell(law, a, b + e).g[k] - cell(law, a, b - e).g[k]) / (2.0 * e);
                    // central difference: truncation (e/d)^2 and rounding, relative to about 30
                    approx::assert_abs_diff_eq!(here.h[k], da, epsilon = 1e-4);
                    approx::assert_abs_diff_eq!(here.h[k + 1], db, epsilon = 1e-4);
                }
            }
        }
    }
}
