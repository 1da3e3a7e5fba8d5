//! What a plan pays for, beside time. Assumed.

/// Prices, in seconds per second.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prices {
    /// Of full steering.
    pub(crate) steer: f64,
    /// Of changing the steering by one per second.
    pub(crate) rate: f64,
    /// Of one degree of slip.
    pub(crate) slip: f64,
    /// Of a clearance short by 0.12 m.
    pub(crate) edge: f64,
    /// Of steering 0.1 beyond what is kept back.
    pub limit: f64,
    /// Of virtual help of 1 m/s2.
    pub help: f64,
    /// Of being 0.1 m beside a told line.
    pub told: f64,
}

impl Default for Prices {
    fn default() -> Self {
        Prices { steer: 6e-2, rate: 3e-2, slip: 2.0, edge: 1.0, limit: 0.05, help: 1e-2, told: 10.0 }
    }
}
