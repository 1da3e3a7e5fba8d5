//! The surface of the ice over the whole track, from a station table.
//!
//! Elevation is a C4 quintic spline (its third derivative enters the load), all else C2 cubic
//! splines. Grade, curvature and their derivatives come from the same splines, so that
//! energy can be accounted for to rounding.

use crate::station::{Patch, Station, Vector};
use crate::station_table::StationTable;
use nalgebra::Vector3;
use numerics::quadrature::gauss_8;
use numerics::spline::{Cubic, Knots, Quintic, SplineError};

/// Why a surface cannot be made from a table.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SurfaceError {
    /// A column is no spline.
    #[error("column {column}: {cause}")]
    Column {
        /// Name of the column.
        column: &'static str,
        /// What is wrong with it.
        cause: SplineError,
    },
    /// The reference line falls as steeply as a plumb line, or steeper.
    #[error("at station {station_m} m the elevation changes by more than the station does")]
    TooSteep {
        /// Station (m).
        station_m: f64,
    },
    /// Between two rows an edge swings over to the other side of the reference line.
    #[error(
        "at station {station_m:.2} m, between two rows, the curve through {column} swings to {got_m:.3} m; allowed is \
         {} than 0: an edge that jumps needs rows closer together",
        if *column == "left_edge_m" { "more" } else { "less" }
    )]
    EdgeAcross {
        /// Name of its column.
        column: &'static str,
        /// Station (m).
        station_m: f64,
        /// The edge there (m).
        got_m: f64,
    },
}

/// The surface of the ice: position and its derivatives at any station and lateral coordinate.
#[derive(Clone, Debug)]
pub struct Surface {
    knots: Knots,
    elevation: Quintic,
    curvature: Cubic,
    banking: Cubic,
    trough: Cubic,
    left_edge: Cubic,
    right_edge: Cubic,
    heading: Vec<f64>,
    plan: Vec<[f64; 2]>,
}

/// Fundamental forms and curvatures of the surface at a point.
#[derive(Clone, Copy, Debug)]
pub struct Forms {
    /// First fundamental form E, F, G (F: m/m).
    pub first: [f64; 3],
    /// Second fundamental form L, M, N (1/m).
    pub(crate) second: [f64; 3],
    /// Curvature, within the surface, of the coordinate line u = const (1/m).
    pub geodesic_curvature_per_m: f64,
}

impl Forms {
    /// Normal curvature (1/m) along the direction `ds : du`.
    pub fn normal_curvature_per_m(&self, ds: f64, du: f64) -> f64 {
        let quadratic = |[a, b, c]: [f64; 3]| a * ds * ds + 2.0 * b * ds * du + c * du * du;
        quadratic(self.second) / quadratic(self.first)
    }
}

impl Surface {
    /// The surface through the rows of a table.
    pub fn new(table: &StationTable) -> Result<Surface, SurfaceError> {
        let fault = |column| move |cause| SurfaceError::Column { column, cause };
        let knots = Knots::new(&table.station_m).map_err(fault("station_m"))?;
        let cubic = |y: &[f64], column| Cubic::new(&knots, y).map_err(fault(column));
        let mut surface = Surface {
            elevation: Quintic::new(&knots, &table.elevation_m).map_err(fault("elevation_m"))?,
            curvature: cubic(&table.plan_curvature_per_m, "radius_m")?,
            banking: cubic(&table.banking_rad, "banking_deg")?,
            trough: cubic(&table.trough_curvature_per_m, "trough_radius_m")?,
            left_edge: cubic(&table.left_edge_m, "left_edge_m")?,
            right_edge: cubic(&table.right_edge_m, "right_edge_m")?,
            heading: vec![0.0],
            plan: vec![[0.0; 2]],
            knots,
        };
        for i in 0..surface.knots.intervals() {
            let x = surface.knots.abscissae();
            let (a, b) = (x[i], x[i + 1]);
            for j in 0..=8 {
                let s = a + (b - a) * f64::from(j) / 8.0;
                if surface.elevation.jet(i, s - a)[1].abs() >= 0.999 {
                    return Err(SurfaceError::TooSteep { station_m: s });
                }
            }
            surface.check_edges(i)?;
            let heading = surface.heading[i] + gauss_8(a, b, |s| surface.station_in(i, s).turning[0]);
            let plan = surface.plan_in(i, b);
            surface.heading.push(heading);
            surface.plan.push(plan);
        }
        Ok(surface)
    }

    /// Refuses an interval in which an edge is not on its own side of the reference line.
    fn check_edges(&self, i: usize) -> Result<(), SurfaceError> {
        let x = self.knots.abscissae();
        let length_m = x[i + 1] - x[i];
        let edges = [("left_edge_m", &self.left_edge, 1.0), ("right_edge_m", &self.right_edge, -1.0)];
        for (column, edge, outward) in edges {
            // a cubic is least at an end or where its slope b + c d + e d2 / 2 vanishes
            let [[_, b, c], [.., c_end]] = [edge.jet(i, 0.0), edge.jet(i, length_m)];
            let e = (c_end - c) / length_m;
            let root = (c * c - 2.0 * b * e).sqrt();
            let turns = [-2.0 * b / (c + root), -2.0 * b / (c - root)];
            let inside = turns.into_iter().filter(|d| (0.0..=length_m).contains(d));
            for d in inside.chain([0.0, length_m]) {
                let got_m = edge.jet(i, d)[0];
                if !(outward * got_m > 0.0) {
                    return Err(SurfaceError::EdgeAcross { column, station_m: x[i] + d, got_m });
                }
            }
        }
        Ok(())
    }

    /// First and last station (m).
    pub fn range_m(&self) -> (f64, f64) {
        let x = self.knots.abscissae();
        (x[0], x[x.len() - 1])
    }

    /// The stations of the table (m): third derivatives jump there.
    pub fn knots_m(&self) -> &[f64] {
        self.knots.abscissae()
    }

    /// Reference line and cross-section at a station.
    #[inline]
    pub fn station(&self, station_m: f64) -> Station {
        self.station_in(self.knots.interval(station_m), station_m)
    }

    #[inline]
    fn station_in(&self, i: usize, station_m: f64) -> Station {
        let d = station_m - self.knots.abscissae()[i];
        let [z, z_1, z_2, z_3] = self.elevation.jet(i, d);
        let sin_grade = -z_1;
        let cos_grade = (1.0 - z_1 * z_1).sqrt();
        let grade_1 = -z_2 / cos_grade;
        let grade_2 = (-z_3 + sin_grade * grade_1 * grade_1) / cos_grade;
        let [p, p_1, _] = self.curvature.jet(i, d);
        let [bank, bank_1, bank_2] = self.banking.jet(i, d);
        let [left, left_1, _] = self.left_edge.jet(i, d);
        let [right, right_1, _] = self.right_edge.jet(i, d);
        Station {
            station_m,
            elevation_m: z,
            sin_grade,
            cos_grade,
            grade_1,
            grade_2,
            turning: [cos_grade * p, cos_grade * p_1 - sin_grade * grade_1 * p],
            slope: [-bank, -bank_1, -bank_2],
            trough: self.trough.jet(i, d),
            left_edge: [left, left_1],
            right_edge: [right, right_1],
        }
    }

    /// Heading of the reference line in plan (rad), anticlockwise, zero at the first station.
    pub fn heading_rad(&self, station_m: f64) -> f64 {
        self.heading_in(self.knots.interval(station_m), station_m)
    }

    fn heading_in(&self, i: usize, station_m: f64) -> f64 {
        let a = self.knots.abscissae()[i];
        self.heading[i] + gauss_8(a, station_m, |s| self.station_in(i, s).turning[0])
    }

    fn plan_in(&self, i: usize, station_m: f64) -> [f64; 2] {
        let a = self.knots.abscissae()[i];
        let mut end = self.plan[i];
        for (axis, end) in end.iter_mut().enumerate() {
            *end += gauss_8(a, station_m, |s| {
                let (sin, cos) = self.heading_in(i, s).sin_cos();
                self.station_in(i, s).cos_grade * if axis == 0 { cos } else { sin }
            });
        }
        end
    }

    /// Position of the reference line (m): x along the first heading, y to its left, z up.
    pub fn reference_line(&self, station_m: f64) -> Vector3<f64> {
        let i = self.knots.interval(station_m);
        let [x, y] = self.plan_in(i, station_m);
        Vector3::new(x, y, self.station_in(i, station_m).elevation_m)
    }

    /// Unit vectors t, n, b of the moving frame as columns x, y, z.
    pub fn frame(&self, station_m: f64) -> [Vector3<f64>; 3] {
        let (sin, cos) = self.heading_rad(station_m).sin_cos();
        let at = self.station(station_m);
        let (s, c) = (at.sin_grade, at.cos_grade);
        [Vector3::new(c * cos, c * sin, -s), Vector3::new(-sin, cos, 0.0), Vector3::new(s * cos, s * sin, c)]
    }

    /// Position of a point of the ice (m).
    pub fn position(&self, station_m: f64, u_m: f64) -> Vector3<f64> {
        let patch: Patch<f64> = self.station(station_m).patch(u_m);
        self.reference_line(station_m) + in_space(&self.frame(station_m), patch.offset)
    }

    /// Fundamental forms at a point.
    pub fn forms(&self, station_m: f64, u_m: f64) -> Forms {
        let p: Patch<f64> = self.station(station_m).patch(u_m);
        let normal = p.normal();
        let length = p.r_s.norm();
        let left = normal.cross(p.r_s).times(1.0 / length);
        Forms {
            first: [p.r_s.dot(p.r_s), p.r_s.dot(p.r_u), p.r_u.dot(p.r_u)],
            second: [p.r_ss.dot(normal), p.r_su.dot(normal), p.r_uu.dot(normal)],
            geodesic_curvature_per_m: p.r_ss.dot(left) / (length * length),
        }
    }

    /// Station and lateral coordinate (m) of the point of the ice nearest to `point`,
    /// searched from the station `near_m`. `None` when the search leaves the track.
    pub fn nearest(&self, point: &Vector3<f64>, near_m: f64) -> Option<(f64, f64)> {
        let (first, last) = self.range_m();
        let (mut s, mut u) = (near_m.clamp(first, last), 0.0);
        // Gauss-Newton on the squared distance, steps held to a metre
        for _ in 0..60 {
            let p: Patch<f64> = self.station(s).patch(u);
            let miss = point - self.position(s, u);
            let [t, n, b] = self.frame(s);
            let local = Vector { t: miss.dot(&t), n: miss.dot(&n), b: miss.dot(&b) };
            let (gs, gu) = (local.dot(p.r_s), local.dot(p.r_u));
            let e = p.r_s.dot(p.r_s) - local.dot(p.r_ss);
            let f = p.r_s.dot(p.r_u) - local.dot(p.r_su);
            let g = 1.0 - local.dot(p.r_uu);
            let det = e * g - f * f;
            let (mut ds, mut du) = if e > 0.0 && det > 0.0 {
                ((g * gs - f * gu) / det, (e * gu - f * gs) / det)
            } else {
                (gs, gu)
            };
            let size = ds.abs().max(du.abs());
            if size > 1.0 {
                (ds, du) = (ds / size, du / size);
            }
            s = (s + ds).clamp(first, last);
            u += du;
            if size < 1e-11 {
                return Some((s, u));
            }
        }
        None
    }
}

fn in_space(frame: &[Vector3<f64>; 3], v: Vector<f64>) -> Vector3<f64> {
    frame[0] * v.t + frame[1] * v.n + frame[2] * v.b
}
