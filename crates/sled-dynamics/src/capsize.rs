//! Whether a touch throws the sled over its outer runner.
//!
//! ```text
//!   dL/dt = F b - N g/2,  L >= 0 from 0 at the touch          roll momentum about the sled's length
//!   over when  L^2/(2 I) > <N> (sqrt(h^2 + (g/2)^2) - h)       I = I0 + m (g/2)^2,   b = h - a
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | F | `push_n`, push of the edge | N |
//! | N, <N> | `load_n`, load of the sled, and its mean since the touch | N |
//! | h, g | height of the mass, gauge | m |
//! | a | [`TOUCH_HEIGHT_M`], where the edge pushes, above the ice | m |
//! | I0 | [`ROLL_INERTIA_KG_M2`] of sled and athlete about their own mass | kg m2 |
//! | m | mass | kg |
//!
//! The sled turns about its length while the outer runner glides sideways on the ice and stays on it: the
//! mass then rises by g/2 times the roll rate, hence (g/2)^2 in the inertia; no h^2, since the side of the
//! runner is free. What the load takes back while the edge pushes is counted, so that leaning on a wall
//! throws nobody; after the push the roll has to lift the mass over the runner. With 115 kg, h 0.15 m and
//! g 0.36 m a square hit throws the sled from 3.9 m/s on at 1 g and from 10 m/s on at 4 g.
//!
//! *Valid for* touches shorter than the fall back (0.2 s at 1 g). *Assumes* small angles while the edge pushes,
//! no grip, no answer of the athlete, a push below the mass also at a lip. *Source*: derived; a and I0 are
//! assumed. *Checked by* `exact_capsize_of_a_steady_push`, `exact_capsize_of_a_square_hit`.

/// Moment of inertia of sled and athlete about a line along the sled through their mass (kg m2), assumed.
pub const ROLL_INERTIA_KG_M2: f64 = 3.0;
/// Height above the ice at which an edge pushes on the sled (m), assumed.
pub const TOUCH_HEIGHT_M: f64 = 0.05;

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

impl Balance {
    /// Moment that rolls the sled, less what its load holds against it (N m).
    pub fn moment_n_m(&self, push_n: f64, load_n: f64) -> f64 {
        let arm_m = (self.mass_height_m - TOUCH_HEIGHT_M).max(0.0);
        push_n * arm_m - load_n.max(0.0) * 0.5 * self.gauge_m
    }

    /// Roll momentum from which on the sled goes over under a load (kg m2/s).
    pub fn over_kg_m2_s(&self, mean_load_n: f64) -> f64 {
        let half_m = 0.5 * self.gauge_m;
        let inertia_kg_m2 = ROLL_INERTIA_KG_M2 + self.mass_kg * half_m * half_m;
        let rise_m = self.mass_height_m.hypot(half_m) - self.mass_height_m;
        (2.0 * inertia_kg_m2 * mean_load_n.max(0.0) * rise_m).sqrt()
    }
}

/// The roll of one touch.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Roll {
    /// Roll momentum (kg m2/s).
    pub momentum_kg_m2_s: f64,
    load_n_s: f64,
    time_s: f64,
}

impl Roll {
    /// Goes on for `time_s` under a push and a load; gives the share of that time after which the sled went over.
    pub fn go_on(&mut self, balance: &Balance, push_n: f64, load_n: f64, time_s: f64) -> Option<f64> {
        let before = self.momentum_kg_m2_s;
        self.momentum_kg_m2_s = (before + balance.moment_n_m(push_n, load_n) * time_s).max(0.0);
        self.load_n_s += load_n * time_s;
        self.time_s += time_s;
        let over = balance.over_kg_m2_s(self.load_n_s / self.time_s.max(f64::MIN_POSITIVE));
        let gained = self.momentum_kg_m2_s - before;
        (self.momentum_kg_m2_s > over && gained > 0.0).then(|| ((over - before) / gained).clamp(0.0, 1.0))
    }
}
