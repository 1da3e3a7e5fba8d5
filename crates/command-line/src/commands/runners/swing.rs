//! How far what nobody measured of a pair may move its time, by the guided estimate: quick, and no ride.

use crate::files::ReadTrack;
use sled_bench::runner_record::{KEYS, RunnerRecord};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys::set;
use sweep_runner::plausible::chosen::{flat_friction, guided_s};

/// What the unknown numbers of a pair leave open.
#[derive(Clone, Debug, PartialEq)]
pub struct Swing {
    /// Unknown numbers, the one that moves the time most first: what it is, and by how much from end to end (s); none
    /// where an end cannot be computed.
    pub numbers: Vec<(&'static str, Option<f64>)>,
    /// Half the width of the 95 % band of the time (s), the swings added as if independent; none where an end is open.
    pub half_s: Option<f64>,
}

/// What the unknown numbers of a pair leave open on a set-up that has the pair on.
pub fn swing(track: &ReadTrack, on: &Setup, record: &RunnerRecord) -> Option<Swing> {
    let friction = flat_friction(on)?;
    let mut numbers = vec![];
    for (i, key) in KEYS.iter().enumerate() {
        let (Some(path), Some(reckoned), Some(ends)) = (key.setup_key, record.reckoned(i), record.band(i))
        else {
            continue;
        };
        if reckoned.known {
            continue;
        }
        let at = |value: f64| {
            let mut there = on.clone();
            set(&mut there, path, value).ok()?;
            guided_s(&track.track, &there, friction)
        };
        let moved = at(ends[0]).zip(at(ends[1])).map(|(a, b)| (a - b).abs());
        numbers.push((key.doc, moved));
    }
    // what cannot be computed may move it most
    numbers.sort_by(|a, b| b.1.unwrap_or(f64::INFINITY).total_cmp(&a.1.unwrap_or(f64::INFINITY)));
    let squares: Option<f64> = numbers.iter().map(|n| n.1.map(|m| (0.5 * m).powi(2))).sum();
    Some(Swing { numbers, half_s: squares.map(f64::sqrt) })
}
