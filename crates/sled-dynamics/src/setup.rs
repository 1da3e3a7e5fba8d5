//! A set-up: everything about sled, athlete, ice, air and push that a descent needs, in SI units.
//!
//! This is the set-up as checked. Reading one from a file is `setup_file`.

pub mod checks;
pub(crate) mod defaults;
pub mod faults;
pub mod file;
pub mod key;
pub mod keys;
pub(crate) mod table;
pub(crate) mod toml_text;
pub mod units;
pub(crate) mod values;
pub mod write;

use ice_contact::runner::{Bow, RunnerSpec};

/// A set-up as checked: every number inside its limits.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    /// Name of the set-up, for tables and pictures.
    pub name: String,
    /// Masses and dimensions of athlete and sled.
    pub sled: Sled,
    /// Left and right runner.
    pub runners: Runners,
    /// The bow screws and their key.
    pub screws: Screws,
    /// State of the ice.
    pub ice: Ice,
    /// State of the air and drag.
    pub air: Air,
    /// Push at the start.
    pub push: Push,
    /// Who steers, and how well.
    pub pilot: Pilot,
}

/// Masses and dimensions of athlete and sled together.
#[derive(Clone, Debug, PartialEq)]
pub struct Sled {
    /// Athlete with kit (kg).
    pub athlete_mass_kg: f64,
    /// Sled without ballast (kg).
    pub sled_mass_kg: f64,
    /// Ballast (kg).
    pub ballast_kg: f64,
    /// Moment of inertia about the normal (kg m2).
    pub yaw_inertia_kg_m2: f64,
    /// Moment of inertia about the axis across (kg m2).
    pub(crate) pitch_inertia_kg_m2: f64,
    /// Centre of mass above the ice (m).
    pub mass_height_m: f64,
    /// Centre of mass ahead of the middle of the runners (m).
    pub balance_point_m: f64,
    /// Distance between the runners (m).
    pub gauge_m: f64,
    /// Couple that twists the frame by one radian (N m/rad).
    pub(crate) torsional_stiffness_n_m_per_rad: f64,
    /// Greatest couple that shoulder and knee put on the frame (N m).
    pub(crate) steer_couple_n_m: f64,
    /// Greatest shift of the load along a runner when steering (m).
    pub(crate) steer_shift_m: f64,
    /// Friction of a dragged toe on the ice `[-]`.
    pub(crate) toe_friction: f64,
    /// Greatest force of a dragged toe on the ice (N).
    pub(crate) toe_force_n: f64,
}

impl Sled {
    /// Mass of athlete, sled and ballast (kg).
    pub fn mass_kg(&self) -> f64 {
        self.athlete_mass_kg + self.sled_mass_kg + self.ballast_kg
    }
}

/// The pair of runners.
#[derive(Clone, Debug, PartialEq)]
pub struct Runners {
    /// What both are made of and how they are mounted; without a free bow.
    pub both: RunnerSpec,
    /// Bow of the left runner.
    pub left: Bow,
    /// Bow of the right runner.
    pub right: Bow,
    /// Bow of the left rod when nothing bends it, middle against pins, towards the ice (m).
    pub left_free_bow_m: f64,
    /// Bow of the right rod when nothing bends it (m).
    pub right_free_bow_m: f64,
}

impl Runners {
    /// The left and the right runner, each with its free bow.
    pub fn pair(&self) -> [RunnerSpec; 2] {
        [self.left_free_bow_m, self.right_free_bow_m]
            .map(|free_bow_m| RunnerSpec { free_bow_m, ..self.both.clone() })
    }
}

/// The bow screws and their key. No descent depends on them; they turn a change of bow into turns of the key.
#[derive(Clone, Debug, PartialEq)]
pub struct Screws {
    /// Advance per turn (m).
    pub pitch_m: f64,
    /// Lost motion on turning back (turns).
    pub backlash_turns: f64,
    /// Above 0 where clockwise adds bow, below 0 where it takes bow out `[-]`.
    pub clockwise: f64,
}

/// State of the ice.
#[derive(Clone, Debug, PartialEq)]
pub struct Ice {
    /// Temperature of the ice surface (degC, at most 0).
    pub temperature_c: f64,
    /// Hardness (Pa) if it was measured; otherwise from the temperature.
    pub hardness_pa: Option<f64>,
    /// Share of the ploughing force that the ice springing back behind gives back `[-]`, 0..1.
    pub(crate) recovered_share: f64,
    /// Young's modulus of the ice (Pa).
    pub(crate) youngs_modulus_pa: f64,
    /// Height of the ice along the path about its mean, root mean square (m).
    pub(crate) unevenness_m: f64,
    /// Distance from crest to crest of that (m).
    pub(crate) wave_m: f64,
    /// Which friction.
    pub friction: Friction,
    /// Factor on glide and ploughing `[-]`.
    pub friction_factor: f64,
    /// Factor on the lateral grip `[-]`.
    pub(crate) grip_factor: f64,
    /// Factor on what ruts and unevenness of the ice do to a sled `[-]`.
    pub rut_factor: f64,
    /// Force that shaking on uneven ice takes at 30 m/s (N).
    pub shaking_n: f64,
    /// Friction of the guided first estimate `[-]`.
    pub guided_friction: f64,
    /// Friction of the sled's corners on walls `[-]`.
    pub(crate) wall_friction: f64,
}

/// How the friction of a runner is found.
#[derive(Clone, Debug, PartialEq)]
pub enum Friction {
    /// Ploughing and a film of melt water along the solved contact.
    Film,
    /// One coefficient `[-]`.
    Constant(f64),
    /// A measured table: speed (m/s) and coefficient `[-]`, speeds increasing.
    Table(Vec<(f64, f64)>),
}

/// State of the air, and drag.
#[derive(Clone, Debug, PartialEq)]
pub struct Air {
    /// Temperature (degC).
    pub temperature_c: f64,
    /// Pressure (Pa) if it was measured; otherwise of the standard atmosphere at the track's altitude.
    pub pressure_pa: Option<f64>,
    /// Relative humidity `[-]`, 0..1.
    pub humidity: f64,
    /// Drag area: drag coefficient times frontal area (m2).
    pub drag_area_m2: f64,
    /// Factor of the posture on the drag area `[-]`.
    pub posture_factor: f64,
    /// Factor of open holes and taping on the drag area `[-]`.
    pub taping_factor: f64,
    /// Yaw moment of the air for a degree of slip at 30 m/s (N m per degree), positive turns further out.
    pub(crate) yaw_moment_n_m_per_deg: f64,
}

/// Push at the start: a sprint along the line, a leap onto the sled, then glide.
#[derive(Clone, Debug, PartialEq)]
pub struct Push {
    /// How fast the athlete is.
    pub sprint: Sprint,
    /// Time constant of the sprint (s).
    pub time_constant_s: f64,
    /// Station where the athlete is on the sled, from the block (m).
    pub load_station_m: f64,
    /// Speed lost in the leap (m/s).
    pub load_loss_m_s: f64,
}

/// What is known of the sprint.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sprint {
    /// The speed it tends to (m/s).
    TopSpeed(f64),
    /// The start time between the first two eyes (s), as on the timing sheet.
    StartTime(f64),
}

/// Who steers.
#[derive(Clone, Debug, PartialEq)]
pub struct Pilot {
    /// Reaction lag (s).
    pub lag_s: f64,
}
