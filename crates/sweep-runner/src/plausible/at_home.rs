//! What nobody has measured, in words of the sled bench, and how it could be measured there.

use super::Unknown;

/// Name of an unknown, what it is, and how it is measured without a laboratory: common practice, no source.
const AT_HOME: [(&str, &str, &str); 17] = [
    (
        "runners.groove_edge_radius_mm",
        "sharpness of the groove edges",
        "press the edge into modelling wax, cut the wax across and measure its corner under a magnifier with a scale",
    ),
    (
        "runners.groove_width_mm",
        "width of the groove",
        "lay a ruler in tenths of a millimetre across the groove under a magnifier, at three places",
    ),
    (
        "runners.roughness_um",
        "polish of the runners",
        "lend the pair to a workshop with a roughness tester: RMS along the runner, at three places",
    ),
    (
        "runners.boundary_friction",
        "friction of steel on ice without water",
        "pull a loaded runner slowly over cold ice with a spring balance: pull over load",
    ),
    (
        "runners.tip_radius_mm",
        "sweep of the tips",
        "lay the loose runner on a flat plate and measure the gap under the tip with feelers every 10 mm",
    ),
    (
        "ice.hardness_factor",
        "hardness of the ice",
        "drop a steel ball on the ice from one metre beside the track and measure the width of the dents",
    ),
    (
        "ice.recovered_share",
        "spring-back of the ice",
        "nothing at home: a coast-down on the flat gives its friction as a whole",
    ),
    (
        "ice.unevenness_um",
        "unevenness of the ice",
        "lay a straight edge of half a metre on the ice and measure the gaps with feelers",
    ),
    ("ice.wave_mm", "length of the waves in the ice", "measure from crest to crest under a low lamp"),
    (
        "ice.grip_factor",
        "sideways grip of the runners",
        "pull the loaded sled sideways on the ice with a spring balance until it slips, with sharp and blunt pairs",
    ),
    (
        "ice.shaking_n",
        "what shaking on uneven ice takes",
        "nothing at home: compare runs before and after the ice is planed",
    ),
    (
        "sled.balance_shift_mm",
        "where the load lies in the run",
        "lie on the sled as in the run, in helmet and suit, on two scales, front and rear; read both three times",
    ),
    (
        "sled.torsional_stiffness_n_m_per_rad",
        "how easily the frame twists",
        "clamp one runner, hang a known mass on the other side and measure how far it sinks",
    ),
    (
        "air.yaw_moment_n_m_per_deg",
        "how the air turns a yawed sled",
        "nothing at home: a wind tunnel with the sled turned by some degrees",
    ),
    (
        "skill.disturbance_factor",
        "how much ice and body disturb the sled",
        "film ten runs at one exit and measure how far the sled's angle differs from run to run",
    ),
    (
        "skill.error_factor",
        "size of the athlete's mistakes",
        "film ten runs at one entry and measure how far the height differs from run to run",
    ),
    (
        "air.drag_area_m2",
        "drag of athlete and sled",
        "time runs and use `calibrate`, or coast from a known speed on the flat of the track",
    ),
];

impl Unknown {
    fn at_home(&self) -> Option<&'static (&'static str, &'static str, &'static str)> {
        AT_HOME.iter().find(|row| row.0 == self.name)
    }

    /// What it is.
    pub(crate) fn words(&self) -> &'static str {
        self.at_home().map_or(self.name, |row| row.1)
    }

    /// How to measure it without a laboratory.
    pub(crate) fn measured_at_home(&self) -> &'static str {
        self.at_home().map_or("nothing at home", |row| row.2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plausible::UNKNOWNS;

    #[test]
    fn exact_every_unknown_has_words() {
        let named: Vec<&str> = AT_HOME.iter().map(|row| row.0).collect();
        assert_eq!(named, UNKNOWNS.iter().map(|u| u.name).collect::<Vec<_>>());
    }
}
