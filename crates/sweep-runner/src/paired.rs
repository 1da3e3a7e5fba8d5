//! Two set-ups told apart ride by ride: the same mistakes with both, and what their differences say.

use crate::ensemble::{Ensemble, Figure, RideRow, mean, share_error};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// What two ensembles with the same seeds say of two set-ups, the first less the second.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paired {
    /// Mean of the differences of time over the rides that finish with both (s).
    pub difference_s: Option<Figure>,
    /// Rides that finish with both.
    pub pairs: usize,
    /// Share of rides in which the first is faster, equal times counted half; a lost ride is the slower one `[-]`.
    pub first_faster: Figure,
}

/// What the pairs say of the first set-up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Faster in the mean.
    Faster,
    /// Slower in the mean.
    Slower,
    /// The same time in every ride.
    Same,
    /// The band holds zero, or there are too few pairs for a band.
    CannotTell,
}

impl Verdict {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Verdict::Faster => "faster",
            Verdict::Slower => "slower",
            Verdict::Same => "the same",
            Verdict::CannotTell => "cannot tell",
        }
    }
}

impl Paired {
    /// Band of 95 % of the mean difference (s), by Student's distribution.
    pub fn band_s(&self) -> Option<(f64, f64)> {
        let d = self.difference_s?;
        let student = StudentsT::new(0.0, 1.0, self.pairs.checked_sub(1)? as f64).ok()?;
        let half_s = student.inverse_cdf(0.975) * d.error;
        Some((d.value - half_s, d.value + half_s))
    }

    /// What the band says, widened by the numerical error of both times (s) where that is known.
    pub fn verdict(&self, numerical_s: f64) -> Verdict {
        let (Some(d), Some((low_s, high_s))) = (self.difference_s, self.band_s()) else {
            return Verdict::CannotTell;
        };
        let numerical_s = if numerical_s.is_finite() { numerical_s } else { 0.0 };
        if d.value == 0.0 && d.error == 0.0 {
            Verdict::Same
        } else if high_s + numerical_s < 0.0 {
            Verdict::Faster
        } else if low_s - numerical_s > 0.0 {
            Verdict::Slower
        } else {
            Verdict::CannotTell
        }
    }
}

/// Ride by ride, the first less the second.
pub fn paired(a: &Ensemble, b: &Ensemble) -> Paired {
    let both = a.rides.iter().zip(&b.rides);
    let differences: Vec<f64> =
        both.clone().filter_map(|(a, b)| Some(a.finish_time_s? - b.finish_time_s?)).collect();
    let time = |r: &RideRow| r.finish_time_s.unwrap_or(f64::INFINITY);
    let wins: Vec<f64> = both
        .map(|(a, b)| match time(a).total_cmp(&time(b)) {
            std::cmp::Ordering::Less => 1.0,
            std::cmp::Ordering::Equal => 0.5,
            std::cmp::Ordering::Greater => 0.0,
        })
        .collect();
    let n = wins.len() as f64;
    let value = wins.iter().sum::<f64>() / n;
    // the same in every ride is no draw that might have come out otherwise
    let error = if wins.iter().all(|w| *w == 0.5) { 0.0 } else { share_error(value, n) };
    Paired {
        difference_s: mean(&differences),
        pairs: differences.len(),
        first_faster: Figure { value, error: if wins.is_empty() { f64::NAN } else { error } },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use sled_dynamics::descent::Loss;

    fn of(times: &[Option<f64>]) -> Ensemble {
        let row = |t: &Option<f64>| RideRow {
            finish_time_s: *t,
            wall_touches: 0,
            lost: t.is_none().then_some((100.0, Loss::Skidded)),
        };
        Ensemble { planned_time_s: None, rides: times.iter().map(row).collect() }
    }

    #[test]
    fn exact_pairs_by_hand() {
        let a = of(&[Some(10.0), Some(11.0), None, Some(9.0), None]);
        let b = of(&[Some(10.5), Some(11.0), Some(12.0), None, None]);
        let p = paired(&a, &b);
        // differences -0.5 and 0; wins 1, 1/2, 0, 1, 1/2
        assert_eq!((p.pairs, p.difference_s.unwrap().value), (2, -0.25));
        approx::assert_abs_diff_eq!(p.first_faster.value, 0.6, epsilon = 1e-12);
        let q = paired(&b, &a);
        assert_eq!(q.difference_s.unwrap().value, 0.25);
        approx::assert_abs_diff_eq!(q.first_faster.value, 0.4, epsilon = 1e-12);
    }

    #[test]
    fn published_band_of_student() {
        // differences 1, 2, 3: mean 2, standard error 1/sqrt 3; t for two degrees at 97.5 % is 4.30265 (any table)
        let a = of(&[Some(11.0), Some(12.0), Some(13.0)]);
        let p = paired(&a, &of(&[Some(10.0); 3]));
        let (low, high) = p.band_s().unwrap();
        let half = 4.302_65 / 3.0_f64.sqrt();
        // the table has six digits
        assert!((low - (2.0 - half)).abs() < 1e-5 && (high - (2.0 + half)).abs() < 1e-5, "{low} {high}");
        assert_eq!(p.verdict(0.0), Verdict::CannotTell);
    }

    #[test]
    fn exact_verdicts_turn_round() {
        let a = of(&[Some(11.0), Some(11.1), Some(11.2), None]);
        let b = of(&[Some(10.0), Some(10.1), Some(10.1), Some(10.0)]);
        assert_eq!(
            (paired(&a, &b).verdict(0.0), paired(&b, &a).verdict(0.0)),
            (Verdict::Slower, Verdict::Faster)
        );
        // an error of a second and more hides a difference of a second; one that is not known hides nothing
        assert_eq!(paired(&a, &b).verdict(1.2), Verdict::CannotTell);
        assert_eq!(paired(&a, &b).verdict(f64::INFINITY), Verdict::Slower);
        let same = paired(&a, &a);
        assert_eq!((same.verdict(0.1), same.pairs), (Verdict::Same, 3));
        assert_eq!((same.first_faster.value, same.first_faster.error), (0.5, 0.0));
        let one = paired(&of(&[Some(1.0)]), &of(&[Some(2.0)]));
        assert_eq!((one.band_s(), one.verdict(0.0)), (None, Verdict::CannotTell));
    }
}
