//! A calibration in pictures: what was believed and what is known, residuals by section, predicted against timed.

use super::Found;
use super::report::{name, printed};
use crate::files::Output;
use evidence::decision::BAND_95;
use pictures::PictureError;
use pictures::by_place::{PlaceWords, Series, by_place};
use pictures::intervals::{IntervalRow, IntervalWords, intervals};

/// The pictures, each in both forms.
pub fn outputs(found: &Found<'_>) -> Result<Vec<Output>, String> {
    let title =
        |what: &str| format!("{} on {}: {what}", found.course.setup.name, found.course.track.data.name);
    let all = [
        Some(unknowns(found, &title("what the runs say"))),
        Some(residuals(found, &title("residuals by section"))),
        predicted(found, &title("each run from the others")),
    ];
    let mut outputs = vec![];
    for picture in all.into_iter().flatten() {
        match picture {
            Ok(picture) => outputs.extend(Output::picture(&picture)),
            Err(PictureError::Empty { .. }) => {}
            Err(e) => return Err(e.to_string()),
        }
    }
    Ok(outputs)
}

/// Every unknown, in standard deviations of what was believed before.
fn unknowns(found: &Found<'_>, title: &str) -> Result<pictures::Picture, PictureError> {
    let rows: Vec<IntervalRow> = found
        .unknowns
        .iter()
        .enumerate()
        .filter_map(|(j, u)| {
            let prior = u.prior?;
            let (value, error) = (found.fit.estimates[j], found.fit.error(j));
            let (by, digits) = printed(j, found);
            let at = |v: f64| (v - prior.mean) / prior.sd;
            Some(IntervalRow {
                label: name(u),
                before: Some([0.0, -BAND_95, BAND_95]),
                now: [at(value), at(value - BAND_95 * error), at(value + BAND_95 * error)],
                mark: None,
                words: format!(
                    "{:.digits$} ±{:.digits$}, before {:.digits$} ±{:.digits$}",
                    by * value,
                    by * error,
                    by * prior.mean,
                    by * prior.sd
                ),
            })
        })
        .collect();
    let words = IntervalWords {
        name: "unknowns",
        title,
        axis: "in standard deviations of what was believed before (bars: 95 %)",
        before: "believed before",
        now: "with the runs",
        mark: "",
    };
    intervals(&words, &rows)
}

/// How much slower than fitted each run is in each section.
fn residuals(found: &Found<'_>, title: &str) -> Result<pictures::Picture, PictureError> {
    let eyes = &found.course.track.data.eyes;
    let runs = &found.course.runs;
    let used: Vec<usize> = (1..eyes.len())
        .filter(|e| runs.iter().any(|r| r.eyes.iter().take(r.measured.times).any(|x| x == e)))
        .collect();
    let series: Vec<Series> = runs
        .iter()
        .enumerate()
        .map(|(r, run)| {
            let mut one = Series { label: format!("run {}", run.measured.name), ..Series::default() };
            for (place, slower_s, far) in found.in_sections(r, &used) {
                one.values.resize(place, None);
                one.values.push(Some(slower_s));
                if far {
                    one.far.push(place);
                }
            }
            one.values.resize(used.len(), None);
            one
        })
        .collect();
    let places: Vec<String> = used.iter().map(|e| format!("to {}", eyes[*e].name)).collect();
    let words = PlaceWords {
        name: "residuals",
        title,
        value: "seconds slower in a section than fitted (below zero: faster); over a missing eye the next holds both",
        far: "beyond 2.6 times its error: a touch, a skid, or a time written down wrongly?",
    };
    by_place(&words, &places, &series)
}

/// The finish of each run as the others predict it, and as it was timed.
fn predicted(found: &Found<'_>, title: &str) -> Option<Result<pictures::Picture, PictureError>> {
    let finish = found.course.track.data.eyes.len() - 1;
    let rows: Vec<IntervalRow> = found
        .predicted
        .iter()
        .zip(found.course.runs)
        .filter(|(_, run)| run.eyes[run.measured.times - 1] == finish)
        .filter_map(|(p, run)| {
            let p = p.as_ref().ok()?;
            let (low, high) = p.time.band_s();
            Some(IntervalRow {
                label: format!("run {}", run.measured.name),
                before: None,
                now: [p.time.mean_s, low, high],
                mark: Some(p.timed_s),
                words: format!(
                    "timed {:.2} s, {} the band",
                    p.timed_s,
                    if p.inside() { "inside" } else { "outside" }
                ),
            })
        })
        .collect();
    let words = IntervalWords {
        name: "predicted",
        title,
        axis: "finish (s)",
        before: "",
        now: "predicted from the other runs and the run's own start, 95 %",
        mark: "timed",
    };
    (!rows.is_empty()).then(|| intervals(&words, &rows))
}
