//! Where one descent loses time against another, in seconds at the finish, by cause and section of the way.
//!
//! ```text
//!   D' = -2 kappa l' D - S            D: difference of v^2/2, S: losses a metre that one has over the other
//!   dT = int_s^end g(q,s) V(q)^-3 dL  for a loss S ds = 1 at s;  g(q,s) = exp(-int_s^q 2 kappa dL)
//!   V^-3 = 2 / (v w (v + w)),  kappa = mean of 0.5 rho CdA / m,  dL = mean of the ways
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | v, w | speeds of both descents at a station | m/s |
//! | T | time at the finish | s |
//! | l | way of the sled | m |
//! | S | `lost_j` over mass, and the fall that climbing a bank takes | J/kg |
//!
//! The rule. A loss is booked where it is made, with all it costs until the finish. The drag that a sled saves
//! because it is slower by then belongs to the loss that made it slower: that is g. What friction of the ice changes
//! because the sled is faster is booked to friction, where it happens. Difference quotients replace derivatives:
//! `1/v - 1/w = -(v^2 - w^2) / (v w (v + w))` and `a b - c d = mean(a, c) (b - d) + mean(b, d) (a - c)` are identities,
//! so all weights are means of both descents, and the causes add up to the gap for any size of it. The sums go
//! over the intervals of the trace with the same identities. What the runners' side forces put into the spin of the
//! sled is booked to skidding; most of it comes back. Left over is the residual of the energy ledger, shown as
//! `remainder_s`.
//!
//! *Valid for* two finished descents of one track. *Source*: adjoint of a linear equation; the identities are
//! derived here. *Checked by* `exact_weights_on_the_incline`, `exact_removal_on_the_incline`,
//! `conserves_nothing_against_itself`, `conserves_the_gap_of_planned_rides`.

use crate::analysis::sections::{Section, sections};
use crate::motion::descent::{Descent, LOSSES, Outcome, Sample};
use crate::motion::equations::Constants;
use track_geometry::track::Track;

/// Number of causes.
pub const CAUSES: usize = 10;
/// What takes time: the ways to lose energy, then the way itself.
pub const CAUSE_NAMES: [&str; CAUSES] = {
    let [a, b, c, d, e, f, g] = LOSSES;
    [a, b, c, d, e, f, g, "longer line", "climbed height", "push"]
};
const AIR: usize = 0;
const SKID: usize = 3;
const LONGER: usize = 7;
const CLIMBED: usize = 8;
const PUSH: usize = 9;

/// A descent with what it was computed from.
#[derive(Clone, Copy, Debug)]
pub struct Ridden<'a> {
    /// The descent, with a trace to its finish.
    pub descent: &'a Descent,
    /// Its masses and air.
    pub constants: &'a Constants,
}

/// Why there are no losses to tell.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum LossFault {
    /// A descent did not finish: the one compared (false), or the reference (true).
    #[error(
        "{} lost control at station {station_m:.0} m: there is no time at the finish",
        if *.reference { "the reference" } else { "the descent" }
    )]
    NotFinished {
        /// Which.
        reference: bool,
        /// Where it ended (m).
        station_m: f64,
    },
    /// The traces do not lie on the same stations up to the finish.
    #[error("the traces of the two descents do not lie on the same stations up to the finish")]
    OtherStations,
}

/// What one section of the way costs.
#[derive(Clone, Debug, PartialEq)]
pub struct SectionLoss {
    /// The section.
    pub section: Section,
    /// Time at the finish by cause (s), lost above zero.
    pub by_cause_s: [f64; CAUSES],
    /// By how much the gap grew in the section itself (s): where the time showed.
    pub showed_s: f64,
}

impl SectionLoss {
    /// All causes together (s).
    pub fn total_s(&self) -> f64 {
        self.by_cause_s.iter().sum()
    }
}

/// Where a descent loses time against a reference.
#[derive(Clone, Debug, PartialEq)]
pub struct Losses {
    /// Difference of the finish times (s), above zero where the reference is faster.
    pub gap_s: f64,
    /// Section by section.
    pub sections: Vec<SectionLoss>,
    /// What the causes leave over (s).
    pub remainder_s: f64,
    /// Stations of the trace (m).
    pub station_m: Vec<f64>,
    /// Gap at each station since the first eye (s).
    pub gap_at_s: Vec<f64>,
    /// Time at the finish lost there by all causes (s/m).
    pub lost_per_m_s: Vec<f64>,
    /// What one joule per kilogram lost there costs at the finish (s).
    pub weight_s_kg_per_j: Vec<f64>,
}

impl Losses {
    /// Sum over the sections by cause (s).
    pub fn by_cause_s(&self) -> [f64; CAUSES] {
        let mut sum = [0.0; CAUSES];
        for s in &self.sections {
            for (sum, v) in sum.iter_mut().zip(s.by_cause_s) {
                *sum += v;
            }
        }
        sum
    }
}

/// Spacing of a trace no wider than asked for whose last sample lies at the finish, to a millionth of a metre (m).
pub fn spacing_to_finish_m(track: &Track, widest_m: f64) -> f64 {
    let finish_m = track.finish_m();
    // a hair less, so that rounding does not push the last sample beyond the finish
    finish_m / (finish_m / widest_m).ceil() * (1.0 - 1e-12)
}

/// The losses of a descent against a reference.
///
/// # Errors
/// A descent that did not finish, or traces on other stations than each other's, see [`spacing_to_finish_m`].
pub fn losses(track: &Track, descent: Ridden<'_>, reference: Ridden<'_>) -> Result<Losses, LossFault> {
    for (ridden, is_reference) in [(descent, false), (reference, true)] {
        if let Outcome::ControlLost { station_m, .. } = ridden.descent.outcome {
            return Err(LossFault::NotFinished { reference: is_reference, station_m });
        }
    }
    let (a, b) = (descent.descent.trace.as_slice(), reference.descent.trace.as_slice());
    let same = |(a, b): (&Sample, &Sample)| (a.station_m - b.station_m).abs() < 1e-6;
    let ends = a.last().is_some_and(|s| (s.station_m - track.finish_m()).abs() < 1e-6);
    let (Some(time_a), Some(time_b)) = (descent.descent.finish_time_s, reference.descent.finish_time_s)
    else {
        return Err(LossFault::OtherStations);
    };
    if a.len() != b.len() || a.len() < 3 || !ends || !a.iter().zip(b).all(same) {
        return Err(LossFault::OtherStations);
    }
    Ok(Pair { a, b, of_a: descent.constants, of_b: reference.constants }.losses(track, time_a, time_b))
}

/// Two traces on the same stations.
struct Pair<'a> {
    a: &'a [Sample],
    b: &'a [Sample],
    of_a: &'a Constants,
    of_b: &'a Constants,
}

/// What one interval of the trace adds.
#[derive(Clone, Copy, Default)]
struct Interval {
    /// Losses that one has over the other, by cause (J/kg); the longer line in seconds.
    own: [f64; CAUSES],
    /// What is in no cause (J/kg).
    rest: f64,
    /// Twice kappa times the way `[-]`.
    fading: f64,
    /// Mean way over the product of the mean speeds (s2/m).
    slow: f64,
}

impl Pair<'_> {
    /// Difference of v^2/2 (J/kg).
    fn ahead(&self, i: usize) -> f64 {
        0.5 * (self.a[i].speed_m_s.powi(2) - self.b[i].speed_m_s.powi(2))
    }

    fn interval(&self, i: usize) -> Interval {
        let step = |s: &[Sample], c: &Constants| {
            let (p, q) = (&s[i], &s[i + 1]);
            let speed = 0.5 * (p.speed_m_s + q.speed_m_s);
            let way = speed * (q.time_s - p.time_s);
            let mut lost: [f64; LOSSES.len()] =
                std::array::from_fn(|n| (q.lost_j[n] - p.lost_j[n]) / c.mass_kg);
            // what the runners' side forces put into the spin; mostly it comes back
            let spin = q.yaw_rate_rad_s.powi(2) - p.yaw_rate_rad_s.powi(2);
            lost[SKID] += 0.5 * c.yaw_inertia_kg_m2 / c.mass_kg * spin;
            (speed, way, lost, c.gravity_m_s2 * (q.elevation_m - p.elevation_m))
        };
        let (speed_a, way_a, lost_a, climb_a) = step(self.a, self.of_a);
        let (speed_b, way_b, lost_b, climb_b) = step(self.b, self.of_b);
        let kappa =
            0.5 * (self.of_a.drag_kg_per_m / self.of_a.mass_kg + self.of_b.drag_kg_per_m / self.of_b.mass_kg);
        let way = 0.5 * (way_a + way_b);
        let fading = 2.0 * kappa * way;
        let (before, after) = (self.ahead(i), self.ahead(i + 1));
        let mut own = [0.0; CAUSES];
        for (own, (x, y)) in own.iter_mut().zip(lost_a.iter().zip(&lost_b)) {
            *own = x - y;
        }
        own[CLIMBED] = climb_a - climb_b;
        let rest = before - after - own.iter().sum::<f64>();
        own[AIR] -= fading * 0.5 * (before + after);
        own[LONGER] = (way_a - way_b) * 0.5 * (1.0 / speed_a + 1.0 / speed_b);
        Interval { own, rest, fading, slow: way / (speed_a * speed_b) }
    }

    fn losses(&self, track: &Track, time_a: f64, time_b: f64) -> Losses {
        let (a, b) = (self.a, self.b);
        let last = a.len() - 1;
        // until both glide, only the time and the energy that the push leaves matter
        let glides = |i: usize| a[i].lost_j[AIR] > 0.0 && b[i].lost_j[AIR] > 0.0;
        let first = (0..last).find(|&i| glides(i + 1)).unwrap_or(0);
        let intervals: Vec<Interval> =
            (0..last).map(|i| if i < first { Interval::default() } else { self.interval(i) }).collect();
        let gap_at_s: Vec<f64> = (0..=last)
            .map(|i| (a[i].time_s - a[last].time_s + time_a) - (b[i].time_s - b[last].time_s + time_b))
            .collect();
        // what a difference of v^2/2 at a sample costs until the finish: less than nothing, it is a gain
        let mut costs = vec![0.0; last + 1];
        let mut weight = vec![0.0; last + 1];
        for i in (first..=last).rev() {
            let both = a[i].speed_m_s + b[i].speed_m_s;
            if let Some(next) = intervals.get(i) {
                let later = costs[i + 1] * (1.0 - 0.5 * next.fading) / (1.0 + 0.5 * next.fading);
                weight[i] = next.slow / both - later;
            }
            // a difference at a sample counts half in the interval before it
            let before = if i > first { intervals[i - 1].slow / both } else { 0.0 };
            costs[i] = -weight[i] - before;
        }
        let mut rows: Vec<SectionLoss> = sections(track)
            .into_iter()
            .map(|section| SectionLoss { section, by_cause_s: [0.0; CAUSES], showed_s: 0.0 })
            .collect();
        let mut remainder_s = 0.0;
        let mut lost_per_m_s = vec![0.0; last + 1];
        let mut row = 0;
        for (i, interval) in intervals.iter().enumerate() {
            let middle_m = 0.5 * (a[i].station_m + a[i + 1].station_m);
            while row + 1 < rows.len() && middle_m >= rows[row].section.to_m {
                row += 1;
            }
            rows[row].showed_s += gap_at_s[i + 1] - gap_at_s[i];
            let weight = -costs[i + 1] / (1.0 + 0.5 * interval.fading);
            let mut own = interval.own.map(|v| v * weight);
            own[LONGER] = interval.own[LONGER];
            if i == first {
                own[PUSH] = gap_at_s[first] + costs[first] * self.ahead(first) + interval.rest * weight;
            } else {
                remainder_s += interval.rest * weight;
            }
            for (sum, v) in rows[row].by_cause_s.iter_mut().zip(own) {
                *sum += v;
            }
            lost_per_m_s[i + 1] = own.iter().sum::<f64>() / (a[i + 1].station_m - a[i].station_m);
        }
        if let Some(row) = rows.first_mut() {
            row.showed_s += gap_at_s[0];
        }
        Losses {
            gap_s: time_a - time_b,
            sections: rows,
            remainder_s,
            station_m: a.iter().map(|s| s.station_m).collect(),
            gap_at_s,
            lost_per_m_s,
            weight_s_kg_per_j: weight,
        }
    }
}
