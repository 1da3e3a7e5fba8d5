//! What air that is not as forecast does to the expected time: the planned ride of the advised set-up, in other air.
//!
//! *Valid for* air that the planned ride survives. *Assumes* that the athlete keeps the plan; together, that temperature,
//! humidity and pressure miss their forecasts independently of each other. *Source*: as [`crate::rides::weather`];
//! errors that are independent add by squares. *Checked by* `exact_air_together_adds_by_squares`,
//! `cli_the_air_of_an_evening_is_that_of_weather`.

use crate::rides::prepared::{CaseError, Prepared};
use crate::rides::weather::{Base, Changed};

/// A number of the air, at both ends of its spread.
#[derive(Clone, Debug, PartialEq)]
pub struct OtherAir {
    /// Key of the set-up.
    pub key: &'static str,
    /// Less and more than the forecast; none where the key does not bear it.
    pub ends: [Option<Changed>; 2],
}

/// Rides the plan at both ends of each spread; no humidity below 0 or above 100 %.
pub(crate) fn other_air(
    prepared: &Prepared<'_>,
    spreads: &[(&'static str, f64)],
) -> Result<Vec<OtherAir>, CaseError> {
    if spreads.is_empty() {
        return Ok(vec![]);
    }
    let base = Base::new(prepared)?;
    let end = |key: &'static str, value: f64| {
        let value = if key == "air.humidity_percent" { value.clamp(0.0, 100.0) } else { value };
        base.changed(key, value, true)
    };
    let both = |(key, spread): &(&'static str, f64)| {
        let now = base.air_now(key);
        Ok(OtherAir { key, ends: [end(key, now - spread)?, end(key, now + spread)?] })
    };
    spreads.iter().map(both).collect()
}

/// What all of them may do together (s), either way; none where an end is lost or not allowed.
pub fn together_s(all: &[OtherAir]) -> Option<f64> {
    let half = |air: &OtherAir| {
        let [less, more] = air.ends.each_ref().map(|e| e.as_ref().and_then(|c| c.less_base_s));
        Some(0.5 * (more? - less?))
    };
    all.iter().map(half).try_fold(0.0, |sum, h| Some(sum + h? * h?)).map(f64::sqrt)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_air_together_adds_by_squares() {
        let end = |s: Option<f64>| {
            Some(Changed { key: "air.pressure_hpa", value: 900.0, less_base_s: s, error_s: 0.0 })
        };
        let air = |less, more| OtherAir { key: "air.pressure_hpa", ends: [end(less), end(more)] };
        // halves of 0.03 and 0.04 s, one each way: 0.05 s
        let all = [air(Some(-0.02), Some(0.04)), air(Some(0.05), Some(-0.03))];
        assert!((together_s(&all).unwrap() - 0.05).abs() < 1e-15);
        assert_eq!(together_s(&[air(Some(-0.02), Some(0.04)), air(None, Some(0.0))]), None);
    }
}
