//! Runs of two set-ups for the page: the words and cells of the report, and its numbers for charts.

use super::{Options, THRESHOLDS, Tested, answers, differences, good_rows, tested};
use crate::commands::page_evidence::{parsed, parts_of};
use evidence::decision::words_of_chance;
use evidence::sheet::Sheet;
use page::evidence::{Analysed, RunOfTest, TestTold};

/// Analyses the sheet of a command line. What the sheet names is told where the two set-ups are still to be chosen, too.
pub fn analysed(line: &[String]) -> Result<Analysed, String> {
    let o: Options = parsed(line)?;
    let mut sheet = good_rows(&o.sheet, o.keep_good_rows)?;
    let (set_ups, athletes) = (sheet.set_ups(), sheet.athletes());
    let told = tested(&o, &mut sheet).and_then(|test| told(&sheet, &test));
    let (test, refused) = match told {
        Ok(test) => (Some(test), None),
        Err(why) => (None, Some(why)),
    };
    Ok(Analysed { set_ups, athletes, test, refused })
}

fn told(sheet: &Sheet, test: &Tested) -> Result<TestTold, String> {
    let after = test.with_prior(test.best())?;
    let band = |name: &str, middle: f64, (low, high): (f64, f64)| (name.to_string(), [low, middle, high]);
    let found = &test.found;
    let mut bands_s = vec![];
    bands_s.extend(test.prior.map(|p| band("believed before", p.mean_s, p.band_s())));
    bands_s.push(band("raw", found.raw.value_s, found.raw.band_s()));
    bands_s.extend(found.adjusted.as_ref().map(|d| band("adjusted", d.value_s, d.band_s())));
    bands_s.extend(test.prior.map(|_| band("all together", after.belief.mean_s, after.band_s)));
    let arm = |name: &Option<String>| test.names.iter().position(|n| Some(n) == name.as_ref());
    let runs = sheet.runs.iter().filter_map(|r| {
        Some(RunOfTest { run: r.name.clone(), is_b: arm(&r.set_up)? == 1, finish_s: r.finish_s? })
    });
    Ok(TestTold {
        names: test.names.clone(),
        answer: answers(test)?,
        clear: words_of_chance(after.second_faster).ends_with(" is faster"),
        report: parts_of(|lay| differences(sheet, test, lay)),
        thresholds: THRESHOLDS.into(),
        bands_s,
        runs: runs.collect(),
    })
}
