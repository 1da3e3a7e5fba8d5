//! Sheets and trials of the page: asked as on the command line, with the texts in a folder for as long as they are read.

use super::page_folder::Folder;
use super::{calibrate, track_ridden, trial, trial_analyse};
use crate::number::refused_value;
use crate::words::Lay;
use clap::{Args, Parser};
use page::evidence::{
    Analysed, AskedAnalysis, AskedCalibration, AskedTrial, Calibrated, Part, Table, TrialTold,
};
use std::cell::RefCell;
use std::path::Path;
use track_geometry::corner_list::CornerList;
use track_geometry::track::Track;

const SETUP: &str = "setup.toml";
const QUESTIONS: &str = "questions.toml";
/// Stands in a report where a table was taken out; no report has it.
const TAKEN_OUT: char = '\u{1}';

/// What is served: the track's folder, and whether plans are kept.
#[derive(Clone)]
pub struct Served {
    /// Folder of the track, where one is named.
    pub track: Option<std::path::PathBuf>,
    /// Whether plans and tables are kept from run to run.
    pub no_stored_plans: bool,
}

/// Options as they are parsed on the command line, with its refusals.
pub fn parsed<O: Args>(line: &[String]) -> Result<O, String> {
    #[derive(Parser)]
    #[command(no_binary_name = true)]
    struct Line<O: Args> {
        #[command(flatten)]
        options: O,
    }
    Line::<O>::try_parse_from(line).map(|l| l.options).map_err(|e| {
        let first = |text: String| text.lines().next().unwrap_or_default().replace("error: ", "");
        refused_value(&e).unwrap_or_else(|| first(e.to_string()))
    })
}

/// A report with its tables kept apart.
pub fn parts_of(report: impl FnOnce(Lay<'_>) -> String) -> Part {
    let tables = RefCell::new(vec![]);
    let lay = |heads: &[&str], rows: Vec<Vec<String>>| {
        let heads = heads.iter().map(|h| (*h).to_string()).collect();
        tables.borrow_mut().push(Table { heads, rows });
        TAKEN_OUT.to_string()
    };
    let text = report(&lay);
    let words = text.split(TAKEN_OUT).map(|t| t.trim().to_string()).collect();
    Part { words, tables: tables.into_inner() }
}

impl Served {
    fn more(&self, line: &mut Vec<String>, folder: &Folder) {
        line.push(format!("--setup={}", folder.path().join(SETUP).display()));
        line.extend(self.track.iter().map(|t| format!("--track={}", t.display())));
        if self.no_stored_plans {
            line.push("--no-stored-plans".into());
        }
    }

    /// Fits a timing sheet.
    pub fn calibrated(&self, setup: &str, asked: &AskedCalibration) -> Result<Calibrated, String> {
        let name = name_of_sheet(&asked.name);
        let folder = Folder::with(&[(SETUP, setup), (&name, &asked.sheet)])?;
        let mut line = vec![folder.path().join(&name).display().to_string()];
        self.more(&mut line, &folder);
        line.extend(given("fit", &asked.fit));
        line.extend(given("skill", &asked.skill));
        line.extend(given("spread", &asked.spread));
        line.extend(given("trap-at", &asked.trap_at));
        line.extend(given("only", &asked.only));
        line.extend(asked.leave_out.iter().flat_map(|run| given("leave-out", run)));
        for (option, is) in
            [("--spread-of-sheet", asked.spread_of_sheet), ("--keep-good-rows", asked.keep_good_rows)]
        {
            line.extend(is.then(|| option.to_string()));
        }
        let mut told = calibrate::for_page::calibrated(&line).map_err(|why| folder.plain(&why))?;
        told.begun = folder.plain(&told.begun);
        Ok(told)
    }

    /// Plans a trial.
    pub fn trial(&self, setup: &str, asked: &AskedTrial) -> Result<TrialTold, String> {
        let listed = !asked.questions.trim().is_empty();
        let folder = Folder::with(&[(SETUP, setup), (QUESTIONS, &asked.questions)])?;
        let mut line = vec![];
        if listed {
            line.push(folder.path().join(QUESTIONS).display().to_string());
        } else {
            line.extend(given("difference", &asked.difference));
            line.extend(given("difference-sd", &asked.difference_sd));
        }
        self.more(&mut line, &folder);
        line.extend(given("runs", &asked.runs));
        line.extend(given("spread", &asked.spread));
        line.extend(given("worth", &asked.worth));
        trial::for_page::planned(&line).map_err(|why| folder.plain(&why))
    }
}

/// The name alone: a browser sends no folder, and what is typed has none.
fn name_of_sheet(name: &str) -> String {
    let name = Path::new(name).file_name().map(|n| n.to_string_lossy().to_string());
    let plain = |n: &String| !n.starts_with(['.', '-']) && n != SETUP && !n.contains(['\\', ':']);
    name.filter(plain).unwrap_or("sheet.csv".into())
}

/// Tells two set-ups of a timing sheet apart.
pub fn analysed(asked: &AskedAnalysis) -> Result<Analysed, String> {
    let name = name_of_sheet(&asked.name);
    let folder = Folder::with(&[(&name, &asked.sheet)])?;
    let mut line = vec![folder.path().join(&name).display().to_string()];
    let options = [
        ("a", &asked.a),
        ("b", &asked.b),
        ("athlete", &asked.athlete),
        ("prior", &asked.prior),
        ("prior-sd", &asked.prior_sd),
    ];
    line.extend(options.into_iter().filter_map(|(option, value)| given(option, value)));
    line.extend(asked.keep_good_rows.then(|| "--keep-good-rows".to_string()));
    // a sheet that cannot be read is an answer, too
    let told = trial_analyse::for_page::analysed(&line).unwrap_or_else(|why| Analysed {
        set_ups: vec![],
        athletes: vec![],
        test: None,
        refused: Some(why),
    });
    Ok(Analysed { refused: told.refused.map(|why| folder.plain(&why)), ..told })
}

/// The design speeds of a corner list beside those ridden, as `track check` has them, and its warnings about them.
pub fn design_speeds(track: &Track, list: &CornerList) -> Result<(Table, Vec<String>), String> {
    let mut warnings = vec![];
    let mut failed = None;
    let part = parts_of(|lay| match track_ridden::design_speeds(track, list, lay) {
        Ok((table, told)) => {
            warnings = told;
            table
        }
        Err(why) => {
            failed = Some(why);
            String::new()
        }
    });
    match (failed, part.tables.into_iter().next()) {
        (Some(why), _) => Err(why),
        (None, table) => Ok((table.unwrap_or(Table { heads: vec![], rows: vec![] }), warnings)),
    }
}

/// An option with its value; none where nothing was typed.
fn given(option: &str, value: &str) -> Option<String> {
    Some(value.trim()).filter(|v| !v.is_empty()).map(|v| format!("--{option}={v}"))
}
