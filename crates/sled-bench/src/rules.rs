//! Limits of the rules by season, and what a sled says to them.
//!
//! A limit is checked only where somebody read it in the rule book; any other is told with its source, and counts as
//! "not checked". What is not known, of the rules or of the sled, is "not checked" as well.

pub mod reading;

/// For whom a limit holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Class {
    /// Women.
    Women,
    /// Men.
    Men,
}

/// How well a limit is founded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Basis {
    /// Read in the rule book of the edition.
    LookedUp,
    /// Told by pages that are not the rule book.
    Secondary,
    /// From memory.
    FromMemory,
}

/// What a limit is about.
#[derive(Debug)]
pub(crate) struct LimitKey {
    /// Key in a file, with its unit.
    pub(crate) key: &'static str,
    /// What it is, in words.
    pub(crate) doc: &'static str,
    /// Unit.
    pub(crate) unit: &'static str,
    /// True for the most that is allowed, false for the least.
    pub(crate) is_most: bool,
    /// Least and greatest number that is believed of it.
    pub(crate) within: [f64; 2],
}

const fn limit(
    key: &'static str,
    doc: &'static str,
    unit: &'static str,
    is_most: bool,
    within: [f64; 2],
) -> LimitKey {
    LimitKey { key, doc, unit, is_most, within }
}

/// Number of limits.
pub(crate) const LIMITS: usize = 10;
/// Every limit, in the order in which they are told.
pub(crate) static KEYS: [LimitKey; LIMITS] = [
    limit("most_mass_kg", "mass of athlete and sled", "kg", true, [30.0, 300.0]),
    limit("most_sled_mass_kg", "mass of the sled with ballast", "kg", true, [5.0, 100.0]),
    limit("least_gauge_mm", "distance of the runners", "mm", false, [100.0, 1000.0]),
    limit("most_gauge_mm", "distance of the runners", "mm", true, [100.0, 1000.0]),
    limit("runner_diameter_mm", "diameter of the runners", "mm", true, [5.0, 50.0]),
    limit("least_length_mm", "length of the sled", "mm", false, [300.0, 3000.0]),
    limit("most_length_mm", "length of the sled", "mm", true, [300.0, 3000.0]),
    limit("least_height_mm", "height of the sled", "mm", false, [10.0, 1000.0]),
    limit("most_height_mm", "height of the sled", "mm", true, [10.0, 1000.0]),
    limit("most_runner_warmer_k", "runners warmer than the reference runner", "K", true, [0.0, 50.0]),
];

/// The limits of a season.
#[derive(Clone, Debug, PartialEq)]
pub struct Season {
    /// What it is called, such as 2026/27, or what it lies after.
    pub name: String,
    /// Edition of the rules.
    pub(crate) edition: String,
    /// Where the numbers are from.
    pub(crate) source: String,
    /// How well they are founded.
    pub(crate) basis: Basis,
    /// When somebody last looked through them.
    pub(crate) looked_through: String,
    /// Kept free below a mass limit for snow and water (kg).
    pub(crate) margin_kg: f64,
    /// Limits of women, in the order of [`KEYS`]; those of all stand in both.
    pub(crate) women: [Option<f64>; LIMITS],
    /// Limits of men.
    pub(crate) men: [Option<f64>; LIMITS],
}

/// What is known of a sled, each in the unit of its limit; in the order of [`KEYS`].
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Measured {
    /// Athlete, sled, ballast (kg).
    pub mass_kg: Option<f64>,
    /// Sled with ballast (kg).
    pub sled_mass_kg: Option<f64>,
    /// Between the middles of the runners (m).
    pub gauge_m: Option<f64>,
    /// Diameter of the runners (m).
    pub diameter_m: Option<f64>,
    /// Length of the sled (m).
    pub length_m: Option<f64>,
    /// Height of the sled (m).
    pub height_m: Option<f64>,
    /// Runners above the reference runner (K).
    pub runner_warmer_k: Option<f64>,
}

impl Measured {
    /// The number that a limit is about, in the unit of the limit.
    fn of(&self, limit: usize) -> Option<f64> {
        let mm = |m: Option<f64>| m.map(|m| 1e3 * m);
        match limit {
            0 => self.mass_kg,
            1 => self.sled_mass_kg,
            2 | 3 => mm(self.gauge_m),
            4 => mm(self.diameter_m),
            5 | 6 => mm(self.length_m),
            7 | 8 => mm(self.height_m),
            9 => self.runner_warmer_k,
            _ => None,
        }
    }
}

/// How a number stands to a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    /// Inside, with this margin in the unit of the limit.
    Inside(f64),
    /// Inside, but by less than is kept free for snow.
    TooNear(f64),
    /// Outside by this much.
    Outside(f64),
    /// The number is not known.
    NotMeasured,
    /// No limit is known.
    NoLimit,
}

impl Season {
    /// How a number stands to a limit.
    ///
    /// Checked by: `exact_verdicts_by_hand`.
    pub fn verdict(&self, class: Class, limit: usize, measured: &Measured) -> Verdict {
        let all = match class {
            Class::Women => &self.women,
            Class::Men => &self.men,
        };
        let Some(bound) = all.get(limit).copied().flatten() else { return Verdict::NoLimit };
        let Some(value) = measured.of(limit) else { return Verdict::NotMeasured };
        let key = &KEYS[limit];
        let margin = if key.is_most { bound - value } else { value - bound };
        let free = if key.unit == "kg" { self.margin_kg } else { 0.0 };
        // a hair beyond a bound is the rounding of a unit
        if margin < -1e-9 {
            Verdict::Outside(-margin)
        } else if margin < free {
            Verdict::TooNear(margin)
        } else {
            Verdict::Inside(margin)
        }
    }

    fn one(&self, class: Class, limit: usize, measured: &Measured) -> Option<String> {
        let bound = match class {
            Class::Women => self.women[limit],
            Class::Men => self.men[limit],
        }?;
        let (name, unit) = (class.words(), KEYS[limit].unit);
        let sure = self.basis == Basis::LookedUp;
        Some(match self.verdict(class, limit, measured) {
            Verdict::Inside(by) if sure => format!("inside {name}'s limit {bound} {unit} by {by:.1}"),
            Verdict::TooNear(by) if sure => {
                format!(
                    "too near {name}'s limit {bound} {unit}: {by:.1}, and {} are kept for snow",
                    self.margin_kg
                )
            }
            Verdict::Outside(by) if sure => format!("OUTSIDE {name}'s limit {bound} {unit} by {by:.1}"),
            Verdict::Inside(by) | Verdict::TooNear(by) => {
                format!("{bound} {unit} for {name}: {by:.1} inside")
            }
            Verdict::Outside(by) => format!("{bound} {unit} for {name}: {by:.1} OUTSIDE"),
            Verdict::NotMeasured | Verdict::NoLimit => return None,
        })
    }

    /// What is said of the two masses: the same words wherever masses are told. `None` for the class tells both.
    ///
    /// Checked by: `exact_masses_in_words`.
    pub fn mass_words(&self, class: Option<Class>, measured: &Measured) -> String {
        let each = [0, 1].map(|limit| self.mass_words_of(limit, class, measured));
        format!("{}; {}", each.join("; "), self.source_words())
    }

    /// One of the two masses: 0 athlete and sled, 1 the sled.
    pub fn mass_words_of(&self, limit: usize, class: Option<Class>, measured: &Measured) -> String {
        let what = KEYS[limit].doc;
        let Some(kg) = measured.of(limit) else { return format!("{what}: not known, not checked") };
        let classes = class.map_or(vec![Class::Women, Class::Men], |c| vec![c]);
        let told: Vec<String> = classes.into_iter().filter_map(|c| self.one(c, limit, measured)).collect();
        match (told.is_empty(), self.basis == Basis::LookedUp) {
            (true, _) => format!("{what} {kg:.1} kg: not checked"),
            (_, true) => format!("{what} {kg:.1} kg: {}", told.join("; ")),
            (_, false) => format!("{what} {kg:.1} kg: not checked (limit said to be {})", told.join("; ")),
        }
    }

    /// Where the numbers are from.
    pub(crate) fn source_words(&self) -> String {
        let basis = match self.basis {
            Basis::LookedUp => format!("looked up in {}", self.edition),
            Basis::Secondary => "secondary sources, not the rule book: look it up".into(),
            Basis::FromMemory => "from memory, not the rule book: look it up".into(),
        };
        format!("season {}, {basis}", self.name)
    }

    /// What is said of all that is not a mass: one line for what is checked, one for what is not.
    pub fn other_words(&self, class: Option<Class>, measured: &Measured) -> Vec<String> {
        let class = class.unwrap_or(Class::Women);
        let (mut checked, mut not): (Vec<String>, Vec<&str>) = (vec![], vec![]);
        for limit in 2..LIMITS {
            let key = &KEYS[limit];
            let sure = self.basis == Basis::LookedUp;
            let told = sure.then(|| self.one(class, limit, measured)).flatten();
            match told {
                Some(words) => {
                    let value = measured.of(limit).unwrap_or(f64::NAN);
                    // what holds for all is no limit of one class
                    let words = words.replace(&format!("{}'s ", class.words()), "the ");
                    checked.push(format!("{} {value:.1} {}: {words}", key.doc, key.unit));
                }
                None if !not.contains(&key.doc) => not.push(key.doc),
                None => {}
            }
        }
        not.retain(|doc| !checked.iter().any(|c| c.starts_with(doc)));
        if !not.is_empty() {
            checked.push(format!("not checked: {}", not.join(", ")));
        }
        checked
    }
}

impl Class {
    /// In words.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Class::Women => "women",
            Class::Men => "men",
        }
    }
}

#[cfg(test)]
mod tests;
