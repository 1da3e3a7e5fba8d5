//! Axes of a study: which quantity is varied, and over which values.

use crate::axis_keys::{SKILL_KEYS, SKILL_LEVEL, SkillKey, TRACK_KEYS, TrackKey};
use sled_dynamics::errors_of_ride::SKILLS;
use sled_dynamics::setup_keys::{self, Key};
use statrs::distribution::{ContinuousCDF, Normal};
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

    /// Unit as people write it; empty without one.
    pub fn unit(&self) -> &'static str {
        match self {
            Self::Setup(key) => key.number().map_or("", |n| n.unit.symbol()),
            Self::Track(key) => key.unit,
            Self::Skill(key) => key.unit,
            Self::SkillLevel => "",
        }
    }

    /// What it is, for a coach.
    pub fn doc(&self) -> &'static str {
        match self {
            Self::Setup(key) => key.doc,
            Self::Track(key) => key.doc,
            Self::Skill(key) => key.doc,
            Self::SkillLevel => "Level of skill of the athlete",
        }
    }

    /// Least and greatest allowed; none for a name.
    pub fn limits(&self) -> Option<(f64, f64)> {
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
pub enum NoAxis {
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
    let setup = setup_keys::keys().iter().filter(|k| k.number().is_some()).map(Quantity::Setup);
    setup
        .chain(TRACK_KEYS.iter().map(Quantity::Track))
        .chain(SKILL_KEYS.iter().map(Quantity::Skill))
        .chain([Quantity::SkillLevel])
}

/// The quantity with a key.
pub fn quantity(path: &str) -> Result<Quantity, NoAxis> {
    if let Some(found) = quantities().find(|q| q.path() == path) {
        return Ok(found);
    }
    if let Some(q) = quantities().find(|q| stem(q.path()) == stem(path)) {
        return Err(NoAxis::OtherUnit { key: q.path(), unit: q.unit() });
    }
    match setup_keys::find(path) {
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
    let of_setup = match setup_keys::find(path) {
        Err(sled_dynamics::faults::Problem::UnknownKey { nearest }) => nearest,
        _ => None,
    };
    // a table alone is no axis
    let of_setup = of_setup.filter(|n| setup_keys::find(n).is_ok_and(|k| k.number().is_some()));
    of_setup.or_else(|| track_geometry::toml_keys::nearest(path, &ours))
}

/// One value of an axis, in the unit of its key.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value {
    /// A number.
    Number(f64),
    /// A level of skill, by its place in [`SKILLS`].
    Level(usize),
}

impl Value {
    /// The number, or the place of the level.
    pub fn number(self) -> f64 {
        match self {
            Self::Number(v) => v,
            Self::Level(i) => i as f64,
        }
    }
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(v) => write!(f, "{v}"),
            Self::Level(i) => f.write_str(SKILLS.get(*i).map_or("", |s| s.name)),
        }
    }
}

/// How the values of an axis lie.
#[derive(Clone, Debug, PartialEq)]
pub enum Levels {
    /// These.
    List(Vec<Value>),
    /// Equally spaced, both ends included.
    Range {
        /// First value.
        from: f64,
        /// Last value.
        to: f64,
        /// How many values; none for a design that needs none.
        steps: Option<usize>,
    },
    /// A normal distribution, cut at [`CUT_SD`] standard deviations.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation before the cut.
        sd: f64,
    },
    /// A triangular distribution.
    Triangular {
        /// Least.
        from: f64,
        /// Most likely.
        mode: f64,
        /// Greatest.
        to: f64,
    },
    /// Only a step to either side of the base set-up.
    Step(f64),
}

/// A normal distribution is cut at this many standard deviations, since every key has limits.
pub const CUT_SD: f64 = 3.0;

impl Levels {
    /// Number of values on a grid; none for a distribution.
    pub fn grid_length(&self) -> Option<usize> {
        match self {
            Self::List(values) => Some(values.len()),
            Self::Range { steps, .. } => *steps,
            _ => None,
        }
    }

    /// The step, where there is one.
    pub fn step(&self) -> Option<f64> {
        if let Self::Step(step) = self { Some(*step) } else { None }
    }

    /// A value of the grid.
    pub fn at(&self, place: usize) -> Value {
        match self {
            Self::List(values) => values.get(place).copied().unwrap_or(Value::Number(f64::NAN)),
            Self::Range { from, to, steps } => {
                let last = steps.unwrap_or(2).saturating_sub(1).max(1);
                Value::Number(decimal(from + (to - from) * place as f64 / last as f64))
            }
            _ => Value::Number(f64::NAN),
        }
    }

    /// The value below which a share of all values lies, the share in `[0, 1)`.
    pub fn quantile(&self, share: f64) -> Value {
        match *self {
            Self::List(ref values) => {
                self.at(((share * values.len() as f64) as usize).min(values.len().saturating_sub(1)))
            }
            Self::Range { from, to, .. } => Value::Number(from + (to - from) * share),
            Self::Normal { mean, sd } => {
                let standard = Normal::standard();
                let tail = standard.cdf(-CUT_SD);
                let z = standard.inverse_cdf(tail + share * (1.0 - 2.0 * tail));
                Value::Number(mean + sd * z.clamp(-CUT_SD, CUT_SD))
            }
            Self::Triangular { from, mode, to } => {
                let rise = (mode - from) / (to - from);
                Value::Number(if share < rise {
                    from + (share * (to - from) * (mode - from)).sqrt()
                } else {
                    to - ((1.0 - share) * (to - from) * (to - mode)).sqrt()
                })
            }
            Self::Step(_) => Value::Number(f64::NAN),
        }
    }

    /// Least and greatest number there can be.
    pub fn ends(&self) -> Option<(f64, f64)> {
        match *self {
            Self::List(ref values) => {
                let numbers = values.iter().filter_map(|v| match v {
                    Value::Number(v) => Some(*v),
                    Value::Level(_) => None,
                });
                numbers.fold(None, |e: Option<(f64, f64)>, v| {
                    e.map_or(Some((v, v)), |(l, h)| Some((l.min(v), h.max(v))))
                })
            }
            Self::Range { from, to, .. } | Self::Triangular { from, to, .. } => {
                Some((from.min(to), from.max(to)))
            }
            Self::Normal { mean, sd } => Some((mean - CUT_SD * sd, mean + CUT_SD * sd)),
            Self::Step(_) => None,
        }
    }
}

/// The nearest number with twelve digits: 0.1 + 0.2 is 0.3 to whoever typed it.
fn decimal(v: f64) -> f64 {
    format!("{v:.11e}").parse().unwrap_or(v)
}

/// An axis of a study.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// What is varied.
    pub quantity: Quantity,
    /// Over which values.
    pub levels: Levels,
}

impl Axis {
    /// Name with unit, for a picture: the last part of the key, words parted by blanks.
    pub fn label(&self) -> String {
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

    #[test]
    fn exact_values_of_a_range_are_as_typed() {
        let range = Levels::Range { from: 0.5, to: 1.0, steps: Some(6) };
        let values: Vec<f64> = (0..6).map(|i| range.at(i).number()).collect();
        assert_eq!(values, [0.5, 0.6, 0.7, 0.8, 0.9, 1.0]);
        assert_eq!(range.quantile(0.5), Value::Number(0.75));
    }

    #[test]
    fn exact_quantiles_of_distributions() {
        let normal = Levels::Normal { mean: 10.0, sd: 2.0 };
        assert_eq!(normal.quantile(0.5).number(), 10.0);
        assert_eq!(normal.quantile(0.0).number(), 4.0);
        // standard normal tail at one: 0.15866 (tables); the cut takes 0.00135 off either side
        let one = (0.841344746068543 - 0.001349898031630) / (1.0 - 2.0 * 0.001349898031630);
        // statrs inverts to about eleven digits
        assert!((normal.quantile(one).number() - 12.0).abs() < 1e-9);
        let triangle = Levels::Triangular { from: 0.0, mode: 1.0, to: 4.0 };
        // area below the mode: height 2/4, half of 1 times it
        assert_eq!(triangle.quantile(0.25).number(), 1.0);
        assert_eq!((triangle.quantile(0.0).number(), triangle.ends()), (0.0, Some((0.0, 4.0))));
        let levels = Levels::List(vec![Value::Level(1), Value::Level(3)]);
        assert_eq!((levels.quantile(0.49), levels.quantile(0.51)), (Value::Level(1), Value::Level(3)));
    }
}
