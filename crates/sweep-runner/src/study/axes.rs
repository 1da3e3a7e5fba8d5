//! Axes of a study: which quantity is varied, and over which values.

use crate::study::axis_keys::{SKILL_KEYS, SKILL_LEVEL, SkillKey, TRACK_KEYS, TrackKey};
use crate::study::levels::Levels;
use sled_dynamics::setup::key::Key;
use sled_dynamics::setup::keys::{self};
use std::fmt;

/// What an axis varies.
#[derive(Clone, Copy, Debug)]
pub enum Quantity {
    /// A key of a set-up that takes a number.
    Setup(&'static Key),
    /// A number of the track.
    Track(&'static TrackKey),
    /// A number of the athlete's skill.
    Skill(&'static SkillKey),
    /// The level of skill, by name.
    SkillLevel,
}

impl Quantity {
    /// The key as written, with its unit.
    pub fn path(&self) -> &'static str {
        match self {
            Self::Setup(key) => key.path,
            Self::Track(key) => key.path,
            Self::Skill(key) => key.path,
            Self::SkillLevel => SKILL_LEVEL,
        }
    }

    /// Whether nobody chooses it: track, ice, weather, and who rides; all else is a set-up.
    pub(crate) fn is_condition(&self) -> bool {
        const CONDITIONS: [&str; 8] = [
            "track.",
            "skill.",
            "athlete.",
            "push.",
            "ice.",
            "air.temperature_c",
            "air.pressure_hpa",
            "air.humidity_percent",
        ];
        CONDITIONS.iter().any(|c| self.path().starts_with(c))
    }

    /// Unit as people write it; empty without one.
    pub(crate) fn unit(&self) -> &'static str {
        match self {
            Self::Setup(key) => key.number().map_or("", |n| n.unit.symbol()),
            Self::Track(key) => key.unit,
            Self::Skill(key) => key.unit,
            Self::SkillLevel => "",
        }
    }

    /// What it is, for a coach.
    pub(crate) fn doc(&self) -> &'static str {
        match self {
            Self::Setup(key) => key.doc,
            Self::Track(key) => key.doc,
            Self::Skill(key) => key.doc,
            Self::SkillLevel => "Level of skill of the athlete",
        }
    }

    /// Least and greatest allowed; none for a name.
    pub(crate) fn limits(&self) -> Option<(f64, f64)> {
        match self {
            Self::Setup(key) => key.number().map(|n| (n.least, n.most)),
            Self::Track(key) => Some((key.least, key.most)),
            Self::Skill(key) => Some((key.least, key.most)),
            Self::SkillLevel => None,
        }
    }
}

impl PartialEq for Quantity {
    fn eq(&self, other: &Quantity) -> bool {
        self.path() == other.path()
    }
}

/// Why a key is no axis.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum NoAxis {
    /// No such key; with the nearest there is.
    Unknown {
        /// That key.
        nearest: Option<String>,
    },
    /// The key there is has another unit.
    OtherUnit {
        /// The key there is.
        key: &'static str,
        /// Its unit.
        unit: &'static str,
    },
    /// A key of a set-up, but not a number.
    NoNumber,
}

impl fmt::Display for NoAxis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unknown { nearest: Some(nearest) } => write!(f, "no such key, nearest is {nearest}"),
            Self::Unknown { nearest: None } => {
                write!(
                    f,
                    "no such key; `sagitta keys` lists those of a set-up, and there are {SKILL_LEVEL}"
                )?;
                let others = TRACK_KEYS.iter().map(|k| k.path).chain(SKILL_KEYS.iter().map(|k| k.path));
                others.into_iter().try_for_each(|k| write!(f, ", {k}"))
            }
            Self::OtherUnit { key, unit: "" } => write!(f, "wrong unit: {key} has none"),
            Self::OtherUnit { key, unit } => write!(f, "wrong unit: {key} is in {unit}"),
            Self::NoNumber => write!(f, "takes no number, so it cannot be varied"),
        }
    }
}

/// Endings that name a unit, longest first among those that end alike.
const ENDINGS: [&str; 28] = [
    "_n_m_per_rad",
    "_kg_m2",
    "_n_per_m",
    "_km_h",
    "_m_s2",
    "_percent",
    "_per_m",
    "_rad_s",
    "_m_s",
    "_n_m",
    "_deg",
    "_rad",
    "_hpa",
    "_mpa",
    "_gpa",
    "_kpa",
    "_pa",
    "_mm",
    "_cm",
    "_um",
    "_ms",
    "_kg",
    "_m2",
    "_m",
    "_g",
    "_s",
    "_n",
    "_c",
];

/// A key without the ending that names its unit.
fn stem(path: &str) -> &str {
    let k = path.strip_suffix("_k").map(|p| ("_k", p));
    ENDINGS.iter().find_map(|e| path.strip_suffix(e).map(|p| (*e, p))).or(k).map_or(path, |(_, p)| p)
}

/// Every quantity that an axis can vary.
fn quantities() -> impl Iterator<Item = Quantity> {
    let setup = keys::keys().iter().filter(|k| k.number().is_some()).map(Quantity::Setup);
    setup
        .chain(TRACK_KEYS.iter().map(Quantity::Track))
        .chain(SKILL_KEYS.iter().map(Quantity::Skill))
        .chain([Quantity::SkillLevel])
}

/// The quantity with a key.
pub(crate) fn quantity(path: &str) -> Result<Quantity, NoAxis> {
    if let Some(found) = quantities().find(|q| q.path() == path) {
        return Ok(found);
    }
    if let Some(q) = quantities().find(|q| stem(q.path()) == stem(path)) {
        return Err(NoAxis::OtherUnit { key: q.path(), unit: q.unit() });
    }
    match keys::find(path) {
        Ok(_) => Err(NoAxis::NoNumber),
        Err(_) => Err(NoAxis::Unknown { nearest: nearest(path) }),
    }
}

fn nearest(path: &str) -> Option<String> {
    let ours: Vec<&str> = TRACK_KEYS
        .iter()
        .map(|k| k.path)
        .chain(SKILL_KEYS.iter().map(|k| k.path))
        .chain([SKILL_LEVEL])
        .collect();
    let of_setup = match keys::find(path) {
        Err(sled_dynamics::setup::faults::Problem::UnknownKey { nearest }) => nearest,
        _ => None,
    };
    // a table alone is no axis
    let of_setup = of_setup.filter(|n| keys::find(n).is_ok_and(|k| k.number().is_some()));
    of_setup.or_else(|| track_geometry::toml_keys::nearest(path, &ours))
}

/// An axis of a study.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// What is varied.
    pub quantity: Quantity,
    /// Over which values.
    pub(crate) levels: Levels,
}

impl Axis {
    /// Name with unit, for a picture: the last part of the key, words parted by blanks.
    pub(crate) fn label(&self) -> String {
        let path = self.quantity.path();
        let name = stem(path).rsplit_once('.').map_or(path, |(_, name)| name).replace('_', " ");
        let table = path.split('.').next().unwrap_or("");
        let name = if matches!(name.as_str(), "bow" | "gauge") { name } else { format!("{table} {name}") };
        let name = name.strip_prefix("runners ").unwrap_or(&name).to_string();
        match self.quantity.unit() {
            "" => name,
            unit => format!("{name} ({unit})"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_wrong_units_and_slips_are_told_apart() {
        assert_eq!(quantity("runners.bow_mm").unwrap().path(), "runners.bow_mm");
        assert_eq!(quantity("track.altitude_m").unwrap().unit(), "m");
        assert_eq!(quantity("runners.bow_m"), Err(NoAxis::OtherUnit { key: "runners.bow_mm", unit: "mm" }));
        assert_eq!(
            quantity("ice.temperature_k"),
            Err(NoAxis::OtherUnit { key: "ice.temperature_c", unit: "degC" })
        );
        assert_eq!(quantity("runners.bow"), Err(NoAxis::OtherUnit { key: "runners.bow_mm", unit: "mm" }));
        assert_eq!(
            quantity("track.altitude_km"),
            Err(NoAxis::Unknown { nearest: Some("track.altitude_m".into()) })
        );
        assert_eq!(
            quantity("runers.bow_mm"),
            Err(NoAxis::Unknown { nearest: Some("runners.bow_mm".into()) })
        );
        assert_eq!(quantity("skill.levels"), Err(NoAxis::Unknown { nearest: Some("skill.level".into()) }));
        assert_eq!(quantity("ice.friction"), Err(NoAxis::NoNumber));
        assert_eq!(quantity("xyzzy"), Err(NoAxis::Unknown { nearest: None }));
    }
}
