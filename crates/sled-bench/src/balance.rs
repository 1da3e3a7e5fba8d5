//! Where the sled balances on a dowel, and how much ballast fits under a mass limit.

use crate::faults::NumberFault;

/// A mass and where it sits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mass {
    /// Mass (kg).
    pub mass_kg: f64,
    /// Place along the sled, forward positive (m).
    pub position_m: f64,
}

/// Statics of the loaded sled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance {
    /// All masses (kg).
    pub mass_kg: f64,
    /// Where a dowel under the sled carries it level (m).
    pub balance_point_m: f64,
    /// Share of the load on the front support `[-]`; outside 0..1 the sled tips over a support.
    pub front_share: f64,
}

/// Balance point and load share.
///
/// ```text
/// x_b = sum(m x) / sum(m)        front share = (x_b - x_rear) / (x_front - x_rear)
/// ```
///
/// Valid for: a level sled at rest. Source: statics of a beam on two supports.
/// Checked by: `exact_balance_by_hand`.
pub fn balance(masses: &[Mass], front_m: f64, rear_m: f64) -> Result<Balance, Vec<NumberFault>> {
    let mut found = Vec::new();
    for mass in masses {
        NumberFault::check(&mut found, "mass_kg", mass.mass_kg, 0.0, 500.0);
        NumberFault::check(&mut found, "position_m", mass.position_m, -3.0, 3.0);
    }
    NumberFault::check(&mut found, "rear_m", rear_m, -3.0, 3.0);
    NumberFault::check(&mut found, "front_m", front_m, rear_m + 0.01, 3.0);
    let mass_kg: f64 = masses.iter().map(|m| m.mass_kg).sum();
    NumberFault::check(&mut found, "sum of mass_kg", mass_kg, 1e-3, 1000.0);
    if !found.is_empty() {
        return Err(found);
    }
    let balance_point_m = masses.iter().map(|m| m.mass_kg * m.position_m).sum::<f64>() / mass_kg;
    let front_share = (balance_point_m - rear_m) / (front_m - rear_m);
    Ok(Balance { mass_kg, balance_point_m, front_share })
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

    #[test]
    fn exact_balance_by_hand() {
        let masses = [Mass { mass_kg: 30.0, position_m: -0.1 }, Mass { mass_kg: 70.0, position_m: 0.05 }];
        let got = balance(&masses, 0.36, -0.36).expect("in range");
        // (-3 + 3.5) / 100 = 0.005; (0.005 + 0.36) / 0.72; rounding
        approx::assert_abs_diff_eq!(got.balance_point_m, 0.005, epsilon = 1e-9);
        approx::assert_abs_diff_eq!(got.front_share, 0.365 / 0.72, epsilon = 1e-9);
        approx::assert_abs_diff_eq!(ballast_to_limit_kg(100.0, 110.0, 0.5), 9.5, epsilon = 1e-9);
        // 10 kg at x: (0.5 + 10 x) / 110 = 0.01, so x = 0.06
        let place = ballast_position_m(&got, 10.0, 0.01).expect("ballast above 0");
        approx::assert_abs_diff_eq!(place, 0.06, epsilon = 1e-9);
        assert_eq!(ballast_position_m(&got, 0.0, 0.01), None);
    }

    #[test]
    fn exact_balance_faults_come_together() {
        let found = balance(&[Mass { mass_kg: -1.0, position_m: 9.0 }], 0.0, 0.0).expect_err("bad");
        let fields: Vec<_> = found.iter().map(|f| f.field).collect();
        assert_eq!(fields, ["mass_kg", "position_m", "front_m", "sum of mass_kg"]);
    }
}
