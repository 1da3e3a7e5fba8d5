//! Keys of track and skill that a study can vary, beside those of a set-up.

use sled_dynamics::riding::errors_of_ride::Skill;

/// A number of a track that can be varied.
#[derive(Debug)]
pub struct TrackKey {
    /// Its key.
    pub(crate) path: &'static str,
    /// Least allowed.
    pub(crate) least: f64,
    /// Greatest allowed.
    pub(crate) most: f64,
    /// Unit as people write it.
    pub(crate) unit: &'static str,
    /// What it is.
    pub(crate) doc: &'static str,
}

/// Numbers of a track that can be varied; its shape is no number.
pub(crate) static TRACK_KEYS: [TrackKey; 2] = [
    TrackKey {
        path: "track.altitude_m",
        least: -100.0,
        most: 4000.0,
        unit: "m",
        doc: "Altitude of the last station; it sets the usual pressure of the air, and gravity",
    },
    TrackKey {
        path: "track.latitude_deg",
        least: -90.0,
        most: 90.0,
        unit: "deg",
        doc: "Latitude; it sets gravity",
    },
];

/// The key of the level of skill.
pub(crate) const SKILL_LEVEL: &str = "skill.level";

/// A number of an athlete's skill that can be varied.
#[derive(Debug)]
pub struct SkillKey {
    /// Its key.
    pub(crate) path: &'static str,
    /// Least allowed.
    pub(crate) least: f64,
    /// Greatest allowed.
    pub(crate) most: f64,
    /// Unit as people write it; empty without one.
    pub(crate) unit: &'static str,
    /// What it is.
    pub(crate) doc: &'static str,
    /// Value of a level.
    pub(crate) get: fn(&Skill) -> f64,
    /// Puts a value in.
    pub(crate) set: fn(&mut Skill, f64),
}

macro_rules! skill {
    ($name:ident, $most:literal, $unit:literal, $doc:literal) => {
        SkillKey {
            path: concat!("skill.", stringify!($name)),
            least: 0.0,
            most: $most,
            unit: $unit,
            doc: $doc,
            get: |skill| skill.$name,
            set: |skill, value| skill.$name = value,
        }
    };
}

/// Numbers of an athlete's skill that can be varied.
#[rustfmt::skip]
pub(crate) static SKILL_KEYS: [SkillKey; 16] = [
    skill!(entry_m, 0.5, "m", "Standard deviation of the place where the athlete lies down"),
    skill!(entry_yaw_rad, 0.1, "rad", "Standard deviation of the yaw there"),
    skill!(timing_s, 0.5, "s", "Standard deviation of timing in each corner"),
    skill!(amount, 1.0, "", "Standard deviation of the amount of steering in each corner"),
    skill!(aim_m, 0.5, "m", "Standard deviation of the line aimed for in each corner"),
    skill!(miss, 0.5, "", "Probability of a missed steer in each corner"),
    skill!(lag_s, 1.0, "s", "Reaction lag"),
    skill!(start_s, 0.5, "s", "Standard deviation of the start time"),
    skill!(decides_s, 1.0, "s", "Time from one decision to the next"),
    skill!(sight_m, 0.5, "m", "Standard deviation of what is seen of the offset"),
    skill!(sight_rad, 0.2, "rad", "Standard deviation of what is seen of yaw and slip"),
    skill!(unseen_m, 1.0, "m", "An offset beside the expected by less is not noticed"),
    skill!(unseen_rad, 0.2, "rad", "A yaw beside the expected by less is not noticed"),
    skill!(press_step, 1.0, "", "Steering is pressed in steps of this"),
    skill!(toe_from_rad, 1.0, "rad", "Slip from which a toe goes down"),
    skill!(disturbance_n_m, 10.0, "N m", "Yaw moment that disturbs the sled, root mean square"),
];
