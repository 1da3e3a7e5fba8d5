//! Who steers.

use crate::state::{Motion, State};
use numerics::dual::Real;
use track_geometry::station::Station;

/// Someone who steers.
pub trait Steering {
    /// Steering asked for at a station, -1 full left to 1 full right `[-]`.
    fn command<T: Real>(&self, at: &Station, state: &State<T>, motion: &Motion<T>) -> T;

    /// Left and right toe on the ice, 0 to 1 `[-]`.
    fn toes(&self, station_m: f64) -> [f64; 2] {
        let _ = station_m;
        [0.0, 0.0]
    }

    /// Lag between what is asked for and what the sled gets (s); 0 is none.
    fn lag_s(&self) -> f64 {
        0.0
    }
}

/// Nobody: the sled is left to itself.
#[derive(Clone, Copy, Debug)]
pub struct HandsOff;

impl Steering for HandsOff {
    fn command<T: Real>(&self, _at: &Station, _state: &State<T>, _motion: &Motion<T>) -> T {
        T::from(0.0)
    }
}
