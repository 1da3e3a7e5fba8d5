//! The film of melt water under a runner, and what is left of dry contact in it.

mod flow;

use crate::lanes::{FARTHEST, half_erfc};
use crate::runner::IceState;
use flow::{Flow, Held, Thickness};

/// Viscosity of water at 0 degC (Pa s) [handbook].
pub(crate) const VISCOSITY_PA_S: f64 = 1.792e-3;
/// Density of water at 0 degC (kg/m3) [handbook].
const WATER_KG_M3: f64 = 999.8;
/// Latent heat of melting (J/kg) [handbook].
const LATENT_J_KG: f64 = 333.6e3;
/// Density of ice (kg/m3) [handbook].
const ICE_KG_M3: f64 = 917.0;
/// Change of the melting point with pressure (K/Pa) [handbook].
const MELTING_K_PA: f64 = -7.43e-8;
/// Conductivity of ice at 0, -10, -20 degC (W/(m K)) [handbook].
const CONDUCTIVITY: [f64; 3] = [2.14, 2.30, 2.40];
/// Heat capacity of ice at 0, -10, -20 degC (J/(kg K)) [handbook].
const CAPACITY: [f64; 3] = [2.11e3, 2.03e3, 1.96e3];

fn by_temperature(table: [f64; 3], temperature_c: f64) -> f64 {
    let t = (-temperature_c / 10.0).clamp(0.0, 2.0);
    if t < 1.0 { table[0] + t * (table[1] - table[0]) } else { table[1] + (t - 1.0) * (table[2] - table[1]) }
}

/// A strip of contact, from the front backwards; the square of its width is linear along it, as
/// under a round section whose depth is linear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Strip {
    /// Length along the runner (m).
    pub(crate) length_m: f64,
    /// Width of one contact at its front end (m).
    pub(crate) front_width_m: f64,
    /// The same at its rear end (m).
    pub(crate) rear_width_m: f64,
    /// Part of the ice that touches `[-]`: 1 on even ice.
    pub(crate) wet: f64,
    /// Equal contacts side by side: the groove has two.
    pub(crate) channels: f64,
    /// Part of the film that is left behind in troughs on a metre (1/m): 0 on even ice.
    pub(crate) loss_per_m: f64,
    /// Pressure over hardness `[-]`: 1 where the ice is cut.
    pub(crate) pressure_share: f64,
}

impl Strip {
    /// Even ice that is cut.
    #[cfg(test)]
    pub(crate) fn even(length_m: f64, front_width_m: f64, rear_width_m: f64) -> Strip {
        Strip {
            length_m,
            front_width_m,
            rear_width_m,
            wet: 1.0,
            channels: 1.0,
            loss_per_m: 0.0,
            pressure_share: 1.0,
        }
    }

    /// A length off the ice: nothing is sheared, the film only goes on.
    pub(crate) fn off_the_ice(length_m: f64) -> Strip {
        Strip {
            length_m,
            front_width_m: 0.0,
            rear_width_m: 0.0,
            wet: 0.0,
            channels: 1.0,
            loss_per_m: 0.0,
            pressure_share: 0.0,
        }
    }
}

/// Friction by a film of melt water, with the roughness that reaches through it.
///
/// ```text
/// dh/ds = K { [tau V - q_ice] / (rho_w L V) - (p - p_a) h^3 / (eta w^2 V) } - l h
/// tau   = (1 - A_r) eta V / h + mu_b p_a,   p_a = p A_r,   A_r = 0.5 erfc(h / (sigma sqrt 2))
/// q_ice = k_i (T_m - T) sqrt(V / (pi a_i s)),   T_m = -7.43e-8 H
/// start: h = c sqrt(s),  c = -K B + sqrt(K^2 B^2 + 2 K eta V / (rho_w L)),
///        B = k_i (T_m - T) / (rho_w L sqrt(pi a_i V))
/// ```
///
/// | symbol | name | unit |
/// |---|---|---|
/// | h | thickness of the film | m |
/// | s | distance behind the leading edge of the patch | m |
/// | V | `speed_m_s` | m/s |
/// | H | `hardness_pa` | Pa |
/// | p | pressure: H where the ice is cut, less where it melts away (`melt.rs`) | Pa |
/// | w | width of one contact of a [`Strip`] (the groove has two) | m |
/// | l | `loss_per_m`: film left behind in troughs | 1/m |
/// | sigma | `roughness_m` | m |
/// | mu_b | `boundary_friction` | - |
/// | K | `upwelling`: 2, shape factor of the cross-section of the film | - |
///
/// Valid for: ice at or below 0 degC, 1-45 m/s. Ice warmer than its melting point under pressure
/// takes no heat (q_ice is not negative).
/// Assumes: a linear velocity across the film; steel at the
/// melting point.
/// Source: balance of shear heating, conduction, melting and side outflow, derived here; same
/// physics as Oksanen and Keinonen, Phil. Mag. A 45 (1982). Material values: handbook tables.
/// Checked by: `exact_film_of_a_rigid_rod`, `exact_film_falls_with_load`,
/// `exact_rough_film_over_speed`, `order_film_error_falls_with_strips`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct MeltFilm {
    /// Hardness of the ice (Pa).
    pub(crate) hardness_pa: f64,
    /// RMS roughness of steel and ice together (m).
    pub(crate) roughness_m: f64,
    /// Friction of asperities `[-]`.
    pub(crate) boundary_friction: f64,
    /// Shape factor K `[-]`.
    pub(crate) upwelling: f64,
    /// k_i (T_m - T) / sqrt(pi a_i), not negative.
    chill: f64,
}

/// Greatest ratio of the ends of a step in distance behind the leading edge.
const RATIO: f64 = 1.8;
/// First step (m).
const FIRST_M: f64 = 1e-5;
/// Least film (m): a molecule or three.
const LEAST_M: f64 = 1e-9;
/// Below this share of the hardness the film parts, and is sheared over less and less of the length `[-]`. Assumed.
pub(crate) const PARTING: f64 = 0.1;
/// A film this many times as thick as the roughness clears it.
const CLEAR: f64 = 6.0;

impl MeltFilm {
    /// Film on `ice` under a surface of given roughness.
    pub(crate) fn new(ice: &IceState, roughness_m: f64, boundary_friction: f64) -> Self {
        let conductivity = by_temperature(CONDUCTIVITY, ice.temperature_c);
        let diffusivity = conductivity / (ICE_KG_M3 * by_temperature(CAPACITY, ice.temperature_c));
        let melting_c = MELTING_K_PA * ice.hardness_pa;
        let chill = conductivity * (melting_c - ice.temperature_c).max(0.0)
            / (std::f64::consts::PI * diffusivity).sqrt();
        MeltFilm { hardness_pa: ice.hardness_pa, roughness_m, boundary_friction, upwelling: 2.0, chill }
    }

    /// Heat that melts a volume of ice (J/m3).
    pub(crate) fn melting_j_m3(&self) -> f64 {
        ICE_KG_M3 * LATENT_J_KG
    }

    /// Heat that makes a volume of water from ice (J/m3).
    pub(crate) fn water_j_m3(&self) -> f64 {
        WATER_KG_M3 * LATENT_J_KG
    }

    /// k_i (T_m - T) / sqrt(pi a_i), not negative.
    pub(crate) fn chill(&self) -> f64 {
        self.chill
    }

    /// Part of the area where asperities touch `[-]`, for films `h` (m).
    ///
    /// ```text
    /// A_r = 0.5 erfc(h / (sigma sqrt 2)),  nothing from 6 sigma
    /// ```
    #[inline(never)]
    fn touching<const N: usize>(&self, film_m: &[f64; N]) -> [f64; N] {
        let end_m = CLEAR * self.roughness_m;
        if !film_m.iter().any(|&h| h < end_m) {
            return [0.0; N];
        }
        let per_m = std::f64::consts::FRAC_1_SQRT_2 / self.roughness_m;
        let mut share = half_erfc(&film_m.map(|h| (h * per_m).min(FARTHEST)));
        for (share, &h) in share.iter_mut().zip(film_m) {
            *share = if h < end_m { *share } else { 0.0 };
        }
        share
    }

    /// Friction forces (N) along a runner, from its leading edge backwards, at several speeds.
    pub(crate) fn forces_n<const N: usize>(
        &self,
        speeds_m_s: [f64; N],
        strips: impl IntoIterator<Item = Strip>,
    ) -> [f64; N] {
        let flow = Flow::new(self, speeds_m_s);
        let (mut s, mut film, mut force) = (0.0, Thickness::NONE, [0.0; N]);
        for strip in strips {
            if strip.length_m.is_nan() || strip.length_m <= 0.0 {
                continue;
            }
            if strip.wet == 0.0 {
                film.lose((1.0 - strip.loss_per_m * strip.length_m).max(0.0));
                continue;
            }
            if strip.front_width_m + strip.rear_width_m <= 0.0 {
                continue;
            }
            // where hardly anything presses, the film parts: little is sheared, and little melts
            let pressed = (strip.pressure_share / PARTING).min(1.0);
            if pressed <= 0.0 {
                continue;
            }
            let (begin, end) = (s, s + strip.length_m * pressed);
            let front = strip.front_width_m * strip.front_width_m;
            let rise = (strip.rear_width_m * strip.rear_width_m - front) / (end - begin);
            let held =
                Held { pressure_pa: strip.pressure_share * self.hardness_pa, loss_per_m: strip.loss_per_m };
            while s < end {
                let reach = (RATIO * s).max(FIRST_M);
                let next = if reach < 0.7 * (end - s) + s { reach } else { end };
                let square = front + rise * (0.5 * (s + next) - begin);
                let width = square.max(0.0).sqrt();
                let stress_m = flow.step(s, next, &mut film, width.max(LEAST_M), held);
                for (force, stress_m) in force.iter_mut().zip(stress_m) {
                    *force += stress_m * width * strip.wet * strip.channels;
                }
                s = next;
            }
        }
        force
    }
}

/// Film friction coefficient of a smooth film in balance under an elliptic contact `[-]`.
///
/// ```text
/// mu_v = 1.1128 sqrt(eta V / 2b) (rho_w L)^(1/4) / H^(3/4)
/// ```
///
/// | symbol | name | unit |
/// |---|---|---|
/// | V | `speed_m_s` | m/s |
/// | b | `half_width_m` | m |
/// | H | `hardness_pa` | Pa |
///
/// Valid for: long contacts on ice at its melting point. Source: derived here from the film law.
/// Checked by: `exact_long_film_tends_to_the_balance`.
#[cfg(test)]
fn balanced_film_friction(speed_m_s: f64, half_width_m: f64, hardness_pa: f64) -> f64 {
    1.1128
        * (VISCOSITY_PA_S * speed_m_s / (2.0 * half_width_m)).sqrt()
        * (WATER_KG_M3 * LATENT_J_KG).powf(0.25)
        / hardness_pa.powf(0.75)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plough::RigidRod;

    fn film_friction(rod: &RigidRod, film: &MeltFilm, speed_m_s: f64, n: usize) -> f64 {
        let (a, d0) = (rod.half_length_m(), rod.depth_m());
        let strips = (0..n).map(|i| {
            let width = |i: usize| {
                let x = a * (1.0 - i as f64 / n as f64);
                let d = (d0 - x * x / (2.0 * rod.bow_radius_m)).max(0.0);
                2.0 * (2.0 * rod.rod_radius_m * d).sqrt()
            };
            Strip::even(a / n as f64, width(i), width(i + 1))
        });
        film.forces_n([speed_m_s], strips)[0] / rod.load_n
    }

    fn case(load_n: f64, bow_radius_m: f64) -> (RigidRod, MeltFilm) {
        let ice = IceState::at_temperature(-5.0, 0.0);
        let rod = RigidRod { load_n, hardness_pa: ice.hardness_pa, bow_radius_m, rod_radius_m: 8e-3 };
        (rod, MeltFilm { upwelling: 1.0, ..MeltFilm::new(&ice, 0.0, 0.05) })
    }

    /// Friction with ploughing (V, N, R), one-sided K = 1.
    fn friction(speed_m_s: f64, load_n: f64, bow_radius_m: f64, upwelling: f64, sigma_m: f64) -> f64 {
        let (rod, film) = case(load_n, bow_radius_m);
        let film = MeltFilm { upwelling, roughness_m: sigma_m, ..film };
        film_friction(&rod, &film, speed_m_s, 800) + rod.friction()
    }

    // Values below: an independent script solving the same equation by a general stiff integrator.
    // Tolerance 1e-3 of the value, or half the last printed digit where that is more.

    #[test]
    fn exact_film_of_a_rigid_rod() {
        for (v, k, mu) in
            [(30.0, 1.0, 0.004456), (30.0, 2.0, 0.004425), (10.0, 1.0, 0.002870), (10.0, 2.0, 0.002847)]
        {
            approx::assert_relative_eq!(friction(v, 564.0, 40.0, k, 0.0), mu, max_relative = 1e-3);
        }
    }

    #[test]
    fn exact_film_falls_with_load() {
        for (load_n, mu) in [(150.0, 0.00585), (564.0, 0.00446), (2820.0, 0.00361)] {
            approx::assert_abs_diff_eq!(friction(30.0, load_n, 40.0, 1.0, 0.0), mu, epsilon = 0.6e-5);
        }
        for (r, mu) in [(5.0, 0.00521), (20.0, 0.00444), (40.0, 0.00446), (160.0, 0.00489)] {
            approx::assert_abs_diff_eq!(friction(30.0, 564.0, r, 1.0, 0.0), mu, epsilon = 0.6e-5);
        }
    }

    #[test]
    fn exact_rough_film_over_speed() {
        let by_speed = [
            (2.0, 0.00571),
            (5.0, 0.00434),
            (10.0, 0.00383),
            (20.0, 0.00400),
            (30.0, 0.00453),
            (40.0, 0.00508),
        ];
        for (v, mu) in by_speed {
            approx::assert_abs_diff_eq!(friction(v, 564.0, 40.0, 1.0, 0.25e-6), mu, epsilon = 0.6e-5);
        }
    }

    #[test]
    fn published_bob_runner_window() {
        // Poirier, Lozowski, Maw, Stefanyshyn, Thompson, Sports Engineering 2011: 0.0042 +- 0.0009
        // at 1-10 m/s. Calibration, not validation: roughness and asperity friction were set so.
        let speeds = [2.0, 3.0, 4.0, 6.0, 8.0, 10.0];
        let mean =
            speeds.iter().map(|&v| friction(v, 564.0, 40.0, 2.0, 0.25e-6)).sum::<f64>() / speeds.len() as f64;
        approx::assert_abs_diff_eq!(mean, 0.0042, epsilon = 0.0009);
    }

    #[test]
    fn order_film_error_falls_with_strips() {
        let (rod, film) = case(564.0, 40.0);
        let value = |n| film_friction(&rod, &film, 30.0, n);
        let (coarse, middle, fine) = (value(20), value(80), value(1280));
        // first order at the narrow leading edge: a quarter of the error at four times the strips
        let ratio = (coarse - fine) / (middle - fine);
        assert!(ratio > 2.5 && ratio < 10.0, "{ratio}");
        // twenty strips are within one per cent
        approx::assert_relative_eq!(coarse, fine, max_relative = 1e-2);
    }

    #[test]
    fn exact_long_film_tends_to_the_balance() {
        // ice at its melting point under pressure, a long smooth contact: the start is forgotten
        let ice = IceState { temperature_c: 0.0, hardness_pa: 17.7e6, ..IceState::at_temperature(0.0, 0.0) };
        let film = MeltFilm::new(&ice, 0.0, 0.0);
        let rod = RigidRod { load_n: 564.0, hardness_pa: 17.7e6, bow_radius_m: 2e4, rod_radius_m: 8e-3 };
        let balance = balanced_film_friction(30.0, rod.half_width_m(), 17.7e6);
        // the entry, where the film still grows, is about two per cent of this 0.4 m contact
        approx::assert_relative_eq!(film_friction(&rod, &film, 30.0, 2000), balance, max_relative = 0.03);
    }

    #[test]
    fn exact_film_that_nothing_presses_out() {
        // melting ice and a contact so wide that no water leaves it: h dh/ds = K eta V/(rho_w L), so that the force of a
        // length s is w sqrt(2 eta V rho_w L s/K); by hand with the handbook's values, K = 2. A twentieth of
        // the hardness parts the film over half of the length (assumed: from a tenth on it is whole)
        let ice = IceState::at_temperature(0.0, 0.0);
        let film = MeltFilm::new(&ice, 0.0, 0.0);
        let force = |pressure_share: f64| {
            let strip = Strip { pressure_share, ..Strip::even(0.02, 1.0, 1.0) };
            film.forces_n([30.0], [strip])[0]
        };
        let by_hand = |s: f64| (2.0 * 1.792e-3 * 30.0 * 999.8 * 333.6e3 * s / 2.0).sqrt();
        // what is pressed out of a metre of width: a millionth
        approx::assert_relative_eq!(force(1.0), by_hand(0.02), max_relative = 1e-3);
        approx::assert_relative_eq!(force(0.05), by_hand(0.01), max_relative = 1e-3);
    }

    #[test]
    fn published_normal_tail() {
        // standard normal tail 0.5 erfc(lam/sqrt 2), printed digits
        let film = MeltFilm { roughness_m: 1e-6, ..case(564.0, 40.0).1 };
        for (lam, tail, digit) in [(1.0, 0.15866, 1e-5), (2.0, 0.02275, 1e-5), (3.0, 0.001350, 1e-6)] {
            approx::assert_abs_diff_eq!(film.touching(&[lam * 1e-6])[0], tail, epsilon = 0.5 * digit);
        }
    }
}
