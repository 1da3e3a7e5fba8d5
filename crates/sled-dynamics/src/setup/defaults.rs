//! The set-up with every key at its default.

use crate::setup::keys::keys;
use crate::setup::{Air, Friction, Ice, Pilot, Push, Runners, Screws, Setup, Sled, Sprint};
use ice_contact::runner::{Bow, RunnerSpec};

impl Setup {
    /// Every key at its default, under a name.
    pub fn with_defaults(name: &str) -> Self {
        let mut setup = empty(name);
        for number in keys().iter().filter_map(|key| key.number()) {
            if let Some(default) = number.default {
                (number.set)(&mut setup, number.unit.to_si(default));
            }
        }
        setup
    }
}

/// A set-up without numbers, for the table of keys to fill.
fn empty(name: &str) -> Setup {
    const NONE: f64 = f64::NAN;
    let bow = Bow { front_m: NONE, rear_m: NONE };
    Setup {
        name: name.to_string(),
        sled: Sled {
            athlete_mass_kg: NONE,
            sled_mass_kg: NONE,
            ballast_kg: NONE,
            yaw_inertia_kg_m2: NONE,
            pitch_inertia_kg_m2: NONE,
            mass_height_m: NONE,
            balance_point_m: NONE,
            gauge_m: NONE,
            torsional_stiffness_n_m_per_rad: NONE,
            steer_couple_n_m: NONE,
            steer_shift_m: NONE,
            toe_friction: NONE,
            toe_force_n: NONE,
        },
        runners: Runners {
            both: RunnerSpec {
                diameter_m: NONE,
                youngs_modulus_pa: NONE,
                yield_stress_pa: NONE,
                pin_m: NONE,
                screw_m: NONE,
                mount_stiffness_n_per_m: NONE,
                tip_m: NONE,
                tip_radius_m: NONE,
                groove_start_m: NONE,
                groove_edge_radius_m: NONE,
                groove_width_m: NONE,
                roughness_m: NONE,
                boundary_friction: NONE,
                // each runner has its own
                free_bow_m: 0.0,
            },
            left: bow,
            right: bow,
            left_free_bow_m: NONE,
            right_free_bow_m: NONE,
        },
        screws: Screws { pitch_m: NONE, backlash_turns: NONE, clockwise: NONE },
        ice: Ice {
            temperature_c: NONE,
            hardness_pa: None,
            recovered_share: NONE,
            youngs_modulus_pa: NONE,
            unevenness_m: NONE,
            wave_m: NONE,
            friction: Friction::Film,
            friction_factor: NONE,
            grip_factor: NONE,
            rut_factor: NONE,
            shaking_n: NONE,
            guided_friction: NONE,
            wall_friction: NONE,
        },
        air: Air {
            temperature_c: NONE,
            pressure_pa: None,
            humidity: NONE,
            drag_area_m2: NONE,
            posture_factor: NONE,
            taping_factor: NONE,
            yaw_moment_n_m_per_deg: NONE,
        },
        push: Push {
            sprint: Sprint::StartTime(NONE),
            time_constant_s: NONE,
            load_station_m: NONE,
            load_loss_m_s: NONE,
        },
        pilot: Pilot { lag_s: NONE },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn house_every_field_has_a_default() {
        // A field that no key fills stays not-a-number, and not-a-number equals nothing.
        let setup = Setup::with_defaults("x");
        assert_eq!(setup, setup.clone());
    }

    #[test]
    fn exact_defaults_in_si() {
        let setup = Setup::with_defaults("x");
        assert_eq!(setup.sled.mass_kg(), 118.0);
        assert_eq!(setup.runners.both.pin_m, 0.36);
        assert_eq!(setup.runners.both.roughness_m, 0.25e-6);
        assert_eq!(setup.air.humidity, 0.8);
        assert_eq!(setup.push.sprint, Sprint::StartTime(4.9));
        assert_eq!(setup.ice.hardness_pa, None);
    }
}
