//! What to do at the bench: turns of the key in tenths and on a clock face, and what the caliper must read then.

use super::asked::{Asked, side};
use crate::commands::bow::drawing::drawing;
use crate::commands::bow::target::{Way, backwards, expected_rows, key, way};
use ice_contact::runner::Bow;
use sled_bench::readings::Side;
use sled_bench::target::{STEPS_OTHER_RUNNERS, STEPS_SAME_RUNNERS};
use sled_bench::turns::{Key, Turns};
use sled_dynamics::setup::Setup;

/// A turn below this is none (turns): 0.02 mm of a usual screw, what a caliper reads.
const NO_TURN: f64 = 0.02;

/// What to do at the bench.
#[derive(Clone, Debug, Default)]
pub struct Bench {
    /// Screw by screw: runner, screw, bow now, wanted, what a caliper there reads more, turn.
    pub screws: Vec<[String; 6]>,
    /// Point by point: runner, point, place, reading without bow, expected reading.
    pub points: Vec<Vec<String>>,
    /// Steps in order.
    pub steps: Vec<&'static str>,
    /// The check backwards.
    pub check: String,
    /// Where the caliper sits, as SVG; empty where there are no turns.
    pub drawing: String,
    /// Why there are no turns; empty where there are.
    pub without: String,
}

/// From the bow on the sled to the advised one.
pub fn bench(asked: &Asked, advised: &Setup, other_pair: bool) -> Bench {
    if asked.doubtful {
        let without = "no turns: tonight's readings are in doubt; read again before anything is turned";
        return Bench { without: without.into(), ..Bench::default() };
    }
    let key = key(advised);
    let now = asked.question.bows[asked.question.now];
    let wanted = [advised.runners.left, advised.runners.right];
    let mut ways: Vec<Way> = Vec::new();
    for (i, which) in [Side::Left, Side::Right].into_iter().enumerate() {
        let (fit, old) = match (&asked.fits[i], other_pair) {
            (_, true) => (None, Bow::even(0.0)),
            (Some(fit), _) => (Some(fit), fit.bow),
            (None, _) => (None, now[i]),
        };
        match way(advised, &key, which, fit, old, wanted[i]) {
            Ok(way) => ways.push(way),
            Err(faults) => {
                return Bench { without: format!("no turns: {}", faults.join("; ")), ..Bench::default() };
            }
        }
    }
    let screws = ways.iter().flat_map(|w| {
        w.plan.screws.iter().map(|s| {
            [
                side(w).to_string(),
                s.name.to_string(),
                format!("{:.2}", 1e3 * s.old_m),
                format!("{:.2}", 1e3 * s.target_m),
                format!("{:+.2}", 1e3 * s.reads_more_m),
                turn_words(&s.turns, &key),
            ]
        })
    });
    Bench {
        screws: screws.collect(),
        points: ways.iter().flat_map(expected_rows).collect(),
        steps: if other_pair { STEPS_OTHER_RUNNERS.to_vec() } else { STEPS_SAME_RUNNERS.to_vec() },
        check: backwards(&ways, advised, &key).unwrap_or_else(|why| why),
        // within a page the name of the form is not needed, and a page names no address
        drawing: drawing(advised).replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1),
        without: String::new(),
    }
}

/// Turns as they are done: in hundredths, and where a key that begins each turn at 12 o'clock ends.
pub fn turn_words(turns: &Turns, key: &Key) -> String {
    if turns.first_turns.abs() < NO_TURN {
        return "leave it".into();
    }
    let first = one_turn(turns.first_turns);
    if turns.then_turns == 0.0 || key.backlash_turns == 0.0 {
        return first;
    }
    format!("{first}, then {}", one_turn(turns.then_turns))
}

fn one_turn(turns: f64) -> String {
    let way = if turns > 0.0 { "clockwise" } else { "anticlockwise" };
    // half hours of a clock face, 24 to a turn
    let halves = (24.0 * turns).round() as i64;
    let (whole, on) = (halves.abs() / 24, halves.rem_euclid(24));
    let hour = if on / 2 == 0 { 12 } else { on / 2 };
    let clock = format!("{hour}{}", if on % 2 == 1 { ":30" } else { "" });
    let clock = match whole {
        0 => format!("to {clock}"),
        n if on == 0 => format!("{n} x round"),
        n => format!("{n} x round and to {clock}"),
    };
    format!("{:.2} {way}: {clock}", turns.abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_turns_on_a_clock_face() {
        let key = Key::default();
        let turn = |change_mm: f64| turn_words(&Turns::of(&key, 1e-3 * change_mm), &key);
        // 1 mm a turn: half a turn ends at 6, a quarter at 3, 0.29 at half past 3
        assert_eq!(turn(0.5), "0.50 clockwise: to 6");
        assert_eq!(turn(0.29), "0.29 clockwise: to 3:30");
        assert_eq!(turn(2.0), "2.00 clockwise: 2 x round");
        assert_eq!(turn(1.25), "1.25 clockwise: 1 x round and to 3");
        // back by the play of 0.08, twice over, and forth again: 0.5 + 0.16, 16 half hours before 12
        assert_eq!(turn(-0.5), "0.66 anticlockwise: to 4, then 0.16 clockwise: to 2");
        assert_eq!(turn(0.01), "leave it");
    }
}
