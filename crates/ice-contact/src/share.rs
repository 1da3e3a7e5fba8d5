//! What the already cut ice behind the deepest point still carries.

/// Part of the greatest depth over which the share falls from one to the recovered share `[-]`.
const FADE: f64 = 0.15;

/// Share of the full line load at a point.
///
/// ```text
/// share = rec + (1 - rec) clip(1 - (d_max - d) / (0.15 d_max), 0, 1)
/// ```
///
/// | symbol | name | unit |
/// |---|---|---|
/// | d | `indentation_m`, > 0 | m |
/// | d_max | `greatest_so_far_m`, from the front of the same patch | m |
/// | rec | `recovered_share` | - |
///
/// Valid for: 0 <= rec <= 1. Assumes: a new patch meets fresh ice.
/// Source: assumed. Checked by: `exact_share_falls_behind_the_deepest_point`.
#[inline]
pub fn load_share(indentation_m: f64, greatest_so_far_m: f64, recovered_share: f64) -> f64 {
    let (above_m, fade_m) = (greatest_so_far_m - indentation_m, FADE * greatest_so_far_m);
    if above_m >= fade_m {
        return recovered_share;
    }
    recovered_share + (1.0 - recovered_share) * (1.0 - above_m / fade_m).min(1.0)
}

/// So many dry cells behind a patch keep its share.
pub(crate) const BEHIND: usize = 16;

/// Shares of all cells for the indentations at their ends, scanned from the front (the last).
///
/// A dry cell right behind a patch takes the share of the patch's end, so that a patch which
/// grows backwards does not meet fresh ice; any other dry cell is fresh.
pub(crate) fn cell_shares(indentation_m: &[f64], recovered_share: f64, out: &mut [f64]) {
    let mut greatest = 0.0;
    let mut front_share = 1.0;
    let mut dry = BEHIND;
    let mut last = 1.0;
    for (share, ends) in out.iter_mut().zip(indentation_m.windows(2)).rev() {
        let (rear, front) = (ends[0], ends[1]);
        if front > greatest {
            greatest = front;
        }
        if rear > 0.0 {
            let rear_share = if rear >= greatest {
                greatest = rear;
                1.0
            } else {
                load_share(rear, greatest, recovered_share)
            };
            last = if front > 0.0 { 0.5 * (rear_share + front_share) } else { rear_share };
            *share = last;
            front_share = rear_share;
            dry = 0;
        } else if front > 0.0 {
            last = front_share;
            *share = last;
            greatest = 0.0;
            dry = 0;
        } else {
            dry += 1;
            *share = if dry <= BEHIND { last } else { 1.0 };
            greatest = 0.0;
            front_share = 1.0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_share_falls_behind_the_deepest_point() {
        // by hand from the rule; rounding only
        approx::assert_abs_diff_eq!(load_share(1.0, 1.0, 0.25), 1.0, epsilon = 1e-15);
        approx::assert_abs_diff_eq!(load_share(0.925, 1.0, 0.25), 0.625, epsilon = 1e-12);
        approx::assert_abs_diff_eq!(load_share(0.5, 1.0, 0.25), 0.25, epsilon = 1e-15);
        let d = [-1.0, 0.5, 1.0, 0.5, -1.0, 0.2, -1.0];
        let mut s = [0.0; 6];
        cell_shares(&d, 0.25, &mut s);
        // front patch is fresh; second patch: fresh up to its deepest point, then recovered
        let by_hand = [0.25, 0.625, 1.0, 1.0, 1.0, 1.0];
        for (a, b) in s.iter().zip(by_hand) {
            approx::assert_abs_diff_eq!(*a, b, epsilon = 1e-12);
        }
    }
}
