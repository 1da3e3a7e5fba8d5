//! What a trial can tell, as a picture: the chance to show a difference, by its size and the pairs that are ridden.

use crate::files::Output;
use evidence::decision::Belief;
use evidence::paired_power::{FALSE_ALARM, USUAL_POWER, pair_spread_s, paired_power};
use pictures::curves::{Curve, CurveWords, curves};

/// Steps of a curve.
const STEPS: usize = 80;
/// Questions whose belief is marked.
const MARKED: usize = 4;
/// Times the spread of a run over which the difference is drawn at least `[-]`.
const WIDE: f64 = 3.0;

/// Power over the difference for these pairs, twice and four times as many; beliefs as upright lines.
pub fn power(pairs: usize, spread_s: f64, beliefs: &[(&str, Belief)]) -> Result<Vec<Output>, String> {
    let most = beliefs.iter().map(|(_, b)| b.mean_s.abs()).fold(WIDE * spread_s, f64::max);
    let sd_s = pair_spread_s(spread_s);
    let curve = |times: usize| {
        let many = pairs.max(2) * times;
        let point = |i: usize| {
            let d = most * i as f64 / STEPS as f64;
            (d, 100.0 * paired_power(many as f64, d / sd_s, FALSE_ALARM))
        };
        Curve { label: format!("{many} pairs, {} runs", 2 * many), points: (0..=STEPS).map(point).collect() }
    };
    let usual = 100.0 * USUAL_POWER;
    let mut limits =
        vec![Curve { label: format!("level: {usual:.0} %"), points: vec![(0.0, usual), (most, usual)] }];
    for (name, belief) in beliefs.iter().take(MARKED).filter(|(_, b)| b.mean_s != 0.0) {
        let x = belief.mean_s.abs();
        let name: String = name.chars().take(22).collect();
        limits
            .push(Curve { label: format!("upright: {name}, {x:.3} s"), points: vec![(x, 0.0), (x, 100.0)] });
    }
    let title = format!("What the runs can tell, spread {spread_s:.3} s from run to run");
    let words = CurveWords {
        name: "power",
        title: &title,
        across: "true difference of the two set-ups (s)",
        up: "chance that the trial shows it (%)",
    };
    let picture = curves(&words, &[curve(1), curve(2), curve(4)], &limits).map_err(|e| e.to_string())?;
    Ok(Output::picture(&picture).into())
}
