//! The mean pressure over a cell of the contact.

/// The pressure over a cell where the compression is linear between its ends, both over that at which the ice is cut:
/// nothing presses below zero, and the ice bears its hardness from one on.
///
/// ```text
/// mean = (G(b) - G(a)) / (b - a),   G' = min(max(x, 0), 1)
/// ```
///
/// *Source*: the mean of a function of a linear one. *Checked by* `exact_mean_of_a_ramp`.
pub(super) struct Mean {
    /// Mean of the pressure over the hardness `[-]`.
    pub(super) share: f64,
    /// Part of the length where anything presses `[-]`.
    pub(super) pressed: f64,
    /// Derivative of the mean by the compression in front `[-]`.
    pub(super) by_ahead: f64,
    /// The same behind.
    pub(super) by_behind: f64,
}

/// Ends closer than this are one `[-]`.
const ONE: f64 = 1e-9;

impl Mean {
    /// The same pressure all along.
    pub(super) fn even(share: f64) -> Mean {
        Mean { share, pressed: 1.0, by_ahead: 0.0, by_behind: 1.0 }
    }

    /// Between the compressions in front and behind.
    pub(super) fn between(ahead: f64, behind: f64) -> Mean {
        let held = |x: f64| x.clamp(0.0, 1.0);
        let whole = |x: f64| 0.5 * held(x) * held(x) + (x - 1.0).max(0.0);
        let span = behind - ahead;
        if span.abs() < ONE {
            let share = held(0.5 * (ahead + behind));
            let slope = if share > 0.0 && share < 1.0 { 0.5 } else { 0.0 };
            return Mean { pressed: f64::from(share > 0.0), share, by_ahead: slope, by_behind: slope };
        }
        let share = (whole(behind) - whole(ahead)) / span;
        Mean {
            share,
            pressed: (behind.max(0.0) - ahead.max(0.0)) / span,
            by_ahead: (share - held(ahead)) / span,
            by_behind: (held(behind) - share) / span,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_mean_of_a_ramp() {
        // by hand; rounding
        for (ahead, behind, share, pressed) in [
            (0.2, 0.6, 0.4, 1.0),
            // begins to press half way: a triangle of half the length and 0.8 high
            (-0.8, 0.8, 0.2, 0.5),
            (0.8, -0.8, 0.2, 0.5),
            // to the hardness half way, then level: (0.5 + 1)/2
            (0.0, 2.0, 0.75, 1.0),
            (1.0, 3.0, 1.0, 1.0),
            (-2.0, -1.0, 0.0, 0.0),
            // off the ice for a third, up in a third, level for a third
            (-1.0, 2.0, 0.5, 2.0 / 3.0),
            (0.3, 0.3, 0.3, 1.0),
        ] {
            let mean = Mean::between(ahead, behind);
            approx::assert_relative_eq!(mean.share, share, max_relative = 1e-12);
            approx::assert_relative_eq!(mean.pressed, pressed, max_relative = 1e-12);
            let h = 1e-6;
            let by_ahead =
                (Mean::between(ahead + h, behind).share - Mean::between(ahead - h, behind).share) / (2.0 * h);
            let by_behind =
                (Mean::between(ahead, behind + h).share - Mean::between(ahead, behind - h).share) / (2.0 * h);
            // central differences; the middle of a kink
            approx::assert_abs_diff_eq!(mean.by_ahead, by_ahead, epsilon = 1e-6);
            approx::assert_abs_diff_eq!(mean.by_behind, by_behind, epsilon = 1e-6);
        }
    }
}
