//! What a sweep says, in a few lines and one table.

use crate::levels::Levels;
use crate::slopes::slopes;
use crate::study::Study;
use crate::study_file::Design;
use crate::sweep_table::SweepTable;
use numerics::sobol_indices::{Estimate, FEWEST_BASE_POINTS, sobol_indices};

/// Bootstraps of Sobol's indices.
const RESAMPLES: usize = 1000;
/// Rows of the table of the fastest cases.
const FASTEST: usize = 5;

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
    /// Name of a file that this table is worth.
    pub extra: Option<&'static str>,
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
    let (columns, rows, notes, extra) = match study.file.design {
        Design::Slopes => slope_rows(study, table),
        Design::Indices { .. } => index_rows(study, table),
        _ => fastest_rows(study, table),
    };
    let columns = columns.into_iter().map(String::from).collect();
    Report { head, columns, rows, notes, extra, failed }
}

type Rows<'a> = (Vec<&'a str>, Vec<Vec<String>>, Vec<String>, Option<&'static str>);

fn slope_rows<'a>(study: &'a Study, table: &SweepTable) -> Rows<'a> {
    let errors = table.numbers("numerical_error_s");
    let times: Vec<Option<(f64, f64)>> =
        table.numbers("finish_time_s").into_iter().zip(errors).map(|(t, e)| Some((t?, e?))).collect();
    let all = slopes(&times);
    let mut notes = vec![
        "slope: change of the finish time for one step; error: bend over two steps, and numerical error"
            .into(),
    ];
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
            let short = |v: f64| format!("{v:.5}").trim_end_matches('0').trim_end_matches('.').to_string();
            let unit = axis.quantity.unit().to_string();
            vec![axis.quantity.path().to_string(), short(base), short(step), unit, slope, error]
        })
        .collect();
    (vec!["key", "base", "step", "unit", "slope ms", "error ms"], rows, notes, Some("slopes.csv"))
}

fn index_rows<'a>(study: &'a Study, table: &SweepTable) -> Rows<'a> {
    let columns = vec!["key", "first order", "low", "high", "total", "low ", "high "];
    let values = table.numbers("finish_time_s");
    match sobol_indices(&values, study.file.axes.len(), RESAMPLES, study.file.seed) {
        Err(why) => (columns, vec![], vec![format!("no indices of the finish time: {why}")], None),
        Ok(made) => {
            let cells = |e: &Estimate| [e.value, e.low, e.high].map(|v| format!("{v:.3}")).to_vec();
            let rows = study.file.axes.iter().enumerate().map(|(i, axis)| {
                [vec![axis.quantity.path().to_string()], cells(&made.first[i]), cells(&made.total[i])]
                    .concat()
            });
            let mut notes = vec![format!(
                "Sobol indices of the finish time from {} base points, 95 % bootstrap intervals; mean {:.3} s, SD {:.3} s",
                made.rows,
                made.mean,
                made.variance.sqrt()
            )];
            if made.left_out > 0 {
                notes.push(format!("{} base points left out: one of their cases has no time", made.left_out));
            }
            if made.has_too_few_rows() {
                notes.push(format!(
                    "warning: fewer than {FEWEST_BASE_POINTS} base points; do not rely on these indices"
                ));
            }
            (columns, rows.collect(), notes, Some("indices.csv"))
        }
    }
}

fn fastest_rows<'a>(study: &'a Study, table: &SweepTable) -> Rows<'a> {
    let mut columns = vec!["case"];
    columns.extend(study.file.axes.iter().map(|a| a.quantity.path()));
    let rides = study.file.rides.per_case;
    let others: &[(&str, f64, usize)] = if rides > 0 {
        columns.extend(["mean s", "error ms", "P90 s", "walls", "lost %", "planned s"]);
        &[
            ("mean_time_s", 1.0, 3),
            ("mean_time_error_s", 1e3, 0),
            ("p90_time_s", 1.0, 3),
            ("walls_a_ride", 1.0, 2),
            ("lost_share", 100.0, 1),
            ("finish_time_s", 1.0, 3),
        ]
    } else {
        columns.extend(["finish s", "error ms"]);
        &[("finish_time_s", 1.0, 3), ("numerical_error_s", 1e3, 3)]
    };
    let figures: Vec<(Vec<Option<f64>>, f64, usize)> =
        others.iter().map(|(name, times, digits)| (table.numbers(name), *times, *digits)).collect();
    let times = &figures[0].0;
    let mut order: Vec<usize> = (0..times.len()).filter(|i| times[*i].is_some()).collect();
    order.sort_by(|a, b| times[*a].unwrap_or(f64::NAN).total_cmp(&times[*b].unwrap_or(f64::NAN)));
    let axes: Vec<Vec<&str>> = study.file.axes.iter().map(|a| table.texts(a.quantity.path())).collect();
    let short = |t: &str| t.parse::<f64>().map_or(t.to_string(), |v| format!("{}", (v * 1e4).round() / 1e4));
    let rows = order.iter().take(FASTEST).map(|&i| {
        let mut cells = vec![table.rows[i][0].clone()];
        cells.extend(axes.iter().map(|a| short(a[i])));
        let told = |(values, times, digits): &(Vec<Option<f64>>, f64, usize)| {
            values[i].map_or("-".into(), |v| format!("{:.*}", digits, v * times))
        };
        cells.extend(figures.iter().map(told));
        cells
    });
    let mut notes = vec![
        "the fastest cases; the whole table is sweep.csv, what its columns mean stands in sweep.json".into(),
    ];
    if rides > 0 {
        notes.push(format!(
            "mean, P90: of those of {rides} rides with mistakes that finish, the same mistakes in every case; lost: rides \
             that lose control; planned: the ride without mistakes. A mean beside many lost rides is that of the lucky ones"
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
    (columns, rows.collect(), notes, None)
}
