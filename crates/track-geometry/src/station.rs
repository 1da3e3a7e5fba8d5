//! One station of the surface: the reference line and the cross-section there with
//! every derivative along the track, and from these the surface at any `u`.
//!
//! Vectors are in the moving frame of the station: `t` along the reference line, `n` level
//! to the left, `b = t x n` up.
//!
//! ```text
//!          b                       left-hand turn, seen from behind
//!          |   n (left)                              |
//!          |  /                  left             beta < 0
//!          | /                    ___              __/  right side high
//!          o----- t (downhill)       \____________/
//!                                     u > 0  0  u < 0
//!
//!   k > 0      the line turns left            t' = k cos(th) n - th' b
//!   theta > 0  the line falls                 n' = -k cos(th) t - k sin(th) b
//!   banking>0  right side high, beta0 = -banking   b' = th' t + k sin(th) n
//! ```

use crate::section::moments;
use numerics::dual::Real;

/// A vector in the moving frame (t, n, b).
#[derive(Clone, Copy, Debug)]
pub struct Vector<T> {
    /// Along the reference line.
    pub t: T,
    /// Level, to the left.
    pub n: T,
    /// Up, square to both.
    pub b: T,
}

impl<T: Real> Vector<T> {
    /// Scalar product.
    #[inline]
    pub fn dot(self, o: Vector<T>) -> T {
        self.t * o.t + self.n * o.n + self.b * o.b
    }
    /// Vector product.
    #[inline]
    pub fn cross(self, o: Vector<T>) -> Vector<T> {
        Vector {
            t: self.n * o.b - self.b * o.n,
            n: self.b * o.t - self.t * o.b,
            b: self.t * o.n - self.n * o.t,
        }
    }
    /// Length.
    #[inline]
    pub fn norm(self) -> T {
        self.dot(self).sqrt()
    }
    /// The vector times a number.
    #[inline]
    pub fn times(self, k: T) -> Vector<T> {
        Vector { t: self.t * k, n: self.n * k, b: self.b * k }
    }
}

/// Reference line and cross-section at one station, with their derivatives along the station.
#[derive(Clone, Copy, Debug)]
pub struct Station {
    /// Station (m).
    pub station_m: f64,
    /// Elevation of the reference line (m).
    pub elevation_m: f64,
    /// Sine of the downhill grade angle theta.
    pub sin_grade: f64,
    /// Cosine of the downhill grade angle theta.
    pub cos_grade: f64,
    /// First derivative of theta (1/m).
    pub grade_1: f64,
    /// Second derivative of theta (1/m2).
    pub grade_2: f64,
    /// Heading change per metre k and its derivative (1/m, 1/m2).
    pub turning: [f64; 2],
    /// Slope beta0 at u = 0 (rad) and two derivatives.
    pub slope: [f64; 3],
    /// Curvature c of the cross-section (1/m) and two derivatives.
    pub trough: [f64; 3],
    /// Left edge (m) and its derivative.
    pub left_edge: [f64; 2],
    /// Right edge (m) and its derivative.
    pub right_edge: [f64; 2],
}

/// The surface at one point: partial derivatives of the position, in the moving frame.
#[derive(Clone, Copy, Debug)]
pub struct Patch<T> {
    /// Position relative to the reference line (t component 0).
    pub offset: Vector<T>,
    /// d r / d s.
    pub r_s: Vector<T>,
    /// d r / d u, a unit vector.
    pub r_u: Vector<T>,
    /// Second derivatives.
    pub r_ss: Vector<T>,
    /// Second derivatives, mixed.
    pub r_su: Vector<T>,
    /// Second derivatives.
    pub r_uu: Vector<T>,
    /// Elevation (m).
    pub elevation_m: T,
}

impl Station {
    /// The surface at lateral coordinate `u_m`.
    #[inline]
    pub fn patch<T: Real>(&self, u_m: T) -> Patch<T> {
        let u = u_m.value();
        let [beta0, beta0_1, beta0_2] = self.slope;
        let [c, c_1, c_2] = self.trough;
        let m = moments(beta0, c, u);
        let ([i0, i1, i2], [j0, j1, j2]) = (m.cosine, m.sine);
        let beta_1 = beta0_1 + c_1 * u;
        let beta_2 = beta0_2 + c_2 * u;
        // d/du of each integral is its integrand
        let y = u_m.chain(i0, m.cos_beta);
        let z = u_m.chain(j0, m.sin_beta);
        let y_s = u_m.chain(-beta0_1 * j0 - c_1 * j1, -m.sin_beta * beta_1);
        let z_s = u_m.chain(beta0_1 * i0 + c_1 * i1, m.cos_beta * beta_1);
        let (a, b, d) = (beta0_1 * beta0_1, 2.0 * beta0_1 * c_1, c_1 * c_1);
        let y_ss = u_m.chain(
            -beta0_2 * j0 - c_2 * j1 - (a * i0 + b * i1 + d * i2),
            -m.sin_beta * beta_2 - m.cos_beta * beta_1 * beta_1,
        );
        let z_ss = u_m.chain(
            beta0_2 * i0 + c_2 * i1 - (a * j0 + b * j1 + d * j2),
            m.cos_beta * beta_2 - m.sin_beta * beta_1 * beta_1,
        );
        let cos_b = u_m.chain(m.cos_beta, -m.sin_beta * c);
        let sin_b = u_m.chain(m.sin_beta, m.cos_beta * c);
        let turn = u_m.chain(beta_1, c_1);

        let (sin_th, cos_th, th_1, th_2) = (self.sin_grade, self.cos_grade, self.grade_1, self.grade_2);
        let [k, k_1] = self.turning;
        // turning of the frame in plan and in roll, and how it changes
        let (kc, ks) = (k * cos_th, k * sin_th);
        let (kc_1, ks_1) = (k_1 * cos_th - k * sin_th * th_1, k_1 * sin_th + k * cos_th * th_1);

        let rs_t = -(y * kc) + z * th_1 + 1.0;
        let rs_n = y_s + z * ks;
        let rs_b = z_s - y * ks;
        let rs_t_1 = -(y_s * kc) - y * kc_1 + z_s * th_1 + z * th_2;
        let rs_n_1 = y_ss + z_s * ks + z * ks_1;
        let rs_b_1 = z_ss - y_s * ks - y * ks_1;
        let across = turn - ks;
        Patch {
            offset: Vector { t: T::from(0.0), n: y, b: z },
            r_s: Vector { t: rs_t, n: rs_n, b: rs_b },
            r_u: Vector { t: T::from(0.0), n: cos_b, b: sin_b },
            r_ss: Vector {
                t: rs_t_1 - rs_n * kc + rs_b * th_1,
                n: rs_n_1 + rs_t * kc + rs_b * ks,
                b: rs_b_1 - rs_t * th_1 - rs_n * ks,
            },
            r_su: Vector { t: sin_b * th_1 - cos_b * kc, n: -(sin_b * across), b: cos_b * across },
            r_uu: Vector { t: T::from(0.0), n: -(sin_b * c), b: cos_b * c },
            elevation_m: z * cos_th + self.elevation_m,
        }
    }

    /// Slope of the ice across the track at `u_m` (rad), positive where it rises to the left.
    pub fn slope_rad(&self, u_m: f64) -> f64 {
        self.slope[0] + self.trough[0] * u_m
    }

    /// Lateral coordinate of the lowest ice between the edges (m).
    pub fn lowest_m(&self) -> f64 {
        let (slope, c) = (self.slope[0], self.trough[0]);
        let (right, left) = (self.right_edge[0], self.left_edge[0]);
        if c > 1e-12 {
            (-slope / c).max(right).min(left)
        } else if slope > 0.0 {
            right
        } else if slope < 0.0 {
            left
        } else {
            0.0
        }
    }

    /// Height of the point at `u_m` above the lowest ice of the cross-section (m).
    pub fn height_m(&self, u_m: f64) -> f64 {
        let height = |u: f64| moments(self.slope[0], self.trough[0], u).sine[0];
        self.cos_grade * (height(u_m) - height(self.lowest_m()))
    }
}

impl<T: Real> Patch<T> {
    /// Unit normal, towards the sled.
    #[inline]
    pub fn normal(&self) -> Vector<T> {
        let n = self.r_s.cross(self.r_u);
        n.times(T::from(1.0) / n.norm())
    }
}
