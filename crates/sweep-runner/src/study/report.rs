//! What a sweep says, in a few lines and one table.

use crate::study::Study;
use crate::study::against::Against;
use crate::study::axes::Axis;
use crate::study::chosen::{self, CHOICE};
use crate::study::file::Design;
use crate::study::levels::Levels;
use crate::study::slopes::slopes;
use crate::study::table::{Column, SweepTable};
use file_faults::cell::csv_line;
use numerics::sobol_indices::{Estimate, FEWEST_BASE_POINTS, NoIndices, SobolIndices, sobol_indices};

/// Bootstraps of Sobol's indices.
const RESAMPLES: usize = 1000;
/// Rows of the table of the fastest cases; fewer for each of several references.
const FASTEST: usize = 5;
const FASTEST_OF_EACH: usize = 3;
/// Most references whose fastest cases are told.
const MOST_TOLD: usize = 8;

/// The words of a sweep.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Report {
    /// Name, counts.
    pub head: String,
    /// Columns of the table.
    pub columns: Vec<String>,
    /// Its rows.
    pub rows: Vec<Vec<String>>,
    /// What must be said of them.
    pub notes: Vec<String>,
    /// Name and text of the file of the figures in full digits, where the design makes one.
    pub figures: Option<(&'static str, String)>,
    /// Number of failed cases.
    pub failed: usize,
}

/// The words of a whole table.
pub fn report(study: &Study, table: &SweepTable) -> Report {
    let outcomes = table.texts("outcome");
    let count = |what: &str| outcomes.iter().filter(|o| **o == what).count();
    let failed = count("failed");
    let head = format!(
        "{}: {} on {}, {}\n{} cases: {} finished, {} lost control, {failed} failed; seed {}",
        study.file.name,
        study.setup.name,
        study.track.data.name,
        study.file.model.name(),
        outcomes.len(),
        count("finished"),
        count("control lost"),
        study.file.seed
    );
    let (columns, rows, mut notes, figures) = match study.file.design {
        Design::Slopes => slope_rows(study, table),
        Design::Indices { .. } => index_rows(study, table),
        _ => fastest_rows(study, table),
    };
    notes.extend(study.against().warning());
    let columns = columns.into_iter().map(String::from).collect();
    Report { head, columns, rows, notes, figures, failed }
}

type Rows<'a> = (Vec<&'a str>, Vec<Vec<String>>, Vec<String>, Option<(&'static str, String)>);

/// The columns of slopes.csv.
const SLOPES: [(&str, &str); 6] = [
    ("key", "Key of the axis"),
    ("base", "Value of the base set-up, in the unit"),
    ("step", "One step, in the unit"),
    ("unit", "Unit of base and step"),
    ("slope_ms_per_step", "Change of the finish time for one step; empty where a case has no time"),
    ("error_ms", "Bend of the times over two steps, and their numerical error"),
];
/// The columns of indices.csv; low and high are the ends of the bootstrap interval of 95 %.
const INDICES: [(&str, &str); 7] = [
    ("key", "Key of the axis"),
    ("first_order", "Share of the variance of the finish time by this axis alone"),
    ("first_order_low", "Lower end of its interval of 95 %"),
    ("first_order_high", "Upper end of its interval of 95 %"),
    ("total", "Share of the variance by this axis and all its doings together with others"),
    ("total_low", "Lower end of its interval of 95 %"),
    ("total_high", "Upper end of its interval of 95 %"),
];

/// The columns of the file of figures that a design makes; none for most.
pub(crate) fn figure_columns(study: &Study) -> Vec<Column> {
    let column = |(name, meaning): &(&str, &str)| Column { name: (*name).into(), meaning: (*meaning).into() };
    match study.file.design {
        Design::Slopes => SLOPES.iter().map(column).collect(),
        Design::Indices { .. } => INDICES.iter().map(column).collect(),
        _ if study.keeps_times() => CHOICE.iter().map(column).collect(),
        _ => vec![],
    }
}

/// A file of figures: its header, and its rows.
fn figures_text(columns: &[(&str, &str)], rows: &[Vec<String>]) -> String {
    let header: Vec<&str> = columns.iter().map(|c| c.0).collect();
    std::iter::once(csv_line(&header)).chain(rows.iter().map(|r| csv_line(r))).collect()
}

fn slope_rows<'a>(study: &'a Study, table: &SweepTable) -> Rows<'a> {
    let errors = table.numbers("numerical_error_s");
    let times: Vec<Option<(f64, f64)>> =
        table.numbers("finish_time_s").into_iter().zip(errors).map(|(t, e)| Some((t?, e?))).collect();
    let all = slopes(&times);
    let mut notes = vec![
        "slope: change of the finish time for one step; error: bend over two steps, and numerical error"
            .into(),
    ];
    let mut full = Vec::new();
    let rows = study
        .file
        .axes
        .iter()
        .enumerate()
        .map(|(i, axis)| {
            let base = study.base[i].unwrap_or(f64::NAN);
            let step = axis.levels.step().unwrap_or(f64::NAN);
            let figures = match all.get(i).copied().flatten() {
                Some(s) => {
                    if s.error_s > s.per_step_s.abs() {
                        let key = axis.quantity.path();
                        notes.push(format!(
                            "{key}: the error is as large as the slope: not even its sign can be told"
                        ));
                    }
                    [s.per_step_s, s.error_s].map(|v| format!("{:.3}", v * 1e3))
                }
                None => ["-", "-"].map(String::from),
            };
            let [slope, error] = figures;
            let digits = all.get(i).copied().flatten().map(|s| [s.per_step_s, s.error_s].map(|v| v * 1e3));
            let digits = digits.map_or([String::new(), String::new()], |d| d.map(|v| v.to_string()));
            let (key, unit) = (axis.quantity.path(), axis.quantity.unit());
            let first = [key.to_string(), base.to_string(), step.to_string(), unit.to_string()];
            full.push([&first[..], &digits[..]].concat());
            let short = |v: f64| format!("{v:.5}").trim_end_matches('0').trim_end_matches('.').to_string();
            let unit = axis.quantity.unit().to_string();
            vec![axis.quantity.path().to_string(), short(base), short(step), unit, slope, error]
        })
        .collect();
    let figures = Some(("slopes.csv", figures_text(&SLOPES, &full)));
    (vec!["key", "base", "step", "unit", "slope ms", "error ms"], rows, notes, figures)
}

/// Sobol's indices of the finish time, or why there are none.
pub(crate) fn indices(study: &Study, table: &SweepTable) -> Result<SobolIndices, NoIndices> {
    let values = table.numbers("finish_time_s");
    sobol_indices(&values, study.file.axes.len(), RESAMPLES, study.file.seed)
}

fn index_rows<'a>(study: &'a Study, table: &SweepTable) -> Rows<'a> {
    let columns = vec!["key", "first order", "low", "high", "total", "low ", "high "];
    match indices(study, table) {
        Err(why) => (columns, vec![], vec![format!("no indices of the finish time: {why}")], None),
        Ok(made) => {
            let cells = |e: &Estimate| [e.value, e.low, e.high].map(|v| format!("{v:.3}")).to_vec();
            let digits = |e: &Estimate| [e.value, e.low, e.high].map(|v| v.to_string()).to_vec();
            let of_axes = |words: &dyn Fn(&Estimate) -> Vec<String>| -> Vec<Vec<String>> {
                let row = |(i, axis): (usize, &Axis)| {
                    let key = vec![axis.quantity.path().to_string()];
                    [key, words(&made.first[i]), words(&made.total[i])].concat()
                };
                study.file.axes.iter().enumerate().map(row).collect()
            };
            let mut notes = vec![format!(
                "Sobol indices of the finish time from {} base points, 95 % bootstrap intervals; mean {:.3} s, SD {:.3} s",
                made.rows,
                made.mean,
                made.variance.sqrt()
            )];
            notes.push(
                "first order: share of the variance by the key alone; total: with all that it does together with others"
                    .into(),
            );
            if made.left_out > 0 {
                notes.push(format!("{} base points left out: one of their cases has no time", made.left_out));
            }
            if made.has_too_few_rows() {
                notes.push(format!(
                    "warning: fewer than {FEWEST_BASE_POINTS} base points; do not rely on these indices"
                ));
            }
            let figures = Some(("indices.csv", figures_text(&INDICES, &of_axes(&digits))));
            (columns, of_axes(&cells), notes, figures)
        }
    }
}

fn fastest_rows<'a>(study: &'a Study, table: &SweepTable) -> Rows<'a> {
    let mut columns = vec!["case"];
    columns.extend(study.file.axes.iter().map(|a| a.quantity.path()));
    let rides = study.file.rides.per_case;
    let others: &[(&str, f64, usize)] = if rides > 0 {
        columns.extend([
            "median s",
            "error ms",
            "P90 s",
            "lost %",
            "mean of the finished s",
            "touches",
            "planned s",
        ]);
        columns.extend(["less reference ms", "band ms", "faster %", "told"]);
        columns.extend(study.keeps_times().then_some("standing"));
        &[
            ("median_time_s", 1.0, 3),
            ("median_time_error_s", 1e3, 0),
            ("p90_time_s", 1.0, 3),
            ("lost_share", 100.0, 1),
            ("mean_finished_time_s", 1.0, 3),
            ("touches_a_ride", 1.0, 2),
            ("finish_time_s", 1.0, 3),
        ]
    } else {
        columns.extend(["finish s", "error ms"]);
        &[("finish_time_s", 1.0, 3), ("numerical_error_s", 1e3, 3)]
    };
    let figures: Vec<(Vec<Option<f64>>, f64, usize)> =
        others.iter().map(|(name, times, digits)| (table.numbers(name), *times, *digits)).collect();
    let times = &figures[0].0;
    let among = table.texts("among_lost");
    let lost: Vec<Vec<&str>> =
        (0..times.len()).map(|i| among.get(i).map_or(vec![], |t| t.split(' ').collect())).collect();
    let mut order: Vec<usize> = (0..times.len()).filter(|i| times[*i].is_some()).collect();
    order.sort_by(|a, b| times[*a].unwrap_or(f64::NAN).total_cmp(&times[*b].unwrap_or(f64::NAN)));
    let axes: Vec<Vec<&str>> = study.file.axes.iter().map(|a| table.texts(a.quantity.path())).collect();
    let short = |t: &str| t.parse::<f64>().map_or(t.to_string(), |v| format!("{}", (v * 1e4).round() / 1e4));
    let against = Versus::of(table);
    let runs = chosen::runs(study, table);
    let shown = if study.against() == Against::BaseInConditions {
        of_each_reference(study, &order)
    } else {
        order.iter().copied().take(FASTEST).collect()
    };
    let rows = shown.into_iter().map(|i| {
        let mut cells = vec![table.rows[i][0].clone()];
        cells.extend(axes.iter().map(|a| short(a[i])));
        let told = |(values, times, digits): &(Vec<Option<f64>>, f64, usize)| {
            values[i].map_or("-".into(), |v| format!("{:.*}", digits, v * times))
        };
        cells.extend(figures.iter().map(told));
        if let Some(p90) = lost[i].contains(&"p90").then(|| cells.len() - figures.len() + 2) {
            cells[p90] = "lost".into();
        }
        if rides > 0 {
            cells.extend(against.cells(i));
            let standing = || chosen::standing(&runs, i).unwrap_or("-").into();
            cells.extend(study.keeps_times().then(standing));
        }
        cells
    });
    let mut notes = vec![
        "the fastest cases; the whole table is sweep.csv, what its columns mean stands in sweep.json".into(),
    ];
    if rides > 0 {
        notes.push(format!(
            "median, P90: of all of {rides} rides with mistakes, the same mistakes in every case; rides that lose control rank \
             last, and a time among them is \"lost\"; touches: of walls and lips; planned: the ride without mistakes"
        ));
    }
    if study.against() != Against::Nothing {
        notes.push(format!(
            "less reference: median ride by ride against {}, rides with the same mistakes, a lost one the slower; band of 95 %; \
             faster: share of all rides. Nothing is told faster that loses control more often, or in more than 5 % of its \
             rides",
            study.against().words()
        ));
    }
    for (axis, texts) in study.file.axes.iter().zip(&axes) {
        let ends = axis.levels.ends().filter(|_| matches!(axis.levels, Levels::Range { .. }));
        let best = order.first().and_then(|i| texts[*i].parse::<f64>().ok());
        if let (Some((low, high)), Some(best)) = (ends, best)
            && (best == low || best == high)
        {
            let key = axis.quantity.path();
            notes.push(format!(
                "{key}: the fastest case lies at an end of the range; beyond it may be faster"
            ));
        }
    }
    let rows = rows.collect();
    notes.extend(chosen::words(study, &runs));
    let choice = || ("choice.csv", figures_text(&CHOICE, &[]) + &chosen::rows(&runs));
    (columns, rows, notes, study.keeps_times().then(choice))
}

/// The fastest cases of each reference, references in the order of the cases.
fn of_each_reference(study: &Study, order: &[usize]) -> Vec<usize> {
    let mut groups: Vec<(Vec<u64>, Vec<usize>)> = Vec::new();
    let mut cases = order.to_vec();
    cases.sort_unstable();
    for case in cases {
        let conditions = study.conditions(&study.values(case));
        if !groups.iter().any(|g| g.0 == conditions) && groups.len() < MOST_TOLD {
            groups.push((conditions, vec![]));
        }
    }
    for &case in order {
        let conditions = study.conditions(&study.values(case));
        if let Some(group) = groups.iter_mut().find(|g| g.0 == conditions && g.1.len() < FASTEST_OF_EACH) {
            group.1.push(case);
        }
    }
    groups.into_iter().flat_map(|g| g.1).collect()
}

/// The columns that tell cases from their references.
struct Versus<'a> {
    /// Difference, its band, and the share of faster rides.
    figures: [Vec<Option<f64>>; 4],
    among_lost: Vec<&'a str>,
    said: Vec<&'a str>,
}

impl<'a> Versus<'a> {
    fn of(table: &'a SweepTable) -> Versus<'a> {
        let names = ["difference_s", "difference_low_s", "difference_high_s", "faster_share"];
        Versus {
            figures: names.map(|n| table.numbers(n)),
            among_lost: table.texts("difference_among_lost"),
            said: table.texts("against_reference"),
        }
    }

    fn cells(&self, i: usize) -> [String; 4] {
        let [difference, low, high, faster] = self.figures.each_ref().map(|f| f.get(i).copied().flatten());
        let none = || "-".to_string();
        let among = self.among_lost.get(i).copied().unwrap_or("");
        let ms = |name: &str, s: Option<f64>| {
            let lost = among.split(' ').any(|n| n == name);
            s.map_or_else(|| if lost { "lost".into() } else { none() }, |s| format!("{:+.0}", 1e3 * s))
        };
        let [low, high] = [ms("low", low), ms("high", high)];
        [
            ms("difference", difference),
            if low == "-" { low } else { format!("{low} to {high}") },
            faster.map_or_else(none, |share| format!("{:.0}", 100.0 * share)),
            self.said.get(i).filter(|s| !s.is_empty()).map_or_else(none, |s| (*s).to_string()),
        ]
    }
}
