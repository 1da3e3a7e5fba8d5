//! The share of the hardness that a cell bears, from what it would be compressed by at a share.

/// Evaluations for the pressure of a cell that neither cuts nor parts.
const TRIES: usize = 40;
/// The pressure of such a cell is found to this share of the hardness `[-]`.
const CLOSE: f64 = 1e-8;

/// Where a rising function of the share in [0, 1], with a slope of one at least, crosses zero, from a guess; an end where
/// it does not. Film and ice there come with it.
pub(super) fn crossing<E>(over: impl Fn(f64) -> (f64, E), guess: f64) -> (f64, E) {
    let mut share = guess.clamp(0.0, 1.0);
    let (mut value, mut end) = over(share);
    let [mut low, mut high]: [Option<(f64, f64)>; 2] = [None, None];
    for _ in 0..TRIES {
        // at an end, and it lies beyond
        if value.abs() < CLOSE || (share >= 1.0 && value <= 0.0) || (share <= 0.0 && value >= 0.0) {
            break;
        }
        let here = (share, value);
        let last = if value < 0.0 { low.replace(here) } else { high.replace(here) };
        // a secant through the last two, kept inside; at first by the least slope, which goes too far
        share = match (low, high) {
            (Some(low), Some(high)) => {
                let last = last.unwrap_or(if value < 0.0 { high } else { low });
                let secant = share - value * (share - last.0) / (value - last.1);
                if secant > low.0 && secant < high.0 {
                    secant
                } else {
                    low.0 + (high.0 - low.0) * low.1 / (low.1 - high.1)
                }
            }
            _ => (share - value).clamp(0.0, 1.0),
        };
        (value, end) = over(share);
    }
    (share, end)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::Cell;

    #[test]
    fn exact_crossings_from_any_guess() {
        // by hand: 3 x + x^3 - c is zero at a root that is chosen; beyond the ends the nearer end
        let wanted =
            [(-0.2, 0.0), (0.0, 0.0), (1e-3, 1e-3), (0.4, 0.4), (0.97, 0.97), (1.0, 1.0), (1.7, 1.0)];
        for (root, found) in wanted {
            for guess in [-1.0, 0.0, 0.3, 0.8, 1.0] {
                let tried = Cell::new(0);
                let over = |x: f64| {
                    tried.set(tried.get() + 1);
                    (3.0 * x + x * x * x - (3.0 * root + root * root * root), 2.0 * x)
                };
                let (x, beside) = crossing(over, guess);
                // found where the function is within CLOSE of zero, with a slope of three at least
                approx::assert_abs_diff_eq!(x, found, epsilon = CLOSE / 3.0);
                assert_eq!(beside, 2.0 * x);
                // a secant needs some steps only, from the right guess one
                assert!(
                    tried.get() <= if guess == found { 1 } else { 10 },
                    "{root} {guess}: {}",
                    tried.get()
                );
            }
        }
    }
}
