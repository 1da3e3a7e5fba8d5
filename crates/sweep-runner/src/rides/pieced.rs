//! The planned ride of a set-up with pieces of it going wrong.

use crate::rides::prepared::Prepared;
use sled_dynamics::motion::course::Course;
use sled_dynamics::motion::descend::descend;
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::pieces::{Piece, PiecedRide};

/// A descent of the planned ride in which pieces go wrong; places that are told are left out.
pub fn pieced(prepared: &Prepared<'_>, pieces: &[Piece], precision: Precision, detail: Detail) -> Descent {
    let ready = &prepared.ready;
    let ride = PiecedRide::new(&prepared.ride, pieces);
    let course = Course { track: ready.track, constants: &ready.constants, ice: &ready.ice, pilot: &ride };
    descend(&course, &ready.launch, Entry::STRAIGHT, precision, detail)
}
