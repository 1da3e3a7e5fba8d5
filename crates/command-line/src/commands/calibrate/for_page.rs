//! A calibration for the page: the words and cells of the report, and its numbers for charts.

use super::report::{begun, estimates, fits, flags, from_the_others, helps, name, printed, residuals};
use super::told_apart::together;
use super::{Found, Options, with_found};
use crate::commands::page_evidence::{parsed, parts_of};
use evidence::sheet::Sheet;
use page::evidence::{Calibrated, PredictedRun, Unknown};

/// Fits the sheet of a command line.
pub fn calibrated(line: &[String]) -> Result<Calibrated, String> {
    let o: Options = parsed(line)?;
    with_found(&o, |found, sheet, aside| Ok(told(found, sheet, aside, &o)))
}

fn told(found: &Found<'_>, sheet: &Sheet, aside: &[String], o: &Options) -> Calibrated {
    let aside: String = aside.iter().map(|why| format!("left aside: {why}\n")).collect();
    Calibrated {
        fits: found.fits(),
        fits_words: fits(found),
        begun: begun(found, sheet, o) + &aside,
        together: together(found),
        estimates: parts_of(|lay| estimates(found, lay)),
        unknowns: unknowns(found),
        residuals: parts_of(|lay| residuals(found, lay)),
        flags: flags(found),
        others: parts_of(|lay| from_the_others(found, lay)),
        predicted: predicted(found),
        helps: parts_of(|lay| helps(found, lay)),
        runs: sheet.runs.iter().map(|r| r.name.clone()).collect(),
        set_ups: sheet.set_ups(),
    }
}

fn unknowns(found: &Found<'_>) -> Vec<Unknown> {
    let one = |(j, u): (usize, &evidence::calibration::Unknown)| {
        let (by, digits) = printed(j, found);
        Unknown {
            name: name(u),
            before: u.prior.map(|p| [by * p.mean, by * p.sd]),
            with_runs: [by * found.fit.estimates[j], by * found.fit.error(j)],
            digits,
            of_a_run: u.run.is_some(),
        }
    };
    found.unknowns.iter().enumerate().map(one).collect()
}

/// The finishes that the table of the report has.
fn predicted(found: &Found<'_>) -> Vec<PredictedRun> {
    let finish = found.course.track.data.eyes.len() - 1;
    let all = found.predicted.iter().zip(found.course.runs);
    all.filter(|(_, run)| run.eyes[run.measured.times - 1] == finish)
        .filter_map(|(p, run)| {
            let p = p.as_ref().ok()?;
            let (low, high) = p.time.band_s();
            let run = run.measured.name.clone();
            Some(PredictedRun {
                run,
                band_s: [low, p.time.mean_s, high],
                timed_s: p.timed_s,
                inside: p.inside(),
            })
        })
        .collect()
}
