//! Where the sled balances on a dowel, and how much ballast fits under a mass limit.

use crate::faults::NumberFault;

/// A mass and where it sits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mass {
    /// Mass (kg).
    pub mass_kg: f64,
    /// Place along the sled, forward positive (m).
    pub position_m: f64,
    /// Place across the sled, to the left positive (m).
    pub aside_m: f64,
}

/// Where the sled stands: scales under these places.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Supports {
    /// Front support (m).
    pub front_m: f64,
    /// Rear support (m).
    pub rear_m: f64,
    /// Distance between left and right support (m).
    pub gauge_m: f64,
}

/// Statics of the loaded sled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance {
    /// All masses (kg).
    pub mass_kg: f64,
    /// Where a dowel under the sled carries it level (m).
    pub balance_point_m: f64,
    /// The same across, to the left positive (m).
    pub(crate) aside_m: f64,
    /// Share of the load on the front support `[-]`; outside 0..1 the sled tips over a support.
    pub front_share: f64,
    /// Share of the load on the left support `[-]`.
    pub left_share: f64,
}

/// Balance point and load share.
///
/// ```text
/// x_b = sum(m x) / sum(m)        front share = (x_b - x_rear) / (x_front - x_rear)
/// y_b = sum(m y) / sum(m)        left share = 1/2 + y_b / gauge
/// ```
///
/// | symbol | name | unit |
/// |---|---|---|
/// | m | `mass_kg` | kg |
/// | x, y | `position_m`, `aside_m` | m |
/// | x_b, y_b | `balance_point_m`, `aside_m` | m |
///
/// Valid for: a level sled at rest. Assumes: nothing. Source: statics of a beam on two supports.
/// Checked by: `exact_balance_by_hand`.
pub fn balance(masses: &[Mass], on: &Supports) -> Result<Balance, Vec<NumberFault>> {
    let mut found = Vec::new();
    for mass in masses {
        NumberFault::check(&mut found, "mass_kg", mass.mass_kg, 0.0, 500.0);
        NumberFault::check(&mut found, "position_m", mass.position_m, -3.0, 3.0);
        NumberFault::check(&mut found, "aside_m", mass.aside_m, -1.0, 1.0);
    }
    NumberFault::check(&mut found, "rear_m", on.rear_m, -3.0, 3.0);
    NumberFault::check(&mut found, "front_m", on.front_m, on.rear_m + 0.01, 3.0);
    NumberFault::check(&mut found, "gauge_m", on.gauge_m, 0.01, 3.0);
    let mass_kg: f64 = masses.iter().map(|m| m.mass_kg).sum();
    NumberFault::check(&mut found, "sum of mass_kg", mass_kg, 1e-3, 1000.0);
    if !found.is_empty() {
        return Err(found);
    }
    let mean = |of: &dyn Fn(&Mass) -> f64| masses.iter().map(|m| m.mass_kg * of(m)).sum::<f64>() / mass_kg;
    let (balance_point_m, aside_m) = (mean(&|m| m.position_m), mean(&|m| m.aside_m));
    let front_share = (balance_point_m - on.rear_m) / (on.front_m - on.rear_m);
    Ok(Balance { mass_kg, balance_point_m, aside_m, front_share, left_share: 0.5 + aside_m / on.gauge_m })
}

/// Ballast that may be added (kg); below 0 that much must come off.
///
/// `snow_margin_kg` is kept free for snow and water carried at the weighing.
pub fn ballast_to_limit_kg(mass_kg: f64, limit_kg: f64, snow_margin_kg: f64) -> f64 {
    limit_kg - snow_margin_kg - mass_kg
}

/// Where ballast of `ballast_kg` must sit to move the balance point to `wanted_m` (m).
pub fn ballast_position_m(now: &Balance, ballast_kg: f64, wanted_m: f64) -> Option<f64> {
    (ballast_kg > 0.0).then(|| wanted_m + now.mass_kg / ballast_kg * (wanted_m - now.balance_point_m))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mass(mass_kg: f64, position_m: f64, aside_m: f64) -> Mass {
        Mass { mass_kg, position_m, aside_m }
    }

    const PINS: Supports = Supports { front_m: 0.36, rear_m: -0.36, gauge_m: 0.36 };

    #[test]
    fn exact_balance_by_hand() {
        let got = balance(&[mass(30.0, -0.1, 0.0), mass(70.0, 0.05, 0.018)], &PINS).expect("in range");
        // (-3 + 3.5) / 100 = 0.005; (0.005 + 0.36) / 0.72; 1.26 / 100 = 0.0126; 1/2 + 0.0126 / 0.36 = 0.535
        approx::assert_abs_diff_eq!(got.balance_point_m, 0.005, epsilon = 1e-9);
        approx::assert_abs_diff_eq!(got.front_share, 0.365 / 0.72, epsilon = 1e-9);
        approx::assert_abs_diff_eq!(got.aside_m, 0.0126, epsilon = 1e-9);
        approx::assert_abs_diff_eq!(got.left_share, 0.535, epsilon = 1e-9);
        approx::assert_abs_diff_eq!(ballast_to_limit_kg(100.0, 110.0, 0.5), 9.5, epsilon = 1e-9);
        // 10 kg at x: (0.5 + 10 x) / 110 = 0.01, so x = 0.06
        let place = ballast_position_m(&got, 10.0, 0.01).expect("ballast above 0");
        approx::assert_abs_diff_eq!(place, 0.06, epsilon = 1e-9);
        assert_eq!(ballast_position_m(&got, 0.0, 0.01), None);
    }

    #[test]
    fn exact_balance_faults_come_together() {
        let on = Supports { front_m: 0.0, rear_m: 0.0, gauge_m: 0.0 };
        let found = balance(&[mass(-1.0, 9.0, 2.0)], &on).expect_err("bad");
        let fields: Vec<_> = found.iter().map(|f| f.field).collect();
        assert_eq!(fields, ["mass_kg", "position_m", "aside_m", "front_m", "gauge_m", "sum of mass_kg"]);
    }
}
