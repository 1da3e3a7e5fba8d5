//! What differs between two entries of a notebook, in words.

use evidence::notebook::{ENTRY, Notebook, Row, WRITTEN};
use sled_dynamics::setup::key::Key;
use sled_dynamics::setup::keys::find;

/// Spread of the finish from run to run (s) that a difference of two runs is set beside: that of `trial plan`.
const SPREAD_S: f64 = 0.165;
/// The four bow screws.
const SCREWS: [[&str; 2]; 4] = [
    ["left front screw", "runners.left.bow_front_mm"],
    ["left rear screw", "runners.left.bow_rear_mm"],
    ["right front screw", "runners.right.bow_front_mm"],
    ["right rear screw", "runners.right.bow_rear_mm"],
];
/// Headings that tell when and which, not what.
const WHEN: [&str; 5] = [ENTRY, WRITTEN, "run", "date", "time_of_day"];

/// The key of a set-up that a heading is.
fn key(heading: &str) -> Option<&'static Key> {
    find(heading.trim()).ok().filter(|k| k.number().is_some())
}

/// The numbers of the set-up that an entry holds, in the unit of their keys.
pub fn settings(book: &Notebook, row: &Row) -> Vec<(&'static str, f64)> {
    let of = |h: &String| Some((key(h)?.path, book.number(row, h)?));
    book.headings.iter().filter_map(of).collect()
}

/// A number from one to another with its unit and difference.
fn change(a: f64, b: f64, unit: &str) -> String {
    let digits = |v: f64| format!("{}", (1e6 * v).round() / 1e6);
    let sign = if b > a { "+" } else { "" };
    format!("{} to {} {unit} ({sign}{})", digits(a), digits(b), digits(b - a)).replace("  ", " ")
}

/// What the bow screws did: all alike in one line, or each that moved.
fn bow(book: &Notebook, before: &Row, after: &Row) -> Vec<String> {
    let of = |row: &Row| SCREWS.map(|[_, heading]| book.number(row, heading));
    let (a, b) = (of(before), of(after));
    let even = |all: [Option<f64>; 4]| all[0].filter(|_| all.iter().all(|v| *v == all[0]));
    match (even(a), even(b)) {
        (Some(a), Some(b)) if a == b => vec![],
        (Some(a), Some(b)) => vec![format!("bow, all four screws: {}", change(a, b, "mm"))],
        _ => {
            let each = SCREWS.iter().zip(a.iter().zip(&b));
            each.filter_map(|([name, _], (a, b))| match (a, b) {
                (Some(a), Some(b)) if a != b => Some(format!("bow, {name}: {}", change(*a, *b, "mm"))),
                (Some(a), None) => Some(format!("bow, {name}: {a} mm before, not written down after")),
                (None, Some(b)) => Some(format!("bow, {name}: {b} mm after, not written down before")),
                _ => None,
            })
            .collect()
        }
    }
}

/// The differences of two entries.
pub fn told(book: &Notebook, before: &Row, after: &Row) -> String {
    let name = |row: &Row| {
        let cells = ["date", "track", "athlete", "run", "set_up"];
        let all = cells.iter().filter_map(|c| {
            let text = book.cell(row, c)?;
            Some(if *c == "run" { format!("run {text}") } else { text.to_string() })
        });
        format!("{}: {}", book.name(row), all.collect::<Vec<_>>().join(", "))
    };
    let mut text = format!("before, entry {}\nafter, entry {}\n", name(before), name(after));
    let (mut setup, mut rest, mut same) = (bow(book, before, after), vec![], 0);
    let is_screw = |h: &str| SCREWS.iter().any(|s| s[1] == h);
    for heading in book.headings.iter().map(|h| h.trim()) {
        let (a, b) = (book.cell(before, heading), book.cell(after, heading));
        if WHEN.contains(&heading) || is_screw(heading) || heading == "notes" || heading.is_empty() {
            continue;
        }
        if a == b {
            same += usize::from(a.is_some());
            continue;
        }
        let numbers = book.number(before, heading).zip(book.number(after, heading));
        if numbers.is_some_and(|(a, b)| a == b) {
            same += 1;
            continue;
        }
        let of_key = key(heading);
        let (what, unit) = match of_key {
            Some(k) => {
                let doc = k.doc.split([';', ':']).next().unwrap_or(k.doc);
                (format!("{doc} ({heading})"), k.number().map_or("", |n| n.unit.symbol()))
            }
            None => (heading.to_string(), ""),
        };
        let line = match (numbers, a, b) {
            (Some((a, b)), ..) => format!("{what}: {}", change(a, b, unit)),
            (_, Some(a), Some(b)) => format!("{what}: {a} before, {b} after"),
            (_, Some(a), None) => format!("{what}: {a} before, not written down after"),
            (_, None, Some(b)) => format!("{what}: {b} after, not written down before"),
            (_, None, None) => continue,
        };
        if of_key.is_some() { setup.push(line) } else { rest.push(line) }
    }
    let part = |title: &str, lines: &[String]| {
        let all: String = lines.iter().map(|l| format!("  {l}\n")).collect();
        if all.is_empty() {
            format!("{title}: nothing that is written down differs\n")
        } else {
            format!("{title}\n{all}")
        }
    };
    text += &part("set-up", &setup);
    text += &part("runs and conditions", &rest);
    for (when, row) in [("before", before), ("after", after)] {
        if let Some(notes) = book.cell(row, "notes") {
            text += &format!("noted {when}: {notes}\n");
        }
    }
    text += &format!("{same} other columns are alike\n");
    let finish = |row| book.cell(row, "finish_s").is_some();
    if finish(before) && finish(after) {
        text += &format!(
            "One run beside another tells little: one athlete's finish spreads by some {SPREAD_S} s from run to run. \
             `trial analyse` says what more of them tell.\n"
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told_of(text: &str) -> String {
        let book = Notebook::read("b", text).expect("a notebook");
        told(&book, &book.rows[0], &book.rows[1])
    }

    const HEAD: &str = "entry,run,pair,ice_c,finish_s,runners.left.bow_front_mm,runners.left.bow_rear_mm,\
                        runners.right.bow_front_mm,runners.right.bow_rear_mm,sled.ballast_kg,wax\n";

    #[test]
    fn exact_differences_in_words() {
        let text = told_of(&format!(
            "{HEAD}1,1,A,-6.0,56.29,3.5,3.5,3.5,3.5,1.5,red\n2,2,A,-6,56.12,4,4,4,4,2.5,blue\n"
        ));
        for line in [
            "set-up\n  bow, all four screws: 3.5 to 4 mm (+0.5)\n  Ballast on the sled (sled.ballast_kg): 1.5 to 2.5 kg (+1)\n",
            "runs and conditions\n  finish_s: 56.29 to 56.12 (-0.17)\n  wax: red before, blue after\n",
            // pair and ice; -6.0 and -6 are the same
            "2 other columns are alike\n",
            "One run beside another tells little",
        ] {
            assert!(text.contains(line), "{line}\n{text}");
        }
    }

    #[test]
    fn exact_what_was_not_written_down_is_no_difference_of_numbers() {
        let text = told_of(&format!("{HEAD}1,,A,,,3.5,3.5,3.5,3.5,,\n2,,A,,,3.5,3.4,3.5,,0.5,\n"));
        for line in [
            "bow, left rear screw: 3.5 to 3.4 mm (-0.1)",
            "bow, right rear screw: 3.5 mm before, not written down after",
            "0.5 after, not written down before",
            "runs and conditions: nothing that is written down differs",
        ] {
            assert!(text.contains(line), "{line}\n{text}");
        }
        assert!(!text.contains("front screw") && !text.contains("One run beside"), "{text}");
    }
}
