//! What runs on the ice say, asked from the page: a timing sheet fitted, and a trial planned before it is ridden.

use crate::asked::{AskedSetup, LONGEST_SETUP};
use serde::{Deserialize, Serialize};

/// Longest timing sheet (bytes).
const LONGEST_SHEET: usize = 128 * 1024;
/// Longest option (bytes).
const LONGEST_OPTION: usize = 120;
/// Most runs that are left out.
const MOST_LEFT_OUT: usize = 64;

/// A timing sheet to be fitted, with the options of `calibrate` as they would be typed; empty ones are not given.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AskedCalibration {
    /// The set-up that was ridden.
    pub(crate) here: AskedSetup,
    /// Name of the sheet.
    pub name: String,
    /// Its text.
    pub sheet: String,
    /// What is fitted: `friction,drag`, one of them, or `friction,drag,edge`.
    pub fit: String,
    /// Level of skill of those who rode.
    pub skill: String,
    /// Spread of the finish from run to run (s).
    pub spread: String,
    /// Whether that is taken from the sheet.
    pub spread_of_sheet: bool,
    /// Eye of the speed trap.
    pub trap_at: String,
    /// Only the runs of this set-up.
    pub only: String,
    /// Runs that are left out.
    pub leave_out: Vec<String>,
    /// Whether good rows are used beside faulty ones.
    pub keep_good_rows: bool,
}

/// A timing sheet of two set-ups to be told apart, with the options of `trial analyse` as they would be typed.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AskedAnalysis {
    /// Name of the sheet.
    pub name: String,
    /// Its text.
    pub sheet: String,
    /// Set-up A; empty: the first.
    pub a: String,
    /// Set-up B; empty: the second.
    pub b: String,
    /// Whose runs.
    pub athlete: String,
    /// What was believed before (s).
    pub prior: String,
    /// How sure that was (s).
    pub prior_sd: String,
    /// Whether good rows are used beside faulty ones.
    pub keep_good_rows: bool,
}

/// A trial to be planned, with the options of `trial plan` as they would be typed.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AskedTrial {
    /// Set-up A, where a question asks the simulator.
    pub(crate) here: AskedSetup,
    /// Runs that can be spent.
    pub runs: String,
    /// Spread of a run (s).
    pub spread: String,
    /// What is believed before (s).
    pub difference: String,
    /// How sure that is (s).
    pub difference_sd: String,
    /// What the runs are worth on the line (s).
    pub worth: String,
    /// A list of questions in the place of the difference; may be empty.
    pub questions: String,
}

/// A table in the cells of the command line.
#[derive(Clone, Debug, Serialize)]
pub struct Table {
    /// Heads.
    pub heads: Vec<String>,
    /// Rows.
    pub rows: Vec<Vec<String>>,
}

/// Words of a report, each followed by its table but for the last.
#[derive(Clone, Debug, Serialize)]
pub struct Part {
    /// Texts.
    pub words: Vec<String>,
    /// Tables between them.
    pub tables: Vec<Table>,
}

/// An unknown before and with the runs: mean and standard deviation, in the unit that is printed.
#[derive(Clone, Debug, Serialize)]
pub struct Unknown {
    /// Its name.
    pub name: String,
    /// Before.
    pub before: Option<[f64; 2]>,
    /// With the runs.
    pub with_runs: [f64; 2],
    /// Digits to print.
    pub digits: usize,
    /// Whether it is an entry speed, of which each run has one.
    pub of_a_run: bool,
}

/// A finish predicted from the other runs.
#[derive(Clone, Debug, Serialize)]
pub struct PredictedRun {
    /// The run.
    pub run: String,
    /// Least, middle and greatest of the band (s).
    pub band_s: [f64; 3],
    /// As it was timed (s).
    pub timed_s: f64,
    /// Whether the band holds it.
    pub inside: bool,
}

/// A calibration as the page shows it; all words and cells are those of the command line.
#[derive(Clone, Debug, Serialize)]
pub struct Calibrated {
    /// Whether model, priors and errors go with the runs.
    pub fits: bool,
    /// Whether they do, in words.
    pub fits_words: String,
    /// What was fitted to what.
    pub begun: String,
    /// Whether two unknowns can be told apart.
    pub together: String,
    /// Unknowns as a table.
    pub estimates: Part,
    /// The same as numbers.
    pub unknowns: Vec<Unknown>,
    /// Residuals by run and section.
    pub residuals: Part,
    /// Runs and sections that are out of line.
    pub flags: String,
    /// Each run from the others, as a table.
    pub others: Part,
    /// The same as numbers.
    pub predicted: Vec<PredictedRun>,
    /// What would help most.
    pub helps: Part,
    /// Names of the runs that can be left out.
    pub runs: Vec<String>,
    /// Names of the set-ups on the sheet.
    pub set_ups: Vec<String>,
}

/// A question of a trial.
#[derive(Clone, Debug, Serialize)]
pub struct Question {
    /// Its name.
    pub name: String,
    /// What to do.
    pub advice: String,
    /// Whether that is not to run the test.
    pub do_not_run: bool,
    /// Chance to tell, over the number of runs `[-]`.
    pub chance: Vec<[f64; 2]>,
}

/// A trial as the page shows it; all words and cells are those of the command line.
#[derive(Clone, Debug, Serialize)]
pub struct TrialTold {
    /// The report.
    pub report: Part,
    /// Question by question, as the report ranks them.
    pub questions: Vec<Question>,
    /// Runs that were asked for.
    pub runs: u32,
}

/// A run of a test.
#[derive(Clone, Debug, Serialize)]
pub struct RunOfTest {
    /// The run.
    pub run: String,
    /// Whether it was ridden with B.
    pub is_b: bool,
    /// Its finish time (s).
    pub finish_s: f64,
}

/// What the runs of two set-ups say; all words and cells are those of the command line.
#[derive(Clone, Debug, Serialize)]
pub struct TestTold {
    /// Set-ups A and B.
    pub names: [String; 2],
    /// The answer.
    pub answer: String,
    /// Whether one is faster beyond doubt.
    pub clear: bool,
    /// The differences, and what was taken out.
    pub report: Part,
    /// What the words of the answer mean.
    pub thresholds: String,
    /// B less A by what: least, middle and greatest of a band of 95 % (s).
    pub bands_s: Vec<(String, [f64; 3])>,
    /// The runs in their order.
    pub runs: Vec<RunOfTest>,
}

/// A sheet of runs with two set-ups.
#[derive(Clone, Debug, Serialize)]
pub struct Analysed {
    /// Names of the set-ups on the sheet.
    pub set_ups: Vec<String>,
    /// Names of the athletes on it.
    pub athletes: Vec<String>,
    /// What its runs say.
    pub test: Option<TestTold>,
    /// Why they say nothing yet.
    pub refused: Option<String>,
}

/// Tells two set-ups of a sheet apart.
pub(crate) type Analyses = dyn Fn(&AskedAnalysis) -> Result<Analysed, String> + Send + Sync;
/// Fits a timing sheet: the set-up as a file, and what was asked.
pub(crate) type Calibrations = dyn Fn(&str, &AskedCalibration) -> Result<Calibrated, String> + Send + Sync;
/// Plans a trial, likewise.
pub(crate) type TrialPlans = dyn Fn(&str, &AskedTrial) -> Result<TrialTold, String> + Send + Sync;

fn short(what: &str, text: &str, most: usize) -> Result<(), String> {
    let length = text.len();
    if length <= most { Ok(()) } else { Err(format!("{what}: {length} bytes; allowed are {most}")) }
}

/// Checks the text of a sheet.
fn a_sheet(text: &str) -> Result<(), String> {
    short("the sheet", text, LONGEST_SHEET)?;
    if text.trim().is_empty() {
        return Err("no timing sheet: drop a CSV file, or type one; a row for each run".into());
    }
    Ok(())
}

impl AskedAnalysis {
    /// Checks the lengths, and that a belief is whole.
    pub(crate) fn check(&self) -> Result<(), String> {
        a_sheet(&self.sheet)?;
        let options = [
            ("name of the sheet", &self.name),
            ("set-up A", &self.a),
            ("set-up B", &self.b),
            ("athlete", &self.athlete),
            ("difference believed before", &self.prior),
            ("its spread", &self.prior_sd),
        ];
        options.into_iter().try_for_each(|(what, text)| short(what, text, LONGEST_OPTION))?;
        if self.prior.trim().is_empty() != self.prior_sd.trim().is_empty() {
            return Err(
                "what you believed before needs two numbers: the difference, and how sure you were".into()
            );
        }
        if self.a.is_empty() != self.b.is_empty() {
            return Err("choose both set-ups, A and B".into());
        }
        Ok(())
    }
}

impl AskedCalibration {
    /// Checks the lengths.
    pub(crate) fn check(&self) -> Result<(), String> {
        a_sheet(&self.sheet)?;
        if self.leave_out.len() > MOST_LEFT_OUT {
            return Err(format!("runs left out: {}; allowed are {MOST_LEFT_OUT}", self.leave_out.len()));
        }
        let options = [
            ("name of the sheet", &self.name),
            ("fit", &self.fit),
            ("skill", &self.skill),
            ("spread", &self.spread),
            ("trap", &self.trap_at),
            ("only", &self.only),
        ];
        let left_out = self.leave_out.iter().map(|l| ("run left out", l));
        options.into_iter().chain(left_out).try_for_each(|(what, text)| short(what, text, LONGEST_OPTION))
    }
}

impl AskedTrial {
    /// Checks the lengths.
    pub(crate) fn check(&self) -> Result<(), String> {
        short("the list of questions", &self.questions, LONGEST_SETUP)?;
        let options = [
            ("runs", &self.runs),
            ("spread", &self.spread),
            ("difference", &self.difference),
            ("its spread", &self.difference_sd),
            ("worth", &self.worth),
        ];
        options.into_iter().try_for_each(|(what, text)| short(what, text, LONGEST_OPTION))
    }
}
