//! Told lines are planned anew: high rides higher and low lower, in every corner of both tracks, or is refused. Known to
//! be refused is low in the first corner alone, where a slow sled has hardly begun to turn.

use crate::made::{setup, shipped};
use sled_dynamics::motion::descent::Sample;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::notes::Note;
use sled_dynamics::riding::notes_read::read_phrase;
use sled_dynamics::riding::told_line::ToldPlace;
use sled_dynamics::setup::Setup;
use sweep_runner::rides::pieced::pieced;
use sweep_runner::rides::prepared::{Prepared, Ready};
use sweep_runner::rides::told::{Met, piece_of, told_ride};
use track_geometry::track::{Hand, Track};

/// Tells high or low in these corners of a planned ride, in one plan where there is one that meets all of them.
fn told(prepared: &Prepared<'_>, word: &str, corners: &[usize]) -> Vec<(usize, Result<Met, String>)> {
    let track = prepared.ready.track;
    let place = |i: &usize| -> ToldPlace {
        let text = format!("{word} in corner {}", track.data.corners[*i].name);
        let note: Note = read_phrase("test", &text, track).unwrap();
        piece_of(prepared, &note).unwrap().told.unwrap()
    };
    let places: Vec<ToldPlace> = corners.iter().map(place).collect();
    match told_ride(prepared, &places) {
        Ok(ride) => corners.iter().copied().zip(ride.met.into_iter().map(Ok)).collect(),
        Err(why) if corners.len() == 1 => vec![(corners[0], Err(why))],
        // a corner that cannot be met spoils it for the others: halve
        Err(_) => {
            let (a, b) = corners.split_at(corners.len() / 2);
            [told(prepared, word, a), told(prepared, word, b)].concat()
        }
    }
}

fn planned<'a>(track: &'a Track, own: &'a Setup) -> Prepared<'a> {
    let lag_s = own.pilot.lag_s;
    let ready = Ready::new(track, own).unwrap();
    let planned = ready.plan(lag_s, None).unwrap();
    Prepared::new(ready, planned, lag_s).unwrap()
}

fn high_and_low(name: &str, known_refused: &[&str]) {
    let track = shipped(name);
    let own = setup("clubs-woman", &[]);
    let prepared = planned(&track, &own);
    let (mut wrong, mut refused) = (vec![], vec![]);
    for (word, up) in [("high", 1.0), ("low", -1.0)] {
        for first in 0..3 {
            // every third corner: the way between is long enough for one not to disturb the next
            let corners: Vec<usize> = (first..track.data.corners.len()).step_by(3).collect();
            for (i, met) in told(&prepared, word, &corners) {
                let corner = &track.data.corners[i].name;
                match met {
                    Ok(met) => {
                        println!("{name} {corner} {word}: {}", met.words());
                        let higher_m = met.ridden_m.unwrap()[1] - met.planned_m[1];
                        // the word's own direction, and where it was asked
                        if higher_m * up <= 0.0 || met.off_m() > 0.1 {
                            wrong.push(format!("{corner} {word}: {}", met.words()));
                        }
                    }
                    Err(why) => {
                        println!("{name} {corner} {word} refused: {why}");
                        refused.push(format!("{corner} {word}"));
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    // a miss, and known: one more that is met or refused has to be said
    assert_eq!(refused, known_refused);
}

#[test]
fn plan_high_is_higher_and_low_lower_on_oskerdale() {
    high_and_low("oskerdale", &["1 low"]);
}

#[test]
fn plan_high_is_higher_and_low_lower_on_quillmere() {
    high_and_low("quillmere", &["1 low"]);
}

#[test]
fn plan_told_skids_come_to_their_angle() {
    let track = shipped("quillmere");
    let own = setup("clubs-woman", &[]);
    let prepared = planned(&track, &own);
    let ride = |pieces: &[_]| pieced(&prepared, pieces, Precision::default(), Detail::Trace(0.1));
    let clean = ride(&[]);
    for (text, left) in [
        ("skid left 8 deg in corner 4", 1.0),
        ("skid right 8 deg in corner 4", -1.0),
        ("skid 15 deg out of corner 7", if track.data.corners[6].hand == Hand::Left { 1.0 } else { -1.0 }),
    ] {
        let note = read_phrase("test", text, &track).unwrap();
        let skid = ride(&[piece_of(&prepared, &note).unwrap()]);
        let from_m = note.place_m(&track);
        let there = || skid.trace.iter().zip(&clean.trace).filter(|(s, _)| s.station_m >= from_m);
        let greatest = |of: &dyn Fn(&Sample) -> f64| {
            there().take(400).map(|(s, _)| of(s)).fold(f64::NEG_INFINITY, f64::max)
        };
        // nose to the left: the sled's way lies to its right. The trace that the kick is sought on is coarser: 0.1 deg
        let slip_deg = greatest(&|s| -left * s.slip_rad.to_degrees());
        approx::assert_abs_diff_eq!(slip_deg, note.size, epsilon = 0.1);
        // and it is the sled that turned, to that side
        let turned_deg = there().take(400).map(|(s, c)| left * (s.yaw_rad - c.yaw_rad).to_degrees());
        assert!(turned_deg.fold(f64::NEG_INFINITY, f64::max) > 0.5 * note.size, "{text}");
        // what is lost to the skid is lost, whether or not the sled comes down
        let lost = skid.finish_time_s.zip(clean.finish_time_s).is_none_or(|(a, b)| a > b + 0.005);
        assert!(lost, "{text}: {:?}, {:?}", skid.finish_time_s, clean.finish_time_s);
    }
}
