//! `sagitta losses`: where a descent loses time against a reference, and which corner caused it.

mod told;

use super::calibrated::{CalibrationOption, UNMEASURED, UnmeasuredOption, Used, at_points};
use super::unknowns::{UnknownsOption, at_sets, band_words, decides_words, many_words, over_sets};
use super::{Done, ModelName, What, noted, planned, refused, ridden, ridden_by};
use crate::files::{self, Output, ReadSetup, ReadTrack};
use crate::words::{ABSOLUTE, CAUTION, say};
use pictures::Picture;
use pictures::cause_matrix::{CauseRow, cause_matrix};
use pictures::descent_plan::signed_plan;
use pictures::losses_along::losses_along;
use sled_dynamics::analysis::losses::{
    LossFault, Losses, Ridden, SectionLoss, losses as lost, spacing_to_finish_m,
};
use sled_dynamics::analysis::sections::sections;
use sled_dynamics::motion::descent::{Descent, Event, EventKind, Outcome};
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::line_file::{aimed_pieces, read_line};
use sled_dynamics::riding::notes::{Note, Word, usual_notes};
use sled_dynamics::riding::notes_read::read_phrase;
use sled_dynamics::riding::told_line::ToldPlace;
use sled_dynamics::setup::Setup;
use std::path::{Path, PathBuf};
use sweep_runner::plausible::chosen::OF_PLANS;
use sweep_runner::plausible::keyed::Set;
use sweep_runner::plausible::points::{Axis, Band};
use sweep_runner::rides::cause::{Causes, causes, pieced_as_told, what_ifs};
use sweep_runner::rides::pieced::pieced;
use sweep_runner::rides::prepared::Prepared;
use sweep_runner::rides::told::beside_asked;
use told::{SHOWN, cause_report, report, what_if_report};
use track_geometry::track::Track;

/// Widest spacing of the traces (m).
const TRACE_M: f64 = 0.5;

/// Options of `losses`.
#[derive(clap::Args)]
pub struct Options {
    #[command(flatten)]
    what: What,
    /// How the descents are computed; notes, lines and what-ifs need the planned ride
    #[arg(long, value_enum, default_value = "planned")]
    model: ModelName,
    /// The reference has the same set-up with this key set (may be repeated)
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
    #[command(flatten)]
    calibration: CalibrationOption,
    #[command(flatten)]
    unmeasured: UnmeasuredOption,
    #[command(flatten)]
    unknowns: UnknownsOption,
    /// Write pictures into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Prints where the time is lost.
pub fn losses(o: &Options) -> Done {
    let (whole, mut read) = o.what.read()?;
    let used = o.calibration.put_on(&whole, &mut read)?;
    let sets = o.unknowns.sets()?.unwrap_or_default();
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
    text += used.as_ref().map_or("", |u| &u.words);
    if !faulty {
        let done = two_set_ups(o, (&whole, &read), used.as_ref(), &sets, detail, &mut text)?;
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
        text += &gap_over(&asked_over(o, track, &[&read.setup], used.as_ref()), &sets, &told, |set| {
            let there = set.on(&read.setup).ok()?;
            let ridden = ridden_by(&prepared, &there).ok()?;
            let mut pieces = super::noted_pieces(&ridden, &notes).ok()?;
            pieces.extend(aimed.iter().copied());
            let faulty = pieced_as_told(&ridden, &pieces, precision, Detail::Bare).ok()?;
            Some(faulty.finish_time_s? - pieced(&ridden, &[], precision, Detail::Bare).finish_time_s?)
        });
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

/// What a calibration, and what nobody has measured, leave open of the gap.
fn gap_over(
    asked: &[(Vec<Axis>, &str)],
    sets: &[Set],
    told: &Losses,
    gap_s: impl Fn(&Set) -> Option<f64>,
) -> String {
    let each = asked.iter().map(|(axes, over)| {
        let band = Band::new(told.gap_s, &at_points(axes, &gap_s));
        format!("gap {}\n{}\n", band.words_s(axes, over), band.at_home_words(axes))
    });
    let mut text: String = each.collect();
    if !sets.is_empty() {
        let gaps_s = at_sets(sets, |set| gap_s(set).unwrap_or(f64::NAN));
        let done = &sets[..gaps_s.len()];
        text += &match over_sets(done, &gaps_s) {
            None => format!("gap over {}: no set has both rides\n", many_words(done)),
            Some(over) => format!(
                "gap over {}: {}\n  a loss in {:.0} % of them; {}\n",
                many_words(done),
                band_words(&over, done.len(), |s| format!("{s:+.3} s")),
                100.0 * over.signs[1],
                decides_words(&over)
            ),
        };
    }
    text
}

/// Over what the gap is asked: the last of the set-ups less the first.
fn asked_over(
    o: &Options,
    track: &Track,
    setups: &[&Setup],
    used: Option<&Used>,
) -> Vec<(Vec<Axis>, &'static str)> {
    let calibrated = used.map(|u| (u.axes().to_vec(), u.calibration.over()));
    let unmeasured = o.unmeasured.axes(track, setups, used, &OF_PLANS).map(|axes| (axes, UNMEASURED));
    calibrated.into_iter().chain(unmeasured).collect()
}

/// Compares two set-ups, each with its own ride.
fn two_set_ups(
    o: &Options,
    (whole, read): (&ReadTrack, &ReadSetup),
    used: Option<&Used>,
    sets: &[Set],
    detail: Detail,
    text: &mut String,
) -> Result<u8, String> {
    if o.reference_sets.is_empty() {
        return Err("nothing to compare: give --notes, --line, --what-if or --reference-set KEY=VALUE".into());
    }
    let (track, store) = (&whole.track, o.what.store());
    let mut reference = o.what.with(&o.reference_sets)?;
    if let Some(used) = used {
        used.put_on_other(&mut reference.setup)?;
    }
    let reference_setup = &reference.setup;
    let (of_descent, of_reference) =
        (Constants::new(&read.setup, &track.data), Constants::new(&reference.setup, &track.data));
    let bare = |p: &Prepared<'_>, detail: Detail| pieced(p, &[], Precision::default(), detail);
    let by_plans = if o.model == ModelName::Planned {
        let first = planned(whole, reference_setup, &store)?;
        // a ride found from another is a microsecond away from it: the same set-up has the same ride
        let same = read.setup == *reference_setup;
        let own = if same { first.clone() } else { ridden_by(&first, &read.setup)? };
        Some((own, first))
    } else {
        None
    };
    let (descent, reference, label) = match &by_plans {
        Some((own, first)) => {
            (bare(own, detail), bare(first, detail), "on runners, planned ride without error")
        }
        None => {
            let (descent, label) = ridden(whole, &read.setup, o.model, detail, &store)?;
            (descent, ridden(whole, reference_setup, o.model, detail, &store)?.0, label)
        }
    };
    let gap_at = |set: &Set| {
        let there = [set.on(&read.setup).ok()?, set.on(reference_setup).ok()?];
        let finish_s = |i: usize| match &by_plans {
            Some((own, first)) => {
                let near = [own, first][i];
                bare(&ridden_by(near, &there[i]).ok()?, Detail::Bare).finish_time_s
            }
            None => ridden(whole, &there[i], o.model, Detail::Bare, &store).ok()?.0.finish_time_s,
        };
        Some(finish_s(0)? - finish_s(1)?)
    };
    let named = o.reference_sets.join(", ");
    *text += &format!("{label}\nagainst the same with {named}\n\n");
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
    let asked = asked_over(o, track, &[reference_setup, &read.setup], used);
    *text += &gap_over(&asked, sets, &told, gap_at);
    *text += &format!("{ABSOLUTE}\n{CAUTION}\n");
    let title = format!("{} on {}, against {named}", read.setup.name, track.data.name);
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
    tell!("written to {}", out.display());
    Ok(())
}
