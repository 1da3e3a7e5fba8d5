//! Which bows pass a demand: every stretch of them, not the first crossing.

/// A stretch of bow that passes, both ends in it (m).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Least bow (m).
    pub from_m: f64,
    /// Greatest bow (m).
    pub to_m: f64,
}

/// Stretches of `from_m..=to_m` in which `measure` is known and at least `wanted`; empty when no bow passes, the
/// whole range when every bow does.
///
/// The range is looked at in `steps` even steps and each crossing is refined by bisection, so a stretch
/// narrower than a step can be missed. `measure` takes a bow (m) and gives, for example, a static margin; `None`,
/// a bow that could not be computed, does not pass.
/// Checked by: `exact_every_stretch_is_found`, `exact_all_or_none`.
pub fn passing(
    measure: impl Fn(f64) -> Option<f64>,
    wanted: f64,
    from_m: f64,
    to_m: f64,
    steps: usize,
) -> Vec<Stretch> {
    let passes = |bow_m: f64| measure(bow_m).is_some_and(|m| m >= wanted);
    let steps = steps.max(1);
    let at = |i: usize| from_m + (to_m - from_m) * i as f64 / steps as f64;
    // the last bow that passes between one that does and one that does not
    let edge = |mut inside: f64, mut outside: f64| {
        for _ in 0..BISECTIONS {
            let middle = 0.5 * (inside + outside);
            if passes(middle) { inside = middle } else { outside = middle }
        }
        inside
    };
    let mut found: Vec<Stretch> = Vec::new();
    let mut open: Option<f64> = None;
    for i in 0..=steps {
        match (open, passes(at(i))) {
            (None, true) => open = Some(if i == 0 { from_m } else { edge(at(i), at(i - 1)) }),
            (Some(from_m), false) => {
                found.push(Stretch { from_m, to_m: edge(at(i - 1), at(i)) });
                open = None;
            }
            _ => {}
        }
    }
    if let Some(from_m) = open {
        found.push(Stretch { from_m, to_m });
    }
    found
}

/// Halvings of a step: a step of 0.2 mm ends below a micrometre, which no screw sets.
const BISECTIONS: usize = 10;

/// What both lists of stretches have in common.
pub fn in_common(a: &[Stretch], b: &[Stretch]) -> Vec<Stretch> {
    let pairs = a.iter().flat_map(|x| b.iter().map(move |y| (x, y)));
    pairs
        .map(|(x, y)| Stretch { from_m: x.from_m.max(y.from_m), to_m: x.to_m.min(y.to_m) })
        .filter(|s| s.from_m <= s.to_m)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 8 mm in 40 steps of 0.2 mm, each halved ten times.
    const FINE_M: f64 = 2e-7;

    #[test]
    fn exact_every_stretch_is_found() {
        // 9e-6 - (b - 4 mm)^2 is at least 0 from 1 to 7 mm, and its negative outside
        let hill = |b: f64| Some(9e-6 - (b - 4e-3).powi(2));
        let inside = passing(hill, 0.0, 0.0, 8e-3, 40);
        assert_eq!(inside.len(), 1);
        approx::assert_abs_diff_eq!(inside[0].from_m, 1e-3, epsilon = FINE_M);
        approx::assert_abs_diff_eq!(inside[0].to_m, 7e-3, epsilon = FINE_M);
        let outside = passing(|b| hill(b).map(|h| -h), 0.0, 0.0, 8e-3, 40);
        assert_eq!(outside.len(), 2);
        assert_eq!((outside[0].from_m, outside[1].to_m), (0.0, 8e-3));
        approx::assert_abs_diff_eq!(outside[0].to_m, 1e-3, epsilon = FINE_M);
        approx::assert_abs_diff_eq!(outside[1].from_m, 7e-3, epsilon = FINE_M);
        // they touch at the crossings alone
        assert!(in_common(&inside, &outside).iter().all(|s| s.to_m - s.from_m < FINE_M));
        assert_eq!(in_common(&inside, &[Stretch { from_m: 0.0, to_m: 2e-3 }])[0].to_m, 2e-3);
    }

    #[test]
    fn exact_all_or_none() {
        assert_eq!(passing(Some, 0.0, 0.0, 8e-3, 40), [Stretch { from_m: 0.0, to_m: 8e-3 }]);
        assert!(passing(Some, 1.0, 0.0, 8e-3, 40).is_empty());
        assert!(passing(|_| None, 0.0, 0.0, 8e-3, 40).is_empty());
        assert!(passing(|_| Some(f64::NAN), 0.0, 0.0, 8e-3, 40).is_empty());
    }
}
