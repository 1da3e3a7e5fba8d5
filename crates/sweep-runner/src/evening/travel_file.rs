//! From the text of a travel plan to what is asked, or every fault at once.

use crate::evening::plan_file::{RulesSaid, bows, forecast, pairs, rules, whole, within};
use sled_dynamics::riding::errors_of_ride::{SKILLS, Skill};
use track_geometry::faults::{FaultKind, Faults};
use track_geometry::toml_keys::{Keys, Placed, TomlText};

/// Bows that are tried where none are named (mm).
pub(crate) const USUAL_BOWS_MM: [f64; 5] = [2.0, 2.5, 3.0, 3.5, 4.5];
/// How far the ice may be from its forecast where nothing is said (K).
pub(crate) const USUAL_SPREAD_K: f64 = 3.0;
/// Athletes for whom one page has room.
pub(crate) const MOST_ATHLETES: usize = 2;
/// Pairs of one athlete for which it has room.
pub(crate) const MOST_PAIRS: usize = 4;
/// Bows that are tried at most.
const MOST_BOWS: usize = 12;

/// One athlete, as typed.
#[derive(Clone, Debug)]
pub struct AthleteSaid {
    /// Who.
    pub name: String,
    /// File of the set-up, from where the plan stands; none: the one that is built in.
    pub setup: Option<String>,
    /// Runner library, likewise.
    pub library: Option<String>,
    /// Calibration to compute with, likewise.
    pub calibration: Option<String>,
    /// Pairs that could travel, the first on the sled; empty: what is on the set-up.
    pub pairs: Vec<Placed<String>>,
    /// How well the athlete rides.
    pub skill: Skill,
    /// For whom the rules are: true for women, false for men; none where nothing is said.
    pub women: Option<bool>,
}

/// The plan as typed: names of files not yet read, numbers checked.
#[derive(Clone, Debug)]
pub struct TravelFile {
    /// Folder of the track, from where the plan stands; none: the one that is built in.
    pub track: Option<String>,
    /// Who travels.
    pub athletes: Vec<AthleteSaid>,
    /// Bows that are tried (mm), all screws alike.
    pub bows_mm: Vec<f64>,
    /// Rides of each set-up.
    pub rides: usize,
    /// Seed of the mistakes.
    pub seed: u64,
    /// Share of rides that may lose control `[-]`.
    pub most_lost: f64,
    /// Training runs that could be spent on a test.
    pub runs: usize,
    /// Spread of the finish from run to run (s).
    pub spread_s: f64,
    /// Keys of the set-ups that the forecast sets, in the unit of the key.
    pub forecast: Vec<(&'static str, f64)>,
    /// How far the ice may be from its forecast (K).
    pub spread_k: f64,
    /// What is said of the rules.
    pub rules: RulesSaid,
}

/// Reads a plan. `file` is for messages.
pub fn read_travel_file(file: &str, text: &str) -> Result<TravelFile, Faults> {
    let toml = TomlText::new(file, text);
    let mut faults = Faults::default();
    let table = toml.parse(&mut faults);
    let mut top = Keys::new(&toml, &table, "");
    let track = top.text("track", &mut faults).map(|t| t.value);
    let bows_mm = bows(&mut top, MOST_BOWS, &mut faults);
    let rides = whole(&mut top, "rides", 10.0, 10_000.0, &mut faults);
    let seed = whole(&mut top, "seed", 0.0, 9_007_199_254_740_991.0, &mut faults);
    let most_lost = within(&mut top, "most_lost_percent", 0.0, 50.0, "%", &mut faults);
    let runs = whole(&mut top, "runs", 2.0, 400.0, &mut faults);
    let spread_s = within(&mut top, "spread_s", 0.005, 5.0, "s", &mut faults);
    let (forecast, spread_k) = forecast(&mut top, None, &mut faults);
    let rules = rules(&mut top, &mut faults);
    let place = top.place("athlete");
    let said = top.tables("athlete", &mut faults);
    let (named, there) = (said.len(), top.has("athlete"));
    let mut athletes: Vec<AthleteSaid> = vec![];
    for mut keys in said {
        let name = keys.text("name", &mut faults);
        let at = keys.place("name");
        let (setup, library) = (keys.text("setup", &mut faults), keys.text("library", &mut faults));
        let calibration = keys.text("calibration", &mut faults);
        let pairs = pairs(&mut keys, library.is_some(), &mut faults);
        if let Some(more) = pairs.get(MOST_PAIRS) {
            let (got, allowed) = (format!("{} pairs", pairs.len()), format!("at most {MOST_PAIRS}"));
            faults.add(more.place.clone(), FaultKind::WrongType { got, allowed });
        }
        let levels: Vec<(&str, Skill)> = SKILLS.iter().map(|s| (s.name, *s)).collect();
        let skill = keys.choice("skill", &levels, &mut faults).unwrap_or(SKILLS[1]);
        let women = keys.choice("class", &[("women", true), ("men", false)], &mut faults);
        keys.finish(&mut faults);
        match name {
            None => faults.add(at, FaultKind::MissingKey),
            Some(name) if athletes.iter().any(|a| a.name == name.value) => {
                let (got, allowed) = (format!("\"{}\" twice", name.value), "each athlete once".into());
                faults.add(name.place, FaultKind::WrongType { got, allowed });
            }
            Some(name) => athletes.push(AthleteSaid {
                name: name.value,
                setup: setup.map(|t| t.value),
                library: library.map(|t| t.value),
                calibration: calibration.map(|t| t.value),
                pairs,
                skill,
                women,
            }),
        }
    }
    if named > MOST_ATHLETES || (named == 0 && !there) {
        let got = format!("{named} athletes");
        let allowed = format!("1 to {MOST_ATHLETES}, each an [[athlete]]: one page has room for no more");
        faults.add(place, FaultKind::WrongType { got, allowed });
    }
    top.finish(&mut faults);
    if !faults.0.is_empty() {
        faults.0.sort_by_key(|f| (f.place.line, f.place.column));
        return Err(faults);
    }
    Ok(TravelFile {
        track,
        athletes,
        bows_mm: bows_mm.unwrap_or(USUAL_BOWS_MM.to_vec()),
        rides: rides.map_or(120, |n| n as usize),
        seed: seed.map_or(1, |n| n as u64),
        most_lost: 0.01 * most_lost.unwrap_or(100.0 * crate::rides::paired::ALLOWED_LOST),
        runs: runs.map_or(6, |n| n as usize),
        spread_s: spread_s.unwrap_or(0.165),
        forecast,
        spread_k: spread_k.unwrap_or(USUAL_SPREAD_K),
        rules,
    })
}

impl TravelFile {
    /// Temperatures of the ice (degC), the warmest first, and which of them is the forecast.
    pub fn ices_c(&self, forecast_c: f64) -> (Vec<f64>, usize) {
        let warm = (forecast_c + self.spread_k).min(0.0);
        let cold = (forecast_c - self.spread_k).max(-40.0);
        let mut all = vec![warm, forecast_c, cold];
        all.dedup();
        let which = all.iter().position(|c| *c == forecast_c).unwrap_or(0);
        (all, which)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_a_plan_of_one_athlete_takes_the_usual() {
        let plan = read_travel_file("t", "[[athlete]]\nname = \"Ada\"\nclass = \"women\"\n").expect("fine");
        assert_eq!((plan.rides, plan.seed, plan.runs, plan.most_lost), (120, 1, 6, 0.05));
        assert_eq!(plan.bows_mm, USUAL_BOWS_MM);
        assert_eq!((plan.athletes[0].skill.name, plan.athletes[0].women), ("club", Some(true)));
        assert_eq!(plan.ices_c(-6.0), (vec![-3.0, -6.0, -9.0], 1));
        // no ice is warmer than melting
        assert_eq!(plan.ices_c(-1.0), (vec![0.0, -1.0, -4.0], 1));
        assert_eq!(plan.ices_c(0.0), (vec![0.0, -3.0], 0));
    }

    #[test]
    fn exact_every_fault_of_a_travel_plan_comes_at_once() {
        let text = "bows_mm = [9]\nrun = 3\n[[athlete]]\nname = \"Ada\"\npairs = [\"A\"]\n[[athlete]]\nskil = \"club\"\n\
                    [[athlete]]\nname = \"Ada\"\nclass = \"girls\"\n[ice]\ntemperature_c = 4\n";
        let faults = read_travel_file("t", text).expect_err("bad");
        let told: Vec<String> = faults.0.iter().map(ToString::to_string).collect();
        for (line, part) in [
            (1, "0 to 8 mm"),
            (2, "run"),
            (5, "library"),
            (6, "name"),
            (7, "skil"),
            (9, "\"Ada\" twice"),
            (10, "girls"),
            (12, "-40 to 0 degC"),
        ] {
            let line = format!("line {line}");
            assert!(told.iter().any(|t| t.contains(&line) && t.contains(part)), "{line} {part}\n{told:#?}");
        }
        assert!(told.iter().any(|t| t.contains("3 athletes") && t.contains("1 to 2")), "{told:#?}");
        assert_eq!(told.len(), 9, "{told:#?}");
        assert!(read_travel_file("t", "seed = 2\n").is_err());
        let three = (0..3).map(|i| format!("[[athlete]]\nname = \"{i}\"\n")).collect::<String>();
        assert!(read_travel_file("t", &three).is_err());
    }
}
