//! What nobody has measured: unknown numbers, sampled over honest ranges.
//!
//! A sample is a value for every unknown. It hangs on the seed and its number alone (scrambled Sobol points), so that
//! samples can be made in any order and a table can be gone on with. `tried` tries one against what is published and
//! practised, from the cheapest test to the dearest, and stops at the first miss; `bounds` says what is asked.
//! The samples that miss nothing are the *plausible set*. It says what cannot be ruled out, not what is true: the
//! ranges are assumed, and nothing is weighed by how well it meets a test.

pub mod at_home;
pub mod bands;
pub mod bounds;
pub mod calibrated;
pub mod chosen;
pub mod keyed;
pub mod points;
pub mod table;
pub mod tried;

use crate::study::levels::Levels;
use ice_contact::hardness::ice_hardness_pa;
use numerics::points::ScrambledSobol;
use sled_dynamics::laws::on_runners::bending_stress_pa;
use sled_dynamics::riding::errors_of_ride::Skill;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::checks::misfits;
use sled_dynamics::setup::key::Source;
use sled_dynamics::setup::keys::set;

/// What an unknown is put into.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Target {
    /// The key of a set-up that has the name of the unknown.
    Key,
    /// The balance point, as a shift ahead of what the set-up says, in mm.
    BalanceShift,
    /// The hardness of the ice, as a factor on what the set-up says or the temperature gives.
    HardnessFactor,
    /// The yaw moment that disturbs an athlete of any level, as a factor.
    DisturbanceFactor,
    /// Errors of timing, amount, line and sight of any level, as a factor on all of them.
    ErrorFactor,
}

/// How values are spread over a range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spread {
    /// Evenly.
    Even,
    /// Evenly in the logarithm, where only the order of size is known.
    ByRatio,
}

/// A number that nobody has measured.
#[derive(Debug)]
pub struct Unknown {
    /// Column and, for `Target::Key`, key with its unit.
    pub name: &'static str,
    /// What it is put into.
    pub(crate) target: Target,
    /// Least, in the unit of the name.
    pub(crate) low: f64,
    /// Greatest, likewise.
    pub(crate) high: f64,
    /// How values lie between.
    pub(crate) spread: Spread,
    /// Where the range is from.
    pub source: Source,
}

macro_rules! unknown {
    ($name:literal, $target:ident, $low:literal, $high:literal, $spread:ident, $source:expr) => {
        Unknown {
            name: $name,
            target: Target::$target,
            low: $low,
            high: $high,
            spread: Spread::$spread,
            source: $source,
        }
    };
}

use Source::{Assumed, Published};

/// Every unknown. All ranges are assumed but that of the hardness.
#[rustfmt::skip]
pub static UNKNOWNS: [Unknown; 17] = [
    unknown!("runners.groove_edge_radius_mm", Key, 0.15, 0.6, ByRatio, Assumed), // sharp and worn edges
    unknown!("runners.groove_width_mm", Key, 0.6, 2.0, ByRatio, Assumed), // narrow and wide grooves
    unknown!("runners.roughness_um", Key, 0.15, 0.6, ByRatio, Assumed), // race polish and a worn one, with the ice
    unknown!("runners.boundary_friction", Key, 0.02, 0.1, ByRatio, Assumed), // steel on ice where no water parts them
    unknown!("runners.tip_radius_mm", Key, 500.0, 2000.0, ByRatio, Assumed), // sweep of the tips
    unknown!("ice.hardness_factor", HardnessFactor, 0.7, 1.3, Even,
        Published("Poirier, Lozowski, Thompson, Cold Reg. Sci. Technol. 67 (2011) 129: known to about 30 %")), // factor on the hardness from the temperature
    unknown!("ice.recovered_share", Key, 0.0, 0.5, Even, Assumed), // none, to half of the ploughing given back
    unknown!("ice.unevenness_um", Key, 10.0, 60.0, ByRatio, Assumed), // well planed and rough ice
    unknown!("ice.wave_mm", Key, 50.0, 200.0, ByRatio, Assumed), // crest to crest
    unknown!("ice.grip_factor", Key, 0.5, 1.5, Even, Assumed), // the law of the grip is derived, never measured
    unknown!("ice.shaking_n", Key, 0.0, 8.0, Even, Assumed), // smooth and rough tracks, at 30 m/s
    unknown!("sled.balance_shift_mm", BalanceShift, -20.0, 20.0, Even, Assumed), // 5 mm of a dowel, posture, pitching by the air
    unknown!("sled.torsional_stiffness_n_m_per_rad", Key, 200.0, 400.0, Even, Assumed), // a full press twists it by 9-17 deg
    unknown!("air.yaw_moment_n_m_per_deg", Key, 0.0, 1.2, Even, Assumed), // none, to what a slender body would feel
    unknown!("skill.disturbance_factor", DisturbanceFactor, 0.5, 3.0, ByRatio, Assumed), // on the yaw moment of each level
    unknown!("skill.error_factor", ErrorFactor, 0.6, 2.0, ByRatio, Assumed), // on timing, amount, line and sight of each level
    unknown!("air.drag_area_m2", Key, 0.045, 0.07, Even, Assumed), // small and large athletes, lying
];

/// A value for every unknown, in their order and units.
#[derive(Clone, Debug, PartialEq)]
pub struct Sample(pub Vec<f64>);

impl Unknown {
    /// The value below which a share of all values lies, to four digits; the share in `[0, 1)`.
    pub(crate) fn at(&self, share: f64) -> f64 {
        let (from, to) = match self.spread {
            Spread::Even => (self.low, self.high),
            Spread::ByRatio => (libm::log(self.low), libm::log(self.high)),
        };
        let value = Levels::Range { from, to, steps: None }.quantile(share).number();
        let value = if self.spread == Spread::ByRatio { libm::exp(value) } else { value };
        // as it stands in a table
        format!("{value:.3e}").parse::<f64>().unwrap_or(value).clamp(self.low, self.high)
    }
}

impl Unknown {
    /// Puts a value into a set-up; one of skill changes nothing there. In words, why it does not fit.
    pub(crate) fn put(&self, setup: &mut Setup, value: f64) -> Result<(), String> {
        match self.target {
            Target::Key => {
                set(setup, self.name, value).map_err(|f| format!("{}: {}", f.key(), f.problem))?;
            }
            Target::BalanceShift => setup.sled.balance_point_m += 1e-3 * value,
            Target::HardnessFactor => {
                let ice = &mut setup.ice;
                let as_set_pa = ice.hardness_pa.unwrap_or_else(|| ice_hardness_pa(ice.temperature_c));
                ice.hardness_pa = Some(as_set_pa * value);
            }
            Target::DisturbanceFactor | Target::ErrorFactor => {}
        }
        Ok(())
    }

    /// A level of skill with a value of this number; the same where it is none of skill.
    pub(crate) fn skilled(&self, value: f64, level: &Skill) -> Skill {
        match self.target {
            Target::DisturbanceFactor => Skill { disturbance_n_m: value * level.disturbance_n_m, ..*level },
            Target::ErrorFactor => with_errors(value, level),
            _ => *level,
        }
    }
}

/// A level of skill with a factor on its errors of timing, amount, line and sight: `skill.error_factor`.
pub fn with_errors(factor: f64, level: &Skill) -> Skill {
    Skill {
        timing_s: factor * level.timing_s,
        amount: factor * level.amount,
        aim_m: factor * level.aim_m,
        sight_m: factor * level.sight_m,
        sight_rad: factor * level.sight_rad,
        ..*level
    }
}

impl Sample {
    /// The sample of a number.
    pub(crate) fn of(seed: u64, number: usize) -> Sample {
        let point = ScrambledSobol { seed }.point(number, UNKNOWNS.len());
        Sample(UNKNOWNS.iter().zip(point).map(|(unknown, share)| unknown.at(share)).collect())
    }

    /// A set-up with these numbers; in words, why there is none.
    pub(crate) fn on(&self, base: &Setup) -> Result<Setup, String> {
        let mut setup = base.clone();
        for (unknown, value) in UNKNOWNS.iter().zip(&self.0) {
            unknown.put(&mut setup, *value)?;
        }
        match misfits(&setup, Some(&bending_stress_pa)).first() {
            Some(misfit) => Err(format!("{}: {}", misfit.key, misfit.problem)),
            None => Ok(setup),
        }
    }

    /// A level of skill with these numbers.
    pub(crate) fn skilled(&self, level: &Skill) -> Skill {
        UNKNOWNS.iter().zip(&self.0).fold(*level, |skill, (unknown, value)| unknown.skilled(*value, &skill))
    }
}

#[cfg(test)]
mod tests;
