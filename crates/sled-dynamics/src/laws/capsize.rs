//! Whether a touch throws the sled over its outer runner.
//!
//! ```text
//!   (I0 + m x^2) p'' = F b cos p - N x - m x x' p'^2,   p >= 0, from rest at the touch
//!   z = h cos p + g/2 sin p,  x = dz/dp,  x' = dx/dp,  b = h - a
//!   over as soon as   x < 0,   the mass beyond the runner;   p = 0: it lies flat again
//!   a short blow of impulse J at a steady load:  p' = J b/I,  over when  I p'^2/2 > N (z_top - h),
//!   I = I0 + m (g/2)^2,  z_top = sqrt(h^2 + (g/2)^2)
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | p | angle of the roll over the outer runner | rad |
//! | F | `push_n`, push of the edge | N |
//! | N | `load_n`, load of the sled | N |
//! | z, x | height of the mass above the ice, and how far it stands inside the outer runner | m |
//! | h, g | height of the mass, gauge | m |
//! | a | [`TOUCH_HEIGHT_M`], where the edge pushes, above the ice | m |
//! | I0 | [`ROLL_INERTIA_KG_M2`] of sled and athlete about their own mass | kg m2 |
//! | m | mass | kg |
//!
//! The outer runner stays on the ice and glides sideways: hence x^2 in the inertia, and no h^2. The roll is followed
//! under the load of every moment, also after the touch, until the sled lies flat or is over: leaning on a wall throws
//! nobody, nor does a blow while the sled is light for a moment. With 115 kg, h 0.15 m and g 0.36 m a square
//! hit throws the sled from 9.4 m/s on at 1 g, and from more the more it is loaded.
//!
//! *Valid for* touches of one side at a time. *Assumes* no grip, no answer of the athlete, a sled that goes on as if
//! flat meanwhile, and a push at the height of the frame's bumpers also at a lip. *Source*: derived (Lagrange); a and
//! I0 are assumed. *Checked by* `exact_capsize_of_a_blow`, `exact_capsize_of_a_square_hit`.

/// Moment of inertia of sled and athlete about a line along the sled through their mass (kg m2), assumed.
pub const ROLL_INERTIA_KG_M2: f64 = 3.0;
/// Height above the ice at which an edge pushes on the sled: between the bumpers of its frame and the
/// athlete's shoulders (m), assumed.
pub const TOUCH_HEIGHT_M: f64 = 0.12;
/// Longest step of the roll (s).
const STEP_S: f64 = 5e-4;

/// What of a sled decides whether it goes over.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance {
    /// Mass (kg).
    pub mass_kg: f64,
    /// Height of the mass above the ice (m).
    pub mass_height_m: f64,
    /// Distance of the runners (m).
    pub gauge_m: f64,
}

/// The roll of one touch.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Roll {
    /// Angle over the outer runner (rad).
    pub(crate) angle_rad: f64,
    /// Its rate (rad/s).
    pub(crate) rate_rad_s: f64,
}

impl Roll {
    /// True while the sled is not flat on its runners.
    pub fn is_up(&self) -> bool {
        self.angle_rad > 0.0
    }

    /// Goes on for `time_s` under a push and a load; gives the share of that time after which the sled goes over.
    pub fn go_on(&mut self, balance: &Balance, push_n: f64, load_n: f64, time_s: f64) -> Option<f64> {
        let steps = (time_s / STEP_S).ceil().max(1.0);
        let step_s = time_s / steps;
        (1..=steps as usize)
            .find(|_| self.step(balance, push_n, load_n.max(0.0), step_s))
            .map(|i| i as f64 / steps)
    }

    /// One step, first the rate, then the angle; true once the sled goes over.
    fn step(&mut self, balance: &Balance, push_n: f64, load_n: f64, step_s: f64) -> bool {
        let (mass, h, half) = (balance.mass_kg, balance.mass_height_m, 0.5 * balance.gauge_m);
        let arm_m = (h - TOUCH_HEIGHT_M).max(0.0);
        let (sin, cos) = self.angle_rad.sin_cos();
        let (x, bend) = (half * cos - h * sin, -(half * sin + h * cos));
        let inertia = ROLL_INERTIA_KG_M2 + mass * x * x;
        let moment = push_n * arm_m * cos - load_n * x - mass * x * bend * self.rate_rad_s.powi(2);
        self.rate_rad_s += step_s * moment / inertia;
        self.angle_rad += step_s * self.rate_rad_s;
        if self.angle_rad <= 0.0 {
            (self.angle_rad, self.rate_rad_s) = (0.0, 0.0);
        }
        half * self.angle_rad.cos() < h * self.angle_rad.sin()
    }
}
