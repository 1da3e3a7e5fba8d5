//! From the text of an evening's plan to what is asked, or every fault at once.

use crate::evening::scratches::Scratch;
use sled_dynamics::riding::errors_of_ride::{SKILLS, Skill};
use track_geometry::faults::{FaultKind, Faults};
use track_geometry::toml_keys::{Keys, Placed, Scalar, TomlText};

/// Bows that are tried where none are named (mm): from, to, step.
const USUAL_BOWS_MM: [f64; 3] = [2.5, 5.5, 0.5];
/// A usual bow nearer to the present one than this is left out (mm).
const SAME_BOW_MM: f64 = 0.1;
/// Other ice where the forecast has no spread (degC).
pub(crate) const USUAL_ICES_C: [f64; 3] = [-3.0, -6.0, -9.0];
/// Spreads of the air: key of the plan, key of the set-up, the most, its unit.
const AIR_SPREADS: [(&str, &str, f64, &str); 3] = [
    ("temperature_spread_k", "air.temperature_c", 15.0, "K"),
    ("humidity_spread_percent", "air.humidity_percent", 50.0, "%"),
    ("pressure_spread_hpa", "air.pressure_hpa", 50.0, "hPa"),
];
/// Most bows of one evening.
const MOST_BOWS: usize = 24;

/// The plan as typed: names of files not yet read, numbers checked.
#[derive(Clone, Debug)]
pub struct PlanFile {
    /// Folder of the track, from where the plan stands; none for the one that is built in.
    pub track: Option<String>,
    /// File of the set-up, likewise.
    pub setup: Option<String>,
    /// Runner library, likewise; none: only what is on the set-up.
    pub library: Option<String>,
    /// Calibration to compute with, likewise.
    pub calibration: Option<String>,
    /// Notebook of past runs, likewise.
    pub notebook: Option<String>,
    /// Whose runs of the notebook; none: everybody's.
    pub athlete: Option<String>,
    /// Pairs in the bag, the first on the sled; empty: what is on the set-up.
    pub pairs: Vec<Placed<String>>,
    /// Bow on the sled, all screws alike (mm).
    pub bow_now_mm: Option<f64>,
    /// Caliper readings of the bow on the sled.
    pub readings: Option<String>,
    /// Readings of the same runners without bow: the zero.
    pub readings_without_bow: Option<String>,
    /// Bows that are tried (mm); none: the usual ones.
    pub(crate) bows_mm: Option<Vec<f64>>,
    /// Who rides.
    pub skill: Skill,
    /// Rides of each set-up.
    pub rides: usize,
    /// Seed of the mistakes.
    pub seed: u64,
    /// Hours at hand (h).
    pub hours: f64,
    /// Share of rides that may lose control `[-]`.
    pub most_lost: f64,
    /// Keys of the set-up that the forecast sets, in the unit of the key.
    pub forecast: Vec<(&'static str, f64)>,
    /// How far the ice may be from its forecast (K).
    pub(crate) spread_k: Option<f64>,
    /// Keys of the air that may be off their forecast, and how far, in the unit of the key; never 0.
    pub air_spreads: Vec<(&'static str, f64)>,
    /// What is said of the rules.
    pub rules: RulesSaid,
    /// Scratches of the runners on the sled.
    pub scratches: Vec<Scratch>,
}

/// Reads a plan. `file` is for messages.
pub fn read_plan_file(file: &str, text: &str) -> Result<PlanFile, Faults> {
    let toml = TomlText::new(file, text);
    let mut faults = Faults::default();
    let table = toml.parse(&mut faults);
    let mut top = Keys::new(&toml, &table, "");
    let name = |top: &mut Keys<'_, '_>, key, faults: &mut Faults| top.text(key, faults).map(|t| t.value);
    let [track, setup, library] = ["track", "setup", "library"].map(|key| name(&mut top, key, &mut faults));
    let [calibration, notebook, athlete] =
        ["calibration", "notebook", "athlete"].map(|key| name(&mut top, key, &mut faults));
    if athlete.is_some() && notebook.is_none() {
        faults.add(top.place("notebook"), FaultKind::MissingKey);
    }
    let pairs = pairs(&mut top, library.is_some(), &mut faults);
    let bow_now_mm = within(&mut top, "bow_now_mm", 0.0, 8.0, "mm", &mut faults);
    let readings = top.text("readings", &mut faults);
    if let Some(readings) = readings.as_ref().filter(|_| top.has("bow_now_mm")) {
        let (got, allowed) = ("readings beside bow_now_mm".into(), "one of both: take the other out".into());
        faults.add(readings.place.clone(), FaultKind::WrongType { got, allowed });
    }
    let readings = readings.map(|t| t.value);
    let readings_without_bow = name(&mut top, "readings_without_bow", &mut faults);
    if top.has("readings_without_bow") && !top.has("readings") {
        faults.add(top.place("readings"), FaultKind::MissingKey);
    }
    let bows_mm = bows(&mut top, MOST_BOWS, &mut faults);
    let levels: Vec<(&str, Skill)> = SKILLS.iter().map(|s| (s.name, *s)).collect();
    let skill = top.choice("skill", &levels, &mut faults);
    let rides = whole(&mut top, "rides", 10.0, 10_000.0, &mut faults);
    let seed = whole(&mut top, "seed", 0.0, 9_007_199_254_740_991.0, &mut faults);
    let hours = within(&mut top, "hours", 0.0, 24.0, "h", &mut faults);
    let most_lost = within(&mut top, "most_lost_percent", 0.0, 50.0, "%", &mut faults);
    let mut air_spreads = vec![];
    let (forecast, spread_k) = forecast(&mut top, Some(&mut air_spreads), &mut faults);
    let rules = rules(&mut top, &mut faults);
    let scratches = scratches(&mut top, &mut faults);
    top.finish(&mut faults);
    if !faults.0.is_empty() {
        faults.0.sort_by_key(|f| (f.place.line, f.place.column));
        return Err(faults);
    }
    Ok(PlanFile {
        track,
        setup,
        library,
        calibration,
        notebook,
        athlete,
        pairs,
        bow_now_mm,
        readings,
        readings_without_bow,
        bows_mm,
        skill: skill.unwrap_or(SKILLS[1]),
        rides: rides.map_or(120, |n| n as usize),
        seed: seed.map_or(1, |n| n as u64),
        hours: hours.unwrap_or(2.0),
        most_lost: 0.01 * most_lost.unwrap_or(100.0 * crate::rides::paired::ALLOWED_LOST),
        forecast,
        spread_k,
        air_spreads,
        rules,
        scratches,
    })
}

/// A number inside limits.
pub(crate) fn within(
    top: &mut Keys<'_, '_>,
    key: &'static str,
    least: f64,
    most: f64,
    unit: &str,
    faults: &mut Faults,
) -> Option<f64> {
    let allowed = format!("{least} to {most} {unit}");
    let inside = |v: f64| least <= v && v <= most;
    top.number_in(key, allowed.trim_end(), inside, faults).map(|n| n.value)
}

/// A whole number inside limits.
pub(crate) fn whole(
    top: &mut Keys<'_, '_>,
    key: &'static str,
    least: f64,
    most: f64,
    faults: &mut Faults,
) -> Option<f64> {
    let allowed = format!("a whole number from {least} to {most}");
    let inside = |v: f64| v.fract() == 0.0 && least <= v && v <= most;
    top.number_in(key, &allowed, inside, faults).map(|n| n.value)
}

/// The forecast, `[ice]` and `[air]`: keys of a set-up with their values, and how far the ice may be from it (K); how
/// far the air may be goes to `spreads`, where that is asked for.
pub(crate) fn forecast(
    top: &mut Keys<'_, '_>,
    spreads: Option<&mut Vec<(&'static str, f64)>>,
    faults: &mut Faults,
) -> (Vec<(&'static str, f64)>, Option<f64>) {
    let (mut forecast, mut spread_k) = (Vec::new(), None);
    if let Some(mut ice) = top.table("ice", faults) {
        forecast.extend(
            within(&mut ice, "temperature_c", -40.0, 0.0, "degC", faults).map(|v| ("ice.temperature_c", v)),
        );
        spread_k = within(&mut ice, "spread_k", 0.1, 15.0, "K", faults);
        ice.finish(faults);
    }
    if let Some(mut air) = top.table("air", faults) {
        let keys = [
            ("temperature_c", "air.temperature_c", -50.0, 40.0, "degC"),
            ("humidity_percent", "air.humidity_percent", 0.0, 100.0, "%"),
            ("pressure_hpa", "air.pressure_hpa", 500.0, 1100.0, "hPa"),
        ];
        for (key, path, least, most, unit) in keys {
            forecast.extend(within(&mut air, key, least, most, unit, faults).map(|v| (path, v)));
        }
        if let Some(spreads) = spreads {
            for (key, path, most, unit) in AIR_SPREADS {
                let said = within(&mut air, key, 0.0, most, unit, faults);
                spreads.extend(said.filter(|v| *v > 0.0).map(|v| (path, v)));
            }
        }
        air.finish(faults);
    }
    (forecast, spread_k)
}

/// Scratches, each a `[[scratch]]`.
fn scratches(top: &mut Keys<'_, '_>, faults: &mut Faults) -> Vec<Scratch> {
    let mut all = vec![];
    for mut keys in top.tables("scratch", faults) {
        let depth_um = within(&mut keys, "depth_um", 0.1, 1000.0, "um", faults);
        let width_um = within(&mut keys, "width_um", 0.1, 5000.0, "um", faults);
        let length_mm = within(&mut keys, "length_mm", 0.1, 1000.0, "mm", faults);
        let across = keys.choice("direction", &[("across", true), ("along", false)], faults);
        for key in ["depth_um", "length_mm", "direction"] {
            if !keys.has(key) {
                faults.add(keys.place(key), FaultKind::MissingKey);
            }
        }
        keys.finish(faults);
        if let (Some(depth_um), Some(length_mm), Some(across)) = (depth_um, length_mm, across) {
            // a scratch whose width nobody measured is twice as wide as deep (assumed)
            let width_m = 1e-6 * width_um.unwrap_or(2.0 * depth_um);
            all.push(Scratch { depth_m: 1e-6 * depth_um, width_m, length_m: 1e-3 * length_mm, across });
        }
    }
    all
}

/// What a plan says of the rules.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RulesSaid {
    /// Greatest mass of athlete and sled that somebody looked up (kg).
    pub most_mass_kg: Option<f64>,
    /// Edition of the rules it was looked up in.
    pub edition: Option<String>,
    /// File of limits by season, from where the plan stands.
    pub file: Option<String>,
    /// Season of that file.
    pub season: Option<String>,
    /// For whom: true for women, false for men.
    pub women: Option<bool>,
}

/// The rules, `[rules]`.
pub(crate) fn rules(top: &mut Keys<'_, '_>, faults: &mut Faults) -> RulesSaid {
    let Some(mut keys) = top.table("rules", faults) else { return RulesSaid::default() };
    let mut text = |key, faults: &mut Faults| keys.text(key, faults).map(|t| t.value);
    let [edition, file, season] = ["edition", "file", "season"].map(|key| text(key, faults));
    let most_mass_kg = within(&mut keys, "most_mass_kg", 30.0, 300.0, "kg", faults);
    let women = keys.choice("class", &[("women", true), ("men", false)], faults);
    keys.finish(faults);
    RulesSaid { most_mass_kg, edition, file, season, women }
}

/// The pairs, `pairs`, which need a library.
pub(crate) fn pairs(top: &mut Keys<'_, '_>, has_library: bool, faults: &mut Faults) -> Vec<Placed<String>> {
    let Some(list) = top.list("pairs", faults) else { return vec![] };
    let mut names: Vec<Placed<String>> = Vec::new();
    let wrong = |got: String, allowed: &str| FaultKind::WrongType { got, allowed: allowed.into() };
    if !has_library && !list.value.is_empty() {
        let allowed = "pairs together with library, the file that tells of them";
        faults.add(list.place, wrong("pairs without library".into(), allowed));
    }
    for item in list.value {
        match item.value {
            Scalar::Text(pair) if names.iter().any(|n| n.value == pair) => {
                faults.add(item.place, wrong(format!("pair \"{pair}\" twice"), "each pair once"));
            }
            Scalar::Text(value) => names.push(Placed { value, place: item.place }),
            Scalar::Number(n) => faults.add(item.place, wrong(format!("the number {n}"), "a text in quotes")),
        }
    }
    names
}

/// The bows that are tried, `bows_mm`, from little to much.
pub(crate) fn bows(top: &mut Keys<'_, '_>, most: usize, faults: &mut Faults) -> Option<Vec<f64>> {
    let list = top.list("bows_mm", faults)?;
    let mut bows = Vec::new();
    if list.value.is_empty() || list.value.len() > most {
        let allowed = format!("a list of 1 to {most} bows");
        let got = format!("a list of {}", list.value.len());
        faults.add(list.place, FaultKind::WrongType { got, allowed });
    }
    for item in list.value {
        match item.value {
            Scalar::Number(mm) if (0.0..=8.0).contains(&mm) => bows.push(mm),
            Scalar::Number(got) => {
                faults.add(item.place, FaultKind::OutOfRange { got, allowed: "0 to 8 mm".into() });
            }
            Scalar::Text(text) => {
                let got = format!("the text \"{text}\"");
                faults.add(item.place, FaultKind::WrongType { got, allowed: "a number".into() });
            }
        }
    }
    bows.sort_by(f64::total_cmp);
    bows.dedup();
    Some(bows)
}

impl PlanFile {
    /// Even bows that are tried beside the present one (mm), which has this mean and is even or not. Of the usual bows
    /// those next to the present one are left out; a named bow is left out only where it is the present one.
    pub fn other_bows_mm(&self, now_mm: f64, even: bool) -> Vec<f64> {
        match &self.bows_mm {
            Some(named) => named.iter().copied().filter(|mm| !(even && (mm - now_mm).abs() < 5e-3)).collect(),
            None => {
                let [from, to, step] = USUAL_BOWS_MM;
                let many = ((to - from) / step).round() as usize;
                let all = (0..=many).map(|i| from + step * i as f64);
                all.filter(|mm| (mm - now_mm).abs() >= SAME_BOW_MM).collect()
            }
        }
    }

    /// Temperatures of the ice on the card of what to do if it changes (degC), the coldest last.
    pub fn ices_c(&self, forecast_c: f64) -> Vec<f64> {
        let mut all = match self.spread_k {
            // ice melts at 0
            Some(spread) => {
                vec![(forecast_c + spread).min(0.0), forecast_c, (forecast_c - spread).max(-40.0)]
            }
            None => USUAL_ICES_C.to_vec(),
        };
        all.dedup();
        all
    }
}

#[cfg(test)]
mod tests;
