//! The sprint at the start: speed tends to a top speed exponentially.

/// More steps than any start needs: each halves the error or better, and a double has 53 bits.
const MOST_STEPS: usize = 80;

/// The sprint along the line, from rest at station 0.
///
/// ```text
/// v(t) = v_inf (1 - exp(-t/tau))      s(t) = v_inf (t - tau (1 - exp(-t/tau)))
/// ```
///
/// | symbol | name | unit |
/// |---|---|---|
/// | `v_inf` | `top_speed_m_s` | m/s |
/// | tau | `time_constant_s` | s |
/// | t | `time_s` since the first step | s |
/// | s | `station_m` from the block | m |
///
/// *Valid for* a sprint without fatigue, up to about 6 s. *Assumes* the slope of the start is part of `v_inf`.
/// *Source*: mono-exponential sprint law, e.g. Samozino et al., Scand. J. Med. Sci. Sports 26 (2016) 648.
/// *Checked by* `exact_speed_and_station_at_tau_and_half_speed`, `exact_time_at_a_station`,
/// `order_near_the_block_the_acceleration_is_constant`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SprintLaw {
    /// The speed it tends to (m/s), greater than 0.
    pub top_speed_m_s: f64,
    /// Time constant (s), greater than 0.
    pub time_constant_s: f64,
}

impl SprintLaw {
    /// Speed after a time (m/s).
    pub(crate) fn speed_m_s(&self, time_s: f64) -> f64 {
        -self.top_speed_m_s * (-time_s / self.time_constant_s).exp_m1()
    }

    /// Time at a station (s). Not a number for a station behind the block.
    pub fn time_at_s(&self, station_m: f64) -> f64 {
        if station_m == 0.0 {
            return 0.0;
        }
        self.time_constant_s * reach_inverse(station_m / (self.top_speed_m_s * self.time_constant_s))
    }

    /// Speed at a station (m/s).
    pub fn speed_at_m_s(&self, station_m: f64) -> f64 {
        self.speed_m_s(self.time_at_s(station_m))
    }
}

/// `x - 1 + exp(-x)`: the way over `v_inf tau` after `x = t/tau`.
fn reach(x: f64) -> f64 {
    if x.abs() > 0.1 {
        return x + (-x).exp_m1();
    }
    // Taylor series, where the closed form loses digits; the next term is below 1e-17 of the first.
    let mut term = 0.5 * x * x;
    let mut sum = 0.0;
    for n in 3..14 {
        sum += term;
        term *= -x / f64::from(n);
    }
    sum
}

/// The `x >= 0` with `reach(x) = y`. Both bounds `x <= y + 1` and `x <= sqrt(2 y) + y` lie above the root of a convex
/// function, so Newton closes in from above.
fn reach_inverse(y: f64) -> f64 {
    if y < 0.0 {
        return f64::NAN;
    }
    let mut x = (y + 1.0).min((2.0 * y).sqrt() + y);
    for _ in 0..MOST_STEPS {
        let next = x - (reach(x) - y) / -(-x).exp_m1();
        if next >= x || !next.is_finite() {
            break;
        }
        x = next;
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{E, LN_2};

    const LAW: SprintLaw = SprintLaw { top_speed_m_s: 11.0, time_constant_s: 1.3 };

    #[test]
    fn exact_speed_and_station_at_tau_and_half_speed() {
        // Closed form: at t = tau, v = v_inf (1 - 1/e), s = v_inf tau / e; at tau ln 2, half speed. Rounding only.
        let station_m = |time_s: f64| 11.0 * 1.3 * reach(time_s / 1.3);
        assert!((LAW.speed_m_s(1.3) - 11.0 * (1.0 - 1.0 / E)).abs() < 1e-13);
        assert!((station_m(1.3) - 11.0 * 1.3 / E).abs() < 1e-13);
        assert!((LAW.speed_m_s(1.3 * LN_2) - 5.5).abs() < 1e-13);
        assert!((station_m(1.3 * LN_2) - 11.0 * 1.3 * (LN_2 - 0.5)).abs() < 1e-13);
    }

    #[test]
    fn exact_time_at_a_station() {
        // The same closed forms, backwards; rounding only.
        assert!((LAW.time_at_s(11.0 * 1.3 / E) - 1.3).abs() < 1e-13);
        assert!((LAW.time_at_s(11.0 * 1.3 * (LN_2 - 0.5)) - 1.3 * LN_2).abs() < 1e-13);
        assert!((LAW.speed_at_m_s(11.0 * 1.3 / E) - 11.0 * (1.0 - 1.0 / E)).abs() < 1e-13);
        assert_eq!(LAW.time_at_s(0.0), 0.0); // at the block
        // Far out the station is v_inf (t - tau): exp(-400/1.3) is 0 in a double.
        assert!((LAW.time_at_s(11.0 * 400.0) - 401.3).abs() < 1e-12 * 400.0);
    }

    #[test]
    fn order_near_the_block_the_acceleration_is_constant() {
        // s = a t^2/2 (1 - t/(3 tau) + ...), a = v_inf/tau: relative difference t/(3 tau), first order.
        let a = 11.0 / 1.3;
        for s in [1e-12, 1e-9, 1e-6_f64] {
            let plain = (2.0 * s / a).sqrt();
            let relative = LAW.time_at_s(s) / plain - 1.0;
            let expected = plain / (6.0 * 1.3); // half of t/(3 tau), since t goes with the root of s
            assert!((relative - expected).abs() < 1e-3 * expected + 1e-14, "{s}: {relative} {expected}");
        }
    }

    #[test]
    fn order_series_meets_closed_form() {
        // At x = 0.1 the closed form has lost 2.5 digits: 1e-16/0.005 = 2e-14 relative.
        let (below, above) = (reach(0.1), 0.1_f64 + (-0.1_f64).exp_m1());
        assert!((below / above - 1.0).abs() < 5e-14);
    }

    #[test]
    fn exact_nonsense_is_not_a_number_and_ends() {
        assert!(LAW.time_at_s(-1.0).is_nan());
    }
}
