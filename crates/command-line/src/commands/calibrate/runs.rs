//! From the rows of a sheet to runs that can be fitted: which eye a column is, what is known beside the times.

use super::fitted::Timed;
use evidence::calibration::Measured;
use evidence::calibration::noise::{last_digit_s, run_covariance};
use evidence::sheet::{Sheet, TimedRun};
use file_faults::FileFault;
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::setup::{Push, Setup, Sprint};
use sweep_runner::rides::level_losses::LevelLosses;
use sweep_runner::rides::levelled::Conditions;
use track_geometry::track::Track;

/// Spread of the finish from run to run where nothing else is said, as a share of it `[-]`: the least that is published
/// (*Bullock 2009*), since pushes and weather are fitted.
pub const SPREAD_SHARE: f64 = 0.002;
/// Standard error of a speed trap beside its last digit, as a share of the speed `[-]`: assumed.
const TRAP_SHARE: f64 = 0.003;

/// Where the sheet is, and what its numbers are worth.
pub struct Reading<'a> {
    /// Name of the file.
    pub file: &'a str,
    /// The track.
    pub track: &'a Track,
    /// The set-up.
    pub setup: &'a Setup,
    /// Spread of the finish (s); none takes [`SPREAD_SHARE`].
    pub spread_s: Option<f64>,
    /// Eye of the speed trap.
    pub trap: Option<&'a str>,
}

/// Runs ready to be fitted.
pub struct Runs {
    /// The runs.
    pub timed: Vec<Timed>,
    /// Spread of the finish (s).
    pub spread_s: f64,
    /// The middle one of the finish times (s).
    pub middle_s: f64,
    /// Last digit of the sheet (s).
    pub last_digit_s: f64,
    /// Speed after the leap of the set-up's own push (m/s).
    pub entry_m_s: f64,
    /// What was left aside, in words.
    pub aside: Vec<String>,
}

impl Runs {
    /// With the spread of a level of skill instead: that of its rides, and the walk of [`SPREAD_SHARE`] over the start,
    /// since a start time binds an entry speed no better than that (assumed).
    pub fn spread_by(&mut self, losses: &LevelLosses) {
        self.spread_s = losses.spread_s();
        let start_s = losses.planned_s.get(1).copied().unwrap_or(0.0);
        for run in &mut self.timed {
            let (n, at) = (run.measured.times, &run.eyes);
            let over_the_start = vec![start_s; n];
            let spread_s = SPREAD_SHARE * self.middle_s;
            let walk = run_covariance(&over_the_start, self.middle_s, spread_s, self.last_digit_s);
            for (i, j) in (0..n).flat_map(|i| (0..n).map(move |j| (i, j))) {
                run.measured.covariance[(i, j)] = walk[(i, j)] + losses.covariance_s2[(at[i], at[j])];
            }
        }
    }
}

fn same(a: &str, b: &str) -> bool {
    a.trim().eq_ignore_ascii_case(b.trim())
}

impl Reading<'_> {
    fn fault(&self, (line, column): (u64, usize), key: &str, got: &str, allowed: String) -> FileFault {
        FileFault::at(self.file, (line, column), key, got, allowed)
    }

    /// Eye of the track for each intermediate of the sheet; every one that the track does not have.
    fn eyes(&self, sheet: &Sheet) -> Result<Vec<usize>, Vec<FileFault>> {
        let eyes = &self.track.data.eyes;
        let names: Vec<&str> = eyes.iter().map(|e| e.name.as_str()).collect();
        let mut faults = vec![];
        let name = &self.track.data.name;
        if let Some(track) = sheet.track.as_ref().filter(|t| !same(t, name)) {
            faults.push(self.fault((0, 0), "track", track, format!("{name}, the track that was asked for")));
        }
        let (line, columns) = &sheet.headings;
        let mut found: Vec<usize> = vec![];
        for (k, sheet_name) in sheet.eyes.iter().enumerate() {
            let at = (*line, columns.get(k).copied().unwrap_or(0));
            let inner = 2..names.len().saturating_sub(1);
            match inner.clone().find(|i| same(names[*i], sheet_name)) {
                Some(eye) if found.last().is_some_and(|last| *last >= eye) => {
                    let allowed = "eyes in the order of the track".to_string();
                    faults.push(self.fault(at, sheet_name, "an eye that comes earlier", allowed));
                }
                Some(eye) => found.push(eye),
                None => {
                    let allowed =
                        format!("an eye of {name} between start and finish: {}", names[inner].join(", "));
                    faults.push(self.fault(at, "heading", sheet_name, allowed));
                }
            }
        }
        if faults.is_empty() { Ok(found) } else { Err(faults) }
    }

    /// The launch with a start time, or that of the set-up.
    fn launch(&self, start_s: Option<f64>) -> Result<Launch, String> {
        let constants = Constants::new(self.setup, &self.track.data);
        let own = &self.setup.push;
        let push = start_s.map_or(own.clone(), |t| Push { sprint: Sprint::StartTime(t), ..own.clone() });
        Launch::from_push(&push, self.track, &constants, self.setup.ice.guided_friction)
            .map_err(|e| e.to_string())
    }

    /// Makes the runs of a sheet ready.
    pub fn runs(&self, sheet: &Sheet, rows: &[&TimedRun]) -> Result<Runs, Vec<FileFault>> {
        let eyes = self.eyes(sheet)?;
        let own = self.launch(None).map_err(|why| vec![self.fault((0, 0), "set-up", "its push", why)])?;
        let last = self.track.data.eyes.len() - 1;
        let trap = match self.trap {
            None => None,
            Some(name) => match self.track.data.eyes.iter().position(|e| same(&e.name, name)) {
                Some(eye) => Some(eye),
                None => {
                    let all: Vec<&str> = self.track.data.eyes.iter().map(|e| e.name.as_str()).collect();
                    let allowed = format!("an eye of {}: {}", self.track.data.name, all.join(", "));
                    return Err(vec![self.fault((0, 0), "--trap-at", name, allowed)]);
                }
            },
        };
        let all_times = |r: &TimedRun| {
            r.splits_s.iter().copied().chain([r.start_s, r.finish_s]).flatten().collect::<Vec<_>>()
        };
        let every: Vec<f64> = rows.iter().flat_map(|r| all_times(r)).collect();
        let last_digit_s = last_digit_s(&every);
        let mut finishes: Vec<f64> = rows.iter().filter_map(|r| r.finish_s).collect();
        finishes.sort_by(f64::total_cmp);
        let Some(middle_s) = finishes.get(finishes.len() / 2).copied() else {
            let allowed = "one run with a finish time, at least".to_string();
            return Err(vec![self.fault((0, 0), "finish", "no finish time", allowed)]);
        };
        let spread_s = self.spread_s.unwrap_or(SPREAD_SHARE * middle_s);
        let (mut timed, mut faults, mut aside) = (vec![], vec![], vec![]);
        for row in rows {
            let of_eyes = row.splits_s.iter().zip(&eyes).map(|(t, eye)| (*t, *eye));
            let found = std::iter::once((row.start_s, 1)).chain(of_eyes).chain([(row.finish_s, last)]);
            let (mut values, mut at): (Vec<f64>, Vec<usize>) =
                found.filter_map(|(t, e)| Some((t?, e))).unzip();
            if values.len() <= usize::from(row.start_s.is_some()) {
                aside.push(format!("run {}: no time behind the start", row.name));
                continue;
            }
            let entry_m_s = match self.launch(row.start_s) {
                Ok(launch) => launch.speed_m_s,
                Err(why) => {
                    let got = row.start_s.map_or("no start time".to_string(), |s| format!("{s} s"));
                    faults.push(self.fault((row.line, 0), "start", &got, why));
                    continue;
                }
            };
            let times = values.len();
            let mut covariance = run_covariance(&values, middle_s, spread_s, last_digit_s);
            match (row.trap_m_s, trap) {
                (Some(speed), Some(eye)) => {
                    values.push(speed);
                    at.push(eye);
                    covariance = covariance.resize(times + 1, times + 1, 0.0);
                    // a tenth of a km/h is the usual last digit
                    covariance[(times, times)] = (TRAP_SHARE * speed).powi(2) + (0.1 / 3.6f64).powi(2) / 12.0;
                }
                (Some(_), None) => aside.push(format!(
                    "run {}: its speed trap, since nothing says where it stands (--trap-at EYE)",
                    row.name
                )),
                _ => {}
            }
            let name = |eye: &usize| self.track.data.eyes[*eye].name.clone();
            let places = at.iter().map(name).collect();
            timed.push(Timed {
                conditions: Conditions { ice_c: row.ice_c, air_c: row.air_c, mass_kg: row.mass_kg },
                entry_m_s,
                start_s: row.start_s,
                notes: row.notes.clone(),
                eyes: at,
                measured: Measured { name: row.name.clone(), places, times, values, covariance },
            });
        }
        if timed.is_empty() && faults.is_empty() {
            faults.push(self.fault(
                (0, 0),
                "runs",
                "no run with a time behind the start",
                "one at least".into(),
            ));
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        Ok(Runs { timed, spread_s, middle_s, last_digit_s, entry_m_s: own.speed_m_s, aside })
    }
}
