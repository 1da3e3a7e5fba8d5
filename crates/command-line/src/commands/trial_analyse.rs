//! `sagitta trial analyse`: what A/B runs of a timing sheet say.

pub mod for_page;

use super::Done;
use crate::files::read_table;
use crate::number::within;
use crate::words::{CAUTION, Lay, as_text, every_fault, say};
use evidence::decision::{Belief, THRESHOLDS, words_of_chance};
use evidence::sheet::Sheet;
use evidence::sheet::read::read_sheet;
use evidence::trial_analysis::{Analysis, Combined, Difference, analyse, combine};
use file_faults::FileFault;
use std::path::{Path, PathBuf};

/// Options of `trial analyse`.
#[derive(clap::Args)]
pub struct Options {
    /// Timing sheet: a row for each run; columns run, set-up, finish, and where there are more, `docs/trials.md`
    #[arg(value_name = "SHEET.csv")]
    sheet: PathBuf,
    /// Set-up A as the sheet names it [default: the first]
    #[arg(long, value_name = "NAME", requires = "b")]
    a: Option<String>,
    /// Set-up B as the sheet names it [default: the second]
    #[arg(long, value_name = "NAME", requires = "a")]
    b: Option<String>,
    /// What was believed before the runs: time with B less time with A (s)
    #[arg(long, value_name = "S", requires = "prior_sd", allow_hyphen_values = true, value_parser = within(-10.0, 10.0, "s"))]
    prior: Option<f64>,
    /// How sure that was: standard deviation (s)
    #[arg(long, value_name = "S", requires = "prior", allow_hyphen_values = true, value_parser = within(0.001, 10.0, "s"))]
    prior_sd: Option<f64>,
    /// Whose runs, where the sheet is of several athletes
    #[arg(long, value_name = "NAME")]
    athlete: Option<String>,
    /// Use the good rows of a sheet that has faulty ones
    #[arg(long)]
    keep_good_rows: bool,
}

/// Reads, analyses and prints.
pub fn analyse_sheet(o: &Options) -> Done {
    let mut sheet = good_rows(&o.sheet, o.keep_good_rows)?;
    let test = tested(o, &mut sheet)?;
    let said = [differences(&sheet, &test, &as_text), format!("\n{}", answers(&test)?)].concat();
    say(&format!("{said}{THRESHOLDS}\n{CAUTION}\n"))?;
    Ok(0)
}

/// Two set-ups of a sheet told apart.
struct Tested {
    names: [String; 2],
    found: Analysis,
    prior: Option<Belief>,
}

/// Tells two set-ups apart; the sheet keeps the runs of one athlete.
fn tested(o: &Options, sheet: &mut Sheet) -> Result<Tested, String> {
    let file = o.sheet.display().to_string();
    let athletes = sheet.athletes();
    match (&o.athlete, athletes.as_slice()) {
        (None, [_, _, ..]) => {
            let all = athletes.join(", ");
            return Err(format!(
                "{file} is of {} athletes ({all}): say whom by --athlete, or take all by `trial pool`",
                athletes.len()
            ));
        }
        (Some(name), all) if !all.contains(name) => {
            return Err(format!("--athlete {name}: not on the sheet; allowed are {}", all.join(", ")));
        }
        (Some(name), _) => sheet.runs.retain(|r| r.athlete.as_ref() == Some(name)),
        (None, _) => {}
    }
    let (a, b) = two_set_ups(o, sheet)?;
    let untimed = sheet.runs.iter().filter(|r| r.finish_s.is_none());
    let untimed: Vec<String> = untimed.map(|r| format!("{} (line {})", r.name, r.line)).collect();
    if !untimed.is_empty() {
        tell!("{file}: no finish time, so not counted: run {}", untimed.join(", run "));
    }
    let found = analyse(&sheet.runs, &a, &b).map_err(|why| format!("{file}: {why}"))?;
    let prior = o.prior.zip(o.prior_sd).map(|(mean_s, sd_s)| Belief { mean_s, sd_s });
    Ok(Tested { names: [a, b], found, prior })
}

/// What faults of a sheet together look like.
fn meant(faults: &[FileFault]) -> &'static str {
    let of = |f: &FileFault, what: &str| {
        f.place.key.as_deref().is_some_and(|key| key.to_lowercase().starts_with(what))
    };
    let both = |f: &FileFault| {
        of(f, "start") && faults.iter().any(|g| of(g, "finish") && g.place.line == f.place.line)
    };
    if faults.iter().any(both) {
        "\nare start and finish swapped in the headings?"
    } else if faults.iter().any(|f| of(f, "finish") && f.got.chars().any(char::is_alphabetic)) {
        "\na run without a finish time keeps its row, with that cell empty"
    } else {
        ""
    }
}

/// The rows of a sheet; the good ones alone where that is wanted.
pub fn good_rows(path: &Path, keep_good_rows: bool) -> Result<Sheet, String> {
    let sheet = read_sheet(&path.display().to_string(), &read_table(path)?).map_err(|faults| {
        // more than a slip or two: the first line is a title, or a run
        let headings = faults.iter().filter(|f| f.place.key.as_deref() == Some("heading")).count();
        let no_headings = "\nthe first line of a sheet holds its headings, such as run, set-up, finish";
        every_fault(faults) + if headings > 2 { no_headings } else { "" }
    })?;
    if !sheet.faults.is_empty() {
        let faults = every_fault(sheet.faults.clone());
        if !keep_good_rows {
            let (good, hint) = (sheet.runs.len(), meant(&sheet.faults));
            return Err(format!(
                "{faults}{hint}\nrows without a fault: {good}; --keep-good-rows uses them alone"
            ));
        }
        tell!("rows left out:\n{faults}");
    }
    Ok(sheet)
}

/// Which two set-ups are told apart.
fn two_set_ups(o: &Options, sheet: &Sheet) -> Result<(String, String), String> {
    let names = sheet.set_ups();
    if let (Some(a), Some(b)) = (&o.a, &o.b) {
        for (option, name) in [("--a", a), ("--b", b)] {
            if !names.contains(name) {
                return Err(format!("{option} {name}: not on the sheet; allowed are {}", names.join(", ")));
            }
        }
        if a == b {
            return Err(format!("--a and --b are both {a}: nothing to tell apart"));
        }
        return Ok((a.clone(), b.clone()));
    }
    match names.as_slice() {
        [a, b] => Ok((a.clone(), b.clone())),
        [] => Err("the sheet names no set-up: nothing to tell apart".into()),
        [a] => Err(format!("the sheet names one set-up, {a}: nothing to tell apart")),
        _ => {
            let all = names.join(", ");
            Err(format!("the sheet names {} set-ups ({all}): say which two by --a and --b", names.len()))
        }
    }
}

fn row(name: &str, d: &Difference) -> Vec<String> {
    let (low, high) = d.band_s();
    vec![
        name.into(),
        format!("{:+.3}", d.value_s),
        format!("{:.3}", d.error_s),
        format!("{low:+.3}"),
        format!("{high:+.3}"),
        format!("{:.3}", d.spread_s),
        d.freedom.to_string(),
    ]
}

/// How many runs each has, the difference raw and adjusted, what was taken out and the spread from run to run.
fn differences(sheet: &Sheet, test: &Tested, lay: Lay<'_>) -> String {
    let (found, [a, b]) = (&test.found, &test.names);
    let best = test.best();
    let mut rows = vec![row("raw", &found.raw)];
    rows.extend(found.adjusted.as_ref().map(|d| row("adjusted", d)));
    let header =
        ["B less A", "s", "error s", "95 % from s", "95 % to s", "spread of a run s", "degrees of freedom"];
    let mut text = format!(
        "A: {a}, {} runs; B: {b}, {} runs\n\n{}\n\n",
        found.runs[0],
        found.runs[1],
        lay(&header, rows)
    );
    for (covariate, value, error) in &best.covariates {
        text += &format!("taken out: {}: {value:+.3} +- {error:.3}\n", covariate.words());
    }
    for (covariate, why) in &found.left_out {
        text += &format!("not taken out: {}: {why}\n", covariate.words());
    }
    if let Some((spread_s, freedom)) = sheet.spread_s() {
        text += &format!(
            "run to run, one set-up on one day: {spread_s:.3} s ({freedom} degrees of freedom): \
             for `trial plan --spread-of`\n"
        );
    }
    text
}

impl Tested {
    /// The adjusted difference where there is one.
    fn best(&self) -> &Difference {
        self.found.adjusted.as_ref().unwrap_or(&self.found.raw)
    }

    /// A difference together with what was believed before.
    fn with_prior(&self, difference: &Difference) -> Result<Combined, String> {
        combine(difference, self.prior).ok_or_else(|| "runs and prior cannot be combined".into())
    }
}

/// The answer, and where the raw difference says something else.
fn answers(test: &Tested) -> Result<String, String> {
    let after = test.with_prior(test.best())?;
    let mut text = answer(&after, test.prior);
    if test.found.adjusted.is_some() {
        let raw = test.with_prior(&test.found.raw)?;
        let (words, raw_words) = (words_of_chance(after.second_faster), words_of_chance(raw.second_faster));
        if words != raw_words {
            text += &format!(
                "The raw difference alone says: {raw_words}. The two disagree: ride more pairs before you act on it.\n"
            );
        }
    }
    Ok(text)
}

fn answer(after: &Combined, prior: Option<Belief>) -> String {
    let before = prior.map_or("the runs alone".to_string(), |p| {
        format!("the runs and what was believed before, {:+.3} +- {:.3} s", p.mean_s, p.sd_s)
    });
    let (low, high) = after.band_s;
    format!(
        "By {before}: B less A {:+.3} s, 95 % from {low:+.3} to {high:+.3} s. B is faster with a probability of {:.0} %: {}.\n",
        after.belief.mean_s,
        1e2 * after.second_faster,
        words_of_chance(after.second_faster)
    )
}
