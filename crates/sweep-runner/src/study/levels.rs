//! How the values of an axis lie: a list, a range, a distribution, a step.

use sled_dynamics::riding::errors_of_ride::SKILLS;
use statrs::distribution::{ContinuousCDF, Normal};
use std::fmt;

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
pub(crate) enum Levels {
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
pub(crate) const CUT_SD: f64 = 3.0;

impl Levels {
    /// Number of values on a grid; none for a distribution.
    pub(crate) fn grid_length(&self) -> Option<usize> {
        match self {
            Self::List(values) => Some(values.len()),
            Self::Range { steps, .. } => *steps,
            _ => None,
        }
    }

    /// The step, where there is one.
    pub(crate) fn step(&self) -> Option<f64> {
        if let Self::Step(step) = self { Some(*step) } else { None }
    }

    /// A value of the grid.
    pub(crate) fn at(&self, place: usize) -> Value {
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
    pub(crate) fn quantile(&self, share: f64) -> Value {
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
    pub(crate) fn ends(&self) -> Option<(f64, f64)> {
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

#[cfg(test)]
mod tests {
    use super::*;

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
