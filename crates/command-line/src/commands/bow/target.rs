//! `sagitta bow target`: from a wanted bow to turns of the key.

use super::caliper::{Calipers, name, warnings, zero};
use super::wanted::{Found, Wanted};
use crate::commands::bow::drawing::drawing;
use crate::commands::{Done, What};
use crate::files::{self, Output};
use crate::words::{CAUTION, every_fault, numbers, say, table};
use file_faults::cell::csv_line;
use ice_contact::runner::Bow;
use sled_bench::bow_fit::BowFit;
use sled_bench::readings::{Side, named_points};
use sled_bench::target::{BowTarget, STEPS_OTHER_RUNNERS, STEPS_SAME_RUNNERS, bow_target, reverse_check};
use sled_bench::turns::{Key, Turns};
use sled_dynamics::analysis::bow_measures::static_margin_m;
use sled_dynamics::analysis::places::flat_place;
use sled_dynamics::setup::Setup;
use std::path::PathBuf;

/// Options of `bow target`.
#[derive(clap::Args)]
pub struct Options {
    #[command(flatten)]
    what: What,
    #[command(flatten)]
    wanted: Wanted,
    /// Caliper readings of the bow as it is; without them the bow of the set-up is taken
    #[arg(long, value_name = "FILE")]
    readings: Option<PathBuf>,
    #[command(flatten)]
    calipers: Calipers,
    /// Other runners are put on: their bow begins at zero
    #[arg(long, conflicts_with = "readings")]
    other_runners: bool,
    /// Write tables and the set-up with the target bow into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// One runner on its way.
pub(in crate::commands) struct Way {
    /// Left or right.
    pub side: Side,
    /// Standard errors of the old bow (m); none where it is only stated.
    pub errors_m: Option<[f64; 2]>,
    /// Names of the points.
    pub names: Vec<String>,
    /// Place and reading without bow (m).
    pub points: Vec<(f64, f64)>,
    /// What to turn, and what the caliper must read then.
    pub plan: BowTarget,
}

/// Prints the change of bow.
pub fn target(o: &Options) -> Done {
    let (track, read) = o.what.read()?;
    let setup = read.setup;
    let key = key(&setup);
    let mut head = String::new();
    let (mut fits, mut notes, mut serious) = ([None, None], Vec::new(), false);
    if let Some(path) = &o.readings {
        let pair = o.calipers.fit(path, &setup)?;
        (notes, serious) = warnings(&pair);
        for fit in pair.fits.iter().flatten() {
            head += &format!("{}\n", zero(fit, &setup));
        }
        fits = pair.fits;
    } else if o.calipers.reference.is_some() {
        return Err("--reference goes with --readings".into());
    }
    let sides = [(Side::Left, setup.runners.left), (Side::Right, setup.runners.right)];
    let old: [Bow; 2] = std::array::from_fn(|i| match (&fits[i], o.other_runners) {
        (_, true) => Bow::even(0.0),
        (Some(fit), _) => fit.bow,
        (None, _) => sides[i].1,
    });
    let (wanted, how) = match o.wanted.bows(&track.track, &setup, old)? {
        Found::Bows(bows, how) => (bows, how),
        Found::None(why) => {
            say(&format!("{why}\n\n{CAUTION}\n"))?;
            return Ok(1);
        }
    };
    let mut ways = Vec::new();
    let mut faults = Vec::new();
    for i in 0..2 {
        match way(&setup, &key, sides[i].0, fits[i].as_ref(), old[i], wanted[i]) {
            Ok(way) => ways.push(way),
            Err(found) => faults.extend(found),
        }
    }
    if !faults.is_empty() {
        faults.dedup();
        return Err(format!("this target cannot be set\n{}{}", faults.join("\n"), o.wanted.commas()));
    }
    let from = if o.other_runners {
        "old bow: none, other runners go on"
    } else if ways.iter().all(|w| w.errors_m.is_some()) {
        "old bow: from the readings"
    } else if o.readings.is_some() {
        "old bow: from the readings of one runner; of the other as the set-up says, not measured"
    } else {
        "old bow: as the set-up says, not measured"
    };
    let expected: Vec<_> = ways.iter().flat_map(expected_rows).collect();
    let screws: Vec<_> =
        ways.iter().zip(o.wanted.stays()).flat_map(|(w, stays)| screw_rows(w, &key, stays)).collect();
    let mut text = format!("{}: change of bow\n{head}{from}\n{how}\n\n", setup.name);
    // what is suspect comes before anything is turned
    if !notes.is_empty() {
        let doubt =
            if serious { "the readings are in doubt: read again before anything is turned\n" } else { "" };
        text += &format!("{doubt}{}\n\n", notes.join("\n"));
    }
    text += &format!("{}\n", numbers(&SCREWS, screws.clone()));
    text += "change: advance of the screw, which the key turns; caliper there: what a caliper at the screw reads more, \
             which is not the same: mounts give way, and the other screw lifts the rod as well\n\n";
    text += &format!("{}\n\n", stress(&ways, setup.runners.both.yield_stress_pa));
    let mut set = setup.clone();
    [set.runners.left, set.runners.right] = wanted;
    let mut before = setup.clone();
    // a bow that was read may stand a reading error behind straight, which no set-up may
    [before.runners.left, before.runners.right] =
        old.map(|b| Bow { front_m: b.front_m.max(0.0), rear_m: b.rear_m.max(0.0) });
    text += &margin_words(&before, &set)?;
    text += &format!("{}\n", table(&POINTS, expected.clone()));
    text += &format!("{}\n\n", backwards(&ways, &setup, &key)?);
    let steps = if o.other_runners { &STEPS_OTHER_RUNNERS[..] } else { &STEPS_SAME_RUNNERS[..] };
    for (i, step) in steps.iter().enumerate() {
        text += &format!("{}. {step}\n", i + 1);
    }
    let setup_file = o.out.as_ref().map(|_| files::setup_output("setup.toml", &set)).transpose()?;
    text += &format!("\n{CAUTION}\n");
    say(&text)?;
    if let (Some(out), Some(setup_file)) = (&o.out, setup_file) {
        let outputs = [
            // with steps and warnings: what lies at the bench is not the numbers alone
            Output::new("turns.txt", text),
            Output::new("turns.csv", csv(&SCREWS, &screws)),
            Output::new("expected.csv", csv(&POINTS, &expected)),
            setup_file,
            Output::new("caliper.svg", drawing(&set)),
        ];
        files::write_all(out, &outputs)?;
        tell!("written to {}", out.display());
    }
    Ok(u8::from(serious))
}

/// What the target does to the static margin.
fn margin_words(old: &Setup, new: &Setup) -> Result<String, String> {
    let margin = |setup: &Setup| -> Result<String, String> {
        let margin_m = static_margin_m(setup, &flat_place()).map_err(every_fault)?;
        Ok(margin_m.map_or("unsolved".to_string(), |m| format!("{:.0} mm", 1e3 * m)))
    };
    Ok(format!(
        "static margin at 1 g on flat ice, contact solved without tables: {} with the old bow, {} with the target\n\n",
        margin(old).unwrap_or("not computed".into()),
        margin(new)?
    ))
}

/// The key of a set-up's screws.
pub(in crate::commands) fn key(setup: &Setup) -> Key {
    let s = &setup.screws;
    Key { pitch_m: s.pitch_m, backlash_turns: s.backlash_turns, clockwise_adds: s.clockwise >= 0.0 }
}

/// One runner from its old bow to the wanted one; every fault.
pub(in crate::commands) fn way(
    setup: &Setup,
    key: &Key,
    side: Side,
    fit: Option<&BowFit>,
    old: Bow,
    wanted: Bow,
) -> Result<Way, Vec<String>> {
    let mut points: Vec<(f64, f64)> = Vec::new();
    let mut names = Vec::new();
    match fit {
        Some(fit) => {
            for d in &fit.drops {
                if !names.contains(&d.point) {
                    names.push(d.point.clone());
                    points.push((d.position_m, d.zero_m));
                }
            }
        }
        None => {
            for (point, x) in named_points(&setup.runners.both) {
                names.push(point);
                points.push((x, 0.0));
            }
        }
    }
    let plan = bow_target(&setup.runners.both, old, wanted, key, &points)
        .map_err(|f| f.iter().map(|f| format!("{} runner: {f}", name(side))).collect::<Vec<_>>())?;
    Ok(Way { side, errors_m: fit.map(BowFit::errors_m), names, points, plan })
}

const SCREWS: [&str; 9] = [
    "runner",
    "screw",
    "old mm",
    "error mm",
    "target mm",
    "change mm",
    "caliper there mm",
    "turns of the key",
    "force N",
];
pub(in crate::commands) const POINTS: [&str; 5] =
    ["runner", "point", "place mm", "without bow mm", "expected reading mm"];

/// The screws of one runner; where nothing is asked of it, its bow stays and is no target.
fn screw_rows(way: &Way, key: &Key, stays: bool) -> Vec<Vec<String>> {
    let row = |(i, s): (usize, &sled_bench::target::ScrewRow)| {
        let error = way.errors_m.map_or("-".to_string(), |e| format!("{:.3}", 1e3 * e[i]));
        let change_m = s.target_m - s.old_m;
        // what the readings cannot tell from nothing is not turned after
        let leave = way.errors_m.is_some_and(|e| change_m.abs() < 1.959964 * e[i]);
        let turn = if leave { "leave it: within its error".to_string() } else { in_words(&s.turns, key) };
        vec![
            name(way.side).to_string(),
            s.name.to_string(),
            format!("{:.2}", 1e3 * s.old_m),
            error,
            if stays { "as it is".to_string() } else { format!("{:.2}", 1e3 * s.target_m) },
            if stays { "-".to_string() } else { format!("{:+.2}", 1e3 * change_m) },
            if stays { "-".to_string() } else { format!("{:+.2}", 1e3 * s.reads_more_m) },
            if stays { "none".to_string() } else { turn },
            format!("{:.0}", s.force_n),
        ]
    };
    way.plan.screws.iter().enumerate().map(row).collect()
}

/// Turns of the key, as they are done.
fn in_words(turns: &Turns, key: &Key) -> String {
    let way = |t: f64| if t > 0.0 { "clockwise" } else { "anticlockwise" };
    if turns.first_turns.abs() < 0.005 {
        return "nothing".to_string();
    }
    let first = format!("{:.2} {}", turns.first_turns.abs(), way(turns.first_turns));
    if turns.then_turns == 0.0 || key.backlash_turns == 0.0 {
        return first;
    }
    format!("{first} then {:.2} {}", turns.then_turns.abs(), way(turns.then_turns))
}

fn stress(ways: &[Way], yield_pa: f64) -> String {
    let row = |w: &Way| {
        let margin =
            w.plan.margin_to_yield.map_or("nothing bends it".into(), |m| format!("{:.0} %", 100.0 * m));
        let mpa = |pa: f64| format!("{:.0}", pa / 1e6);
        vec![name(w.side).to_string(), mpa(w.plan.stress_pa), mpa(yield_pa), margin]
    };
    numbers(&["runner", "bending stress MPa", "yield MPa", "margin to yield"], ways.iter().map(row))
}

/// What the caliper must read, point by point.
pub(in crate::commands) fn expected_rows(way: &Way) -> Vec<Vec<String>> {
    let places = way.names.iter().zip(&way.points).zip(&way.plan.expected_m);
    let row = |((point, (x, zero)), expected): ((&String, &(f64, f64)), &f64)| {
        let (zero, reading) = if way.errors_m.is_some() {
            (format!("{:.2}", 1e3 * zero), format!("{:.2}", 1e3 * expected))
        } else {
            ("yours".to_string(), format!("yours {:+.2}", 1e3 * expected))
        };
        vec![name(way.side).to_string(), point.clone(), format!("{:.0}", 1e3 * x), zero, reading]
    };
    places.map(row).collect()
}

/// The check backwards: expected readings to bow, turns to bow.
pub(in crate::commands) fn backwards(ways: &[Way], setup: &Setup, key: &Key) -> Result<String, String> {
    let (mut by_fit, mut by_turns) = (0.0_f64, 0.0_f64);
    for way in ways {
        let wanted = way.plan.screws.map(|s| s.target_m);
        // any error will do where all are alike
        let back = reverse_check(&setup.runners.both, &way.points, &way.plan.expected_m, 2e-5);
        let back = back.map_err(|e| format!("{} runner: {e}", name(way.side)))?;
        by_fit = by_fit.max((back.front_m - wanted[0]).abs()).max((back.rear_m - wanted[1]).abs());
        for s in &way.plan.screws {
            for slack in [0.0, key.backlash_turns] {
                by_turns = by_turns.max((s.old_m + s.turns.change_m(key, slack) - s.target_m).abs());
            }
        }
    }
    Ok(format!(
        "checked backwards: the expected readings, fitted again, give the target to {:.3} mm; the turns end within {:.2} mm \
         of it, however the play stood (play: {:.2} mm)",
        1e3 * by_fit,
        1e3 * by_turns,
        1e3 * key.pitch_m * key.backlash_turns
    ))
}

fn csv(header: &[&str], rows: &[Vec<String>]) -> String {
    let header: Vec<String> = header.iter().map(|h| h.replace(' ', "_")).collect();
    csv_line(&header) + &rows.iter().map(|r| csv_line(r)).collect::<String>()
}
