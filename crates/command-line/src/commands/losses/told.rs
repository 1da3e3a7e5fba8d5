//! Lost time in words and tables.

use crate::words::numbers;
use sled_dynamics::analysis::losses::{CAUSE_NAMES, CAUSES, Losses};
use sweep_runner::rides::cause::{Causes, WhatIf};
use track_geometry::track::Track;

/// What-ifs that are shown, each with its band.
pub const SHOWN: usize = 20;

fn ms(s: f64) -> String {
    let text = format!("{:+.1}", 1e3 * s);
    if text == "+0.0" || text == "-0.0" { "0".into() } else { text }
}

/// The table of the gap.
pub fn report(l: &Losses, error_s: f64) -> String {
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
    // nothing has no sign
    let remainder_ms = (1e5 * l.remainder_s).round() / 100.0 + 0.0;
    format!(
        "milliseconds at the finish, + lost, - gained\n\n{table}\n\n\
         all: booked where it was made, with all it costs until the finish; showed: on the clock, section by section\n\
         gap {} ms, its numerical error {:.2} ms, remainder {:.2} ms\n\n",
        ms(l.gap_s),
        1e3 * error_s,
        remainder_ms
    )
}

/// What each corner caused.
pub fn cause_report(c: &Causes, l: Option<&Losses>) -> String {
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

/// What single faults would cost.
pub fn what_if_report(track: &Track, found: &[WhatIf]) -> String {
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
