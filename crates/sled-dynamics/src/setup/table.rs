//! The table of keys of a set-up: path, unit, limits, default, source and meaning of each.
//!
//! Reading, `--set`, sweeps, the printed list and the written file all go by this table, and by it alone.

use crate::setup::key::{Key, Kind, Number, Source};
use crate::setup::units::Unit;
use crate::setup::{Friction, Sprint};
use Source::{Assumed, CommonPractice, Published};

/// A key for one field that is always there.
macro_rules! field {
    ($path:literal, $unit:ident, $least:literal, $most:literal, $default:literal, $source:expr,
     $a:ident . $b:ident $(. $c:ident)?, $doc:literal) => {
        Key {
            path: $path,
            doc: $doc,
            source: $source,
            kind: Kind::Number(Number {
                unit: Unit::$unit,
                least: $least,
                most: $most,
                default: Some($default),
                replaces: &[],
                get: |setup| Some(setup.$a.$b$(.$c)?),
                set: |setup, si| setup.$a.$b$(.$c)? = si,
            }),
        }
    };
}

/// A key for a number that a set-up can do without, or that several fields or a choice stand behind.
macro_rules! other {
    ($path:literal, $unit:ident, $least:literal, $most:literal, $default:expr, $source:expr,
     $replaces:expr, $get:expr, $set:expr, $doc:literal) => {
        Key {
            path: $path,
            doc: $doc,
            source: $source,
            kind: Kind::Number(Number {
                unit: Unit::$unit,
                least: $least,
                most: $most,
                default: $default,
                replaces: $replaces,
                get: $get,
                set: $set,
            }),
        }
    };
}

/// Every key.
#[rustfmt::skip]
pub(crate) static KEYS: &[Key] = &[
    Key { path: "name", doc: "Name of the set-up, for tables and pictures", source: CommonPractice, kind: Kind::Name },

    field!("athlete.mass_kg", Kg, 20.0, 200.0, 80.0, Assumed, sled.athlete_mass_kg,
        "Athlete with helmet, suit and shoes"),

    field!("sled.mass_kg", Kg, 5.0, 100.0, 38.0, Assumed, sled.sled_mass_kg,
        "Sled without ballast"),
    field!("sled.ballast_kg", Kg, 0.0, 60.0, 0.0, Assumed, sled.ballast_kg,
        "Ballast on the sled"),
    field!("sled.balance_point_mm", Mm, -250.0, 250.0, 0.0, Assumed, sled.balance_point_m,
        "Balance point of sled and athlete ahead of the middle of the runners; behind is negative"),
    field!("sled.mass_height_mm", Mm, 0.0, 500.0, 150.0, Assumed, sled.mass_height_m,
        "Centre of mass of sled and athlete above the ice"),
    field!("sled.yaw_inertia_kg_m2", KgM2, 1.0, 100.0, 16.0, Assumed, sled.yaw_inertia_kg_m2,
        "How hard sled and athlete are to turn: moment of inertia about the upright axis"),
    field!("sled.pitch_inertia_kg_m2", KgM2, 0.0, 100.0, 15.0, Assumed, sled.pitch_inertia_kg_m2,
        "How hard sled and athlete are to pitch: moment of inertia about the axis across"),
    field!("sled.gauge_mm", Mm, 200.0, 600.0, 360.0, Assumed, sled.gauge_m,
        "Distance between the runners, middle to middle (federation rule 340 to 380 mm, edition not checked)"),
    field!("sled.torsional_stiffness_n_m_per_rad", NMPerRad, 10.0, 100000.0, 300.0, Assumed, sled.torsional_stiffness_n_m_per_rad,
        "Couple that twists the frame by one radian; a softer frame turns more easily"),
    field!("sled.steer_couple_n_m", NM, 0.0, 500.0, 60.0, Assumed, sled.steer_couple_n_m,
        "Greatest couple of shoulder and knee on the frame"),
    field!("sled.steer_shift_mm", Mm, 0.0, 500.0, 250.0, Assumed, sled.steer_shift_m,
        "Greatest shift of the load along a runner when steering"),
    field!("sled.toe_friction", One, 0.0, 2.0, 0.2, Assumed, sled.toe_friction,
        "Friction of a dragged toe on the ice"),
    field!("sled.toe_force_n", N, 0.0, 1000.0, 100.0, Assumed, sled.toe_force_n,
        "Greatest force of a toe on the ice"),

    field!("runners.diameter_mm", Mm, 8.0, 30.0, 16.0, Published("federation rule, round steel; edition not checked"), runners.both.diameter_m,
        "Diameter of the rod"),
    field!("runners.youngs_modulus_gpa", Gpa, 50.0, 400.0, 200.0, Published("handbook value of stainless steel"), runners.both.youngs_modulus_pa,
        "Young's modulus of the steel"),
    field!("runners.yield_stress_mpa", Mpa, 100.0, 3000.0, 600.0, Assumed, runners.both.yield_stress_pa,
        "Stress above which the runner stays bent"),
    field!("runners.pin_mm", Mm, 100.0, 700.0, 360.0, Assumed, runners.both.pin_m,
        "The pins stand this far before and behind the middle"),
    field!("runners.screw_mm", Mm, 20.0, 600.0, 200.0, Assumed, runners.both.screw_m,
        "The bow screws stand this far before and behind the middle"),
    field!("runners.mount_stiffness_n_per_m", NPerM, 1e4, 1e9, 6e5, Assumed, runners.both.mount_stiffness_n_per_m,
        "Stiffness of frame and mount at each pin and screw"),
    field!("runners.tip_mm", Mm, 100.0, 800.0, 420.0, Assumed, runners.both.tip_m,
        "The rod ends this far before and behind the middle"),
    field!("runners.tip_radius_mm", Mm, 50.0, 100000.0, 1000.0, Assumed, runners.both.tip_radius_m,
        "Radius of the sweep of the tips beyond the pins"),
    field!("runners.groove_start_mm", Mm, -800.0, 800.0, 0.0, CommonPractice, runners.both.groove_start_m,
        "The groove runs from here backwards, from the middle of the runner; ahead is positive"),
    field!("runners.groove_edge_radius_mm", Mm, 0.02, 5.0, 0.3, Assumed, runners.both.groove_edge_radius_m,
        "Radius of the two edges of the groove; sharp edges grip more"),
    field!("runners.groove_width_mm", Mm, 0.0, 8.0, 1.0, Assumed, runners.both.groove_width_m,
        "Width of the groove from edge to edge; a wide one lifts its edges above the round of the rod"),
    field!("runners.roughness_um", Um, 0.0, 10.0, 0.25, Assumed, runners.both.roughness_m,
        "RMS roughness of polished steel and ice together; 0 is perfectly smooth"),
    field!("runners.boundary_friction", One, 0.0, 1.0, 0.05, Assumed, runners.both.boundary_friction,
        "Friction of steel on ice where no melt water parts them"),
    other!("runners.bow_mm", Mm, 0.0, 8.0, None, Assumed,
        &["runners.left.bow_front_mm", "runners.left.bow_rear_mm", "runners.right.bow_front_mm", "runners.right.bow_rear_mm"],
        |setup| {
            let (left, right) = (setup.runners.left, setup.runners.right);
            (left == right && left.front_m == left.rear_m).then_some(left.front_m)
        },
        |setup, si| {
            for bow in [&mut setup.runners.left, &mut setup.runners.right] {
                (bow.front_m, bow.rear_m) = (si, si);
            }
        },
        "Bow of all four screws; a single screw below goes before it"),
    field!("runners.left.bow_front_mm", Mm, 0.0, 8.0, 4.0, Assumed, runners.left.front_m,
        "Advance of the front bow screw from the loose runner, left"),
    field!("runners.left.bow_rear_mm", Mm, 0.0, 8.0, 4.0, Assumed, runners.left.rear_m,
        "Advance of the rear bow screw from the loose runner, left"),
    field!("runners.left.free_bow_mm", Mm, -5.0, 5.0, 0.0, Assumed, runners.left_free_bow_m,
        "Bow of the left runner when nothing presses it: middle against pins, towards the ice"),
    field!("runners.right.bow_front_mm", Mm, 0.0, 8.0, 4.0, Assumed, runners.right.front_m,
        "Advance of the front bow screw from the loose runner, right"),
    field!("runners.right.bow_rear_mm", Mm, 0.0, 8.0, 4.0, Assumed, runners.right.rear_m,
        "Advance of the rear bow screw from the loose runner, right"),
    field!("runners.right.free_bow_mm", Mm, -5.0, 5.0, 0.0, Assumed, runners.right_free_bow_m,
        "Bow of the right runner when nothing presses it: middle against pins, towards the ice"),

    field!("screws.pitch_mm", Mm, 0.1, 5.0, 1.0, Assumed, screws.pitch_m,
        "Advance of a bow screw for one turn of the key"),
    field!("screws.backlash_turns", One, 0.0, 0.5, 0.08, Assumed, screws.backlash_turns,
        "Turns of the key that move nothing when its direction changes"),
    field!("screws.clockwise", One, -1.0, 1.0, 1.0, Assumed, screws.clockwise,
        "1 where turning the key clockwise adds bow, -1 where it takes bow out; only the sign counts"),

    field!("ice.temperature_c", C, -40.0, 0.0, -5.0, Assumed, ice.temperature_c,
        "Temperature of the ice surface"),
    other!("ice.hardness_mpa", Mpa, 1.0, 100.0, None,
        Published("from the temperature: Poirier, Lozowski, Thompson, Cold Reg. Sci. Technol. 67 (2011) 129"), &[],
        |setup| setup.ice.hardness_pa, |setup, si| setup.ice.hardness_pa = Some(si),
        "Hardness of the ice, if measured; left out, it follows from the temperature"),
    field!("ice.recovered_share", One, 0.0, 1.0, 0.25, Assumed, ice.recovered_share,
        "Share of the ploughing force that the ice springing back behind gives back"),
    field!("ice.youngs_modulus_gpa", Gpa, 0.1, 100.0, 9.0, Published("handbook value of ice near its melting point"), ice.youngs_modulus_pa,
        "Young's modulus of the ice: how far it springs back"),
    field!("ice.unevenness_um", Um, 0.0, 1000.0, 30.0, Assumed, ice.unevenness_m,
        "Height of the ice along the path about its mean, RMS; planed by hand, sprayed, frosted"),
    field!("ice.wave_mm", Mm, 5.0, 1000.0, 100.0, Assumed, ice.wave_m,
        "Distance from crest to crest of that unevenness"),
    Key { path: "ice.friction", source: Assumed, kind: Kind::FrictionChoice,
        doc: "How runner friction is found: melt-water film, one constant, or a measured table" },
    other!("ice.constant_friction", One, 0.0, 0.2, None, Assumed, &[],
        |setup| match setup.ice.friction { Friction::Constant(mu) => Some(mu), _ => None },
        |setup, si| setup.ice.friction = Friction::Constant(si),
        "The constant of friction = \"constant\" (0.009 if left out)"),
    Key { path: "ice.friction_table", source: Assumed, kind: Kind::FrictionTable,
        doc: "The table of friction = \"table\": [[speed in m/s, coefficient], ...]" },
    field!("ice.friction_factor", One, 0.2, 5.0, 1.0, Assumed, ice.friction_factor,
        "Factor on glide and ploughing of the runners; 1.02 is ice slower by 2 %"),
    field!("ice.grip_factor", One, 0.1, 3.0, 1.0, Assumed, ice.grip_factor,
        "Factor on the sideways grip of the runners"),
    field!("ice.rut_factor", One, 0.0, 10.0, 1.0, Assumed, ice.rut_factor,
        "Factor on what ruts and unevenness do to a sled in rides with mistakes; 0 is smooth ice"),
    field!("ice.shaking_n", N, 0.0, 100.0, 4.0, Assumed, ice.shaking_n,
        "Force that shaking of sled and athlete on uneven ice takes at 30 m/s, in proportion to speed"),
    field!("ice.guided_friction", One, 0.0, 0.2, 0.009, Assumed, ice.guided_friction,
        "Runner friction of the quick guided estimate, ploughing included"),
    field!("ice.wall_friction", One, 0.0, 1.0, 0.05, Assumed, ice.wall_friction,
        "Friction of the sled's corners on walls"),

    field!("air.temperature_c", C, -50.0, 40.0, -5.0, Assumed, air.temperature_c,
        "Temperature of the air"),
    other!("air.pressure_hpa", Hpa, 500.0, 1100.0, None,
        Published("from the altitude of the track: ISO 2533:1975"), &[],
        |setup| setup.air.pressure_pa, |setup, si| setup.air.pressure_pa = Some(si),
        "Pressure at the track, not reduced to sea level; left out, of the standard atmosphere there"),
    field!("air.humidity_percent", Percent, 0.0, 100.0, 80.0, Assumed, air.humidity,
        "Relative humidity"),
    field!("air.drag_area_m2", M2, 0.005, 0.5, 0.063, Assumed, air.drag_area_m2,
        "Drag area of athlete and sled; chosen so that 10.5 % less drag gives about 1 % less time"),
    field!("air.posture_factor", One, 0.5, 2.0, 1.0, Assumed, air.posture_factor,
        "Factor of the posture on the drag area; 1 is the usual one"),
    field!("air.taping_factor", One, 0.5, 2.0, 1.0, Assumed, air.taping_factor,
        "Factor of open holes and taping on the drag area; 1 is as measured"),
    field!("air.yaw_moment_n_m_per_deg", NMPerDeg, -5.0, 5.0, 0.4, Assumed, air.yaw_moment_n_m_per_deg,
        "Yaw moment of the air for a degree of slip at 30 m/s, positive turns further out; size and sign unmeasured"),

    other!("push.start_time_s", S, 3.5, 10.0, Some(4.9), Assumed,
        &["push.top_sprint_speed_m_s"],
        |setup| match setup.push.sprint { Sprint::StartTime(t) => Some(t), Sprint::TopSpeed(_) => None },
        |setup, si| setup.push.sprint = Sprint::StartTime(si),
        "Start time on the timing sheet, from the first eye to the second (best starts on two tracks: 4.59 to 5.29 s); or give the top speed instead"),
    other!("push.top_sprint_speed_m_s", MPerS, 3.0, 14.0, None, Assumed,
        &["push.start_time_s"],
        |setup| match setup.push.sprint { Sprint::TopSpeed(v) => Some(v), Sprint::StartTime(_) => None },
        |setup, si| setup.push.sprint = Sprint::TopSpeed(si),
        "Speed that the sprint with the sled tends to, instead of the start time"),
    field!("push.time_constant_s", S, 0.2, 5.0, 1.3, Assumed, push.time_constant_s,
        "Time to reach 63 % of that speed"),
    field!("push.load_station_m", M, 5.0, 100.0, 35.0, CommonPractice, push.load_station_m,
        "Where the athlete is on the sled, from the block"),
    field!("push.load_loss_m_s", MPerS, 0.0, 3.0, 0.1, Assumed, push.load_loss_m_s,
        "Speed lost in the leap onto the sled"),

    field!("pilot.lag_s", S, 0.0, 1.0, 0.15, Assumed, pilot.lag_s,
        "Reaction lag of the athlete"),
];

/// The constant of friction = "constant" where none is given.
pub(crate) const CONSTANT_FRICTION: f64 = 0.009;
