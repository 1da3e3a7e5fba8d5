//! How the regularisation grows after a failure and falls after a success.
//!
//! *Source*: Tassa, Erez, Todorov, IROS 2012, section II.F (factors that grow with
//! every step in the same direction).

use super::backward::Weights;
use super::settings::Settings;

const FACTOR: f64 = 2.0; // source as above: 2

pub(crate) struct Regularisation {
    value: f64,
    factor: f64,
    least: f64,
    greatest: f64,
    control_share: f64,
}

impl Regularisation {
    pub(crate) fn new(settings: &Settings) -> Self {
        Regularisation {
            value: settings.regularisation,
            factor: 1.0,
            least: settings.regularisation_least,
            greatest: settings.regularisation_greatest,
            control_share: settings.control_share,
        }
    }

    pub(crate) fn value(&self) -> f64 {
        self.value
    }

    pub(crate) fn weights(&self) -> Weights {
        Weights { state: self.value, control: self.value * self.control_share }
    }

    /// False if it is at its greatest already.
    pub(crate) fn raise(&mut self) -> bool {
        if self.value >= self.greatest {
            return false;
        }
        self.factor = (self.factor * FACTOR).max(FACTOR);
        self.value = (self.value * self.factor).max(self.least).max(f64::MIN_POSITIVE).min(self.greatest);
        true
    }

    pub(crate) fn lower(&mut self) {
        self.factor = (self.factor / FACTOR).min(1.0 / FACTOR);
        self.value *= self.factor;
        if self.value < self.least {
            self.value = 0.0;
        }
    }
}
