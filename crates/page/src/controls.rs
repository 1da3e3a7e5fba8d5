//! What can be moved at the bench: keys of a set-up, with the words and limits of the table of keys and the part of
//! those limits that a slider spans.

use serde_json::{Map, Value, json};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys::{find, get};

/// A slider; its field takes all that the key allows.
pub(crate) struct Control {
    /// The key.
    pub(crate) key: &'static str,
    /// What it is called here.
    pub(crate) label: &'static str,
    /// Least and greatest of the slider, and its step, in the unit of the key.
    pub(crate) slider: [f64; 3],
}

/// Sliders under a heading.
pub(crate) struct Group {
    /// Heading.
    pub(crate) title: &'static str,
    /// Sliders.
    pub(crate) controls: &'static [Control],
}

const fn control(key: &'static str, label: &'static str, slider: [f64; 3]) -> Control {
    Control { key, label, slider }
}

/// The bow of all four screws, shown where they are alike.
pub(crate) const EVEN_BOW: Control = control("runners.bow_mm", "Bow, all four screws", [0.0, 8.0, 0.1]);

/// The four screws.
pub(crate) const SCREWS: [Control; 4] = [
    control("runners.left.bow_front_mm", "Left front", [0.0, 8.0, 0.1]),
    control("runners.right.bow_front_mm", "Right front", [0.0, 8.0, 0.1]),
    control("runners.left.bow_rear_mm", "Left rear", [0.0, 8.0, 0.1]),
    control("runners.right.bow_rear_mm", "Right rear", [0.0, 8.0, 0.1]),
];

/// Title of the group that has the pair.
pub(crate) const RUNNERS: &str = "Runners";

/// All else.
pub(crate) const GROUPS: [Group; 4] = [
    Group {
        title: "Sled and athlete",
        controls: &[
            control("sled.balance_point_mm", "Balance point (saddle)", [-40.0, 40.0, 1.0]),
            control("sled.ballast_kg", "Ballast", [0.0, 15.0, 0.5]),
            control("athlete.mass_kg", "Athlete with kit", [50.0, 110.0, 0.5]),
            control("push.start_time_s", "Start time, eye to eye", [4.4, 6.0, 0.01]),
        ],
    },
    Group {
        title: RUNNERS,
        controls: &[
            control("runners.roughness_um", "Roughness (polish)", [0.0, 1.0, 0.01]),
            control("runners.groove_edge_radius_mm", "Groove edge radius", [0.1, 1.0, 0.01]),
        ],
    },
    Group {
        title: "Ice",
        controls: &[
            control("ice.temperature_c", "Ice temperature", [-15.0, 0.0, 0.5]),
            control("ice.friction_factor", "Friction of the ice (1: as modelled)", [0.8, 1.2, 0.01]),
        ],
    },
    Group {
        title: "Air",
        controls: &[
            control("air.temperature_c", "Air temperature", [-20.0, 15.0, 0.5]),
            control("air.pressure_hpa", "Air pressure at the track", [850.0, 1050.0, 1.0]),
            control("air.taping_factor", "Tape (factor on the drag)", [0.95, 1.05, 0.005]),
            control("air.drag_area_m2", "Drag area", [0.05, 0.075, 0.0005]),
        ],
    },
];

/// Every control.
pub(crate) fn all() -> impl Iterator<Item = &'static Control> {
    let groups = GROUPS.iter().flat_map(|g| g.controls);
    std::iter::once(&EVEN_BOW).chain(&SCREWS).chain(groups)
}

impl Control {
    /// Unit, least, greatest and meaning of the key.
    pub(crate) fn limits(&self) -> Option<(&'static str, f64, f64, &'static str)> {
        let key = find(self.key).ok()?;
        let number = key.number()?;
        Some((number.unit.symbol(), number.least, number.most, key.doc))
    }
}

/// The values of a set-up at the controls, by key; null where it does without.
pub(crate) fn values(setup: &Setup) -> Value {
    let value = |c: &Control| (c.key.to_string(), get(setup, c.key).map_or(Value::Null, |v| json!(v)));
    Value::Object(all().map(value).collect::<Map<_, _>>())
}
