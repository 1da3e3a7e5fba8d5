//! What a solved contact looks like: patches, touch, shares, forces, stress.

use crate::contact::ContactSolver;
use crate::runner::RunnerSpec;

/// A stretch of unbroken touch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patch {
    /// Leading edge (m).
    pub(crate) first_touch_m: f64,
    /// Trailing edge (m).
    pub(crate) last_touch_m: f64,
    /// Greatest indentation (m).
    pub(crate) greatest_depth_m: f64,
    /// Where it is (m).
    pub(crate) deepest_m: f64,
    /// Load it carries (N).
    pub load_n: f64,
}

/// What a runner does on the ice, for reports.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TouchReport {
    /// First to last touch (m).
    pub touch_span_m: f64,
    /// Effective contact length: load squared over the integral of the squared line load (m).
    pub(crate) effective_length_m: f64,
    /// Share of the load on the groove edges `[-]`.
    pub(crate) groove_share: f64,
    /// Share of the load outside the bow screws `[-]`; above one half the runner bridges.
    pub outside_screws: f64,
}

/// Cells `rear..front` of a patch, counted from the rear of the runner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Cells {
    pub(crate) rear: usize,
    pub(crate) front: usize,
}

impl ContactSolver {
    /// Whether any part of a cell touches.
    fn touches(&self, cell: usize) -> bool {
        self.depth_m[cell] > 0.0 || self.depth_m[cell + 1] > 0.0
    }

    /// The next patch behind cell `from` (exclusive), scanning to the rear.
    pub(crate) fn patch_behind(&self, from: usize) -> Option<Cells> {
        let front = (0..from).rev().find(|&c| self.touches(c))? + 1;
        let mut rear = front - 1;
        // a dry point between two wet cells parts two patches
        while rear > 0 && self.depth_m[rear] > 0.0 && self.touches(rear - 1) {
            rear -= 1;
        }
        Some(Cells { rear, front })
    }

    /// Part of a cell that touches: distances of its two ends from the rear of the cell (m).
    pub(crate) fn wet_part_m(&self, cell: usize) -> (f64, f64) {
        let [a, b] = self.rig.ends_m(cell, &self.depth_m);
        let h = self.rig.length_m[cell];
        let rear = if a > 0.0 { 0.0 } else { h * a / (a - b) };
        let front = if b > 0.0 { h } else { h * a / (a - b) };
        (rear, front)
    }

    /// Length of a cell where the ice presses (m), and the mean pressure there over the hardness `[-]`.
    pub(crate) fn pressed_m(&self, cell: usize) -> (f64, f64) {
        let (rear_m, front_m) = self.wet_part_m(cell);
        let part = self.pressed_part[cell];
        if part > 0.0 { ((front_m - rear_m) * part, self.share[cell] / part) } else { (0.0, 0.0) }
    }

    /// Leading and trailing edge of a patch (m).
    pub(crate) fn edges_m(&self, cells: Cells) -> (f64, f64) {
        let x = &self.rig.points_m;
        (
            x[cells.front - 1] + self.wet_part_m(cells.front - 1).1,
            x[cells.rear] + self.wet_part_m(cells.rear).0,
        )
    }

    /// Deepest point of `rear..=front`: place and depth (m), by a parabola through three points.
    pub(crate) fn deepest_m(&self, rear: usize, front: usize) -> (f64, f64) {
        let (d, x) = (&self.depth_m, &self.rig.points_m);
        let mut top = rear;
        for i in rear..=front {
            if d[i] > d[top] {
                top = i;
            }
        }
        if top > rear && top < front {
            let (l, r) = (x[top] - x[top - 1], x[top + 1] - x[top]);
            let (sl, sr) = ((d[top] - d[top - 1]) / l, (d[top + 1] - d[top]) / r);
            let bend = (sl - sr) / (0.5 * (l + r));
            if bend > 0.0 {
                let slope = (sl * r + sr * l) / (l + r);
                return (x[top] + slope / bend, d[top] + 0.5 * slope * slope / bend);
            }
        }
        (x[top], d[top])
    }

    /// Touch and shares of the solved contact.
    pub(crate) fn touch(&self, runner: &RunnerSpec) -> TouchReport {
        let rig = &self.rig;
        let cells = self.load_n.len();
        let (mut load_n, mut square, mut groove_n, mut outside_n) = (0.0, 0.0, 0.0, 0.0);
        for c in (0..cells).filter(|&c| self.touches(c)) {
            let part_n = self.load_n[c];
            let middle_m = 0.5 * (rig.points_m[c] + rig.points_m[c + 1]);
            load_n += part_n;
            groove_n += if middle_m <= runner.groove_start_m { part_n } else { 0.0 };
            outside_n += if middle_m.abs() > runner.screw_m { part_n } else { 0.0 };
            let (rear, front) = self.wet_part_m(c);
            square += part_n * part_n / (front - rear).max(1e-12);
        }
        let (first, last) = (self.patch_behind(cells), (0..cells).find(|&c| self.touches(c)));
        let touch_span_m = match (first, last) {
            (Some(first), Some(last)) => {
                self.edges_m(first).0 - (rig.points_m[last] + self.wet_part_m(last).0)
            }
            _ => 0.0,
        };
        TouchReport {
            touch_span_m,
            effective_length_m: if square > 0.0 { load_n * load_n / square } else { 0.0 },
            groove_share: groove_n / load_n,
            outside_screws: outside_n / load_n,
        }
    }
}

/// A solved contact.
#[derive(Clone, Debug, PartialEq)]
pub struct Contact {
    /// Points along the runner, from the rear (m).
    pub points_m: Vec<f64>,
    /// Indentation at the points, negative where the runner is clear of the ice (m).
    pub(crate) indentation_m: Vec<f64>,
    /// Line load between the points (N/m), one fewer than points.
    pub line_load_n_m: Vec<f64>,
    /// Patches, from the front.
    pub patches: Vec<Patch>,
    /// Load (N).
    pub load_n: f64,
    /// Where it acts (m).
    pub centroid_m: f64,
    /// First to last touch (m).
    pub touch_span_m: f64,
    /// Load squared over the integral of the squared line load (m).
    pub(crate) effective_length_m: f64,
    /// Share of the load on the groove edges `[-]`.
    pub groove_share: f64,
    /// Share of the load outside the bow screws `[-]`; above one half the runner bridges.
    pub outside_share: f64,
    /// Forces of front and rear screw on the rod, towards the ice positive (N). A negative one
    /// pulls: a screw that can only push would lift off.
    pub(crate) screw_forces_n: [f64; 2],
    /// Forces of front and rear pin on the rod, towards the ice positive (N).
    pub(crate) pin_forces_n: [f64; 2],
    /// Greatest bending stress (Pa).
    pub greatest_stress_pa: f64,
    /// Lesser of the gaps under the two pins (m); negative where a pin is pressed into the ice.
    pub(crate) least_clearance_m: f64,
}

impl Contact {
    /// True if more than half of the load is carried outside the bow screws.
    pub fn is_bridging(&self) -> bool {
        self.outside_share > 0.5
    }

    /// The contact that `solver` has solved last, for the runner it was made for.
    pub fn of(solver: &ContactSolver, runner: &RunnerSpec) -> Self {
        let rig = &solver.rig;
        let n = rig.length_m.len();
        let loads = &solver.load_n;
        let load_n: f64 = loads.iter().sum();
        let forces = solver.point_forces_n();
        let moment: f64 = forces.iter().zip(&rig.points_m).map(|(f, x)| f * x).sum();
        let touch = solver.touch(runner);
        let mut patches = Vec::new();
        let mut from = n;
        while let Some(cells) = solver.patch_behind(from) {
            let (first_touch_m, last_touch_m) = solver.edges_m(cells);
            let (deepest_m, greatest_depth_m) = solver.deepest_m(cells.rear, cells.front);
            let load_n = loads[cells.rear..cells.front].iter().sum();
            patches.push(Patch { first_touch_m, last_touch_m, greatest_depth_m, deepest_m, load_n });
            from = cells.rear;
        }
        let mounts = solver.mount_forces_n();
        let clearance = |x: f64| -> f64 {
            let i = rig.points_m.partition_point(|&p| p < x - 1e-9).min(n);
            -solver.depth_m[i]
        };
        Contact {
            points_m: rig.points_m.clone(),
            indentation_m: solver.depth_m.clone(),
            line_load_n_m: loads.iter().zip(&rig.length_m).map(|(f, h)| f / h).collect(),
            patches,
            load_n,
            centroid_m: moment / load_n,
            touch_span_m: touch.touch_span_m,
            effective_length_m: touch.effective_length_m,
            groove_share: touch.groove_share,
            outside_share: touch.outside_screws,
            screw_forces_n: [mounts[2], mounts[1]],
            pin_forces_n: [mounts[3], mounts[0]],
            greatest_stress_pa: runner.rod().bending_stress_pa(solver.greatest_moment_n_m()),
            least_clearance_m: clearance(runner.pin_m).min(clearance(-runner.pin_m)),
        }
    }
}
