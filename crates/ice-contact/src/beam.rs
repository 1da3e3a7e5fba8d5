//! An Euler-Bernoulli beam on nodes: cubic between them, exact at them for point loads.

use crate::banded::Banded;
#[cfg(test)]
use crate::rod::Rod;

/// Beam element stiffness for `[w0, w0', w1, w1']` (N/m, N, N m).
pub(crate) fn element_stiffness(bending_stiffness_n_m2: f64, length_m: f64) -> [[f64; 4]; 4] {
    let h = length_m;
    let k = bending_stiffness_n_m2 / (h * h * h);
    [
        [12.0 * k, 6.0 * h * k, -12.0 * k, 6.0 * h * k],
        [6.0 * h * k, 4.0 * h * h * k, -6.0 * h * k, 2.0 * h * h * k],
        [-12.0 * k, -6.0 * h * k, 12.0 * k, -6.0 * h * k],
        [6.0 * h * k, 2.0 * h * h * k, -6.0 * h * k, 4.0 * h * h * k],
    ]
}

/// Cubic Hermite functions for `[w0, h w0', w1, h w1']` at `t` in 0..1.
pub(crate) fn hermite(t: f64) -> [f64; 4] {
    let (t2, t3) = (t * t, t * t * t);
    [1.0 - 3.0 * t2 + 2.0 * t3, t - 2.0 * t2 + t3, 3.0 * t2 - 2.0 * t3, t3 - t2]
}

/// Derivatives by `t` of [`hermite`].
pub(crate) fn hermite_slope(t: f64) -> [f64; 4] {
    let t2 = t * t;
    [6.0 * (t2 - t), 1.0 - 4.0 * t + 3.0 * t2, 6.0 * (t - t2), 3.0 * t2 - 2.0 * t]
}

/// Stiffness matrix of a beam over increasing `nodes_m`.
pub(crate) fn beam_matrix(bending_stiffness_n_m2: f64, nodes_m: &[f64]) -> Banded {
    let mut k = Banded::zeros(2 * nodes_m.len());
    for (e, pair) in nodes_m.windows(2).enumerate() {
        k.add_block(2 * e, &element_stiffness(bending_stiffness_n_m2, pair[1] - pair[0]));
    }
    k
}

/// A bent line: values and slopes at nodes, cubic between them.
#[derive(Clone, Debug, PartialEq)]
pub struct BentLine {
    nodes_m: Vec<f64>,
    dofs: Vec<f64>,
}

impl BentLine {
    /// From nodes and `[w, w']` per node.
    pub(crate) fn new(nodes_m: Vec<f64>, dofs: Vec<f64>) -> Self {
        BentLine { nodes_m, dofs }
    }

    /// The nodes (m), increasing.
    pub fn nodes_m(&self) -> &[f64] {
        &self.nodes_m
    }

    pub(crate) fn dofs(&self) -> &[f64] {
        &self.dofs
    }

    fn element(&self, x_m: f64) -> (usize, f64, f64) {
        let n = self.nodes_m.len();
        let e = self.nodes_m.partition_point(|&x| x <= x_m).clamp(1, n - 1) - 1;
        let h = self.nodes_m[e + 1] - self.nodes_m[e];
        (e, (x_m - self.nodes_m[e]) / h, h)
    }

    /// Deflection at `x_m` (m); beyond the ends the end cubic goes on.
    pub fn deflection_m(&self, x_m: f64) -> f64 {
        let (e, t, h) = self.element(x_m);
        let d = &self.dofs[2 * e..2 * e + 4];
        let n = hermite(t);
        n[0] * d[0] + n[1] * h * d[1] + n[2] * d[2] + n[3] * h * d[3]
    }

    /// Slope of the deflection at `x_m` `[-]`.
    pub fn slope(&self, x_m: f64) -> f64 {
        let (e, t, h) = self.element(x_m);
        let d = &self.dofs[2 * e..2 * e + 4];
        let n = hermite_slope(t);
        (n[0] * d[0] + n[2] * d[2]) / h + n[1] * d[1] + n[3] * d[3]
    }

    /// Second derivative of the deflection at `x_m` (1/m).
    pub fn curvature_per_m(&self, x_m: f64) -> f64 {
        let (e, t, h) = self.element(x_m);
        let d = &self.dofs[2 * e..2 * e + 4];
        let n = [12.0 * t - 6.0, -4.0 + 6.0 * t, 6.0 - 12.0 * t, 6.0 * t - 2.0];
        (n[0] * d[0] + n[2] * d[2]) / (h * h) + (n[1] * d[1] + n[3] * d[3]) / h
    }
}

/// A rod that lies on rigid supports and carries point loads: what the tests hold the beam against.
///
/// ```text
/// E I w'''' = sum P_j delta(x - x_j),   w = 0 at the supports
/// ```
///
/// Valid for: small slopes; no shear (length over diameter above about 20).
/// Source: Euler-Bernoulli beam theory. Checked by: `exact_three_point_bending`,
/// `exact_off_centre_load`, `exact_four_point_bending`, `exact_centre_screw_lift`.
#[cfg(test)]
pub(crate) struct SupportedRod {
    /// The rod.
    pub(crate) rod: Rod,
    /// Where the rigid supports stand (m), at least two.
    pub(crate) supports_m: Vec<f64>,
    /// Point loads: place (m) and force (N), in the direction of the deflection.
    pub(crate) loads_m_n: Vec<(f64, f64)>,
}

#[cfg(test)]
impl SupportedRod {
    /// Deflection line, or `None` where the rod is not held by two supports or a number is bad.
    pub(crate) fn deflect(&self) -> Option<BentLine> {
        let mut nodes: Vec<f64> =
            self.supports_m.iter().copied().chain(self.loads_m_n.iter().map(|l| l.0)).collect();
        if nodes.iter().any(|x| !x.is_finite()) {
            return None;
        }
        nodes.sort_by(f64::total_cmp);
        nodes.dedup();
        if nodes.len() < 2 {
            return None;
        }
        let mut k = beam_matrix(self.rod.bending_stiffness_n_m2(), &nodes);
        let at = |x: f64| nodes.partition_point(|&node| node < x);
        let mut b = vec![[0.0]; 2 * nodes.len()];
        for &(x, force) in &self.loads_m_n {
            b[2 * at(x)][0] += force;
        }
        for &x in &self.supports_m {
            k.pin(2 * at(x));
            b[2 * at(x)] = [0.0];
        }
        if !k.factor() {
            return None;
        }
        k.solve(&mut b);
        let dofs = b.iter().map(|v| v[0]).collect();
        Some(BentLine::new(nodes, dofs))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROD: Rod = Rod { diameter_m: 0.016, youngs_modulus_pa: 200e9 };

    fn deflect(supports: &[f64], loads: &[(f64, f64)]) -> BentLine {
        SupportedRod { rod: ROD, supports_m: supports.to_vec(), loads_m_n: loads.to_vec() }
            .deflect()
            .expect("held")
    }

    // The values below are handbook closed forms evaluated apart from this program; tolerances
    // are their printed digits.

    #[test]
    fn exact_three_point_bending() {
        let line = deflect(&[0.0, 0.9], &[(0.45, 100.0)]);
        approx::assert_abs_diff_eq!(line.deflection_m(0.45), 2.360513377e-3, epsilon = 1e-12);
        approx::assert_abs_diff_eq!(line.slope(0.0), 7.868377924e-3, epsilon = 1e-12);
        let moment = ROD.bending_stiffness_n_m2() * line.curvature_per_m(0.45);
        approx::assert_abs_diff_eq!(ROD.bending_stress_pa(moment), 55.952910e6, epsilon = 1.0);
    }

    #[test]
    fn exact_off_centre_load() {
        let line = deflect(&[0.0, 0.9], &[(0.30, 100.0)]);
        approx::assert_abs_diff_eq!(line.deflection_m(0.30), 1.865096989e-3, epsilon = 1e-12);
        let greatest = 0.410102051;
        approx::assert_abs_diff_eq!(line.deflection_m(greatest), 2.030460420e-3, epsilon = 1e-12);
        // the place is printed to 1e-9 m; the slope there changes by 1.6e-2 per metre
        approx::assert_abs_diff_eq!(line.slope(greatest), 0.0, epsilon = 1e-10);
    }

    #[test]
    fn exact_four_point_bending() {
        let line = deflect(&[0.0, 0.9], &[(0.3, 50.0), (0.6, 50.0)]);
        approx::assert_abs_diff_eq!(line.deflection_m(0.45), 2.010807692e-3, epsilon = 1e-12);
    }

    #[test]
    fn exact_centre_screw_lift() {
        let force = 84.727332;
        let line = deflect(&[0.0, 0.9], &[(0.45, force)]);
        // the force is printed to 1e-6 N of 85 N: 2.4e-11 m
        approx::assert_abs_diff_eq!(line.deflection_m(0.45), 2.0e-3, epsilon = 3e-11);
        for (x, w) in [(0.1, 0.655692730e-3), (0.2, 1.245541838e-3), (0.3, 1.703703704e-3)] {
            approx::assert_abs_diff_eq!(line.deflection_m(x), w, epsilon = 3e-11);
        }
        approx::assert_relative_eq!(-line.curvature_per_m(0.45), 0.029629630, max_relative = 5e-8);
        // triangular: half the curvature half way
        approx::assert_relative_eq!(-line.curvature_per_m(0.225), 0.014814815, max_relative = 5e-8);
    }
}
