//! Pictures of a sweep. Over a grid: the finish time against one parameter, or over two; the corners. Of points drawn
//! at random: the time against each input; with indices their bars.

use crate::rides::paired::ALLOWED_LOST;
use crate::study::Study;
use crate::study::axes::Axis;
use crate::study::chosen::{range_of, runs};
use crate::study::file::Design;
use crate::study::report::indices;
use crate::study::table::SweepTable;
use numerics::points::grid_place;
use numerics::sobol_indices::Estimate;
use pictures::curve_with_band::{BandGroup, BandWords, curve_with_band};
use pictures::index_bars::{IndexRow, index_bars};
use pictures::map::{Map, MapWords, maps};
use pictures::scatter::{ScatterInput, ScatterWords, scatter};
use pictures::small_multiples::{Panel, PanelLine, PanelWords, small_multiples};
use pictures::{Picture, PictureError};

/// Times this near to the best count as the same (s).
const SAME_S: f64 = 0.02;
/// Fewest values of a second axis that are drawn as a map and not as lines.
const FEWEST_FOR_A_MAP: usize = 4;
/// Most inputs that points are drawn against.
const MOST_INPUTS: usize = 12;
/// Most lines or maps in one picture.
const MOST_GROUPS: usize = 6;

/// The pictures of a whole table; none for designs that have none.
pub fn pictures(study: &Study, table: &SweepTable) -> Result<Vec<Picture>, PictureError> {
    let axes = &study.file.axes;
    match study.file.design {
        Design::Grid => {}
        Design::LatinHypercube { .. } | Design::Sobol { .. } => return scattered(study, table),
        Design::Indices { .. } => {
            let mut all = scattered(study, table)?;
            all.extend(index_picture(study, table)?);
            return Ok(all);
        }
        Design::Slopes => return Ok(vec![]),
    }
    let numeric = |i: usize| axes.get(i).is_some_and(|a| a.quantity.limits().is_some());
    if !numeric(0) {
        return Ok(vec![]);
    }
    let lengths: Vec<usize> = axes.iter().filter_map(|a| a.levels.grid_length()).collect();
    let drawn = Drawn { study, table, lengths, times: table.numbers("finish_time_s") };
    if drawn.times.iter().all(Option::is_none) {
        return Ok(vec![]);
    }
    let map = numeric(1) && drawn.lengths[1] >= FEWEST_FOR_A_MAP;
    let mut all = vec![if map { drawn.map()? } else { drawn.curve()? }];
    if !map {
        all.extend(drawn.time_panels()?);
        all.extend(drawn.differences()?);
    }
    if study.file.corners {
        all.extend(drawn.corners()?);
    }
    Ok(all)
}

/// The time of each point against each axis; none where no point has a time.
fn scattered(study: &Study, table: &SweepTable) -> Result<Vec<Picture>, PictureError> {
    let rides = study.file.rides.per_case;
    let times = table.numbers(if rides > 0 { "median_time_s" } else { "finish_time_s" });
    let values: Vec<_> = (0..times.len()).map(|case| study.values(case)).collect();
    let inputs: Vec<ScatterInput> = study
        .file
        .axes
        .iter()
        .enumerate()
        .filter(|(_, axis)| axis.quantity.limits().is_some())
        .take(MOST_INPUTS)
        .map(|(i, axis)| ScatterInput {
            label: axis.label(),
            values: values.iter().map(|v| v[i].number()).collect(),
        })
        .collect();
    if inputs.is_empty() || times.iter().all(Option::is_none) {
        return Ok(vec![]);
    }
    let of =
        if rides > 0 { format!("median of {rides} rides, lost ones last,") } else { "finish time".into() };
    let words = ScatterWords {
        name: "finish_time_points",
        title: &format!("{}: {of} on {}", study.file.name, study.track.data.name),
        quantity: if rides > 0 { "median time (s)" } else { "finish time (s)" },
        without: "cases without a time",
    };
    scatter(&words, &inputs, &times).map(|p| vec![p])
}

fn index_picture(study: &Study, table: &SweepTable) -> Result<Option<Picture>, PictureError> {
    let Ok(made) = indices(study, table) else { return Ok(None) };
    let of = |e: &Estimate| [e.value, e.low, e.high];
    let rows: Vec<IndexRow> = study
        .file
        .axes
        .iter()
        .zip(made.first.iter().zip(&made.total))
        .map(|(axis, (first, total))| IndexRow { label: plain(axis), first: of(first), total: of(total) })
        .collect();
    let title = format!("{}: what moves the finish time on {}", study.file.name, study.track.data.name);
    index_bars(&title, &rows).map(Some)
}

pub(crate) struct Drawn<'a> {
    pub(crate) study: &'a Study,
    pub(crate) table: &'a SweepTable,
    pub(crate) lengths: Vec<usize>,
    pub(crate) times: Vec<Option<f64>>,
}

/// The name of an axis without its unit.
fn plain(axis: &Axis) -> String {
    axis.label().split(" (").next().unwrap_or("").to_string()
}

/// From and to which parameter the time is flat: the run of neighbours around the best case that are as good within the
/// errors; none where the best stands alone. Each row is parameter, time (s; infinite where there is none), its error
/// (s) and the share of rides lost `[-]`, in the order of the parameter. What loses control too often is out, whatever
/// its time, as in [`crate::rides::choice`].
///
/// Checked by: `exact_flat_is_a_run_of_neighbours`.
fn flat_run(rows: &[[f64; 4]]) -> Option<(f64, f64)> {
    let keeps = |i: usize| rows[i][1].is_finite() && rows[i][3] <= ALLOWED_LOST;
    let best = (0..rows.len()).filter(|i| keeps(*i)).min_by(|a, b| rows[*a][1].total_cmp(&rows[*b][1]))?;
    let as_good = |i: usize| {
        let within_s = SAME_S.max(rows[i][2].hypot(rows[best][2]));
        keeps(i) && rows[i][1] <= rows[best][1] + within_s
    };
    let low = (0..best).rev().take_while(|i| as_good(*i)).last().unwrap_or(best);
    let high = (best + 1..rows.len()).take_while(|i| as_good(*i)).last().unwrap_or(best);
    (low < high).then(|| (rows[low][0], rows[high][0]))
}

impl Drawn<'_> {
    pub(crate) fn axes(&self) -> &[Axis] {
        &self.study.file.axes
    }

    pub(crate) fn title(&self, of: &str) -> String {
        format!("{}: {of} on {}", self.study.file.name, self.study.track.data.name)
    }

    /// Cases in groups by their places on the axes from `first` on, with the words of each group.
    fn groups(&self, first: usize) -> Vec<(String, Vec<usize>)> {
        let mut groups: Vec<(String, Vec<usize>)> = Vec::new();
        for case in 0..self.times.len() {
            let place = grid_place(case, &self.lengths);
            let words: Vec<String> = self.axes()[first.min(place.len())..]
                .iter()
                .zip(&place[first.min(place.len())..])
                .map(|(a, i)| self.words(a, *i, place.len() - first))
                .collect();
            let words = words.join(", ");
            match groups.iter_mut().find(|g| g.0 == words) {
                Some(group) => group.1.push(case),
                None => groups.push((words, vec![case])),
            }
        }
        groups.truncate(MOST_GROUPS);
        groups
    }

    /// A value of an axis in a legend: with the name of the axis, unless it speaks for itself among others.
    pub(crate) fn words(&self, axis: &Axis, place: usize, many: usize) -> String {
        let (value, unit) = (axis.levels.at(place), axis.quantity.unit());
        let alone = self.axes().iter().filter(|a| a.quantity.unit() == unit).count() == 1;
        if axis.quantity.limits().is_none() {
            value.to_string()
        } else if many > 1 && alone && !unit.is_empty() {
            format!("{value} {unit}")
        } else {
            format!("{} {value} {unit}", plain(axis)).trim_end().to_string()
        }
    }

    /// Value of an axis in a case.
    pub(crate) fn at(&self, axis: usize, case: usize) -> f64 {
        self.axes()[axis].levels.at(grid_place(case, &self.lengths)[axis]).number()
    }

    fn curve(&self) -> Result<Picture, PictureError> {
        let rides = self.study.file.rides.per_case;
        let lost = self.table.texts("outcome");
        let any_lost = lost.contains(&"control lost");
        let column = |of: &str| self.table.numbers(of);
        // with rides the median: lost ones rank last and have no mean
        let [drawn, low, high, error, share] = if rides > 0 {
            ["median_time_s", "p10_time_s", "p90_time_s", "median_time_error_s", "lost_share"].map(column)
        } else {
            let errors = column("numerical_error_s");
            let edge = |side: f64| {
                let to_edge = |(t, e): (&Option<f64>, &Option<f64>)| Some((*t)? + side * e.unwrap_or(0.0));
                self.times.iter().zip(&errors).map(to_edge).collect()
            };
            [self.times.clone(), edge(-1.0), edge(1.0), vec![], vec![]]
        };
        let high = if rides > 0 { self.up_to_the_lost(&high) } else { high };
        let runs = runs(self.study, self.table);
        let groups = self.groups(1);
        let groups = groups.iter().filter_map(|(label, cases)| {
            let label = if label.is_empty() { "finish time".to_string() } else { label.clone() };
            let mut rows: Vec<(f64, f64, usize)> =
                cases.iter().filter_map(|&c| Some((self.at(0, c), drawn[c]?, c))).collect();
            rows.sort_by(|a, b| a.0.total_cmp(&b.0));
            if rows.is_empty() {
                return None;
            }
            let at = |column: &[Option<f64>], r: &(f64, f64, usize)| {
                column.get(r.2).copied().flatten().unwrap_or(0.0)
            };
            let known = |column: &[Option<f64>], c: usize| column.get(c).copied().flatten();
            let mut neighbours: Vec<[f64; 4]> = cases
                .iter()
                .map(|&c| {
                    let time_s = drawn[c].unwrap_or(f64::INFINITY);
                    [self.at(0, c), time_s, known(&error, c).unwrap_or(0.0), known(&share, c).unwrap_or(0.0)]
                })
                .collect();
            neighbours.sort_by(|a, b| a[0].total_cmp(&b[0]));
            let mut lost_share: Vec<(f64, f64)> = cases
                .iter()
                .filter_map(|&c| Some((self.at(0, c), share.get(c).copied().flatten()?)))
                .collect();
            lost_share.sort_by(|a, b| a.0.total_cmp(&b.0));
            let planned: Vec<f64> = rows.iter().filter_map(|r| self.times[r.2]).collect();
            Some(BandGroup {
                label,
                parameter: rows.iter().map(|r| r.0).collect(),
                mean: rows.iter().map(|r| r.1).collect(),
                low: rows.iter().map(|r| at(&low, r)).collect(),
                high: rows.iter().map(|r| at(&high, r)).collect(),
                planned: if rides > 0 && planned.len() == rows.len() { planned } else { vec![] },
                lost_share,
                // what the rule of choice says, where it says anything
                flat: match range_of(&runs, cases) {
                    Some(range) => range.map(|[from, to]| (self.at(0, from), self.at(0, to))),
                    None => flat_run(&neighbours),
                },
            })
        });
        let title = if rides > 0 {
            self.title(&format!("median of {rides} rides, lost ones last,"))
        } else {
            self.title("finish time") + if any_lost { " (cases that lost control left out)" } else { "" }
        };
        let parameter = self.axes()[0].label();
        let words = BandWords {
            name: "finish_time",
            title: &title,
            parameter: &parameter,
            quantity: "finish time (s)",
            band: if rides > 0 { "10-90 %, top: lost" } else { "numerical error" },
        };
        curve_with_band(&words, &groups.collect::<Vec<_>>())
    }

    /// A column of P90 where times among lost rides stand at the greatest that is known: there the band is open.
    pub(crate) fn up_to_the_lost(&self, high: &[Option<f64>]) -> Vec<Option<f64>> {
        let known = self.table.numbers("median_time_s").into_iter().chain(high.iter().copied()).flatten();
        let top = known.fold(f64::NEG_INFINITY, f64::max);
        high.iter().map(|h| h.or(Some(top).filter(|t| t.is_finite()))).collect()
    }

    fn map(&self) -> Result<Picture, PictureError> {
        let levels = |axis: usize| -> Vec<f64> {
            let mut values: Vec<f64> =
                (0..self.lengths[axis]).map(|i| self.axes()[axis].levels.at(i).number()).collect();
            values.sort_by(f64::total_cmp);
            values.dedup();
            values
        };
        let (across, up) = (levels(0), levels(1));
        let all: Vec<Map> = self
            .groups(2)
            .into_iter()
            .map(|(label, cases)| {
                let mut values = vec![vec![None; across.len()]; up.len()];
                for case in cases {
                    let place = |levels: &[f64], v: f64| levels.iter().position(|l| *l == v);
                    if let (Some(i), Some(j)) =
                        (place(&across, self.at(0, case)), place(&up, self.at(1, case)))
                    {
                        values[j][i] = self.times[case];
                    }
                }
                Map { label, across: across.clone(), up: up.clone(), values }
            })
            .filter(|m| m.values.iter().flatten().any(Option::is_some))
            .collect();
        let known = || self.times.iter().flatten().copied();
        let (low, high) = (known().fold(f64::INFINITY, f64::min), known().fold(f64::NEG_INFINITY, f64::max));
        let contours: Vec<f64> = (1..6).map(|i| low + (high - low) * f64::from(i) / 6.0).collect();
        let (title, x, y) = (self.title("finish time"), self.axes()[0].label(), self.axes()[1].label());
        let words = MapWords {
            name: "finish_time",
            title: &title,
            across: &x,
            up: &y,
            quantity: "finish time (s)",
            digits: 3,
            levels: if high - low > 1e-6 { &contours } else { &[] },
            flat_within: Some(SAME_S),
        };
        maps(&words, &all)
    }

    /// For each corner a small panel, lines for the values of the second axis.
    fn corners(&self) -> Result<Vec<Picture>, PictureError> {
        let figures = [
            ("amplitude_m", "corner_amplitude", "amplitude in each corner (m)"),
            ("damping_ratio", "corner_damping", "damping ratio in each corner"),
            ("wavelength_m", "corner_wavelength", "wavelength in each corner (m)"),
            ("pressures", "corner_pressures", "pressures in each corner"),
            ("greatest_g_load", "corner_load", "greatest load in each corner (g)"),
        ];
        let groups = self.groups(1);
        let parameter = self.axes()[0].label();
        let mut made = Vec::new();
        for (figure, name, quantity) in figures {
            let panels: Vec<Panel> = self
                .study
                .track
                .data
                .corners
                .iter()
                .map(|corner| {
                    let column = format!("corner_{}_{figure}", corner.name.replace([' ', ','], "_"));
                    let values = self.table.numbers(&column);
                    let lines = groups.iter().map(|(label, cases)| {
                        let mut points: Vec<(f64, f64)> =
                            cases.iter().filter_map(|&c| Some((self.at(0, c), (*values.get(c)?)?))).collect();
                        points.sort_by(|a, b| a.0.total_cmp(&b.0));
                        PanelLine { label: label.clone(), points, bars: vec![] }
                    });
                    Panel { label: format!("corner {}", corner.name), lines: lines.collect() }
                })
                .filter(|p| p.lines.iter().any(|l| !l.points.is_empty()))
                .collect();
            if panels.is_empty() {
                continue;
            }
            let title = self.title(quantity);
            made.push(small_multiples(
                &PanelWords { name, title: &title, parameter: &parameter, quantity },
                &panels,
            )?);
        }
        Ok(made)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_flat_is_a_run_of_neighbours() {
        let row = |bow_mm: f64, time_s: f64| [bow_mm, time_s, 0.0, 0.0];
        // 0.01 s behind is as good, 0.1 s is not; beyond that one the last is as good again, and no neighbour of the best
        let rows = [row(1.0, 56.01), row(2.0, 56.0), row(3.0, 56.01), row(4.0, 56.1), row(5.0, 56.0)];
        assert_eq!(flat_run(&rows), Some((1.0, 3.0)));
        // a neighbour without a time, or one that loses 6 % of its rides, ends the run
        for bad in [[1.0, f64::INFINITY, 0.0, 0.0], [1.0, 55.0, 0.0, 0.06]] {
            assert_eq!(flat_run(&[bad, rows[1], rows[2]]), Some((2.0, 3.0)));
            assert_eq!(flat_run(&[rows[2], bad, rows[1]]), None);
        }
        // known to 0.06 and 0.08 s, 0.1 s apart are as good: the errors add as squares
        assert_eq!(flat_run(&[[1.0, 56.0, 0.06, 0.0], [2.0, 56.099, 0.08, 0.05]]), Some((1.0, 2.0)));
        assert_eq!(flat_run(&[[1.0, 56.0, 0.06, 0.0], [2.0, 56.101, 0.08, 0.05]]), None);
        assert_eq!((flat_run(&[]), flat_run(&[[1.0, 55.0, 0.0, 0.5]])), (None, None));
    }
}
