//! Weights of rides: how many rides they are worth, how far errors are widened, and drawing by them.

/// Rides of equal weight that tell as much as these `[-]`.
pub fn effective(weights: &[f64]) -> f64 {
    let sum: f64 = weights.iter().sum();
    let squares: f64 = weights.iter().map(|w| w * w).sum();
    if squares > 0.0 { sum * sum / squares } else { 0.0 }
}

/// Weights that add up to one, by their logs; all zero where none is finite.
pub(super) fn weights_of(logs: &[f64]) -> Vec<f64> {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if top == f64::NEG_INFINITY {
        return vec![0.0; logs.len()];
    }
    let raw: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|w| w / sum).collect()
}

/// Weights by logs, the errors as much larger as it takes for the wanted number of rides (`one_each`), and how many times larger:
/// one at least. `exp(log / factor^2)`; where fewer than twice the wanted are there at all, half of them is wanted.
pub(super) fn allowed(parents: &[usize], logs: &[f64], wanted: f64) -> (Vec<f64>, f64) {
    let at = |factor: f64| weights_of(&logs.iter().map(|l| l / (factor * factor)).collect::<Vec<_>>());
    let there: Vec<f64> = logs.iter().map(|l| f64::from(l.is_finite())).collect();
    let wanted = wanted.min(0.5 * one_each(parents, &there));
    if one_each(parents, &at(1.0)) >= wanted {
        return (at(1.0), 1.0);
    }
    let (mut low, mut high) = (1.0, 1e3);
    for _ in 0..60 {
        let middle = f64::sqrt(low * high);
        if one_each(parents, &at(middle)) >= wanted { high = middle } else { low = middle }
    }
    (at(high), high)
}

/// Rides of equal weight that tell as much of the way up to the eye before `[-]`: those drawn from one ride count once.
pub(super) fn one_each(parents: &[usize], weights: &[f64]) -> f64 {
    let mut sums = vec![0.0; parents.iter().map(|p| p + 1).max().unwrap_or(0)];
    for (parent, weight) in parents.iter().zip(weights) {
        sums[*parent] += weight;
    }
    effective(&sums)
}

/// Places drawn by weight: evenly spaced over the sum of weights, from one random start.
pub(super) fn drawn(weights: &[f64], count: usize, start: f64) -> Vec<usize> {
    let (mut sum, mut i, mut all) = (0.0, 0, Vec::with_capacity(count));
    for k in 0..count {
        let place = (k as f64 + start) / count as f64;
        while i + 1 < weights.len() && sum + weights[i] <= place {
            sum += weights[i];
            i += 1;
        }
        all.push(i);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_effective_rides_by_hand() {
        // equal ones count; one that carries all is one; 1, 1/2: (3/2)^2 / (5/4)
        assert_eq!(effective(&[0.25; 4]), 4.0);
        assert_eq!(effective(&[1.0, 0.0]), 1.0);
        approx::assert_abs_diff_eq!(effective(&[1.0, 0.5]), 1.8, epsilon = 1e-12); // rounding
        assert_eq!(effective(&[0.0, 0.0]), 0.0);
    }

    #[test]
    fn exact_errors_are_widened_as_far_as_it_takes() {
        let logs = [0.0, -8.0, -8.0, f64::NEG_INFINITY];
        // by hand: weights 1, w, w with (1 + 2 w)^2 / (1 + 2 w^2) = 1.5 for w = 0.12132
        let (weights, factor) = allowed(&[0, 1, 2, 3], &logs, 2.0);
        approx::assert_abs_diff_eq!(effective(&weights), 1.5, epsilon = 1e-6); // 60 halvings
        approx::assert_abs_diff_eq!(weights[1] / weights[0], 0.121_32, epsilon = 1e-4);
        approx::assert_abs_diff_eq!(factor, (8.0 / -(0.121_32f64).ln()).sqrt(), epsilon = 1e-3);
        assert_eq!(allowed(&[0, 1], &[0.0, -0.1], 1.0).1, 1.0);
    }

    #[test]
    fn exact_rides_of_one_parent_count_once() {
        // by hand: a half each of two; three quarters and one quarter are 1 / (9/16 + 1/16)
        assert_eq!(one_each(&[0, 0, 4, 4], &[0.25; 4]), 2.0);
        approx::assert_abs_diff_eq!(one_each(&[1, 0, 1, 1], &[0.25; 4]), 1.6, epsilon = 1e-12); // rounding
    }

    #[test]
    fn exact_rides_are_drawn_by_their_weights() {
        assert_eq!(drawn(&[0.5, 0.25, 0.25, 0.0], 4, 0.5), [0, 0, 1, 2]);
        assert_eq!(drawn(&[0.0, 0.0, 1.0], 3, 0.1), [2, 2, 2]);
    }
}
