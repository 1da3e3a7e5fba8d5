//! The one rule of choice ([`crate::rides::choice`]) over the runs of a grid: cases that differ in the one number of the
//! set-up that the study varies, in order, under the same conditions.
//!
//! The times of the rides stand in the table, so that a table that was resumed or merged says what one made at once
//! says. *Checked by* `exact_the_choice_of_a_sweep_is_the_rule_on_its_rides`.

use crate::rides::choice::{Candidate, Choice, Standing, choose};
use crate::rides::ensemble::Ensemble;
use crate::rides::paired::ALLOWED_LOST;
use crate::study::Study;
use crate::study::levels::Value;
use crate::study::ride_times::{MOST_RIDES, TIMES, rides_of};
use crate::study::table::SweepTable;
use file_faults::cell::csv_line;
use std::collections::BTreeMap;

/// The columns of choice.csv.
pub(crate) const CHOICE: [(&str, &str); 5] = [
    ("case", "Number of the case"),
    (
        "standing",
        "front, alike, slower, out or no ride, among the cases that differ in the number chosen alone",
    ),
    (
        "behind_s",
        "Median of the differences to the front, ride by ride; empty among lost rides, and without any",
    ),
    ("in_range", "yes in the run of neighbours around the front that are alike, else no"),
    ("advised", "yes for the case that is advised, else no"),
];
/// Most runs that are told in words.
const MOST_TOLD: usize = 8;

/// Cases that differ in the number chosen alone, and what the rule says of them.
pub(crate) struct Run {
    /// Their numbers, by the value of the number chosen.
    pub(crate) cases: Vec<usize>,
    /// What the rule says, in that order.
    pub(crate) choice: Choice,
    /// Their values as people write them.
    names: Vec<String>,
    /// The conditions, and what is on the sled; in words.
    given: String,
}

/// First and last case of the range of the run that these cases are, in any order; `None` where they are no run, and
/// no range where the front stands alone or all are out.
///
/// Checked by: `exact_range_of_a_run_by_its_cases`.
pub(crate) fn range_of(runs: &[Run], cases: &[usize]) -> Option<Option<[usize; 2]>> {
    let sorted = |cases: &[usize]| {
        let mut cases = cases.to_vec();
        cases.sort_unstable();
        cases
    };
    let run = runs.iter().find(|r| sorted(&r.cases) == sorted(cases))?;
    Some(run.choice.range.filter(|[low, high]| low < high).map(|range| range.map(|i| run.cases[i])))
}

/// A number without the noise of its last digits.
fn short(value: Value) -> String {
    match value {
        Value::Number(v) => format!("{}", (v * 1e4).round() / 1e4),
        level => level.to_string(),
    }
}

/// The runs of a table whose cases are all there, in the order of their first cases.
pub(crate) fn runs(study: &Study, table: &SweepTable) -> Vec<Run> {
    let times = table.texts(TIMES.0);
    let Some(chosen) = study.chosen_axis().filter(|_| !times.is_empty()) else { return vec![] };
    let (mut places, mut groups) = (BTreeMap::new(), Vec::<Vec<usize>>::new());
    for case in 0..study.cases() {
        let place = *places.entry(study.conditions(&study.values(case))).or_insert(groups.len());
        match groups.get_mut(place) {
            Some(group) => group.push(case),
            None => groups.push(vec![case]),
        }
    }
    let errors = table.numbers("numerical_error_s");
    let axis = &study.file.axes[chosen];
    let value = |case: usize| study.values(case)[chosen];
    let named = |v: Value| format!("{} {}", short(v), axis.quantity.unit()).trim_end().to_string();
    let whole = groups.into_iter().filter(|cases| cases.iter().all(|c| *c < times.len()));
    let run = |mut cases: Vec<usize>| {
        cases.sort_by(|a, b| value(*a).number().total_cmp(&value(*b).number()));
        let rides: Vec<Option<Ensemble>> = cases.iter().map(|c| rides_of(times[*c])).collect();
        let candidates: Vec<Candidate<'_>> = rides
            .iter()
            .zip(&cases)
            .map(|(rides, case)| Candidate {
                rides: rides.as_ref(),
                numerical_s: errors.get(*case).copied().flatten().unwrap_or(f64::NAN),
                by_plan_s: study.by_plan_s(&study.values(*case), |_| true),
            })
            .collect();
        // the base set-up may say the same number with another last digit
        let on_sled = |v: f64| study.base[chosen].is_some_and(|b| (v - b).abs() <= 1e-9 * b.abs());
        let now = cases.iter().position(|c| on_sled(value(*c).number()));
        let first = cases.first().map_or_else(Vec::new, |c| study.values(*c));
        let axes = study.file.axes.iter().zip(first).enumerate().filter(|(i, _)| *i != chosen);
        let mut given: Vec<String> =
            axes.map(|(_, (a, v))| format!("{} {}", a.quantity.path(), short(v))).collect();
        given.extend(now.map(|i| format!("{} being on the sled", named(value(cases[i])))));
        let choice = choose(&candidates, now, ALLOWED_LOST);
        let names = cases.iter().map(|c| named(value(*c))).collect();
        Run { choice, names, given: given.join(", "), cases }
    };
    whole.map(run).collect()
}

/// What the rule says, run by run; or why it says nothing.
pub(crate) fn words(study: &Study, runs: &[Run]) -> Vec<String> {
    let Some(axis) = study.chosen_axis().and_then(|i| study.file.axes.get(i)) else { return vec![] };
    let key = axis.quantity.path();
    if !study.keeps_times() {
        return vec![format!("no choice of {key}: more than {MOST_RIDES} rides in the study")];
    }
    let told = |r: &Run| {
        let said = r.choice.words_in_order(&r.names, ALLOWED_LOST);
        let given = if r.given.is_empty() { String::new() } else { format!(", {}", r.given) };
        format!("choice of {key}{given}: {}", said.trim_end())
    };
    let mut all: Vec<String> = runs.iter().take(MOST_TOLD).map(told).collect();
    if let more @ 1.. = runs.len().saturating_sub(MOST_TOLD) {
        all.push(format!("{more} more choices stand in choice.csv"));
    }
    all
}

/// A standing in a word.
pub(crate) fn word(standing: Standing) -> &'static str {
    match standing {
        Standing::NoRide => "no ride",
        Standing::Out { .. } => "out",
        Standing::Front => "front",
        Standing::Alike { .. } => "alike",
        Standing::Slower { .. } => "slower",
        Standing::LosesMore { .. } => "loses more",
    }
}

/// The standing of a case in a word; none where it is in no run.
pub(crate) fn standing(runs: &[Run], case: usize) -> Option<&'static str> {
    let places = runs.iter().find_map(|r| Some((r, r.cases.iter().position(|c| *c == case)?)));
    places.map(|(run, i)| word(run.choice.standings[i]))
}

/// The rows of choice.csv, in the order of the cases.
pub(crate) fn rows(runs: &[Run]) -> String {
    let yes = |so: bool| if so { "yes" } else { "no" }.to_string();
    let mut all: Vec<(usize, String)> = Vec::new();
    for Run { cases, choice, .. } in runs {
        for (i, (case, standing)) in cases.iter().zip(&choice.standings).enumerate() {
            let behind = match standing {
                Standing::Alike { behind_s }
                | Standing::Slower { behind_s }
                | Standing::LosesMore { behind_s }
                    if behind_s.is_finite() =>
                {
                    behind_s.to_string()
                }
                Standing::Front => "0".into(),
                _ => String::new(),
            };
            let in_range = choice.range.is_some_and(|[low, high]| (low..=high).contains(&i));
            let cells = [
                case.to_string(),
                word(*standing).into(),
                behind,
                yes(in_range),
                yes(choice.advised == Some(i)),
            ];
            all.push((*case, csv_line(&cells)));
        }
    }
    all.sort();
    all.into_iter().map(|(_, row)| row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_range_of_a_run_by_its_cases() {
        let run = |cases: Vec<usize>, range| {
            let choice = Choice { standings: vec![], front: None, range, advised: None, stays: false };
            Run { cases, choice, names: vec![], given: String::new() }
        };
        // by the number chosen: case 4, then 0, then 2; and one whose front stands alone
        let runs = [run(vec![4, 0, 2], Some([1, 2])), run(vec![1, 3, 5], Some([1, 1])), run(vec![6], None)];
        assert_eq!(range_of(&runs, &[0, 2, 4]), Some(Some([0, 2])));
        assert_eq!(range_of(&runs, &[5, 3, 1]), Some(None));
        assert_eq!(range_of(&runs, &[6]), Some(None));
        assert_eq!(range_of(&runs, &[0, 2]), None);
    }
}
