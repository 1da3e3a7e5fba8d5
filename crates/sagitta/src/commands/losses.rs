//! `sagitta losses`: where a descent loses time against a reference, and which corner caused it.

use super::descend::ModelName;
use super::{Done, What, noted, planned, refused, ridden, ridden_by};
use crate::files::{self, Output, ReadSetup, ReadTrack};
use crate::words::{ABSOLUTE, CAUTION, numbers, say};
use pictures::Picture;
use pictures::cause_matrix::{CauseRow, cause_matrix};
use pictures::descent_plan::signed_plan;
use pictures::losses_along::losses_along;
use sled_dynamics::analysis::losses::{
    CAUSE_NAMES, CAUSES, LossFault, Losses, Ridden, SectionLoss, losses as lost, spacing_to_finish_m,
};
use sled_dynamics::analysis::sections::sections;
use sled_dynamics::motion::descent::{Descent, Event, EventKind, Outcome};
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::line_file::{aimed_pieces, read_line};
use sled_dynamics::riding::notes::{Note, Word, usual_notes};
use sled_dynamics::riding::notes_read::read_phrase;
use sled_dynamics::riding::told_line::ToldPlace;
use std::path::{Path, PathBuf};
use sweep_runner::rides::cause::{Causes, WhatIf, causes, pieced, pieced_as_told, what_ifs};
use sweep_runner::rides::prepared::Prepared;
use sweep_runner::rides::told::beside_asked;
use track_geometry::track::Track;

/// Widest spacing of the traces (m).
const TRACE_M: f64 = 0.5;

/// What-ifs that are shown, each with its band.
const SHOWN: usize = 20;

/// Options of `losses`.
#[derive(clap::Args)]
pub struct Options {
    #[command(flatten)]
    what: What,
    /// How the descents are computed; notes, lines and what-ifs need the planned ride
    #[arg(long, value_enum, default_value = "planned")]
    model: ModelName,
    /// The reference has the same set-up with this key set, as often as wanted
    #[arg(long = "reference-set", value_name = "KEY=VALUE")]
    reference_sets: Vec<String>,
    /// What went wrong, corner by corner, from this file: CORNER, WHAT, SIZE on each line
    #[arg(long, value_name = "FILE")]
    notes: Option<PathBuf>,
    /// The line that was ridden, from this file: corner, position, offset_m or height_m, band_m
    #[arg(long, value_name = "FILE")]
    line: Option<PathBuf>,
    /// What a single fault would cost, such as "0.3 m late into corner 6"; `all` lists the usual ones
    #[arg(long = "what-if", value_name = "TEXT")]
    what_if: Vec<String>,
    /// Write pictures into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Prints where the time is lost.
pub fn losses(o: &Options) -> Done {
    let (whole, read) = o.what.read()?;
    let track = &whole.track;
    let detail = Detail::Trace(spacing_to_finish_m(track, TRACE_M));
    let faulty = o.notes.is_some() || o.line.is_some() || !o.what_if.is_empty();
    if faulty && o.model != ModelName::Planned {
        return Err("notes, lines and what-ifs are faults of a planned ride: leave out --model".into());
    }
    if faulty && !o.reference_sets.is_empty() {
        return Err(
            "give faults of the ride or --reference-set, not both: the sum would have two meanings".into()
        );
    }
    let notes = match &o.notes {
        Some(path) => noted(path, track)?,
        None => vec![],
    };
    let asked = asked(&o.what_if, track)?;
    let aims = match &o.line {
        Some(path) => {
            let text = files::read_text(path)?;
            read_line(&path.display().to_string(), &text, track).map_err(|f| refused("this line", &f))?
        }
        None => vec![],
    };
    let mut text = format!("{} on {}\n", read.setup.name, track.data.name);
    if !faulty {
        let done = two_set_ups(o, &whole, &read, detail, &mut text)?;
        say(&text)?;
        return Ok(done);
    }
    let prepared = planned(&whole, &read.setup, &o.what.store())?;
    let precision = Precision::default();
    let reference = pieced(&prepared, &[], precision, detail);
    text += "against the planned ride without error\n\n";
    if !(notes.is_empty() && aims.is_empty()) {
        text += "understood\n";
        for note in &notes {
            text += &format!("  {}\n", note.understood(track));
        }
        let mut pieces = super::noted_pieces(&prepared, &notes)?;
        let (aimed, cannot) = aimed_pieces(track, &aims, &reference.corners);
        if !cannot.is_empty() {
            return Err(format!("this line cannot be ridden\n{}", cannot.join("\n")));
        }
        pieces.extend(aimed.iter().copied());
        let descent = pieced_as_told(&prepared, &pieces, precision, detail)
            .map_err(|why| format!("this line cannot be ridden\n{why}"))?;
        text += &walls_noted(track, &notes, &descent);
        let line: Vec<ToldPlace> = aimed.iter().filter_map(|p| p.told).collect();
        for (aim, met) in aims.iter().zip(beside_asked(&prepared, &line, &descent.trace)) {
            let within =
                if aim.is_met(&met.asked_m, met.ridden_m) { "within the band" } else { "outside the band" };
            text += &format!("  {}; {within}\n    {}\n", aim.words(track), met.words());
        }
        text += &super::told_beside(&prepared, &pieces[..notes.len()], &descent);
        text += "\n";
        let caused = causes(&prepared, &pieces, &reference, &descent, (precision, detail));
        if let Outcome::ControlLost { station_m, cause } = descent.outcome {
            text += &format!("control lost at station {station_m:.0} m: {}\n\n", cause.words());
            text += &cause_report(&caused, None);
            text += &format!("{CAUTION}\n");
            say(&text)?;
            return Ok(1);
        }
        let constants = &prepared.ready.constants;
        let told =
            compare(track, (&descent, constants), (&reference, constants)).map_err(|e| e.to_string())?;
        text += &report(&told, descent.numerical_error_s + reference.numerical_error_s);
        text += &cause_report(&caused, Some(&told));
        let title = format!("{} on {}: as noted, against the planned ride", read.setup.name, track.data.name);
        write(o.out.as_deref(), track, &descent, &told, Some(&caused), &title)?;
    }
    if !asked.is_empty() {
        for note in asked.iter().filter(|_| !o.what_if.iter().any(|t| t == "all")) {
            text += &format!("understood: {}\n", note.understood(track));
        }
        text += &what_if_report(track, &what_ifs(&prepared, &asked, SHOWN, precision));
    }
    text += &format!("{ABSOLUTE}\n{CAUTION}\n");
    say(&text)?;
    Ok(u8::from(reference.outcome != Outcome::Finished))
}

/// Whether the walls that are noted were touched on the ride.
fn walls_noted(track: &Track, notes: &[Note], descent: &Descent) -> String {
    let sections = sections(track);
    let noted = notes.iter().filter(|n| matches!(n.word, Word::Tap | Word::Wall));
    let told = noted.map(|n| {
        let here = |e: &&Event| {
            let section = sections.iter().find(|s| s.from_m <= e.station_m && e.station_m < s.to_m);
            section.is_some_and(|s| s.corner == Some(n.corner))
        };
        let touch = |e: &Event| {
            let (_, impulse_n_s, _) = e.kind.touch()?;
            let edge = if matches!(e.kind, EventKind::Lip { .. }) { "lip" } else { "wall" };
            Some(format!("{edge} {impulse_n_s:.0} N s at {:.0} m", e.station_m))
        };
        let touches: Vec<String> = descent.events.iter().filter(here).filter_map(touch).collect();
        let name = &track.data.corners[n.corner].name;
        match touches.as_slice() {
            [] => format!("  corner {name}: a wall is noted, none was touched on this ride\n"),
            some => format!("  corner {name}: wall touched, {}\n", some.join(", ")),
        }
    });
    told.collect()
}

fn asked(texts: &[String], track: &Track) -> Result<Vec<Note>, String> {
    let (mut notes, mut faults) = (vec![], vec![]);
    for text in texts {
        if text == "all" {
            notes.extend(usual_notes(track));
            continue;
        }
        match read_phrase(&format!("--what-if \"{text}\""), text, track) {
            Ok(note) => notes.push(note),
            Err(more) => faults.extend(more),
        }
    }
    if faults.is_empty() { Ok(notes) } else { Err(refused("this what-if", &faults)) }
}

fn compare(
    track: &Track,
    (descent, of_descent): (&Descent, &Constants),
    (reference, of_reference): (&Descent, &Constants),
) -> Result<Losses, LossFault> {
    lost(
        track,
        Ridden { descent, constants: of_descent },
        Ridden { descent: reference, constants: of_reference },
    )
}

/// Compares two set-ups, each with its own ride.
fn two_set_ups(
    o: &Options,
    whole: &ReadTrack,
    read: &ReadSetup,
    detail: Detail,
    text: &mut String,
) -> Result<u8, String> {
    if o.reference_sets.is_empty() {
        return Err("nothing to compare: give --notes, --line, --what-if or --reference-set KEY=VALUE".into());
    }
    let (track, store) = (&whole.track, o.what.store());
    let reference = o.what.with(&o.reference_sets)?;
    let (of_descent, of_reference) =
        (Constants::new(&read.setup, &track.data), Constants::new(&reference.setup, &track.data));
    let (descent, reference, label) = if o.model == ModelName::Planned {
        let first = planned(whole, &reference.setup, &store)?;
        // a ride found from another is a microsecond away from it: the same set-up has the same ride
        let same = read.setup == reference.setup;
        let own = if same { first.clone() } else { ridden_by(&first, &read.setup)? };
        let bare = |p: &Prepared<'_>| pieced(p, &[], Precision::default(), detail);
        (bare(&own), bare(&first), "on runners, planned ride without error")
    } else {
        let (descent, label) = ridden(whole, &read.setup, o.model, detail, &store)?;
        (descent, ridden(whole, &reference.setup, o.model, detail, &store)?.0, label)
    };
    let sets = o.reference_sets.join(", ");
    *text += &format!("{label}\nagainst the same with {sets}\n\n");
    let told = match compare(track, (&descent, &of_descent), (&reference, &of_reference)) {
        Ok(told) => told,
        // a result, not an error
        Err(why @ LossFault::NotFinished { .. }) => {
            *text += &format!("{why}\n{CAUTION}\n");
            return Ok(1);
        }
        Err(why) => return Err(why.to_string()),
    };
    *text += &report(&told, descent.numerical_error_s + reference.numerical_error_s);
    *text += &format!("{ABSOLUTE}\n{CAUTION}\n");
    let title = format!("{} on {}, against {sets}", read.setup.name, track.data.name);
    write(o.out.as_deref(), track, &descent, &told, None, &title)?;
    Ok(0)
}

/// The gap along the track with its causes, and the plan coloured by what each section cost.
pub fn lost_pictures(
    title: &str,
    track: &Track,
    descent: &Descent,
    told: &Losses,
) -> Result<[Picture; 2], String> {
    // what a section cost in all, for every sample in it: climbing and falling within a corner says nothing
    let of_section = |at: &f64| {
        let section = told.sections.iter().find(|s| *at < s.section.to_m).or(told.sections.last());
        (1e4 * section.map_or(0.0, SectionLoss::total_s)).round() / 10.0
    };
    let values: Vec<f64> = told.station_m.iter().map(of_section).collect();
    let plan = signed_plan(track, descent, &values, "ms lost, by section", "losses_plan");
    Ok([losses_along(title, track, told).map_err(|e| e.to_string())?, plan.map_err(|e| e.to_string())?])
}

fn write(
    out: Option<&Path>,
    track: &Track,
    descent: &Descent,
    told: &Losses,
    caused: Option<&Causes>,
    title: &str,
) -> Result<(), String> {
    let Some(out) = out else { return Ok(()) };
    let mut all: Vec<_> = lost_pictures(title, track, descent, told)?.into_iter().map(Ok).collect();
    if let Some(caused) = caused {
        let columns: Vec<String> = caused.sections.iter().map(|s| s.name.clone()).collect();
        let mut rows: Vec<CauseRow> = caused
            .caused
            .iter()
            .map(|c| CauseRow {
                name: columns[c.section].clone(),
                showed_ms: c.showed_s.iter().map(|v| 1e3 * v).collect(),
            })
            .collect();
        let together = told.sections.iter().map(|s| 1e3 * s.showed_s).collect();
        rows.push(CauseRow { name: "all together".into(), showed_ms: together });
        all.push(cause_matrix("What each corner caused, and where it showed", &columns, &rows));
    }
    let mut outputs = vec![];
    for picture in all {
        outputs.extend(Output::picture(&picture.map_err(|e| e.to_string())?));
    }
    files::write_all(out, &outputs)?;
    eprintln!("written to {}", out.display());
    Ok(())
}

fn ms(s: f64) -> String {
    let text = format!("{:+.1}", 1e3 * s);
    if text == "+0.0" || text == "-0.0" { "0".into() } else { text }
}

fn report(l: &Losses, error_s: f64) -> String {
    let sums = l.by_cause_s();
    let shown: Vec<usize> =
        (0..CAUSES).filter(|&c| l.sections.iter().any(|s| s.by_cause_s[c].abs() > 5e-5)).collect();
    let mut header = vec!["section"];
    header.extend(shown.iter().map(|&c| CAUSE_NAMES[c]));
    header.extend(["all", "showed"]);
    let rows = l.sections.iter().map(|s| {
        let mut row = vec![s.section.name.clone()];
        row.extend(shown.iter().map(|&c| ms(s.by_cause_s[c])));
        row.extend([ms(s.total_s()), ms(s.showed_s)]);
        row
    });
    let mut last = vec!["whole way".to_string()];
    last.extend(shown.iter().map(|&c| ms(sums[c])));
    last.extend([ms(sums.iter().sum()), ms(l.gap_s)]);
    let table = numbers(&header, rows.chain([last]));
    format!(
        "milliseconds at the finish, + lost, - gained\n\n{table}\n\n\
         all: booked where it was made, with all it costs until the finish; showed: on the clock, section by section\n\
         gap {} ms, its numerical error {:.2} ms, remainder {:.2} ms\n\n",
        ms(l.gap_s),
        1e3 * error_s,
        1e3 * l.remainder_s
    )
}

fn cause_report(c: &Causes, l: Option<&Losses>) -> String {
    let maybe = |v: Option<f64>| v.map_or("lost".into(), ms);
    let rows = c.caused.iter().map(|one| {
        let section = l.map(|l| &l.sections[one.section]);
        vec![
            c.sections[one.section].name.clone(),
            maybe(one.alone_s),
            one.recovered_s.map_or(if one.finishes_without { "finishes" } else { "lost" }.into(), ms),
            section.map_or("-".into(), |s| ms(s.total_s())),
            section.map_or("-".into(), |s| ms(s.showed_s)),
        ]
    });
    let table = numbers(&["corner", "caused", "recovered without", "booked here", "showed here"], rows);
    let rest = c
        .together_s
        .map_or(String::new(), |v| format!("faults together, beyond each alone: {} ms\n\n", ms(v)));
    format!(
        "caused: what goes wrong in the corner alone, on the reference ride, ridden on to the finish, ms (lost: control);\n\
         recovered without: what the whole ride wins when that is taken away\n\n{table}\n\n{rest}"
    )
}

fn what_if_report(track: &Track, found: &[WhatIf]) -> String {
    let maybe = |v: Option<f64>| v.map_or("lost".into(), ms);
    let (found, without): (Vec<_>, Vec<_>) = found.iter().partition(|w| w.refused.is_none());
    let rows = found.iter().take(SHOWN).map(|w| {
        let [least, most] = w.band_s.map(maybe);
        vec![w.note.words(track), maybe(w.cost_s), format!("{least} to {most}"), w.walls.to_string()]
    });
    let reasons: String = without
        .iter()
        .map(|w| {
            let (words, why) = (w.note.words(track), w.refused.as_deref().unwrap_or_default());
            format!("no such ride: {words}: {}\n", why.trim_start_matches(&format!("{words}: ")))
        })
        .collect();
    let rest = match found.get(SHOWN..) {
        Some([next, .., last]) => {
            let count = found.len() - SHOWN;
            format!("{count} more cost {} to {} ms\n", maybe(next.cost_s), maybe(last.cost_s))
        }
        _ => String::new(),
    };
    let table = numbers(&["what if", "ms", "band", "touches more"], rows);
    format!(
        "what single faults would cost at the finish, the dearest first\n\n{table}\n\nlost: control is lost; band: the same at half to one and a half times the size\n{rest}{reasons}\n"
    )
}
