//! Drag of the air on athlete and sled.
//!
//! ```text
//! F = K v^2 against the motion,     K = 0.5 rho CdA
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | rho | density of the air | kg/m3 |
//! | CdA | drag area, posture and taping included | m2 |
//! | v | speed, still air | m/s |
//!
//! *Valid for* speeds where the drag coefficient is constant (about 10 to 45 m/s). *Assumes* still air.
//! *Source*: definition of the drag coefficient; common practice.
//! *Checked by* `exact_drag_with_round_numbers`, and by `exact_incline_of_a_setup` through a descent.

/// Drag over the square of the speed, K (kg/m).
pub(crate) fn drag_kg_per_m(density_kg_m3: f64, drag_area_m2: f64) -> f64 {
    0.5 * density_kg_m3 * drag_area_m2
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_drag_with_round_numbers() {
        // By hand: 0.5 x 1.25 x 0.064 x 30^2 = 36 N; rounding only.
        assert!((drag_kg_per_m(1.25, 0.064) * 900.0 - 36.0).abs() < 1e-12);
    }
}
