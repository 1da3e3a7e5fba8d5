//! From the text of a study file to a study as typed, or every fault at once.

use crate::study::axes::{Axis, Quantity, quantity};
use crate::study::faults::{StudyFaults, StudyProblem};
use crate::study::levels::Levels;
use crate::study::levels::Value;
use file_faults::Place;
use numerics::points::{MOST_SOBOL_POINTS, grid_size};
use sled_dynamics::riding::errors_of_ride::SKILLS;
use track_geometry::faults::{FaultKind, Faults};
use track_geometry::toml_keys::{Keys, Placed, Scalar, TomlText};

/// Most cases of one study.
pub(crate) const MOST_CASES: usize = 100_000;
/// Most rides of one case.
pub(crate) const MOST_RIDES: usize = 100_000;
/// Most axes of one study.
pub(crate) const MOST_AXES: usize = 32;

/// How a case is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StudyModel {
    /// Held on the reference line with constant friction.
    Guided,
    /// On runners, first pilot.
    FirstPilot,
    /// On runners, planned ride.
    Planned,
}

/// Which points are computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Design {
    /// Every value of every axis with every other; the last axis changes fastest.
    Grid,
    /// A Latin hypercube.
    LatinHypercube {
        /// How many points.
        points: usize,
    },
    /// The scrambled Sobol sequence.
    Sobol {
        /// How many points.
        points: usize,
    },
    /// Pairs of points for Sobol's indices.
    Indices {
        /// How many base points.
        points: usize,
    },
    /// Steps to either side of the base set-up, one axis at a time.
    Slopes,
}

/// Whether each case gets a ride of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlanFor {
    /// A ride planned for each case: what the set-up can do.
    EachCase,
    /// The ride planned for the base set-up: what the set-up does to the same steering.
    Base,
}

/// Rides of a case.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rides {
    /// How many of an athlete who makes mistakes; 0 is one ride without any.
    pub(crate) per_case: usize,
    /// Level of skill, by its place in [`SKILLS`].
    pub(crate) level: usize,
    /// Whose plan is ridden.
    pub plan: PlanFor,
}

/// A study as typed: names of files not yet read, axes checked.
#[derive(Clone, Debug, PartialEq)]
pub struct StudyFile {
    /// Name of the study.
    pub name: String,
    /// Folder of the track, from where the study file stands; none for the one that is built in.
    pub track: Option<String>,
    /// File of the set-up, from where the study file stands; none for the one that is built in.
    pub setup: Option<String>,
    /// Seed of everything drawn at random.
    pub(crate) seed: u64,
    /// How a case is computed.
    pub model: StudyModel,
    /// Keys set for all cases.
    pub set: Vec<(Quantity, f64, Place)>,
    /// Which points.
    pub design: Design,
    /// What is varied.
    pub axes: Vec<Axis>,
    /// Where each axis stands.
    pub(crate) axis_places: Vec<Place>,
    /// Rides of a case.
    pub rides: Rides,
    /// Whether the table has columns for each corner.
    pub(crate) corners: bool,
    /// Whether pictures are drawn.
    pub pictures: bool,
}

const MODELS: [(&str, StudyModel); 3] = [
    ("guided", StudyModel::Guided),
    ("first-pilot", StudyModel::FirstPilot),
    ("planned", StudyModel::Planned),
];
const DESIGNS: [(&str, Design); 5] = [
    ("grid", Design::Grid),
    ("latin-hypercube", Design::LatinHypercube { points: 0 }),
    ("sobol", Design::Sobol { points: 0 }),
    ("indices", Design::Indices { points: 0 }),
    ("slopes", Design::Slopes),
];

impl Design {
    /// Its name in a study file.
    pub fn name(&self) -> &'static str {
        let same = |d: &Design| std::mem::discriminant(d) == std::mem::discriminant(self);
        DESIGNS.iter().find(|(_, d)| same(d)).map_or("", |(name, _)| name)
    }
}

impl StudyModel {
    /// Its name in a study file.
    pub fn name(self) -> &'static str {
        MODELS.iter().find(|(_, m)| *m == self).map_or("", |(name, _)| name)
    }

    /// Whether a quantity changes anything in this model.
    pub(crate) fn knows(self, quantity: &Quantity) -> bool {
        let path = quantity.path();
        let masses = ["athlete.mass_kg", "sled.mass_kg", "sled.ballast_kg", "ice.guided_friction"];
        self != Self::Guided
            || masses.contains(&path)
            || ["air.", "push.", "track."].iter().any(|table| path.starts_with(table))
    }
}

/// Reads a study. `file` is for messages.
pub fn read_study(file: &str, text: &str) -> Result<StudyFile, StudyFaults> {
    let toml = TomlText::new(file, text);
    let mut reading = Faults::default();
    let mut faults = StudyFaults::default();
    let table = toml.parse(&mut reading);
    let mut top = Keys::new(&toml, &table, "");
    let name = top.required("name", &mut reading, Keys::text).map(|n| n.value);
    let track = top.text("track", &mut reading).map(|t| t.value);
    let setup = top.text("setup", &mut reading).map(|t| t.value);
    let seed = if top.has("seed") {
        // more whole numbers than a double holds apart would not be the seed as typed
        whole(&mut top, "seed", 0, (1 << 53) - 1, &mut reading, &mut faults).unwrap_or(0)
    } else {
        faults.add(top.place("seed"), StudyProblem::NoSeed);
        0
    };
    let model = top.choice("model", &MODELS, &mut reading);
    if !top.has("model") {
        reading.add(top.place("model"), FaultKind::MissingKey);
    }
    let (corners, pictures) = match top.table("outputs", &mut reading) {
        Some(mut keys) => {
            let yes_no = [("yes", true), ("no", false)];
            let corners = keys.choice("corners", &yes_no, &mut reading).unwrap_or(false);
            let pictures = keys.choice("pictures", &yes_no, &mut reading).unwrap_or(true);
            keys.finish(&mut reading);
            (corners, pictures)
        }
        None => (false, true),
    };
    let rides = read_rides(&mut top, model, &mut reading, &mut faults);
    let set = read_set(&mut top, model, &rides, &mut reading, &mut faults);
    let design_place = top.place("design");
    let design = read_design(&mut top, &mut reading, &mut faults);
    let mut axes: Vec<(Axis, Place)> = Vec::new();
    let tables = top.tables("axis", &mut reading);
    let many = tables.len();
    for mut keys in tables {
        let place = keys.place("key");
        let Some(axis) = read_axis(&mut keys, design, &mut reading, &mut faults) else {
            keys.finish(&mut reading);
            continue;
        };
        keys.finish(&mut reading);
        let key = axis.quantity.path();
        if axes.iter().any(|(a, _)| a.quantity == axis.quantity) {
            faults.add(place.clone(), StudyProblem::Twice { key });
        }
        if let Some(needed) = no_effect(model, &rides, &axis.quantity) {
            faults.add(place.clone(), StudyProblem::NoEffect { key, needed });
        }
        axes.push((axis, place));
    }
    top.finish(&mut reading);
    if many == 0 && !matches!(design, None | Some(Design::Slopes)) {
        reading.add(design_place.clone(), FaultKind::MissingKey);
        let allowed = "[[axis]] with a key, once for each quantity that is varied";
        faults.add(
            Place { key: Some("axis".into()), ..design_place.clone() },
            StudyProblem::NoLevels { allowed },
        );
        reading.0.pop();
    }
    if many > MOST_AXES {
        let read = many as f64;
        faults.add(design_place.clone(), StudyProblem::Count { read, least: 1, most: MOST_AXES });
    }
    let (axes, axis_places): (Vec<Axis>, Vec<Place>) = axes.into_iter().unzip();
    if let Some(design) = design
        && axes.len() == many
    {
        check_size(design, &axes, design_place, &mut faults);
    }
    for fault in reading.0 {
        faults.add(fault.place, StudyProblem::Reading(fault.kind));
    }
    match (name, model, design) {
        (Some(name), Some(model), Some(design)) if faults.0.is_empty() => Ok(StudyFile {
            name,
            track,
            setup,
            seed,
            model,
            set,
            design,
            axes,
            axis_places,
            rides,
            corners,
            pictures,
        }),
        _ => Err(faults.sorted()),
    }
}

/// A whole number within limits.
fn whole(
    keys: &mut Keys<'_, '_>,
    key: &'static str,
    least: usize,
    most: usize,
    reading: &mut Faults,
    faults: &mut StudyFaults,
) -> Option<u64> {
    let n = keys.number(key, reading)?;
    if n.value.fract() == 0.0 && n.value >= least as f64 && n.value <= most as f64 {
        return Some(n.value as u64);
    }
    faults.add(n.place, StudyProblem::Count { read: n.value, least, most });
    None
}

fn read_set(
    top: &mut Keys<'_, '_>,
    model: Option<StudyModel>,
    rides: &Rides,
    reading: &mut Faults,
    faults: &mut StudyFaults,
) -> Vec<(Quantity, f64, Place)> {
    let mut set = Vec::new();
    for (path, Placed { value, place }) in top.leaves("set", reading) {
        match (quantity(&path), value) {
            (Err(why), _) => faults.add(place, StudyProblem::NoAxis { read: path, why }),
            (Ok(q), Scalar::Number(value)) if q.limits().is_some() => {
                in_limits(&q, (value, value), &place, faults);
                if let Some(needed) = no_effect(model, rides, &q) {
                    faults.add(place.clone(), StudyProblem::NoEffect { key: q.path(), needed });
                }
                set.push((q, value, place));
            }
            (Ok(_), got) => {
                let got = format!("{got:?}");
                reading.add(place, FaultKind::WrongType { got, allowed: "a number".into() });
            }
        }
    }
    set
}

/// What would have to be different for a quantity to change anything; none where it does.
fn no_effect(model: Option<StudyModel>, rides: &Rides, quantity: &Quantity) -> Option<&'static str> {
    let of_skill = matches!(quantity, Quantity::Skill(_) | Quantity::SkillLevel);
    if model.is_some_and(|m| !m.knows(quantity)) {
        Some("model = \"first-pilot\" or \"planned\"")
    } else if of_skill && rides.per_case == 0 {
        Some("[rides] with per_case")
    } else if quantity.path() == "pilot.lag_s" && rides.per_case > 0 {
        Some("skill.lag_s in its place: rides with mistakes take the lag of the skill")
    } else {
        None
    }
}

fn in_limits(quantity: &Quantity, (low, high): (f64, f64), place: &Place, faults: &mut StudyFaults) {
    let Some((least, most)) = quantity.limits() else { return };
    for value in [low, high] {
        if !(value >= least && value <= most) {
            let (key, unit) = (quantity.path(), quantity.unit());
            faults.add(place.clone(), StudyProblem::OutOfLimits { key, value, least, most, unit });
            return;
        }
    }
}

fn read_rides(
    top: &mut Keys<'_, '_>,
    model: Option<StudyModel>,
    reading: &mut Faults,
    faults: &mut StudyFaults,
) -> Rides {
    let mut rides = Rides { per_case: 0, level: 1, plan: PlanFor::EachCase };
    let Some(mut keys) = top.table("rides", reading) else { return rides };
    if let Some(n) = whole(&mut keys, "per_case", 1, MOST_RIDES, reading, faults) {
        rides.per_case = n as usize;
    }
    if let Some(word) = keys.text("skill", reading) {
        match level(&word.value) {
            Ok(i) => rides.level = i,
            Err(problem) => faults.add(word.place, problem),
        }
    }
    let plans = [("each-case", PlanFor::EachCase), ("base", PlanFor::Base)];
    rides.plan = keys.choice("plan", &plans, reading).unwrap_or(PlanFor::EachCase);
    if model.is_some_and(|m| m != StudyModel::Planned) {
        let needed = "model = \"planned\"";
        faults.add(keys.place("rides"), StudyProblem::NoEffect { key: "rides", needed });
    }
    keys.finish(reading);
    rides
}

fn level(name: &str) -> Result<usize, StudyProblem> {
    let allowed = || SKILLS.iter().map(|s| s.name).collect();
    SKILLS
        .iter()
        .position(|s| s.name == name)
        .ok_or_else(|| StudyProblem::NoLevel { read: name.into(), allowed: allowed() })
}

fn read_design(top: &mut Keys<'_, '_>, reading: &mut Faults, faults: &mut StudyFaults) -> Option<Design> {
    let Some(mut keys) = top.table("design", reading) else {
        if !top.has("design") {
            reading.add(top.place("design"), FaultKind::MissingKey);
        }
        return None;
    };
    let kind = keys.choice("kind", &DESIGNS, reading);
    if !keys.has("kind") {
        reading.add(keys.place("kind"), FaultKind::MissingKey);
    }
    let most = match kind {
        Some(Design::Sobol { .. } | Design::Indices { .. }) => MOST_SOBOL_POINTS,
        _ => MOST_CASES,
    };
    let needs = !matches!(kind, None | Some(Design::Grid | Design::Slopes));
    let mut count = None;
    if needs {
        count = whole(&mut keys, "points", 1, most, reading, faults);
        if !keys.has("points") {
            reading.add(keys.place("points"), FaultKind::MissingKey);
        }
    }
    keys.finish(reading);
    let points = count.map_or(0, |n| n as usize);
    match kind? {
        Design::LatinHypercube { .. } => count.map(|_| Design::LatinHypercube { points }),
        Design::Sobol { .. } => count.map(|_| Design::Sobol { points }),
        Design::Indices { .. } => count.map(|_| Design::Indices { points }),
        same => Some(same),
    }
}

fn check_size(design: Design, axes: &[Axis], place: Place, faults: &mut StudyFaults) {
    let (cases, instead) = match design {
        Design::Grid => {
            let Some(lengths) = axes.iter().map(|a| a.levels.grid_length()).collect::<Option<Vec<_>>>()
            else {
                return;
            };
            (grid_size(&lengths), "take fewer steps, or kind = \"latin-hypercube\" with points")
        }
        Design::Indices { points } => (Some(points * (axes.len() + 2)), "take fewer points or axes"),
        _ => return,
    };
    if cases.is_none_or(|n| n > MOST_CASES) {
        faults.add(place, StudyProblem::TooManyCases { cases, most: MOST_CASES, instead });
    }
}

mod axis;
use axis::read_axis;
