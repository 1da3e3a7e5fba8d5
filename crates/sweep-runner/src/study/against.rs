//! What the cases of a study are compared with.

use crate::rides::ensemble::Ensemble;

/// Why a case has no figures; in words.
pub(crate) type Reason = String;

/// Most references of one study.
pub(crate) const MOST_REFERENCES: usize = 32;

/// What the cases of a study are compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Against {
    /// Nothing: no rides with mistakes.
    Nothing,
    /// The base set-up in its own conditions.
    Base,
    /// The base set-up in the conditions of the case.
    BaseInConditions,
    /// The base set-up in its own conditions, though the cases have others: too many for a reference of each.
    BaseBeyondConditions,
}

impl Against {
    /// What must be said of it.
    pub(crate) fn warning(self) -> Option<String> {
        (self == Against::BaseBeyondConditions).then(|| {
            format!(
                "warning: the cases have more than {MOST_REFERENCES} conditions, too many to ride the base set-up in \
                 each; differences are against the base set-up in its own conditions, and hold what the conditions \
                 do, too"
            )
        })
    }

    /// In words.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Against::Nothing => "nothing",
            Against::Base => "the base set-up",
            Against::BaseInConditions => "the base set-up in the conditions of the case",
            Against::BaseBeyondConditions => "the base set-up in its own conditions, not those of the case",
        }
    }
}

/// Rides of the base set-up.
#[derive(Clone, Debug)]
pub(crate) struct Reference {
    /// In which conditions.
    pub(crate) conditions: Vec<u64>,
    /// Its rides, and the numerical error of its planned ride (s).
    pub(crate) made: Result<(Ensemble, f64), Reason>,
}
