//! How far what nobody measured of a pair may move its time, by the guided estimate: quick, and no ride.

use crate::files::ReadTrack;
use sled_bench::runner_record::{KEYS, RunnerRecord};
use sled_dynamics::analysis::bow_measures::own_measure;
use sled_dynamics::analysis::places::flat_place;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys::set;
use sweep_runner::rides::case::{Case, Model};

/// What the unknown numbers of a pair leave open.
#[derive(Clone, Debug, PartialEq)]
pub struct Swing {
    /// Unknown numbers, the one that moves the time most first: what it is, and by how much from end to end (s); none
    /// where an end cannot be computed.
    pub numbers: Vec<(&'static str, Option<f64>)>,
    /// Half the width of the 95 % band of the time (s), the swings added as if independent; none where an end is open.
    pub half_s: Option<f64>,
}

/// The guided time, its friction moved in proportion to that of the runners on flat ice.
fn guided_s(track: &ReadTrack, setup: &Setup, base_friction: f64) -> Option<f64> {
    let friction = own_measure(setup, &flat_place()).ok()??.friction;
    let mut there = setup.clone();
    there.ice.guided_friction *= friction / base_friction;
    let case = Case {
        track: &track.track,
        setup: &there,
        model: Model::Guided,
        precision: Precision::default(),
        detail: Detail::Bare,
    };
    case.descent().ok()?.finish_time_s
}

/// What the unknown numbers of a pair leave open on a set-up that has the pair on.
pub fn swing(track: &ReadTrack, on: &Setup, record: &RunnerRecord) -> Option<Swing> {
    let friction = own_measure(on, &flat_place()).ok()??.friction;
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
            guided_s(track, &there, friction)
        };
        let moved = at(ends[0]).zip(at(ends[1])).map(|(a, b)| (a - b).abs());
        numbers.push((key.doc, moved));
    }
    // what cannot be computed may move it most
    numbers.sort_by(|a, b| b.1.unwrap_or(f64::INFINITY).total_cmp(&a.1.unwrap_or(f64::INFINITY)));
    let squares: Option<f64> = numbers.iter().map(|n| n.1.map(|m| (0.5 * m).powi(2))).sum();
    Some(Swing { numbers, half_s: squares.map(f64::sqrt) })
}
