//! Drag of the air.

/// Drag force on athlete and sled (N), against the motion.
///
/// ```text
/// F = 0.5 rho CdA v^2
/// ```
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | rho | `density_kg_m3` | kg/m3 |
/// | CdA | `drag_area_m2`, posture and taping included | m2 |
/// | v | `speed_m_s`, still air | m/s |
///
/// *Valid for* speeds where the drag coefficient is constant (about 10 to 45 m/s). *Assumes* still air.
/// *Source*: definition of the drag coefficient; common practice.
/// *Checked by* `exact_drag_with_round_numbers`.
pub fn drag_n(density_kg_m3: f64, drag_area_m2: f64, speed_m_s: f64) -> f64 {
    0.5 * density_kg_m3 * drag_area_m2 * speed_m_s * speed_m_s
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_drag_with_round_numbers() {
        // By hand: 0.5 x 1.25 x 0.064 x 900 = 36 N; rounding only.
        assert!((drag_n(1.25, 0.064, 30.0) - 36.0).abs() < 1e-12);
        assert_eq!(drag_n(1.25, 0.064, 0.0), 0.0); // nothing moves, no force
    }
}
