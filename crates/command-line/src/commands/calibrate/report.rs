//! A calibration in words: what the runs say, whether to believe it, and what would help most.

use super::fitted::{Parameter, SECTION_SD};
use super::told_apart::together;
use super::{Found, Options, SAYS_LITTLE};
use crate::words::{CAUTION, Lay, as_text};
use evidence::calibration::Unknown;
use evidence::calibration::checking::{Delay, FLAG_RUN};
use evidence::decision::{BAND_95, Belief};
use evidence::sheet::Sheet;

/// The same for line losses that are not worth a row `[-]`: assumed.
const SAYS_NOTHING: f64 = 0.97;
/// Helps that are printed.
const HELPS: usize = 6;

/// The whole report.
pub fn told(found: &Found<'_>, sheet: &Sheet, aside: &[String], o: &Options) -> String {
    let mut text = begun(found, sheet, o);
    for why in aside {
        text += &format!("left aside: {why}\n");
    }
    text += &format!("\n{}", estimates(found, &as_text));
    text += &together(found);
    text += &fits(found);
    text += &format!("\n{}", residuals(found, &as_text));
    text += &flags(found);
    text += &format!("\n{}", from_the_others(found, &as_text));
    text += &helps(found, &as_text);
    text + &format!("\n{CAUTION}\n")
}

pub fn begun(found: &Found<'_>, sheet: &Sheet, o: &Options) -> String {
    let factors = found.course.levelled.time_factors();
    let (least, most) = factors.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), f| (a.min(*f), b.max(*f)));
    let track = &found.course.track.data.name;
    let mut text = format!(
        "{} on {track}, calibrated to {} of {}\n\
         model: guided estimate, each section brought to the planned ride of the set-up by a fixed factor, {least:.4} to {most:.4}\n",
        found.course.setup.name,
        match found.course.runs.len() {
            1 => "one run".to_string(),
            n => format!("{n} runs"),
        },
        found.sheet,
    );
    text += &found.level_words();
    let from = if found.level.is_some() {
        "by those rides"
    } else if o.spread.is_some() {
        "as told"
    } else if o.spread_of_sheet {
        "from the sheet, pushes among it"
    } else {
        "0.2 % of it; published are 0.2 to 0.9 % with all that differs between runs"
    };
    text += &format!(
        "errors: athlete and ice {:.3} s at the finish ({from}), growing along the run; last digit {} s\n",
        found.spread_s, found.last_digit_s
    );
    if found.level.is_none() {
        text += "no --skill: taken as planned rides, so that bands are too narrow for athletes who make mistakes\n";
    }
    if let Some((spread_s, freedom)) = sheet.spread_s().filter(|_| !o.spread_of_sheet) {
        text += &format!(
            "finish times of the whole sheet, one set-up on one day, spread by {spread_s:.3} s ({freedom} degrees of freedom), \
             pushes among it\n"
        );
    }
    let names = sheet.set_ups();
    if names.len() > 1 && o.only.is_none() {
        text += &format!(
            "the sheet names {} set-ups ({}); all are taken as one: --only NAME takes one of them\n",
            names.len(),
            names.join(", ")
        );
    }
    text
}

/// An unknown in the unit that is printed: factor, digits.
pub fn printed(j: usize, found: &Found<'_>) -> (f64, usize) {
    match found.layout.parameters.get(j) {
        Some(p) => (1.0, p.digits()),
        // line losses in per cent, entry speeds in m/s
        None if j < found.layout.entry(0) => (100.0, 2),
        None => (1.0, 2),
    }
}

/// Name of an unknown, with its unit.
pub fn name(unknown: &Unknown) -> String {
    if unknown.name.starts_with("line loss") { format!("{} %", unknown.name) } else { unknown.name.clone() }
}

pub fn estimates(found: &Found<'_>, lay: Lay<'_>) -> String {
    let squares = |j: usize, digits: usize| {
        let place = if j < found.layout.parameters.len() {
            Some(j)
        } else {
            // an entry speed keeps its place behind the parameters
            j.checked_sub(found.layout.entry(0)).map(|r| found.layout.parameters.len() + r)
        };
        match (&found.least_squares, place) {
            (Ok(fit), Some(i)) => format!("{:.digits$} +-{:.digits$}", fit.estimates[i], fit.error(i)),
            (_, None) => "not asked".into(),
            _ => "none".into(),
        }
    };
    // of line losses those that the runs say something of
    let sections = found.layout.parameters.len() + 1..found.layout.entry(0);
    let says = |j: usize| found.fit.narrowed(j, &found.unknowns[j]).is_none_or(|r| r < SAYS_NOTHING);
    let shown = |(j, _): &(usize, &Unknown)| !sections.contains(j) || says(*j);
    let rows = found.unknowns.iter().enumerate().filter(shown).map(|(j, u)| {
        let (by, digits) = printed(j, found);
        let (value, error) = (by * found.fit.estimates[j], by * found.fit.error(j));
        let before =
            u.prior.map_or("-".into(), |p| format!("{:.digits$} +-{:.digits$}", by * p.mean, by * p.sd));
        vec![
            name(u),
            squares(j, digits),
            before,
            format!("{value:.digits$} +-{error:.digits$}"),
            format!("{:.digits$}", value - BAND_95 * error),
            format!("{:.digits$}", value + BAND_95 * error),
            found.fit.narrowed(j, u).map_or("-".into(), |r| format!("{r:.2}")),
        ]
    });
    let header = [
        "unknown",
        "least squares",
        "believed before",
        "with the runs",
        "95 % from",
        "95 % to",
        "width left",
    ];
    let mut text = lay(&header, rows.collect()) + "\n";
    if sections.clone().any(|j| !says(j)) {
        text += "sections are left out of whose line loss the runs say nothing\n";
    }
    match &found.least_squares {
        Ok(fit) => {
            text += &format!(
                "least squares: no prior, no line loss; condition {:.0}; with the priors {:.0}\n",
                fit.condition, found.fit.condition
            );
        }
        Err(why) => {
            text +=
                &format!("least squares: {why}; without priors these runs do not determine what was asked\n");
        }
    }
    for (p, u) in found.layout.parameters.iter().zip(&found.unknowns) {
        text += &format!("before, {}: {}\n", p.word(), u.source);
    }
    text += &format!(
        "before, line losses: a real line against {}, {:.1} % on the whole way and {} % in each section, assumed\n",
        if found.level.is_some() { "that of the level" } else { "the planned one" },
        100.0 * found.course.line_sd(),
        100.0 * SECTION_SD
    );
    let said: Vec<(usize, &Parameter)> = found.layout.parameters.iter().enumerate().collect();
    for (j, p) in said {
        if found.fit.narrowed(j, &found.unknowns[j]).is_some_and(|r| r > SAYS_LITTLE) {
            text += &format!(
                "The runs say next to nothing of {}: what stands there was believed before.\n",
                p.word()
            );
        }
        let (value, own) = (found.fit.estimates[j], p.of(found.course.setup));
        let [least, most] = p.checked(found.course.setup);
        if !(least..=most).contains(&value) {
            let digits = p.digits();
            text += &format!(
                "{} lies {:+.0} % from the set-up's: beyond {least:.digits$} to {most:.digits$} the estimate has not been \
                 checked; put the new value into the set-up and calibrate again.\n",
                p.words(),
                100.0 * (value / own - 1.0),
            );
        }
    }
    text
}

pub fn fits(found: &Found<'_>) -> String {
    let Some(chance) = found.verdict.chance else { return String::new() };
    let all = found.fit.chi_square + found.fit.prior_chi_square;
    let words = match chance {
        c if c < FLAG_RUN => {
            "The model does not fit these runs: believe none of the numbers above before you know why."
        }
        c if c < 0.05 => "The model fits these runs poorly.",
        c if c > 0.99 => "The runs lie closer to the model than their errors say: --spread may be too large.",
        _ => "The model fits these runs.",
    };
    format!(
        "{words} Sum of squares {all:.1} for {} values, chance of more {}{}\n",
        found.fit.values,
        if chance < 1e-4 { "below 0.0001".into() } else { format!("{chance:.4}") },
        if found.verdict.by_rides { ", by sheets drawn from rides of the level" } else { "" }
    )
}

/// Residuals of the times, section by section.
pub fn residuals(found: &Found<'_>, lay: Lay<'_>) -> String {
    let eyes = &found.course.track.data.eyes;
    let mut header = vec!["run".to_string()];
    let used: Vec<usize> = (1..eyes.len())
        .filter(|e| found.course.runs.iter().any(|r| r.eyes.iter().take(r.measured.times).any(|x| x == e)))
        .collect();
    header.extend(used.iter().map(|e| format!("to {}", eyes[*e].name)));
    header.extend(["sum s".to_string(), "chance of more".to_string()]);
    let rows = found.course.runs.iter().enumerate().map(|(r, run)| {
        let mut cells = vec![run.measured.name.clone()];
        cells.resize(1 + used.len(), "-".into());
        let mut sum_s = 0.0;
        for (place, here_s, far) in found.in_sections(r, &used) {
            sum_s += here_s;
            cells[1 + place] = format!("{here_s:+.3}{}", if far { "*" } else { "" });
        }
        cells.push(format!("{sum_s:+.3}"));
        let check = found.runs[r].as_ref();
        cells.push(check.map_or("-".into(), |c| format!("{:.3}", c.chance)));
        cells
    });
    let header: Vec<&str> = header.iter().map(String::as_str).collect();
    lay(&header, rows.collect())
        + "\nseconds that a run is slower in each section than fitted, - faster; over a missing eye the next section holds both;\n\
           * beyond 2.6 times its error; chance of more: of the run against what the others say of it\n"
}

fn delayed(found: &Found<'_>, run: usize, d: Delay) -> String {
    let places = &found.course.runs[run].measured.places;
    let (from, before) = (&places[d.from], &places[d.from - 1]);
    let size = format!("{:.2} +-{:.2} s", d.delay_s.abs(), d.error_s);
    if d.delay_s > 0.0 && d.later_s > 0.0 {
        let last = &places[found.course.runs[run].measured.times - 1];
        format!(
            "lost {size} between {before} and {from} and {:.2} s more until {last}, and goes with the others but for \
             that: a touch or a skid that cost speed?",
            d.later_s
        )
    } else if d.delay_s > 0.0 {
        format!(
            "lost {size} between {before} and {from}, and goes with the others but for that: a touch or a skid?"
        )
    } else {
        format!("{size} too fast between {before} and {from}: a time written down wrongly?")
    }
}

pub fn flags(found: &Found<'_>) -> String {
    let mut text = String::new();
    for (r, check) in found.runs.iter().enumerate() {
        let run = &found.course.runs[r];
        let notes = if run.notes.is_empty() { String::new() } else { format!(" Noted: {}.", run.notes) };
        if let Some(check) = check.as_ref().filter(|c| c.flagged()) {
            let why = match check.explained() {
                Some(delay) => delayed(found, r, delay),
                None => "out of line, and no single section explains it.".into(),
            };
            text += &format!("run {}: {why}{notes}{}\n", run.measured.name, without(found, r));
        }
        if let Some(off) = found.far_starts[r] {
            let why = if off > 0.0 { "a bad push?" } else { "a start written down wrongly?" };
            text += &format!(
                "run {}: start {:+.2} s from the middle of the others: {why}{notes}\n",
                run.measured.name, off
            );
        }
    }
    let most =
        found.slow_sections().into_iter().max_by(|a, b| a.times_error.abs().total_cmp(&b.times_error.abs()));
    if let Some(s) = most {
        let way = if s.delay_s > 0.0 { "slower" } else { "faster" };
        text += &format!(
            "section to {}: all runs {:.3} s {way} than the model can give, {:.1} times its error: is the track right \
             there, does everybody lose it there, is the eye where the track says?\n",
            s.to,
            s.delay_s.abs(),
            s.times_error.abs()
        );
    }
    if text.is_empty() { "no run and no section is out of line\n".into() } else { text }
}

/// What the parameters would be without a run.
fn without(found: &Found<'_>, run: usize) -> String {
    let Some(Ok(p)) = found.predicted.get(run) else { return String::new() };
    // its own start stays in that fit, which moves nothing but its entry speed
    let each = found.layout.parameters.iter().enumerate().map(|(j, parameter)| {
        let digits = parameter.digits();
        format!("{} {:.digits$}", parameter.words(), p.without.estimates[j])
    });
    format!(
        " Without it: {} (--leave-out {}).",
        each.collect::<Vec<_>>().join(", "),
        found.course.runs[run].measured.name
    )
}

pub fn from_the_others(found: &Found<'_>, lay: Lay<'_>) -> String {
    if found.predicted.is_empty() {
        return "one run: none can be predicted from others\n".into();
    }
    let finish = found.course.track.data.eyes.len() - 1;
    let (mut rows, mut inside, mut asked, mut failed) = (vec![], 0, 0, String::new());
    for (r, p) in found.predicted.iter().enumerate() {
        let run = &found.course.runs[r];
        if run.eyes[run.measured.times - 1] != finish {
            continue;
        }
        match p {
            Err(why) => failed += &format!("run {}: not predicted: {why}\n", run.measured.name),
            Ok(p) => {
                let Belief { mean_s, .. } = p.time;
                let (low, high) = p.time.band_s();
                asked += 1;
                inside += usize::from(p.inside());
                rows.push(vec![
                    run.measured.name.clone(),
                    format!("{mean_s:.2}"),
                    format!("{low:.2}"),
                    format!("{high:.2}"),
                    format!("{:.2}", p.timed_s),
                    if p.inside() { "inside" } else { "outside" }.into(),
                ]);
            }
        }
    }
    let header = ["run", "predicted s", "95 % from", "95 % to", "timed s", "band"];
    format!(
        "finish of each run from the other runs and its own start time\n{}\n{inside} of {asked} inside their band\n{failed}",
        lay(&header, rows)
    )
}

pub fn helps(found: &Found<'_>, lay: Lay<'_>) -> String {
    let Some(d) = &found.decision else { return String::new() };
    let now = 1e3 * d.sd_s;
    let rows = d.with.iter().take(HELPS).map(|(what, sd_s)| vec![what.clone(), format!("{:.1}", 1e3 * sd_s)]);
    format!(
        "\n{}: {:.0} +-{now:.1} ms\nwhat would help most\n{}\n\
         errors of such measurements are assumed; one more eye is reckoned into these runs, with the line loss of its section\n",
        d.words,
        1e3 * d.value_s,
        lay(&["one more measurement", "then +- ms"], rows.collect()),
    )
}
