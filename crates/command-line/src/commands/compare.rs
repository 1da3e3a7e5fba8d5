//! `sagitta compare`: set-ups against each other, each with its own planned ride and the same mistakes.

use super::calibrated::{CalibrationOption, UNMEASURED, UnmeasuredOption, Used};
use super::compare_choice::{Rode, chosen};
use super::compare_points::{self, over_points};
use super::compare_unknowns::{Asked, over_unknowns};
use super::losses::lost_pictures;
use super::rules::rules;
use super::unknowns::UnknownsOption;
use super::{Done, Stored, by_the_plan_of, planned_at};
use crate::files::{self, Output, ReadSetup, ReadTrack, key_value};
use crate::interrupt::{self, INTERRUPTED};
use crate::number::within;
use crate::progress::Progress;
use crate::words::{ABSOLUTE, CAUTION, numbers, say};
use file_faults::cell::guarded;
use sled_dynamics::analysis::losses::{CAUSE_NAMES, CAUSES, Losses, Ridden, losses, spacing_to_finish_m};
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::errors_of_ride::{SKILLS, Skill};
use sled_dynamics::setup::Setup;
use std::path::PathBuf;
use sweep_runner::plausible::chosen::OF_RIDES;
use sweep_runner::rides::beside_steps::{of_difference_s, of_rides_difference_s};
use sweep_runner::rides::ensemble::{Ensemble, RIDES, rides};
use sweep_runner::rides::figures::Figure;
use sweep_runner::rides::paired::{Paired, paired};
use sweep_runner::rides::prepared::{Attempt, Prepared};
use sweep_runner::rides::words::{PairedWords, figure, paired_words};

/// Spacing of the traces that gaps are read from (m).
const TRACE_M: f64 = 0.5;
/// Rides of each set-up before the next is ridden: what is there of each when it is interrupted is as much of all.
const ROUND: usize = 32;

/// Options of `compare`.
#[derive(clap::Args)]
pub struct Options {
    /// Files of the set-ups; the others are compared with the first [default: the invented club's woman, built in]
    #[arg(value_name = "SETUP")]
    setups: Vec<PathBuf>,
    /// One more set-up: the first with these keys set; `KEY=VALUE,KEY=VALUE` (may be repeated)
    #[arg(long = "variant", value_name = "KEY=VALUE,...")]
    variants: Vec<String>,
    /// Folder of the track [default: the invented track Oskerdale, built in]
    #[arg(long, value_name = "DIR")]
    track: Option<PathBuf>,
    /// Skill of the athlete who rides: novice, club, national or elite
    #[arg(long, default_value = "national")]
    skill: String,
    /// Rides of each set-up, all with the same mistakes
    #[arg(long, default_value_t = 100, allow_hyphen_values = true, value_parser = within(2_u32, 100_000, ""))]
    rides: u32,
    /// Seed of the mistakes
    #[arg(long, default_value_t = 1, allow_hyphen_values = true, value_parser = within(0, u64::MAX, ""))]
    seed: u64,
    /// Ride all set-ups by the plan of the first, as `evening` does for what an hour is worth
    #[arg(long, conflicts_with = "unknowns")]
    one_plan: bool,
    /// Write the pictures of the gaps and rides.csv into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    calibration: CalibrationOption,
    #[command(flatten)]
    unmeasured: UnmeasuredOption,
    #[command(flatten)]
    unknowns: UnknownsOption,
    #[command(flatten)]
    stored: Stored,
}

/// A skill by its name.
pub fn skill(name: &str) -> Result<Skill, String> {
    SKILLS.into_iter().find(|s| s.name == name).ok_or_else(|| {
        let names = SKILLS.map(|s| s.name).join(", ");
        format!("--skill {name}: not known; allowed are {names}")
    })
}

/// A set-up ridden: its plan's descent and its ensemble, or why there is none.
struct Entrant<'a> {
    name: String,
    ridden: Result<(Prepared<'a>, Descent, Ensemble), String>,
}

/// Compares, prints and writes.
pub fn compare(o: &Options) -> Done {
    let mut skill = skill(&o.skill)?;
    let read_track = files::track(o.track.as_deref())?;
    let track = &read_track.track;
    let mut setups = setups(o)?;
    if setups.len() < 2 {
        return Err("nothing to compare: give two set-ups, or one and --variant KEY=VALUE".into());
    }
    let limits = rules(None, None, None)?;
    for (name, read) in &setups {
        if let Some(words) = limits.beyond_all(&read.setup) {
            tell!("{name}: {words}");
        }
    }
    let mut used = calibrated(o, &read_track, &mut setups)?;
    if let Some(used) = &mut used {
        skill = used.skilled(&skill);
    }
    let unknowns = o.unknowns.sets()?;
    let detail = Detail::Trace(spacing_to_finish_m(track, TRACE_M));
    let store = o.stored.store();
    // each planned from nothing, unless asked otherwise, so that no set-up's ride depends on which others are compared
    let mut entrants: Vec<Entrant<'_>> = Vec::with_capacity(setups.len());
    for (i, (name, read)) in setups.iter().enumerate() {
        if interrupt::asked() {
            break;
        }
        tell!("{} of {}: {name}", i + 1, setups.len());
        let first = entrants.first().filter(|_| o.one_plan).and_then(|e| e.ridden.as_ref().ok());
        let made = match first {
            Some((one, _, _)) => by_the_plan_of(one, &read.setup, skill.lag_s),
            None => planned_at(&read_track, &read.setup, skill.lag_s, &store),
        };
        let ridden = made.map(|p| {
            let descent = p.descent(&Attempt::perfect(), Precision::default(), detail);
            let rides = Ensemble { planned_time_s: descent.finish_time_s, rides: vec![] };
            (p, descent, rides)
        });
        entrants.push(Entrant { name: name.clone(), ridden });
        interrupt::has_something(true);
    }
    let ridden = ride(&mut entrants, &skill, o);
    let asked = Asked { track, skill: &skill, rides: o.rides as usize, seed: o.seed };
    let (over_sets, all_sets) = match unknowns {
        Some(sets) => over_unknowns(&asked, &setups, &sets),
        None => (String::new(), true),
    };
    let over_points = {
        let asked = compare_points::Asked { skill: &skill, rides: ridden, seed: o.seed };
        let each: Vec<_> = entrants.iter().map(|e| e.ridden.as_ref().ok().map(|(p, _, e)| (p, e))).collect();
        let all: Vec<&Setup> = setups.iter().map(|(_, read)| &read.setup).collect();
        let unmeasured = o.unmeasured.axes(track, &all, used.as_ref(), &OF_RIDES);
        let calibrated =
            used.as_ref().map(|u| over_points(&asked, &each, &u.axes_of_rides(&skill), u.calibration.over()));
        let of_unmeasured = unmeasured.map(|axes| over_points(&asked, &each, &axes, UNMEASURED));
        [calibrated, of_unmeasured].into_iter().flatten().collect::<String>()
    };
    interrupt::has_something(false);
    let whole = all_sets && (setups.len(), o.rides as usize) == (entrants.len(), ridden);
    let mut text = if whole {
        String::new()
    } else {
        format!(
            "interrupted: {} of {} set-ups, {ridden} of {} rides of each\n",
            entrants.len(),
            setups.len(),
            o.rides
        )
    };
    text += &format!(
        "{} on {}, {ridden} rides of each with the same mistakes, seed {}\n{}, by an athlete who knows a lag of {} s\n{}\n",
        o.skill,
        track.data.name,
        o.seed,
        if o.one_plan {
            "all are ridden by the plan of (1)"
        } else {
            "each set-up has a planned ride of its own"
        },
        skill.lag_s,
        used.as_ref().map_or("", |u| &u.words)
    );
    text += &alone(&entrants);
    let mut outputs = vec![Output::new("rides.csv", rides_csv(&entrants))];
    for (i, other) in entrants.iter().enumerate().skip(1) {
        text += &format!("\n({}) against (1)\n", i + 1);
        let (Ok((p, d, e)), Ok((q, reference, f))) = (&other.ridden, &entrants[0].ridden) else {
            text += "no ride to compare\n";
            continue;
        };
        let pair = paired(e, f);
        let numerical_s = d.numerical_error_s + reference.numerical_error_s;
        let beside_s = of_difference_s((&p.ready.ice, &p.planned.plan), (&q.ready.ice, &q.planned.plan));
        let all_asked = o.unmeasured.unmeasured || o.unknowns.is_named();
        let by_plans_s =
            of_rides_difference_s((p.ready.setup, &p.planned.plan), (q.ready.setup, &q.planned.plan));
        text += &verdict(i + 1, &pair, numerical_s + beside_s + by_plans_s, all_asked);
        let of = |descent, p: &'_ Prepared<'_>| (descent, p.ready.constants);
        let ((d, c), (r, k)) = (of(d, p), of(reference, q));
        let (a, b) = (Ridden { descent: d, constants: &c }, Ridden { descent: r, constants: &k });
        match losses(track, a, b) {
            Err(why) => text += &format!("planned rides: {why}\n"),
            Ok(told) => {
                text += &gaps(&told, numerical_s, beside_s);
                if o.out.is_some() {
                    let title = format!("{}, against {}", other.name, entrants[0].name);
                    for (mut p, name) in
                        lost_pictures(&title, track, d, &told)?.into_iter().zip(["gap", "plan"])
                    {
                        p.name = format!("{name}-{}", i + 1);
                        outputs.extend(Output::picture(&p));
                    }
                }
            }
        }
    }
    text += &(over_points + &over_sets);
    let rode: Vec<Option<Rode<'_>>> = entrants
        .iter()
        .map(|e| e.ridden.as_ref().ok().map(|(p, d, rides)| (p.ready.setup, d.numerical_error_s, rides)))
        .collect();
    text += &chosen(&rode, o.one_plan);
    text += &format!("\n{ABSOLUTE}\n{CAUTION}\n");
    if let Some(out) = &o.out {
        files::write_all(out, &outputs)?;
        tell!("written to {}", out.display());
    }
    say(&text)?;
    Ok(if whole { u8::from(entrants.iter().any(|e| e.ridden.is_err())) } else { INTERRUPTED })
}

/// Puts the calibration on all set-ups, where one is named: the first is the one that it must go with.
fn calibrated(
    o: &Options,
    track: &ReadTrack,
    setups: &mut [(String, ReadSetup)],
) -> Result<Option<Used>, String> {
    let [(_, first), others @ ..] = setups else { return Ok(None) };
    let used = o.calibration.put_on(track, first)?;
    if let Some(used) = &used {
        for (name, other) in others {
            used.put_on_other(&mut other.setup).map_err(|why| format!("{name}: {why}"))?;
        }
    }
    Ok(used)
}

/// Rides all set-ups in rounds until it is interrupted; gives how many rides each has.
fn ride(entrants: &mut [Entrant<'_>], skill: &Skill, o: &Options) -> usize {
    let all = o.rides as usize;
    let mut progress = Progress::new(all * entrants.len(), "rides");
    let mut ridden = 0;
    while ridden < all && !interrupt::asked() {
        let round = ridden..all.min(ridden + ROUND);
        for (p, _, e) in entrants.iter_mut().filter_map(|e| e.ridden.as_mut().ok()) {
            e.rides.extend(rides(p, skill, o.seed, round.clone(), RIDES));
            progress.done(round.len());
        }
        ridden = round.end;
    }
    ridden
}

/// The set-ups with a name each; every fault of every file.
fn setups(o: &Options) -> Result<Vec<(String, ReadSetup)>, String> {
    let mut all = Vec::new();
    let first = o.setups.first().map(PathBuf::as_path);
    for file in
        if o.setups.is_empty() { vec![None] } else { o.setups.iter().map(|p| Some(p.as_path())).collect() }
    {
        let read = files::setup(file, &[])?;
        all.push((read.setup.name.clone(), read));
    }
    for variant in &o.variants {
        // what stands behind --variant is set as by --set, and told by its own name
        let own = |why: String| why.replace("--set ", "--variant ");
        let sets = variant.split(',').map(key_value).collect::<Result<Vec<_>, _>>().map_err(own)?;
        let read = files::setup(first, &sets).map_err(own)?;
        all.push((format!("{} with {variant}", read.setup.name), read));
    }
    Ok(all)
}

/// Each set-up by itself.
fn alone(entrants: &[Entrant<'_>]) -> String {
    let rows = entrants.iter().enumerate().map(|(i, e)| {
        let name = format!("({}) {}", i + 1, e.name);
        match &e.ridden {
            Err(why) => vec![name, why.clone()],
            Ok((_, d, rides)) => {
                let f = rides.figures();
                let some = |f| Some(f).filter(|_| !rides.rides.is_empty());
                let percent = Figure { value: 100.0 * f.lost.value, error: 100.0 * f.lost.error };
                vec![
                    name,
                    d.finish_time_s.map_or("control lost".into(), |t| format!("{t:.3}")),
                    figure(f.median_s, 3),
                    figure(f.p90_s, 3),
                    figure(f.worst_tenth_s, 3),
                    figure(some(percent), 0),
                    figure(f.mean_finished_s, 3),
                    figure(f.sd_finished_s, 3),
                    figure(some(f.touches), 2),
                    figure(some(f.lip_touches), 2),
                ]
            }
        }
    });
    let header = [
        "set-up",
        "planned s",
        "median s",
        "nine in ten below s",
        "worst tenth s",
        "control lost %",
        "mean of the finished s",
        "SD of the finished s",
        "touches a ride",
        "of lips",
    ];
    let lost = entrants.iter().filter_map(|e| e.ridden.as_ref().ok()).any(|r| r.2.figures().lost.value > 0.0);
    let note = if lost {
        "rides that lose control rank last: \"lost\" is a time among them, \"to lost\" one whose error reaches there;\n\
         a mean of the finished is that of the lucky ones; "
    } else {
        ""
    };
    format!("{}\n{note}± one standard error of the sampling\n", numbers(&header, rows))
}

/// What the pairs of rides say, in words.
fn verdict(number: usize, p: &Paired, numerical_s: f64, all_asked: bool) -> String {
    let PairedWords { median, band, said, ahead } =
        paired_words(p, numerical_s, [&format!("({number})"), "(1)"]);
    // no more than the mistakes of these rides is behind a share of all or none
    let alone = !all_asked && !(0.005..0.995).contains(&p.first_faster.value);
    let alone = if alone {
        "that is of these mistakes alone: --unmeasured asks what nobody has measured\n"
    } else {
        ""
    };
    format!(
        "time of rides with the same mistakes, ({number}) less (1): median {median}, {band}, {} pairs\n\
         control lost with ({number}) in {}, with (1) in {}\n{said}\n\
         ({number}) is ahead in {ahead} % of the rides (equal times half, a lost ride the slower)\n{alone}",
        p.pairs, p.lost[0], p.lost[1],
    )
}

/// Where the planned rides differ.
fn gaps(l: &Losses, numerical_s: f64, beside_s: f64) -> String {
    let ms = |s: f64| if s.abs() < 5e-5 { "0".to_string() } else { format!("{:+.1}", 1e3 * s) };
    let sums = l.by_cause_s();
    let causes: Vec<String> = (0..CAUSES)
        .filter(|c| sums[*c].abs() >= 5e-5)
        .map(|c| format!("{} {}", CAUSE_NAMES[c], ms(sums[c])))
        .collect();
    let sections: Vec<String> = l
        .sections
        .iter()
        .filter(|s| s.total_s().abs() >= 5e-4)
        .map(|s| format!("{} {}", s.section.name, ms(s.total_s())))
        .collect();
    let list = |v: &[String]| if v.is_empty() { "nothing".to_string() } else { v.join(", ") };
    format!(
        "planned rides: gap {} ms, error {:.2} ms by steps and {:.0} ms by tables and plans\n  by cause, ms: {}\n  by section, ms from 0.5: {}\n",
        ms(l.gap_s),
        1e3 * numerical_s,
        1e3 * beside_s,
        list(&causes),
        list(&sections)
    )
}

/// Ride by ride, for other programs.
fn rides_csv(entrants: &[Entrant<'_>]) -> String {
    let mut text = String::from("setup,ride,finish_time_s,touches,lip_touches,lost_at_m,reason\n");
    let quoted = |s: &str| format!("\"{}\"", guarded(s).replace('"', "\"\""));
    for e in entrants {
        match &e.ridden {
            Err(why) => text += &format!("{},,,,,,{}\n", quoted(&e.name), quoted(why)),
            Ok((_, _, rides)) => {
                for (i, r) in rides.rides.iter().enumerate() {
                    let time = r.finish_time_s.map_or(String::new(), |t| t.to_string());
                    let (at, why) =
                        r.lost.map_or((String::new(), ""), |(at, why)| (format!("{at:.1}"), why.words()));
                    text += &format!(
                        "{},{i},{time},{},{},{at},{why}\n",
                        quoted(&e.name),
                        r.touches,
                        r.lip_touches
                    );
                }
            }
        }
    }
    text
}
