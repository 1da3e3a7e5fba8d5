//! What ice and air do to the time: the planned ride of a set-up, ridden on other ice and in other air.
//!
//! *Valid for* changes that a planned ride survives. *Assumes* that the athlete keeps the plan, and that the state of
//! the ice is told by the temperature of its surface alone: frost, water and wear are not known.
//! *Source*: the laws of air, film and hardness; slopes by differences. *Checked by*
//! `exact_slope_between_neighbours`, `cli_weather_by_the_command_and_by_set`.

use crate::rides::prepared::{Attempt, CaseError, Prepared, Ready};
use rayon::prelude::*;
use sled_dynamics::laws::on_runners::runner_tables;
use sled_dynamics::motion::pilot::Steering;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys::{get, set};

/// A key of the weather, its step and what the step is called.
pub const AIR: [(&str, f64, &str); 3] = [
    ("air.temperature_c", 5.0, "5 K warmer air"),
    ("air.pressure_hpa", 10.0, "10 hPa more pressure"),
    ("air.humidity_percent", 10.0, "10 % more humidity"),
];

/// A time on other ice or in other air, less that of the set-up.
#[derive(Clone, Debug, PartialEq)]
pub struct Changed {
    /// The key that is changed.
    pub key: &'static str,
    /// Its value, in the key's unit.
    pub value: f64,
    /// Time (s) less that of the set-up; none where the ride is lost.
    pub less_base_s: Option<f64>,
    /// Numerical error of both times (s).
    pub error_s: f64,
}

/// What the weather does.
#[derive(Clone, Debug, PartialEq)]
pub struct Weather {
    /// Planned time of the set-up as it is (s), and its numerical error (s).
    pub base_s: [f64; 2],
    /// Ice of other temperatures, in the order asked for.
    pub ice: Vec<Changed>,
    /// One step up and one down of each of [`AIR`]; none where a key does not bear the step.
    pub air: Vec<[Option<Changed>; 2]>,
}

/// The planned ride as the set-up is, and the same ride with a key changed.
pub(crate) struct Base<'p, 'a> {
    prepared: &'p Prepared<'a>,
    time_s: f64,
    error_s: f64,
}

impl<'p, 'a> Base<'p, 'a> {
    /// Rides the plan.
    pub(crate) fn new(prepared: &'p Prepared<'a>) -> Result<Base<'p, 'a>, CaseError> {
        let base = prepared.descent(&Attempt::perfect(), Precision::default(), Detail::Times);
        let time_s = base.finish_time_s.ok_or_else(|| CaseError::Plan("the planned ride is lost".into()))?;
        Ok(Base { prepared, time_s, error_s: base.numerical_error_s })
    }

    /// The value of a key of [`AIR`], in its unit; a pressure that nobody states is the usual one at the altitude.
    pub(crate) fn air_now(&self, key: &str) -> f64 {
        let ready = &self.prepared.ready;
        let usual = || ready.setup.air.pressure_at_pa(ready.track.data.altitude_m) * 1e-2;
        get(ready.setup, key).unwrap_or_else(usual)
    }

    /// Rides with a key changed; none where the key does not bear the value.
    pub(crate) fn changed(
        &self,
        key: &'static str,
        value: f64,
        same_ice: bool,
    ) -> Result<Option<Changed>, CaseError> {
        let prepared = self.prepared;
        let mut other: Setup = prepared.ready.setup.clone();
        if set(&mut other, key, value).is_err() {
            return Ok(None);
        }
        // the push stays as it is: its speed, not its time
        let launch = prepared.ready.launch;
        let own = if same_ice {
            prepared.ready.ice.tables()
        } else {
            runner_tables(&other).map_err(CaseError::Runner)?
        };
        let ready = Ready { launch, ..Ready::on(prepared.ready.track, &other, own)? };
        let ridden = Prepared::new(ready, prepared.planned.clone(), prepared.ride.lag_s())?;
        let d = ridden.descent(&Attempt::perfect(), Precision::default(), Detail::Times);
        Ok(Some(Changed {
            key,
            value,
            less_base_s: d.finish_time_s.map(|t| t - self.time_s),
            error_s: d.numerical_error_s + self.error_s,
        }))
    }
}

/// Rides the plan on other ice and in other air.
pub fn weather(prepared: &Prepared<'_>, ice_c: &[f64]) -> Result<Weather, CaseError> {
    let base = Base::new(prepared)?;
    let ice: Vec<_> =
        ice_c.par_iter().map(|c| base.changed("ice.temperature_c", *c, false)).collect::<Result<_, _>>()?;
    let air = AIR
        .into_iter()
        .map(|(key, step, _)| {
            let now = base.air_now(key);
            Ok([base.changed(key, now + step, true)?, base.changed(key, now - step, true)?])
        })
        .collect::<Result<_, CaseError>>()?;
    Ok(Weather { base_s: [base.time_s, base.error_s], ice: ice.into_iter().flatten().collect(), air })
}

impl Weather {
    /// Change of time for one kelvin of warmer ice (s/K) at a temperature, from the neighbours that were ridden on either
    /// side of it; none at the ends and where a ride is lost.
    pub fn per_kelvin_s(&self, ice_c: f64) -> Option<f64> {
        let mut rows: Vec<_> = self.ice.iter().filter_map(|c| Some((c.value, c.less_base_s?))).collect();
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        let after = rows.iter().position(|r| r.0 > ice_c)?;
        let before = rows.iter().rposition(|r| r.0 < ice_c)?;
        Some((rows[after].1 - rows[before].1) / (rows[after].0 - rows[before].0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_slope_between_neighbours() {
        let row = |value: f64, s: f64| Changed {
            key: "ice.temperature_c",
            value,
            less_base_s: Some(s),
            error_s: 0.0,
        };
        let w = Weather { base_s: [55.0, 0.0], ice: vec![row(-4.0, 0.2), row(-8.0, 0.0)], air: vec![] };
        // by hand: 0.2 s over 4 K
        assert!((w.per_kelvin_s(-5.0).unwrap() - 0.05).abs() < 1e-15);
        assert_eq!((w.per_kelvin_s(-9.0), w.per_kelvin_s(-4.0)), (None, None));
    }
}
