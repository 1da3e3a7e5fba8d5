//! C1 interpolation of many quantities at once on a three-dimensional grid, with partial derivatives.
//!
//! Tensor product of quadratic B-splines centred on the nodes:
//!
//! ```text
//!   f(x) = sum c_i B(x - i),   B(-1) = B(1) = 1/8,  B(0) = 3/4
//! ```
//!
//! Twenty-seven coefficients carry a value, against sixty-four of a cubic; the first derivatives are
//! continuous, which multilinear tables lack. Coordinates are held inside the grid.
//! Source: de Boor, *A Practical Guide to Splines* (1978), chapter IX.

/// Quantities on a grid with nodes at the integers of three coordinates.
#[derive(Clone, Debug)]
pub struct GridSpline<const C: usize> {
    nodes: [usize; 3],
    coefficients: Vec<[f32; C]>,
}

/// Place in the grid: lowest of the three coefficients along an axis, their weights and the
/// derivatives of the weights (zero outside the grid).
#[derive(Clone, Copy)]
struct Along {
    first: usize,
    weight: [f32; 3],
    slope: [f32; 3],
}

impl Along {
    #[inline]
    fn new(x: f64, nodes: usize) -> Along {
        let last = (nodes - 1) as f64;
        let held = if x > 0.0 { x.min(last) } else { 0.0 };
        let near = (held + 0.5) as usize;
        let near = near.min(nodes - 1);
        let t = (held - near as f64) as f32;
        let (a, b) = (0.5 - t, 0.5 + t);
        let inside = if x >= 0.0 && x <= last { 1.0 } else { 0.0 };
        Along {
            first: near,
            weight: [0.5 * a * a, 0.75 - t * t, 0.5 * b * b],
            slope: [-a * inside, -2.0 * t * inside, b * inside],
        }
    }
}

/// Coefficients of the quadratic B-spline through `f`, with one more at each end, in place;
/// `f[1..n+1]` holds the values and the spline is a straight line beyond the ends.
fn prefilter<const C: usize>(f: &mut [[f64; C]]) {
    let n = f.len() - 2;
    // c_{-1} = 2 c_0 - c_1 makes c_0 = f_0; the same at the other end
    if n > 2 {
        let mut ratio = vec![0.0; n];
        for i in 1..n - 1 {
            let pivot = 6.0 - ratio[i - 1];
            ratio[i] = 1.0 / pivot;
            for k in 0..C {
                f[i + 1][k] = (8.0 * f[i + 1][k] - f[i][k]) / pivot;
            }
        }
        for i in (1..n - 1).rev() {
            for k in 0..C {
                f[i + 1][k] -= ratio[i] * f[i + 2][k];
            }
        }
    }
    for k in 0..C {
        f[0][k] = 2.0 * f[1][k] - f[2][k];
        f[n + 1][k] = 2.0 * f[n][k] - f[n - 1][k];
    }
}

impl<const C: usize> GridSpline<C> {
    /// The coefficients, one more than nodes at each end of each axis.
    pub fn coefficients(&self) -> &[[f32; C]] {
        &self.coefficients
    }

    /// The spline with these coefficients; `None` where they are not as many as its nodes need.
    pub fn of_coefficients(nodes: [usize; 3], coefficients: Vec<[f32; C]>) -> Option<GridSpline<C>> {
        let needed = nodes.iter().map(|n| n + 2).product::<usize>();
        (coefficients.len() == needed).then_some(GridSpline { nodes, coefficients })
    }

    /// The spline through `value(i, j, k)` at the nodes; at least two nodes along each axis.
    pub fn new(nodes: [usize; 3], mut value: impl FnMut(usize, usize, usize) -> [f64; C]) -> GridSpline<C> {
        let nodes = nodes.map(|n| n.max(2));
        let size = nodes.map(|n| n + 2);
        let at = |i: usize, j: usize, k: usize| (i * size[1] + j) * size[2] + k;
        let mut coefficients = vec![[0.0; C]; size.iter().product()];
        for i in 0..nodes[0] {
            for j in 0..nodes[1] {
                for k in 0..nodes[2] {
                    coefficients[at(i + 1, j + 1, k + 1)] = value(i, j, k);
                }
            }
        }
        for axis in 0..3 {
            let (b, c) = ((axis + 1) % 3, (axis + 2) % 3);
            let mut line = vec![[0.0; C]; size[axis]];
            for p in 0..size[b] {
                for q in 0..size[c] {
                    let index = |r: usize| {
                        let mut place = [0; 3];
                        (place[axis], place[b], place[c]) = (r, p, q);
                        at(place[0], place[1], place[2])
                    };
                    for (r, l) in line.iter_mut().enumerate() {
                        *l = coefficients[index(r)];
                    }
                    prefilter(&mut line);
                    let places: Vec<usize> = (0..size[axis]).map(index).collect();
                    for (place, l) in places.into_iter().zip(&line) {
                        coefficients[place] = *l;
                    }
                }
            }
        }
        let single = |row: &[f64; C]| row.map(|v| v as f32);
        GridSpline { nodes, coefficients: coefficients.iter().map(single).collect() }
    }

    fn at(&self, i: usize, j: usize, k: usize) -> usize {
        (i * (self.nodes[1] + 2) + j) * (self.nodes[2] + 2) + k
    }

    /// The quantities at a place.
    #[inline(never)]
    pub fn value(&self, x: [f64; 3]) -> [f64; C] {
        let [a, b, c] = [0, 1, 2].map(|i| Along::new(x[i], self.nodes[i]));
        let mut out = [0.0; C];
        for i in 0..3 {
            let (mut rows, mut weight) = ([&self.coefficients[0]; 9], [0.0; 9]);
            for j in 0..3 {
                let start = self.at(a.first + i, b.first + j, c.first);
                for k in 0..3 {
                    rows[3 * j + k] = &self.coefficients[start + k];
                    weight[3 * j + k] = a.weight[i] * b.weight[j] * c.weight[k];
                }
            }
            add_nine(&mut out, rows, weight);
        }
        out.map(f64::from)
    }

    /// The quantities at a place and their three partial derivatives.
    #[inline(never)]
    pub fn value_and_partials(&self, x: [f64; 3]) -> ([f64; C], [[f64; C]; 3]) {
        let [a, b, c] = [0, 1, 2].map(|i| Along::new(x[i], self.nodes[i]));
        let mut all = [[0.0; C]; 4];
        for i in 0..3 {
            for j in 0..3 {
                let start = self.at(a.first + i, b.first + j, c.first);
                let rows = [0, 1, 2].map(|k| &self.coefficients[start + k]);
                let weight = [a.weight[i] * b.weight[j], a.slope[i] * b.weight[j], a.weight[i] * b.slope[j]];
                add_three(&mut all, rows, [c.weight, c.slope], weight);
            }
        }
        let [value, i, j, k] = all.map(|quantities| quantities.map(f64::from));
        (value, [i, j, k])
    }
}

// One plain loop over the quantities, in a function of its own: so it is always worked on four at a time. Left to
// what stands around it, some builds went through the quantities one by one.

/// Adds nine weighted rows.
#[inline(never)]
fn add_nine<const C: usize>(out: &mut [f32; C], rows: [&[f32; C]; 9], w: [f32; 9]) {
    let [a, b, c, d, e, f, g, h, i] = rows;
    for n in 0..C {
        let first = out[n] + w[0] * a[n] + w[1] * b[n] + w[2] * c[n];
        let second = first + w[3] * d[n] + w[4] * e[n] + w[5] * f[n];
        out[n] = second + w[6] * g[n] + w[7] * h[n] + w[8] * i[n];
    }
}

/// Adds three rows to values and partial derivatives: along the third axis weighted by `weight` and, for its partial
/// derivative, by `slope`; across it by `across`, for the values and for the partial derivatives of the first and
/// second axis.
#[inline(never)]
fn add_three<const C: usize>(
    all: &mut [[f32; C]; 4],
    [p, q, r]: [&[f32; C]; 3],
    [weight, slope]: [[f32; 3]; 2],
    across: [f32; 3],
) {
    let [value, by_i, by_j, by_k] = all;
    for n in 0..C {
        let sum = weight[0] * p[n] + weight[1] * q[n] + weight[2] * r[n];
        let change = slope[0] * p[n] + slope[1] * q[n] + slope[2] * r[n];
        value[n] += across[0] * sum;
        by_i[n] += across[1] * sum;
        by_j[n] += across[2] * sum;
        by_k[n] += across[0] * change;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn wave(h: f64) -> GridSpline<2> {
        let n = (2.0 / h).round() as usize + 1;
        GridSpline::new([n, n, n], |i, j, k| {
            let (x, y, z) = (h * i as f64, h * j as f64, h * k as f64);
            [(x + 2.0 * y).sin() * (1.0 - z * z), 1.0 + x - 3.0 * y + 0.5 * z]
        })
    }

    #[test]
    fn exact_at_the_nodes_and_for_a_plane() {
        let (h, s) = (0.2, wave(0.2));
        let v = s.value([3.0, 4.0, 5.0]);
        let (x, y, z): (f64, f64, f64) = (3.0 * h, 4.0 * h, 5.0 * h);
        assert_abs_diff_eq!(v[0], (x + 2.0 * y).sin() * (1.0 - z * z), epsilon = 2e-6); // single precision
        let v = s.value([3.3, 4.9, 0.2]);
        assert_abs_diff_eq!(v[1], 1.0 + 3.3 * h - 3.0 * 4.9 * h + 0.5 * 0.2 * h, epsilon = 2e-6);
    }

    #[test]
    fn exact_partials_match_differences() {
        let s = wave(0.2);
        let x = [3.3, 4.8, 5.1];
        let (value, partial) = s.value_and_partials(x);
        assert_abs_diff_eq!(value[..], s.value(x)[..], epsilon = 2e-6); // another order of sums
        for axis in 0..3 {
            let (mut up, mut down) = (x, x);
            up[axis] += 1e-2;
            down[axis] -= 1e-2;
            let difference = (s.value(up)[0] - s.value(down)[0]) / 2e-2;
            // quadratic along each axis: only single precision over the step
            assert_abs_diff_eq!(partial[axis][0], difference, epsilon = 5e-5);
        }
    }

    #[test]
    fn order_three_inside() {
        let error = |h: f64| {
            let s = wave(h);
            let mut worst: f64 = 0.0;
            for a in 0..50 {
                let (x, y, z): (f64, f64, f64) = (0.8 + 0.01 * f64::from(a), 0.9, 1.1);
                let got = s.value([x / h, y / h, z / h])[0];
                worst = worst.max((got - (x + 2.0 * y).sin() * (1.0 - z * z)).abs());
            }
            worst
        };
        let ratio = error(0.1) / error(0.05);
        assert!(ratio > 6.0, "{ratio}"); // theory 8; the ends reach in a little
    }

    #[test]
    fn exact_held_inside_the_grid() {
        let s = wave(0.5);
        assert_eq!(s.value([-3.0, 1.0, 1.0]), s.value([0.0, 1.0, 1.0]));
        let (_, partial) = s.value_and_partials([-3.0, 1.0, 99.0]);
        assert_eq!((partial[0][0], partial[2][0]), (0.0, 0.0));
    }
}
