//! The sled on its two runners: load transfer, steering, friction and grip of both, dragged toes.
//!
//! ```text
//!   load transfer     r = h/gauge,  N_left = N/2 - r (N/2)(c_L + c_R)/(1 + r (c_L - c_R)),  c_j = F_yj/N_j
//!   load centroid     x_j = x_cm - h F_x/N + I q'/N + (+1 left, -1 right) T_p/(N/2)
//!   steering couple   T_p = steer * least of the greatest couple and the greatest shift times N_j
//!   frame twist       gamma = T_p/k_t turns the runner at x by delta = -gamma z'(x), z the free bow
//!   slip at a point   tan(al - delta) from (vy + w x, vx - w y)
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | h | `mass_height_m` | m |
//! | gauge | `gauge_m` | m |
//! | I q' | pitch inertia times the change of the pitch rate, see `pitch.rs` | N m |
//! | T_p | couple of shoulder and knee, positive to the right | N m |
//! | k_t | `torsional_stiffness_n_m_per_rad` | N m/rad |
//!
//! Steering right presses left shoulder and right knee: the load of the left runner moves forward,
//! that of the right one back [common practice, no source].
//! *Assumes* one Newton step from the equal split for the load transfer: each runner is looked up at
//! half the load, and its forces scale with the load that it really carries. *Source*: statics of the sled; the
//! laws of the runner are in `ice-contact`. *Checked by* `exact_mirror_of_forces`,
//! `trade_right_turn_left_shoulder_right_knee`, `conserves_power_on_runners`.

use crate::laws::ice::{ContactSample, Ice, IceForce, Riding};
use crate::laws::pitch::load_shift_m;
use crate::setup::{self, Friction, Setup};
use ice_contact::free_shape::FreeShape;
use ice_contact::hardness::ice_hardness_pa;
use ice_contact::kept_tables::runner_table;
use ice_contact::lateral::{GRIP_CAP, static_margin_m};
use ice_contact::runner::{Bow, CONTACT_SPEED_M_S, Fault, IceState, RunnerSpec};
use ice_contact::tables::{RunnerTable, Touch};
use numerics::dual::Real;
use numerics::roots::brent;
use std::sync::Arc;

/// Where the toes touch the ice, behind the middle and to the side (m), assumed.
const TOE_M: [f64; 2] = [-1.15, 0.15];
/// Speed below which a toe's friction fades (m/s): keeps a halted sled from shaking.
const TOE_FADE_M_S: f64 = 0.1;
/// Load held back from division by zero on a light sled (N).
const LEAST_LOAD_N: f64 = 1.0;
/// The Newton step of the load transfer is not trusted below this divisor `[-]`: only sleds higher than wide meet it.
const LEAST_DIVISOR: f64 = 0.1;
/// Pull of the ice over load that shifts the load centroid forward `[-]`, assumed; half a per cent more or less
/// of pull moves the centroid by less than a millimetre.
const ICE_PULL: f64 = 0.012;

/// The sled on its runners, ready for a descent.
#[derive(Clone, Debug)]
pub struct OnRunners {
    tables: [Arc<RunnerTable>; 2],
    mass_height_m: f64,
    balance_point_m: f64,
    pitch_inertia_kg_m2: f64,
    gauge_m: f64,
    torsional_stiffness_n_m_per_rad: f64,
    steer_couple_n_m: f64,
    steer_shift_m: f64,
    toe_friction: f64,
    toe_force_n: f64,
    friction_factor: f64,
    grip_factor: f64,
    friction: Friction,
}

/// The ice of a set-up.
pub fn ice_state(ice: &setup::Ice) -> IceState {
    IceState {
        temperature_c: ice.temperature_c,
        hardness_pa: ice.hardness_pa.unwrap_or_else(|| ice_hardness_pa(ice.temperature_c)),
        recovered_share: ice.recovered_share,
        youngs_modulus_pa: ice.youngs_modulus_pa,
        unevenness_m: ice.unevenness_m,
        wave_m: ice.wave_m,
        contact_speed_m_s: CONTACT_SPEED_M_S,
    }
}

/// Greatest bending stress of a runner with a bow, free of the ice (Pa); infinite if it cannot be found.
pub fn bending_stress_pa(runner: &RunnerSpec, bow: Bow) -> f64 {
    FreeShape::of(runner, bow).map_or(f64::INFINITY, |s| s.greatest_stress_pa())
}

/// Tables of the left and right runner of a set-up; runners that are alike share one.
pub fn runner_tables(setup: &Setup) -> Result<[Arc<RunnerTable>; 2], Vec<Fault>> {
    let (pair, ice) = (setup.runners.pair(), ice_state(&setup.ice));
    Ok([
        runner_table(&pair[0], setup.runners.left, &ice)?,
        runner_table(&pair[1], setup.runners.right, &ice)?,
    ])
}

/// Both runners together.
struct Pair<T> {
    /// Along, across (N) and about the normal (N m).
    force: [T; 3],
    /// Power lost to film, ploughing and skid (W).
    lost_w: [T; 3],
    /// Load of the left and right runner (N).
    loads_n: [T; 2],
    /// Where it acts (m).
    centroids_m: [T; 2],
    /// Part of the half load that goes from the left to the right runner `[-]`; beyond one the giving runner lifts.
    moved: T,
}

impl OnRunners {
    /// The sled of a set-up on tables of its runners.
    pub fn new(setup: &Setup, tables: [Arc<RunnerTable>; 2]) -> OnRunners {
        let s = &setup.sled;
        OnRunners {
            tables,
            mass_height_m: s.mass_height_m,
            balance_point_m: s.balance_point_m,
            pitch_inertia_kg_m2: s.pitch_inertia_kg_m2,
            gauge_m: s.gauge_m,
            torsional_stiffness_n_m_per_rad: s.torsional_stiffness_n_m_per_rad,
            steer_couple_n_m: s.steer_couple_n_m,
            steer_shift_m: s.steer_shift_m,
            toe_friction: s.toe_friction,
            toe_force_n: s.toe_force_n,
            friction_factor: setup.ice.friction_factor,
            grip_factor: setup.ice.grip_factor,
            friction: setup.ice.friction.clone(),
        }
    }

    /// The same sled on ice with another factor on glide and ploughing.
    pub fn with_friction_factor(&self, friction_factor: f64) -> OnRunners {
        OnRunners { friction_factor, ..self.clone() }
    }

    /// The tables, left and right, for another sled on the same runners and ice.
    pub fn tables(&self) -> [Arc<RunnerTable>; 2] {
        self.tables.clone()
    }

    /// Friction of the film, or what the set-up puts in its place `[-]`.
    #[inline]
    fn glide_friction<T: Real>(&self, touch: &Touch<T>, speed_m_s: T) -> T {
        match &self.friction {
            Friction::Film => touch.film_friction.max(T::from(0.0)),
            Friction::Constant(mu) => T::from(*mu),
            Friction::Table(rows) => from_table(rows, speed_m_s),
        }
    }

    /// Steering couple for loads of the two runners (N m).
    #[inline]
    fn couple_n_m<T: Real>(&self, steer: T, loads_n: [T; 2]) -> T {
        let least = loads_n[0].min(loads_n[1]).max(T::from(0.0));
        steer * (least * self.steer_shift_m).min(T::from(self.steer_couple_n_m))
    }

    /// Forces of runner `j` (0 left, 1 right): along, across, moment, and the power lost.
    #[inline]
    fn runner<T: Real>(
        &self,
        r: &Riding<T>,
        j: usize,
        load_n: T,
        centroid_m: T,
        twist: T,
    ) -> ([T; 3], [T; 3]) {
        let zero = T::from(0.0);
        let y_m = if j == 0 { 0.5 * self.gauge_m } else { -0.5 * self.gauge_m };
        let x_cm = self.balance_point_m;
        let touch = self.tables[j].look(load_n, r.ice_curvature_per_m, centroid_m, r.speed_m_s);
        let glide_n = self.glide_friction(&touch, r.speed_m_s) * load_n.max(zero) * self.friction_factor;
        let ahead = r.forward_m_s - r.yaw_rate_rad_s * y_m;
        let (mut fx, mut fy, mut mz) = (zero, zero, zero);
        let (mut plough_w, mut skid_w) = (zero, zero);
        for p in &touch.points {
            // the point's place from the centre of mass, and its velocity
            let x = p.at_m - x_cm;
            let across = r.lateral_velocity_m_s + r.yaw_rate_rad_s * x;
            // direction of the runner there, turned by delta (small): cos 1 - d^2/2
            let delta = -(twist * p.rise_slope);
            let cos_d = T::from(1.0) - delta.squared() * 0.5;
            let (along_v, across_v) = (ahead * cos_d + across * delta, across * cos_d - ahead * delta);
            let (along, side) = p.force_n(across_v / along_v, self.grip_factor);
            let along = along * self.friction_factor;
            plough_w -= along * along_v;
            skid_w -= side * across_v;
            let (px, py) = (along * cos_d - side * delta, side * cos_d + along * delta);
            fx += px;
            fy += py;
            mz += py * x - px * y_m;
        }
        // film drag against the motion of the runner's middle
        let across = r.lateral_velocity_m_s;
        let inverse = T::from(1.0) / (ahead.squared() + across.squared()).sqrt();
        let (gx, gy) = (-(glide_n * ahead * inverse), -(glide_n * across * inverse));
        let glide_w = -(gx * ahead + gy * across);
        ([fx + gx, fy + gy, mz - gx * y_m], [glide_w, plough_w, skid_w])
    }

    /// Both runners at half the load each, and the share of the whole load that each really carries.
    #[inline]
    fn pair<T: Real>(&self, r: &Riding<T>, toe_pull_n: T) -> Pair<T> {
        let whole = r.load_n.max(T::from(LEAST_LOAD_N));
        let half = whole * 0.5;
        let couple = self.couple_n_m(r.steer, [half, half]);
        let twist = couple / self.torsional_stiffness_n_m_per_rad;
        // braking moves the load forward
        let brake = (toe_pull_n / whole + ICE_PULL) * self.mass_height_m;
        let base =
            brake + self.balance_point_m + load_shift_m(self.pitch_inertia_kg_m2, r.nose_up_rad_s2, whole);
        let (left, lost_l) = self.runner(r, 0, half, base + couple / half, twist);
        let (right, lost_r) = self.runner(r, 1, half, base - couple / half, twist);
        let (cl, cr) = (left[1] / half, right[1] / half);
        let ratio = self.mass_height_m / self.gauge_m;
        let moved = (cl + cr) * ratio / ((cl - cr) * ratio + 1.0).max(T::from(LEAST_DIVISOR));
        // a lifted runner carries nothing, and the other one all
        let held = moved.min(T::from(1.0)).max(T::from(-1.0));
        let carried = r.load_n.max(T::from(0.0)) / whole;
        let share = [carried - carried * held, carried + carried * held];
        Pair {
            force: std::array::from_fn(|i| left[i] * share[0] + right[i] * share[1]),
            lost_w: std::array::from_fn(|i| lost_l[i] * share[0] + lost_r[i] * share[1]),
            loads_n: share.map(|s| s * half),
            centroids_m: [base + couple / half, base - couple / half],
            moved,
        }
    }

    /// Toes: drag and yaw to their side, and the power lost.
    #[inline]
    fn toes<T: Real>(&self, r: &Riding<T>) -> ([T; 3], T) {
        let zero = T::from(0.0);
        let (mut f, mut lost) = ([zero; 3], zero);
        for (toe, y_m) in r.toes.iter().zip([TOE_M[1], -TOE_M[1]]) {
            if *toe <= 0.0 {
                continue;
            }
            let x_m = TOE_M[0] - self.balance_point_m;
            let (vx, vy) =
                (r.forward_m_s - r.yaw_rate_rad_s * y_m, r.lateral_velocity_m_s + r.yaw_rate_rad_s * x_m);
            let speed = (vx.squared() + vy.squared() + TOE_FADE_M_S * TOE_FADE_M_S).sqrt();
            let pull = T::from(toe * self.toe_friction * self.toe_force_n) / speed;
            let (fx, fy) = (-(pull * vx), -(pull * vy));
            f[0] += fx;
            f[1] += fy;
            f[2] += fy * x_m - fx * y_m;
            lost += pull * (vx.squared() + vy.squared());
        }
        (f, lost)
    }

    /// Where the loads of the left and right runner act, forward of the middle (m).
    pub fn centroids_m(&self, riding: &Riding<f64>) -> [f64; 2] {
        self.pair(riding, -self.toes(riding).0[0]).centroids_m
    }

    /// Static margin by the tables (m), as a descent meets it, for a load of the sled on ice of a curvature, going
    /// straight; `None` without grip. What is reported is `bow_measures`, solved without tables.
    pub fn table_static_margin_m(&self, load_n: f64, ice_curvature_per_m: f64) -> Option<f64> {
        let look =
            |t: &Arc<RunnerTable>| t.look(0.5 * load_n, ice_curvature_per_m, self.balance_point_m, 30.0);
        let points = self.tables.each_ref().map(|t| look(t).points);
        static_margin_m(points.as_flattened(), self.balance_point_m)
    }

    /// Turn authority (1/m): curvature, within the ice, of the steady path that full steering to the right holds at
    /// a load of the sled, a curvature of the ice and a speed; side force and yaw moment balance there. `None` when
    /// no steady turn is found below a slip of 3 degrees.
    pub fn turn_authority_per_m(
        &self,
        load_n: f64,
        ice_curvature_per_m: f64,
        speed_m_s: f64,
        mass_kg: f64,
    ) -> Option<f64> {
        let force = |path_per_m: f64, slip: f64| {
            self.force(&Riding {
                load_n,
                ice_curvature_per_m,
                nose_up_rad_s2: 0.0,
                forward_m_s: speed_m_s,
                lateral_velocity_m_s: slip * speed_m_s,
                yaw_rate_rad_s: -path_per_m * speed_m_s,
                speed_m_s,
                steer: 1.0,
                toes: [0.0; 2],
            })
        };
        // for a path turning right, the slip at which the yaw moment vanishes; then the path whose turn
        // the side force holds
        let slip = |path: f64| brent(-0.05, 0.05, 1e-9, |s| force(path, s).moment_n_m);
        let excess = |path: f64| {
            slip(path).map_or(f64::NAN, |s| force(path, s).y_n + mass_kg * path * speed_m_s * speed_m_s)
        };
        brent(0.0, 0.02, 1e-9, excess)
    }
}

/// A coefficient from a measured table by straight lines, held at its ends `[-]`.
fn from_table<T: Real>(rows: &[(f64, f64)], speed_m_s: T) -> T {
    let v = speed_m_s.value();
    match rows.iter().position(|r| r.0 > v) {
        Some(0) => T::from(rows[0].1),
        None => T::from(rows.last().map_or(0.0, |r| r.1)),
        Some(i) => {
            let ((v0, m0), (v1, m1)) = (rows[i - 1], rows[i]);
            let slope = (m1 - m0) / (v1 - v0);
            speed_m_s.chain(m0 + slope * (v - v0), slope)
        }
    }
}

impl Ice for OnRunners {
    const HAS_AXIS: bool = true;

    #[inline]
    fn force<T: Real>(&self, r: &Riding<T>) -> IceForce<T> {
        let (toe, toe_w) = self.toes(r);
        let pair = self.pair(r, -toe[0]);
        let [glide, plough, skid] = pair.lost_w;
        IceForce {
            x_n: pair.force[0] + toe[0],
            y_n: pair.force[1] + toe[1],
            moment_n_m: pair.force[2] + toe[2],
            lost_w: [glide, plough, skid, toe_w],
        }
    }

    fn lifted(&self, r: &Riding<f64>) -> [f64; 2] {
        // with side forces of at most GRIP_CAP of the load, a sled lower than it is wide lifts nothing:
        // 2 c_R h/gauge <= 1; a tenth is left for the rest of the forces
        if 2.0 * GRIP_CAP * self.mass_height_m < 0.9 * self.gauge_m {
            return [-1.0; 2];
        }
        let moved = self.pair(r, -self.toes(r).0[0]).moved;
        [moved - 1.0, -moved - 1.0]
    }

    fn contact(&self, r: &Riding<f64>) -> ContactSample {
        let pair = self.pair(r, -self.toes(r).0[0]);
        let reports: [_; 2] = std::array::from_fn(|j| {
            self.tables[j].report(pair.loads_n[j], r.ice_curvature_per_m, pair.centroids_m[j])
        });
        ContactSample {
            load_n: pair.loads_n,
            touch_span_m: reports.map(|t| t.touch_span_m),
            outside_screws: reports.map(|t| t.outside_screws),
        }
    }
}
