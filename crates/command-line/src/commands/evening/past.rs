//! What past runs of the pair on the sled were, from the notebook that the plan names.

use crate::commands::notebook::read_book;
use evidence::notebook::{Notebook, Row};
use std::path::Path;

/// Screws whose mean is the bow of an entry.
const SCREWS: [&str; 4] = [
    "runners.left.bow_front_mm",
    "runners.left.bow_rear_mm",
    "runners.right.bow_front_mm",
    "runners.right.bow_rear_mm",
];
/// Bows that are told, those with most runs first.
const MOST_BOWS: usize = 3;

/// Whose runs are looked for.
pub struct Wanted<'a> {
    /// Name of the track.
    pub track: &'a str,
    /// Name of the set-up.
    pub setup: &'a str,
    /// The pair on the sled, where the plan names pairs.
    pub pair: Option<&'a str>,
    /// The athlete, where the plan names one.
    pub athlete: Option<&'a str>,
}

fn same(a: &str, b: &str) -> bool {
    a.trim().eq_ignore_ascii_case(b.trim())
}

impl Wanted<'_> {
    fn is(&self, book: &Notebook, row: &Row) -> bool {
        let cell = |heading: &str| book.cell(row, heading);
        let whose = match (self.pair, cell("pair")) {
            (Some(pair), Some(written)) => same(pair, written),
            _ => cell("set_up").is_some_and(|name| same(name, self.setup)),
        };
        let track = cell("track").is_none_or(|t| same(t, self.track));
        let athlete = self.athlete.is_none_or(|a| cell("athlete").is_some_and(|c| same(a, c)));
        book.is_run(row) && whose && track && athlete
    }

    fn words(&self) -> String {
        let whose = self.athlete.map_or(String::new(), |a| format!(" of {a}"));
        match self.pair {
            Some(pair) => format!("pair {pair}{whose} on {}", self.track),
            None => format!("\"{}\"{whose} on {}", self.setup, self.track),
        }
    }
}

/// Bow of an entry (mm), to a hundredth; none where it is not written down.
fn bow(book: &Notebook, row: &Row) -> Option<i64> {
    let all: Option<Vec<f64>> = SCREWS.iter().map(|s| book.number(row, s)).collect();
    Some((25.0 * all?.iter().sum::<f64>()).round() as i64)
}

fn span(values: &[f64], digits: usize, unit: &str) -> String {
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    match values.len() {
        0 => String::new(),
        _ if low == high => format!("{low:.digits$} {unit}"),
        _ => format!("{low:.digits$} to {high:.digits$} {unit}"),
    }
}

/// What the past runs were, bow by bow: label and value.
pub fn facts(path: &Path, wanted: &Wanted<'_>) -> Result<Vec<[String; 2]>, String> {
    let book = read_book(path)?;
    Ok(told(&book, &path.display().to_string(), wanted))
}

fn told(book: &Notebook, file: &str, wanted: &Wanted<'_>) -> Vec<[String; 2]> {
    let rows: Vec<&Row> = book.rows.iter().filter(|r| wanted.is(book, r)).collect();
    let label = || "Past runs".to_string();
    if rows.is_empty() {
        return vec![[label(), format!("none of {} in {file}", wanted.words())]];
    }
    let mut bows: Vec<Option<i64>> = rows.iter().map(|r| bow(book, r)).collect();
    bows.sort_unstable();
    bows.dedup();
    let of = |b: &Option<i64>| rows.iter().copied().filter(|r| bow(book, r) == *b).collect::<Vec<_>>();
    bows.sort_by_key(|b| std::cmp::Reverse(of(b).len()));
    let line = |b: &Option<i64>| {
        let runs = of(b);
        let all =
            |heading: &str| -> Vec<f64> { runs.iter().filter_map(|r| book.number(r, heading)).collect() };
        let mut times = all("finish_s");
        times.sort_by(f64::total_cmp);
        let middle = times.get(times.len() / 2).zip(times.get((times.len().max(1) - 1) / 2));
        let median = middle.filter(|_| times.len() > 2);
        let median = median.map_or(String::new(), |(a, b)| format!(", median {:.2} s", 0.5 * (a + b)));
        let bow = b.map_or("bow not written down".to_string(), |b| format!("bow {:.2} mm", 0.01 * b as f64));
        let ice = all("ice_c");
        let ice = if ice.is_empty() { String::new() } else { format!(", ice {}", span(&ice, 1, "degC")) };
        let last = runs.iter().filter_map(|r| book.cell(r, "date")).max();
        let last = last.map_or(String::new(), |d| format!(", last on {d}"));
        let many = if times.len() == 1 { "1 run".to_string() } else { format!("{} runs", times.len()) };
        format!("{bow}: {many}, {}{median}{ice}{last}", span(&times, 2, "s"))
    };
    let mut lines: Vec<String> = bows.iter().take(MOST_BOWS).map(line).collect();
    if bows.len() > MOST_BOWS {
        lines.push(format!("{} more bows in {file}", bows.len() - MOST_BOWS));
    }
    vec![[label(), format!("{}: {}", wanted.words(), lines.join("; "))]]
}

#[cfg(test)]
mod tests {
    use super::*;

    const BOOK: &str = "entry,date,track,athlete,run,set_up,pair,ice_c,finish_s,runners.left.bow_front_mm,\
runners.left.bow_rear_mm,runners.right.bow_front_mm,runners.right.bow_rear_mm\n\
1,2026-01-20,Oskerdale,Ada,1,S,A,-6,56.30,3.5,3.5,3.5,3.5\n\
2,2026-01-21,Oskerdale,Ada,2,S,A,-5,56.50,3.5,3.5,3.5,3.5\n\
3,2026-01-21,Oskerdale,Ada,3,S,A,-5.5,56.42,3.5,3.5,3.5,3.5\n\
4,2026-01-22,Oskerdale,Ada,4,S,A,-5,57.10,1.6,1.6,1.6,1.6\n\
5,2026-01-22,Oskerdale,Eve,5,S,A,-5,55.10,1.6,1.6,1.6,1.6\n\
6,2026-01-22,Quillmere,Ada,6,S,A,-5,50.10,1.6,1.6,1.6,1.6\n\
7,2026-01-22,Oskerdale,Ada,7,S,B,-5,55.00,1.6,1.6,1.6,1.6\n\
8,2026-01-23,Oskerdale,Ada,,S,A,-5,,1.6,1.6,1.6,1.6\n";

    #[test]
    fn exact_past_runs_of_the_pair_are_told_by_bow() {
        let book = Notebook::read("b.csv", BOOK).unwrap();
        let wanted = Wanted { track: "oskerdale", setup: "S", pair: Some("a"), athlete: Some("Ada") };
        let words = &told(&book, "b.csv", &wanted)[0][1];
        assert_eq!(
            words,
            "pair a of Ada on oskerdale: bow 3.50 mm: 3 runs, 56.30 to 56.50 s, median 56.42 s, ice -6.0 to -5.0 degC, \
             last on 2026-01-21; bow 1.60 mm: 1 run, 57.10 s, ice -5.0 degC, last on 2026-01-22"
        );
        // without a pair by the name of the set-up; everybody's runs where no athlete is named
        let all = Wanted { pair: None, athlete: None, ..wanted };
        assert!(told(&book, "b.csv", &all)[0][1].contains("bow 1.60 mm: 3 runs"));
        let none = Wanted { pair: Some("C"), ..all };
        assert!(told(&book, "b.csv", &none)[0][1].contains("none of pair C on oskerdale in b.csv"));
    }
}
