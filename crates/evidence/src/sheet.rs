//! A timing sheet as people write it, from CSV; every fault of the text together.
//!
//! Times are counted from the first eye. Times, temperatures and notes may be missing; no value is guessed.

pub(crate) mod cells;
pub mod read;

/// A day, as year, month, day.
pub(crate) type Day = (u32, u32, u32);
/// Athlete, set-up and day of a run.
type Group<'a> = (Option<&'a str>, Option<&'a str>, Option<Day>);

/// One run as timed.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct TimedRun {
    /// Line in the file, from 1.
    pub line: u64,
    /// Its name on the sheet, mostly a number.
    pub name: String,
    /// Who rode; none where the sheet does not say.
    pub athlete: Option<String>,
    /// Day, as year, month, day; none where the sheet has none.
    pub date: Option<(u32, u32, u32)>,
    /// Time of day (h).
    pub(crate) clock_h: Option<f64>,
    /// Name of the set-up.
    pub set_up: Option<String>,
    /// Temperature of the ice (degC).
    pub ice_c: Option<f64>,
    /// Temperature of the air (degC).
    pub air_c: Option<f64>,
    /// Athlete, sled and ballast (kg).
    pub mass_kg: Option<f64>,
    /// Start time, first eye to second (s).
    pub start_s: Option<f64>,
    /// Intermediates from the first eye (s), one for each of the sheet's.
    pub splits_s: Vec<Option<f64>>,
    /// Finish from the first eye (s).
    pub finish_s: Option<f64>,
    /// Speed trap (m/s).
    pub trap_m_s: Option<f64>,
    /// What was noted.
    pub notes: String,
}

/// A sheet: the good rows, and what is wrong with the others.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Sheet {
    /// Names of the intermediates, in the order of the sheet.
    pub eyes: Vec<String>,
    /// Line of the headings, and the column of each intermediate, from 1.
    pub headings: (u64, Vec<usize>),
    /// Runs without a fault.
    pub runs: Vec<TimedRun>,
    /// Name of the track, where the sheet tells one.
    pub track: Option<String>,
    /// Faults of the rows that were left out.
    pub faults: Vec<file_faults::FileFault>,
}

impl Sheet {
    /// Names of the set-ups, in the order in which they come.
    pub fn set_ups(&self) -> Vec<String> {
        let mut names: Vec<String> = vec![];
        for name in self.runs.iter().filter_map(|r| r.set_up.as_ref()) {
            if !names.contains(name) {
                names.push(name.clone());
            }
        }
        names
    }

    /// Names of the athletes, in the order in which they come.
    pub fn athletes(&self) -> Vec<String> {
        let mut names: Vec<String> = vec![];
        for name in self.runs.iter().filter_map(|r| r.athlete.as_ref()) {
            if !names.contains(name) {
                names.push(name.clone());
            }
        }
        names
    }

    /// Spread of the finish from run to run of one athlete with one set-up on one day (s), and its degrees of freedom; a straight
    /// drift is not taken out. `None` where no set-up has two runs on a day.
    pub fn spread_s(&self) -> Option<(f64, usize)> {
        let mut groups: Vec<(Group<'_>, Vec<f64>)> = vec![];
        for run in &self.runs {
            let Some(finish_s) = run.finish_s else { continue };
            let key = (run.athlete.as_deref(), run.set_up.as_deref(), run.date);
            match groups.iter_mut().find(|g| g.0 == key) {
                Some(group) => group.1.push(finish_s),
                None => groups.push((key, vec![finish_s])),
            }
        }
        let (mut squares, mut freedom) = (0.0, 0);
        for (_, times) in &groups {
            let mean = times.iter().sum::<f64>() / times.len() as f64;
            squares += times.iter().map(|t| (t - mean).powi(2)).sum::<f64>();
            freedom += times.len() - 1;
        }
        (freedom > 0).then(|| ((squares / freedom as f64).sqrt(), freedom))
    }
}

#[cfg(test)]
mod tests;
