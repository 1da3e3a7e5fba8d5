//! What is wrong with a number: the field, what was given, what is allowed.

/// A number outside its limits.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{field} is {got}; allowed {least} to {greatest}")]
pub struct NumberFault {
    /// The field.
    pub(crate) field: &'static str,
    /// What was given.
    pub(crate) got: f64,
    /// Least allowed value.
    pub(crate) least: f64,
    /// Greatest allowed value.
    pub(crate) greatest: f64,
}

impl NumberFault {
    pub(crate) fn check(found: &mut Vec<Self>, field: &'static str, got: f64, least: f64, greatest: f64) {
        if !(least <= got && got <= greatest) {
            found.push(NumberFault { field, got, least, greatest });
        }
    }
}
