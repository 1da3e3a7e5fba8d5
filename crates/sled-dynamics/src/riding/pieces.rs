//! What goes wrong in pieces of a planned ride, and the ride with it.

use crate::laws::state::{Motion, State};
use crate::motion::pilot::{Asked, Steering};
use crate::riding::errors_of_ride::{CornerErrors, RideErrors};
use crate::riding::planned_ride::PlannedRide;
use crate::riding::told_line::ToldPlace;
use numerics::dual::Real;
use track_geometry::station::Station;

/// Something that goes wrong from one station to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// Where it is told of (m): the section there answers for it.
    pub of_m: f64,
    /// From here (m).
    pub from_m: f64,
    /// To here (m).
    pub to_m: f64,
    /// Steering comes this much too late (m).
    pub late_m: f64,
    /// Steering is this many times what was planned `[-]`.
    pub amount: f64,
    /// The line aimed for lies this far to the left of the plan (m).
    pub aim_m: f64,
    /// Left and right toe on the ice, 0 to 1 `[-]`.
    pub toes: [f64; 2],
    /// Yaw moment on the sled, to the left positive (N m).
    pub yaw_n_m: f64,
    /// A place to be: the ride is planned anew.
    pub told: Option<ToldPlace>,
}

impl Piece {
    /// Nothing wrong between two stations.
    pub fn between(from_m: f64, to_m: f64) -> Piece {
        let (aim_m, toes, yaw_n_m, told) = (0.0, [0.0; 2], 0.0, None);
        Piece { of_m: from_m, from_m, to_m, late_m: 0.0, amount: 1.0, aim_m, toes, yaw_n_m, told }
    }
}

/// The errors of a ride made of pieces; where pieces overlap, lateness and aim add, amounts multiply.
pub(crate) fn errors_of(pieces: &[Piece]) -> RideErrors {
    let steered = || pieces.iter().filter(|p| p.late_m != 0.0 || p.amount != 1.0 || p.aim_m != 0.0);
    let mut ends: Vec<f64> = steered().flat_map(|p| [p.from_m, p.to_m]).collect();
    ends.sort_by(f64::total_cmp);
    ends.dedup();
    let at = |from_m: f64| {
        let mut e = CornerErrors { from_m, ..CornerErrors::NONE };
        for p in steered().filter(|p| p.from_m <= from_m && from_m < p.to_m) {
            e.late_m += p.late_m;
            e.amount *= p.amount;
            e.aim_m += p.aim_m;
        }
        e
    };
    RideErrors(ends.into_iter().map(at).collect())
}

/// A planned ride in which pieces go wrong.
#[derive(Clone, Debug)]
pub struct PiecedRide {
    ride: PlannedRide,
    toed: Vec<Piece>,
    kicked: Vec<Piece>,
    kinks_m: Vec<f64>,
}

impl PiecedRide {
    /// The planned ride with these pieces.
    pub fn new(ride: &PlannedRide, pieces: &[Piece]) -> PiecedRide {
        let toed: Vec<Piece> = pieces.iter().filter(|p| p.toes != [0.0; 2]).copied().collect();
        let kicked: Vec<Piece> = pieces.iter().filter(|p| p.yaw_n_m != 0.0).copied().collect();
        let ends = toed.iter().chain(&kicked).flat_map(|p| [p.from_m, p.to_m]);
        let mut kinks_m: Vec<f64> = ride.kinks_m().iter().copied().chain(ends).collect();
        kinks_m.sort_by(f64::total_cmp);
        kinks_m.dedup();
        PiecedRide { ride: ride.with_errors(errors_of(pieces)), toed, kicked, kinks_m }
    }
}

impl Steering for PiecedRide {
    #[inline]
    fn ask<T: Real>(
        &self,
        at: &Station,
        state: &State<T>,
        motion: &Motion<T>,
        steer: T,
        asked: T,
    ) -> Asked<T> {
        self.ride.ask(at, state, motion, steer, asked)
    }

    fn first_asked(&self) -> f64 {
        self.ride.first_asked()
    }

    fn toes(&self, station_m: f64) -> [f64; 2] {
        let on = |p: &&Piece| p.from_m <= station_m && station_m < p.to_m;
        self.toed.iter().find(on).map_or([0.0; 2], |p| p.toes)
    }

    fn disturbance(&self, station_m: f64) -> [f64; 2] {
        let on = |p: &&Piece| p.from_m <= station_m && station_m < p.to_m;
        [0.0, self.kicked.iter().filter(on).map(|p| p.yaw_n_m).sum()]
    }

    fn kinks_m(&self) -> &[f64] {
        &self.kinks_m
    }

    fn lag_s(&self) -> f64 {
        self.ride.lag_s()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_pieces_to_errors() {
        let late = Piece { late_m: 2.0, ..Piece::between(100.0, 160.0) };
        let left = Piece { aim_m: 0.3, ..Piece::between(130.0, 160.0) };
        let toe = Piece { toes: [1.0, 0.0], ..Piece::between(10.0, 15.0) };
        let errors = errors_of(&[left, toe, late]);
        let told: Vec<_> = errors.0.iter().map(|e| (e.from_m, e.late_m, e.aim_m)).collect();
        assert_eq!(told, [(100.0, 2.0, 0.0), (130.0, 2.0, 0.3), (160.0, 0.0, 0.0)]);
        assert_eq!(errors_of(&[]), RideErrors::default());
    }
}
