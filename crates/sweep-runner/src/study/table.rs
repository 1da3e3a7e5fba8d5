//! The table of a sweep: a row for each case, units in the header.

use crate::rides::ensemble::Ensemble;
use crate::rides::figures::Figure;
use crate::rides::paired::{Paired, Verdict};
use crate::study::Study;
use crate::study::against::Reason;
use crate::study::case::Made;
use crate::study::levels::Value;
use crate::study::ride_times::{TIMES, times_cell};
use file_faults::cell::csv_line;
use serde::Serialize;
use sled_dynamics::analysis::oscillation::swings;
use sled_dynamics::motion::descent::{Descent, Outcome};
use std::collections::BTreeMap;
use track_geometry::track::Track;

const KM_H: f64 = 3.6;

/// A column of the table.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Column {
    /// Its name in the header; a unit stands at its end.
    pub name: String,
    /// What it holds.
    pub(crate) meaning: String,
}

/// The columns of every table before those of its axes.
const FIRST: [(&str, &str); 1] = [("case", "Number of the case, from 0")];
/// The columns of every table after those of its axes.
const FIGURES: [(&str, &str); 17] = [
    ("outcome", "finished, control lost, or failed: no descent could be computed"),
    ("finish_time_s", "First to last eye; empty without a finish"),
    ("numerical_error_s", "Bound of the numerical error of that time; empty where it depends on the step"),
    ("top_speed_km_h", "Greatest speed"),
    ("greatest_g_load", "Greatest normal load over weight at 9.80665 m/s2"),
    ("touches", "How often a wall or a lip was touched"),
    ("lip_touches", "How often a lip was touched"),
    ("lost_at_m", "Station where control was lost; empty for a finish"),
    ("lost_air_j", "Energy lost to the air"),
    ("lost_glide_j", "Energy lost to the film under the runners"),
    ("lost_plough_j", "Energy lost to cutting the ice along the runners"),
    ("lost_skid_j", "Energy lost to sliding sideways"),
    ("lost_toe_j", "Energy lost to dragged toes"),
    ("lost_walls_j", "Energy lost to walls and lips"),
    ("lost_shaking_j", "Energy lost to shaking on uneven ice"),
    (
        "plan_help_m_s2",
        "Help that is left in the planned ride, root mean square; 0 is a ride of the sled alone; empty without a plan",
    ),
    ("plan_sweeps", "Sweeps that the planner took; empty without a plan"),
];
/// The columns of rides with mistakes; those before them are of the ride without. Each error is one standard error.
/// Lost rides rank last: a time among them is an empty cell, and `among_lost` names it.
const RIDES: [(&str, &str); 20] = [
    ("p10_time_s", "Time that one in ten of all rides with mistakes stays below, lost ones last"),
    ("median_time_s", "Time that half of them stay below, lost ones last"),
    ("median_time_error_s", "Sampling error of that time; empty where it reaches in among lost rides"),
    ("p90_time_s", "Time that nine in ten of them stay below, lost ones last"),
    ("p90_time_error_s", "Sampling error of that time; empty where it reaches in among lost rides"),
    ("worst_tenth_time_s", "Mean time of the slowest tenth of them; lost as soon as one ride is"),
    ("worst_tenth_time_error_s", "Sampling error of that mean; empty where it reaches in among lost rides"),
    ("among_lost", "Which of p10, median, p90 and worst_tenth fall among lost rides, in words"),
    ("lost_share", "Share of rides with mistakes that lose control"),
    ("lost_share_error", "Sampling error of that share; never 0"),
    ("mean_finished_time_s", "Mean of the finished rides alone; read it beside lost_share"),
    ("mean_finished_time_error_s", "Sampling error of that mean"),
    ("sd_finished_time_s", "Standard deviation of the times of the finished rides alone"),
    ("sd_finished_time_error_s", "Sampling error of that standard deviation"),
    ("touches_a_ride", "Walls and lips touched in a ride with mistakes, lost ones included"),
    ("touches_a_ride_error", "Sampling error of those touches"),
    ("lip_touches_a_ride", "Lips touched in a ride with mistakes, lost ones included"),
    ("lip_touches_a_ride_error", "Sampling error of those touches"),
    ("lost_mostly", "How most of the lost rides lose control, in words"),
    ("lost_mostly_at_m", "Median station where those lose it"),
];
/// The columns of those rides against the same mistakes of the reference.
const AGAINST: [(&str, &str); 11] = [
    (
        "against_reference",
        "What the rides say against the reference: faster, slower, cannot tell, the same, loses control more often, \
         loses control less often, or ahead, loses too many; never faster where more rides are lost beyond chance, or \
         more than 5 % of all",
    ),
    ("pairs", "Rides with this case and, by the same mistakes, with the reference; lost ones among them"),
    (
        "difference_s",
        "Median over those of the time less that of the reference, lost rides the slower; negative is faster",
    ),
    ("difference_low_s", "Lower end of its band of 95 %; empty below six pairs"),
    ("difference_high_s", "Upper end of that band"),
    (
        "difference_among_lost",
        "Which of difference, low and high fall among rides lost with one of the two, in words",
    ),
    ("finished_pairs", "Rides that finish with both"),
    ("mean_finished_difference_s", "Mean of the difference over those alone; read it beside lost_more_share"),
    ("lost_more_share", "Share of rides lost less that of the reference"),
    ("faster_share", "Share of rides faster than the reference; equal times half, a lost ride the slower"),
    ("faster_share_error", "Sampling error of that share"),
];
/// The columns of each corner.
const CORNER: [(&str, &str); 6] = [
    ("pressures", "how many times the load rose to a peak on the bank"),
    ("greatest_g_load", "greatest load over weight"),
    ("amplitude_m", "half the mean swing of the height on the bank; empty without a swing"),
    ("damping_ratio", "viscous damping ratio of the swings, negative where they grow; empty below 3 swings"),
    ("wavelength_m", "way of a swing there and back; empty below 3 turning points"),
    ("exit_height_m", "height at the exit"),
];
/// The last column.
const LAST: (&str, &str) = ("reason", "Why a case failed or where control was lost, in words");

/// The columns of a study's table.
pub(crate) fn columns(study: &Study) -> Vec<Column> {
    let column = |(name, meaning): (&str, &str)| Column { name: name.into(), meaning: meaning.into() };
    let mut all: Vec<Column> = FIRST.map(column).into();
    all.extend(study.file.axes.iter().map(|a| column((a.quantity.path(), a.quantity.doc()))));
    all.extend(FIGURES.map(column));
    if study.file.rides.per_case > 0 {
        all.extend(RIDES.map(column));
        all.extend(AGAINST.map(column));
        all.extend(study.keeps_times().then(|| column(TIMES)));
    }
    if study.file.corners {
        for corner in &study.track.data.corners {
            let name = corner.name.replace([' ', ','], "_");
            let of = |(figure, meaning): (&str, &str)| Column {
                name: format!("corner_{name}_{figure}"),
                meaning: format!("Corner {}: {meaning}", corner.name),
            };
            all.extend(CORNER.map(of));
        }
    }
    all.push(column(LAST));
    all
}

/// The header.
pub fn header(study: &Study) -> String {
    csv_line(&columns(study).into_iter().map(|c| c.name).collect::<Vec<_>>())
}

/// The row of a case.
pub fn row(study: &Study, case: usize, made: &Result<Made, Reason>) -> String {
    let mut fields = vec![case.to_string()];
    fields.extend(study.values(case).iter().map(Value::to_string));
    match made {
        Ok(made) => {
            figures(made, &mut fields);
            if let Some(ensemble) = &made.ensemble {
                rides(ensemble, &mut fields);
                against(made.told_apart.as_ref(), &mut fields);
                fields.extend(study.keeps_times().then(|| times_cell(ensemble)));
            }
            if study.file.corners {
                corners(&study.track, &made.descent, &mut fields);
            }
            fields.push(reason(&made.descent));
        }
        Err(reason) => {
            fields.push("failed".into());
            fields.resize(columns(study).len() - 1, String::new());
            fields.push(reason.clone());
        }
    }
    csv_line(&fields)
}

/// A number as a cell; empty where it is none.
fn cell(v: Option<f64>) -> String {
    v.filter(|v| v.is_finite()).map_or(String::new(), |v| v.to_string())
}

fn reason(d: &Descent) -> String {
    match d.outcome {
        Outcome::Finished => String::new(),
        Outcome::ControlLost { cause, .. } => cause.words().to_string(),
    }
}

fn figures(made: &Made, fields: &mut Vec<String>) {
    let d = &made.descent;
    let (outcome, lost_m) = match d.outcome {
        Outcome::Finished => ("finished", None),
        Outcome::ControlLost { station_m, .. } => ("control lost", Some(station_m)),
    };
    let finished = d.finish_time_s.is_some();
    fields.extend([
        outcome.to_string(),
        cell(d.finish_time_s),
        cell(Some(d.numerical_error_s).filter(|_| finished)),
        cell(Some(d.top_speed_m_s() * KM_H)),
        cell(Some(d.greatest_g_load())),
        d.touches().to_string(),
        d.lip_touches().to_string(),
        cell(lost_m),
    ]);
    fields.extend(d.energy.lost_j.map(|j| cell(Some(j))));
    let plan = made.plan.map(|p| (p.help_m_s2, p.sweeps));
    fields.extend([cell(plan.map(|p| p.0)), plan.map_or(String::new(), |p| p.1.to_string())]);
}

fn rides(ensemble: &Ensemble, fields: &mut Vec<String>) {
    let f = ensemble.figures();
    let pair = |f: Option<Figure>| [cell(f.map(|f| f.value)), cell(f.map(|f| f.error))];
    fields.push(cell(f.p10_s.map(|f| f.value)));
    fields.extend([f.median_s, f.p90_s, f.worst_tenth_s].into_iter().flat_map(pair));
    let ranked =
        [("p10", f.p10_s), ("median", f.median_s), ("p90", f.p90_s), ("worst_tenth", f.worst_tenth_s)];
    fields.push(named(ranked.map(|(name, f)| (name, f.is_some_and(|f| f.is_lost())))));
    let others = [Some(f.lost), f.mean_finished_s, f.sd_finished_s, Some(f.touches), Some(f.lip_touches)];
    fields.extend(others.into_iter().flat_map(pair));
    let mostly = lost_mostly(ensemble);
    fields.extend([mostly.map_or(String::new(), |(how, _)| how.into()), cell(mostly.map(|(_, at_m)| at_m))]);
}

/// The names of those that are so.
fn named<const N: usize>(all: [(&str, bool); N]) -> String {
    let so: Vec<&str> = all.iter().filter(|a| a.1).map(|a| a.0).collect();
    so.join(" ")
}

fn against(told: Option<&(Paired, Verdict)>, fields: &mut Vec<String>) {
    let Some((pair, verdict)) = told else {
        return fields.extend(vec![String::new(); AGAINST.len()]);
    };
    let (low, high) = pair.band_s.unzip();
    let infinite = |v: Option<f64>| v.is_some_and(f64::is_infinite);
    fields.extend([
        pair.verdict_words(*verdict).to_string(),
        pair.pairs.to_string(),
        cell(pair.median_s),
        cell(low),
        cell(high),
        named([("difference", infinite(pair.median_s)), ("low", infinite(low)), ("high", infinite(high))]),
        pair.finished_pairs.to_string(),
        cell(pair.mean_finished_s.map(|f| f.value)),
        cell(Some((pair.lost[0] as f64 - pair.lost[1] as f64) / pair.pairs as f64)),
        cell(Some(pair.first_faster.value)),
        cell(Some(pair.first_faster.error)),
    ]);
}

/// The commonest way in which rides lose control, the first by name among equals, and its median station (m).
fn lost_mostly(ensemble: &Ensemble) -> Option<(&'static str, f64)> {
    let mut ways: BTreeMap<&'static str, Vec<f64>> = BTreeMap::new();
    for (at_m, how) in ensemble.rides.iter().filter_map(|r| r.lost) {
        ways.entry(how.words()).or_default().push(at_m);
    }
    let (how, mut at_m) = ways.into_iter().rev().max_by_key(|(_, at_m)| at_m.len())?;
    at_m.sort_by(f64::total_cmp);
    Some((how, at_m[at_m.len() / 2]))
}

/// Cells of the corners; those that the sled did not come through whole are empty.
fn corners(track: &Track, d: &Descent, fields: &mut Vec<String>) {
    let swings = swings(track, &d.trace);
    for (i, corner) in track.data.corners.iter().enumerate() {
        let swing = swings.iter().find(|s| s.corner == corner.name);
        let (Some(pass), Some(swing)) = (d.corners.get(i), swing) else {
            fields.extend(vec![String::new(); CORNER.len()]);
            continue;
        };
        fields.extend([
            swing.pressures.len().to_string(),
            cell(Some(pass.greatest_g_load)),
            cell(swing.amplitude_m),
            cell(swing.damping.map(|d| d.damping_ratio)),
            cell(swing.wavelength_m),
            cell(Some(pass.exit.height_m)),
        ]);
    }
}

/// A table as read back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SweepTable {
    /// Names of the columns.
    pub(crate) header: Vec<String>,
    /// Rows, each as long as the header.
    pub(crate) rows: Vec<Vec<String>>,
}

impl SweepTable {
    /// Reads the text of a table; none if it is no table.
    pub fn read(text: &str) -> Option<SweepTable> {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let header = reader.headers().ok()?.iter().map(String::from).collect();
        let rows = reader.records().map(|r| r.map(|r| r.iter().map(String::from).collect()));
        Some(SweepTable { header, rows: rows.collect::<Result<_, _>>().ok()? })
    }

    /// Place of a column.
    fn place(&self, name: &str) -> Option<usize> {
        self.header.iter().position(|h| h == name)
    }

    /// A column as text; empty if there is none.
    pub fn texts(&self, name: &str) -> Vec<&str> {
        let Some(i) = self.place(name) else { return Vec::new() };
        self.rows.iter().map(|r| r.get(i).map_or("", String::as_str)).collect()
    }

    /// A column as numbers; none where a cell is empty or is no number, which NaN and 1e999 are not either.
    pub fn numbers(&self, name: &str) -> Vec<Option<f64>> {
        self.texts(name).into_iter().map(|t| t.parse().ok().filter(|v: &f64| v.is_finite())).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_a_line_is_one_line_and_comes_back() {
        let fields = ["1", "a,b", "he said \"no\"", "two\nlines", ""];
        let line = csv_line(&fields);
        assert_eq!(line.matches('\n').count(), 1);
        let table = SweepTable::read(&format!("v,w,x,y,z\n{line}")).unwrap();
        assert_eq!(table.rows[0], ["1", "a,b", "he said \"no\"", "two lines", ""]);
        assert_eq!((table.numbers("v"), table.numbers("z")), (vec![Some(1.0)], vec![None]));
        assert!(table.texts("nobody").is_empty());
        assert!(SweepTable::read("a,b\n1\n").is_none());
    }

    #[test]
    fn exact_a_cell_beyond_all_numbers_is_none() {
        // found by fuzzing: 1e999 is read as infinity
        let table = SweepTable::read("v\n1e999\nNaN\n-inf\n2\n").unwrap();
        assert_eq!(table.numbers("v"), [None, None, None, Some(2.0)]);
    }
}
