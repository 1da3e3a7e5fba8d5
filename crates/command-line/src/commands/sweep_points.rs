//! Slopes of a study at a few points of what is not known: what a calibration leaves open of each step.

use super::calibrated::at_points_of_each;
use crate::words::numbers;
use sweep_runner::plausible::keyed::Set;
use sweep_runner::plausible::points::{Axis, Band};
use sweep_runner::study::Study;
use sweep_runner::study::file::Design;
use sweep_runner::study::slopes::slopes;
use sweep_runner::study::table::SweepTable;

/// Slopes of the study whose table this is (s); none where a case has no time.
fn slopes_s(table: &str) -> Option<Vec<f64>> {
    let table = SweepTable::read(table)?;
    let errors = table.numbers("numerical_error_s");
    let times: Vec<Option<(f64, f64)>> =
        table.numbers("finish_time_s").into_iter().zip(errors).map(|(t, e)| Some((t?, e?))).collect();
    Some(slopes(&times).into_iter().map(|s| s.map_or(f64::NAN, |s| s.per_step_s)).collect())
}

/// The study with the numbers of a set, its axes and steps as they are.
fn study_at(study: &Study, on: impl Fn(&Study) -> Option<sled_dynamics::setup::Setup>) -> Option<Study> {
    Study::new(study.file.clone(), study.track.clone(), on(study)?).ok()
}

/// What the points do to every slope of a whole table, in words; `tabled` computes the table of a study.
pub fn over_points(
    study: &Study,
    table: &str,
    axes: &[Axis],
    over: &str,
    on: &dyn Fn(&Set, &Study) -> Option<sled_dynamics::setup::Setup>,
    tabled: &dyn Fn(&Study) -> Option<String>,
) -> String {
    if study.file.design != Design::Slopes {
        return format!(
            "over {over}: bands are computed for studies of slopes alone; these cases are at its middle\n"
        );
    }
    let Some(own) = slopes_s(table) else { return String::new() };
    let points = at_points_of_each(axes, "points", |set| {
        let there = study_at(study, |study| on(set, study))?;
        slopes_s(&tabled(&there)?)
    });
    let mut how: Vec<String> = vec![];
    let rows: Vec<Vec<String>> = study
        .file
        .axes
        .iter()
        .enumerate()
        .map(|(i, key)| {
            let at = |p: &Option<Vec<f64>>| p.as_ref().and_then(|s| s.get(i)).copied().unwrap_or(f64::NAN);
            let ends: Vec<[f64; 2]> = points.iter().map(|p| [at(&p[0]), at(&p[1])]).collect();
            let band = Band::new(own[i], &ends);
            let [low, high] = band.ends().map(|ms| format!("{:.1}", 1e3 * ms));
            let [low, high] = if band.sd.is_finite() { [low, high] } else { ["-", "-"].map(String::from) };
            let sign = if band.sd.is_finite() && band.keeps_its_sign() { "yes" } else { "no" };
            let most = band.most().and_then(|(a, _)| axes.get(a)).map_or("-".to_string(), |a| a.name.clone());
            let at_home = band.at_home_words(axes);
            if !how.contains(&at_home) {
                how.push(at_home);
            }
            let name = key.quantity.path().to_string();
            vec![name, format!("{:.1}", 1e3 * own[i]), low, high, sign.into(), most]
        })
        .collect();
    let header = ["key", "slope ms", "95 % from", "to", "its sign is sure", "moved most by"];
    format!("over {over}\n{}\n{}", numbers(&header, rows), how.concat())
}
