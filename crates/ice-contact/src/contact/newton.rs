//! Newton steps for the energy of rod, mounts and ice with the share frozen.

use super::{ContactSolver, STEPS};
use crate::contact::press::Pressed;
use crate::rig::{CELLS, Rig};

impl ContactSolver {
    /// Lengths of the elements and the weights of their cells, for those that touch the ice.
    fn touching<'a>(
        pressed: &'a mut [Pressed],
        rig: &'a Rig,
        weight: &'a [f64],
    ) -> impl Iterator<Item = (usize, &'a mut Pressed, &'a [f64; CELLS], f64)> {
        let (weights, _) = weight.as_chunks();
        let elements = pressed.iter_mut().zip(weights).zip(rig.nodes_m.windows(2)).enumerate();
        elements.filter(|(_, ((p, _), _))| p.wet).map(|(e, ((p, w), ends))| (e, p, w, ends[1] - ends[0]))
    }

    /// The ice's answer to the indentations in `trial_m`.
    pub(super) fn press(&mut self) {
        for (e, p) in self.pressed.iter_mut().enumerate() {
            if let Some(depth) = self.trial_m[e * CELLS..].first_chunk() {
                p.press(self.rig.law, depth);
            }
        }
        self.weigh();
    }

    /// The same indentations with other weights.
    fn weigh(&mut self) {
        for (_, p, weight, length_m) in Self::touching(&mut self.pressed, &self.rig, &self.weight) {
            p.weigh(weight, &self.rig.shape, length_m);
        }
    }

    /// Forces of the ice at the points, from what was pressed last.
    fn gather_force(&mut self) {
        self.force.fill(0.0);
        self.load_n.fill(0.0);
        for (e, p, weight, _) in Self::touching(&mut self.pressed, &self.rig, &self.weight) {
            for (f, part) in self.force[e * CELLS..].iter_mut().zip(p.force(weight)) {
                *f += part;
            }
            for (load, part) in self.load_n[e * CELLS..].iter_mut().zip(p.loads(weight)) {
                *load = part;
            }
        }
    }

    /// Slope of the ice's energy along the step, at the trial point.
    fn ice_slope(&self) -> f64 {
        let mut sum = 0.0;
        for (e, p) in self.pressed.iter().enumerate().filter(|(_, p)| p.wet) {
            for (g, s) in p.gradient.iter().zip(&self.step[2 * e..]) {
                sum += g * s;
            }
        }
        sum
    }

    /// Indentations `t` of the step further on, and the slope of the ice's energy there.
    fn try_step(&mut self, t: f64) -> f64 {
        for ((trial, d), s) in self.trial_m.iter_mut().zip(&self.depth_m).zip(&self.step_at_points) {
            *trial = d + t * s;
        }
        self.press();
        self.ice_slope()
    }

    /// Product of the stiffness without the ice and a state or step, with heave and pitch at its end.
    fn elastic_product(rig: &Rig, x: &[f64], out: &mut [f64]) {
        let dofs = x.len() - 2;
        rig.stiffness.multiply(&x[..dofs], &mut out[..dofs]);
        let (heave, pitch) = (x[dofs], x[dofs + 1]);
        out[dofs..].fill(0.0);
        for m in &rig.mounts {
            let push = m.stiffness_n_per_m * (heave + pitch * m.at_m);
            // the spring's own pull on the rod is in the stiffness matrix
            out[2 * m.node] -= push;
            let net = push - m.stiffness_n_per_m * x[2 * m.node];
            out[dofs] += net;
            out[dofs + 1] += net * m.at_m;
        }
    }

    /// Gradient of the energy without the ice: beam, mounts, load.
    pub(super) fn elastic_gradient(&mut self) {
        let dofs = self.free.len();
        Self::elastic_product(&self.rig, &self.state, &mut self.gradient);
        self.gradient[dofs] -= self.demand.load_n;
        self.gradient[dofs + 1] -= self.demand.load_n * self.demand.centroid_m;
        for m in &self.rig.mounts {
            let push = m.stiffness_n_per_m * m.advance_m;
            self.gradient[2 * m.node] -= push;
            self.gradient[dofs] += push;
            self.gradient[dofs + 1] += push * m.at_m;
        }
    }

    /// Newton steps until no force left over is above `tolerance_n`; returns the greatest. The ice is pressed
    /// already, with the weights of another share.
    pub(super) fn newton(&mut self, tolerance_n: f64) -> f64 {
        let dofs = self.free.len();
        for ((w, s), k) in self.weight.iter_mut().zip(&self.share).zip(&self.whole_weight) {
            *w = s * k;
        }
        self.weigh();
        self.elastic_gradient();
        loop {
            self.columns_from_gradient();
            let left_over_n = self.left_over();
            if left_over_n <= tolerance_n || self.steps >= STEPS {
                self.gather_force();
                return left_over_n;
            }
            self.steps += 1;
            self.assemble();
            if !self.matrix.factor() {
                return f64::NAN;
            }
            self.matrix.solve(&mut self.columns);
            self.bordered_step();
            let (step, points) = (&self.step, &mut self.step_at_points);
            self.rig.at_points(&step[..dofs], points);
            let t = self.search();
            for (s, d) in self.state.iter_mut().zip(&self.step) {
                *s += t * d;
            }
            for (g, p) in self.gradient.iter_mut().zip(&self.product) {
                *g += t * p;
            }
            self.depth_m.copy_from_slice(&self.trial_m);
        }
    }

    /// Right-hand side (less the whole gradient) and the two border columns.
    fn columns_from_gradient(&mut self) {
        let dofs = self.free.len();
        for i in 0..dofs {
            self.columns[i] = [-self.gradient[i], 0.0, 0.0];
        }
        for (e, p) in self.pressed.iter().enumerate().filter(|(_, p)| p.wet) {
            for (column, g) in self.columns[2 * e..].iter_mut().zip(&p.gradient) {
                column[0] -= g;
            }
        }
        for m in &self.rig.mounts {
            self.columns[2 * m.node][1] -= m.stiffness_n_per_m;
            self.columns[2 * m.node][2] -= m.stiffness_n_per_m * m.at_m;
        }
    }

    /// Greatest force left over; moments are divided by an arm.
    fn left_over(&self) -> f64 {
        let dofs = self.free.len();
        const ARM_M: f64 = 0.02;
        let (mut force_n, mut moment_n_m) = (0.0_f64, 0.0_f64);
        for pair in self.columns.chunks_exact(2) {
            force_n = force_n.max(pair[0][0].abs());
            moment_n_m = moment_n_m.max(pair[1][0].abs());
        }
        let frame_n = self.gradient[dofs].abs().max(self.gradient[dofs + 1].abs() / 0.2);
        force_n.max(moment_n_m / ARM_M).max(frame_n)
    }

    /// Beam, mounts and ice.
    fn assemble(&mut self) {
        self.matrix.copy_from(&self.rig.stiffness);
        for (e, p, weight, length_m) in Self::touching(&mut self.pressed, &self.rig, &self.weight) {
            self.matrix.add_block(2 * e, &p.stiffness(weight, &self.rig.products, length_m));
        }
    }

    /// Newton step from the solved columns and the two border equations.
    fn bordered_step(&mut self) {
        let dofs = self.free.len();
        let mut s = [[0.0; 2]; 2];
        let mut r = [-self.gradient[dofs], -self.gradient[dofs + 1]];
        let mut whole = 0.0;
        for m in &self.rig.mounts {
            let (k, x) = (m.stiffness_n_per_m, m.at_m);
            let [u, c0, c1] = self.columns[2 * m.node];
            // border row is -(k, k x) at the mount
            s[0][0] += k + k * c0;
            s[0][1] += k * x + k * c1;
            s[1][1] += k * x * x + k * x * c1;
            r[0] += k * u;
            r[1] += k * x * u;
            whole += k;
        }
        s[1][0] = s[0][1];
        // one mount alone does not hold the pitch: leave it
        if self.rig.mounts.len() < 2 {
            (s[0][1], s[1][0], s[1][1], r[1]) = (0.0, 0.0, whole, 0.0);
        }
        s[0][0] += 1e-9 * whole;
        s[1][1] += 1e-12 * whole;
        let determinant = s[0][0] * s[1][1] - s[0][1] * s[1][0];
        let heave = (r[0] * s[1][1] - r[1] * s[0][1]) / determinant;
        let pitch = (r[1] * s[0][0] - r[0] * s[1][0]) / determinant;
        for (step, column) in self.step.iter_mut().zip(&self.columns) {
            *step = column[0] - heave * column[1] - pitch * column[2];
        }
        self.step[dofs] = heave;
        self.step[dofs + 1] = pitch;
    }

    /// How much of the step to take: where the energy's slope along it has nearly vanished.
    /// Leaves the ice's answer there in place.
    fn search(&mut self) -> f64 {
        let first: f64 = self.step.iter().zip(&self.gradient).map(|(s, g)| s * g).sum();
        Self::elastic_product(&self.rig, &self.step, &mut self.product);
        let second: f64 = self.product.iter().zip(&self.step).map(|(p, s)| p * s).sum();
        let at_zero = first + self.ice_slope();
        let mut t = 1.0;
        let mut value = first + second + self.try_step(t);
        let enough = 0.3 * at_zero.abs();
        if at_zero >= 0.0 || value.abs() <= enough {
            return t;
        }
        let mut low = (0.0, at_zero);
        let mut tries = 0;
        while value < -enough && tries < 8 {
            low = (t, value);
            t *= 2.0;
            value = first + t * second + self.try_step(t);
            tries += 1;
        }
        if value <= enough {
            return t;
        }
        // the sign changes between low and high: false position, the value of a kept end halved
        let mut high = (t, value);
        for _ in 0..30 {
            let part = (low.1 / (low.1 - high.1)).clamp(0.02, 0.98);
            t = low.0 + (high.0 - low.0) * part;
            value = first + t * second + self.try_step(t);
            if value.abs() <= enough {
                break;
            }
            if value < 0.0 {
                low = (t, value);
                high.1 *= 0.5;
            } else {
                high = (t, value);
                low.1 *= 0.5;
            }
        }
        t
    }
}
