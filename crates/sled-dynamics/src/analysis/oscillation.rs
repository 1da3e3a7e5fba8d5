//! How the sled swings on the bank of a corner: pressures, amplitude, damping, wavelength, and how the exit
//! catches it.
//!
//! ```text
//!   swing D_i = |e_i+1 - e_i|        e: turning points of the height inside the corner
//!   viscous  D_i = D_0 exp(-i L)     zeta = L / sqrt(pi^2 + L^2)
//!   Coulomb  D_i = D_0 - i c
//!   natural  f = sqrt(G g / r) / (2 pi)
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | D | `swings_m`, from one turning point of the height to the next | m |
//! | L | logarithmic decrement of half a period | - |
//! | zeta | `damping_ratio` | - |
//! | c | `lost_a_swing_m` | m |
//! | G | load over weight, mean of the corner | - |
//! | r | trough radius | m |
//!
//! *Valid for* swings about a level that changes little from one turning point to the next. *Assumes* nothing of
//! the law of damping: both are fitted, and one is named only where it leaves less than half the misfit of the
//! other. *Source*: logarithmic decrement and its counterpart for dry friction, any text on vibration; small
//! oscillation on a bank, the pendulum under the load. *Checked by* `exact_damping_of_a_synthetic_decay`,
//! `exact_torus_corner_through_the_counter`.

use crate::laws::gravity::STANDARD_GRAVITY_M_S2;
use crate::motion::corners::{ON_BANK_M, PRESSURE_G};
use crate::motion::descent::Sample;
use crate::motion::extremes::{Extreme, Near, extremes};
use track_geometry::track::{Corner, Hand, Track};

/// A swing of the height counts from here on (m), assumed: less is not seen on a bank.
pub(crate) const SWING_M: f64 = 0.02;
/// Swings from which damping is told of a corner: between two, a level that shifts looks like damping.
const SWINGS_TO_DAMP: usize = 3;
/// Turning points from which a whole swing is told.
const TURNS_TO_TELL: usize = 3;
/// Swings from which the law of damping can be told: two numbers are fitted, two are left over.
const SWINGS_TO_TELL: usize = 4;
/// One law is named where its misfit is less than this share of the other's `[-]`, assumed.
const TELLING: f64 = 0.5;

/// A pressure: a maximum of the load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pressure {
    /// Station (m).
    pub station_m: f64,
    /// Time since the block (s).
    pub time_s: f64,
    /// Way of the sled from the first sample (m).
    pub path_m: f64,
    /// Load over weight `[-]`.
    pub(crate) g_load: f64,
    /// Height on the bank (m).
    pub height_m: f64,
}

/// By which law swings die out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decay {
    /// By a share each swing.
    Viscous,
    /// By the same amount each swing.
    Coulomb,
    /// Too few swings, or both laws fit alike.
    CannotTell,
}

impl Decay {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Decay::Viscous => "viscous",
            Decay::Coulomb => "Coulomb",
            Decay::CannotTell => "cannot tell",
        }
    }
}

/// How swings die out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Damping {
    /// Damping ratio of the viscous law `[-]`; negative where the swings grow.
    pub damping_ratio: f64,
    /// What a swing is smaller than the one before, by the Coulomb law (m).
    pub(crate) lost_a_swing_m: f64,
    /// Which of the two it is.
    pub decay: Decay,
}

/// Where in its swing the exit catches the sled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtExit {
    /// Station where the curve has opened to half of its tightest (m).
    pub(crate) station_m: f64,
    /// Speed up the bank there, over the ice (m/s): rising above zero.
    pub rising_m_s: f64,
    /// Part of a swing since the last pressure, a whole swing being 2 pi (rad); none without a pressure.
    pub phase_rad: Option<f64>,
}

/// How the sled swings in one corner.
#[derive(Clone, Debug, PartialEq)]
pub struct Swing {
    /// Name of the corner.
    pub corner: String,
    /// Pressures on the bank, in order.
    pub pressures: Vec<Pressure>,
    /// From turning point to turning point of the height (m).
    pub(crate) swings_m: Vec<f64>,
    /// Half the mean swing (m); none without a swing.
    pub amplitude_m: Option<f64>,
    /// How the swings die out; none with fewer than three.
    pub damping: Option<Damping>,
    /// Time of a swing of the height there and back (s); none with fewer than three turning points.
    pub(crate) period_s: Option<f64>,
    /// Way of such a swing (m); none with fewer than three turning points.
    pub wavelength_m: Option<f64>,
    /// Way of a small free swing under the mean load of the corner (m).
    pub natural_wavelength_m: Option<f64>,
    /// How the exit catches the sled.
    pub exit: Option<AtExit>,
    /// Greatest share of a runner's load outside the bow screws `[-]`; above one half it bridges.
    pub outside_screws: f64,
}

/// A turning point of the height: a highest or a lowest place of a swing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// Time since the block (s).
    pub time_s: f64,
    /// Way of the sled from the first sample (m).
    pub path_m: f64,
    /// Height on the bank (m).
    pub(crate) height_m: f64,
}

/// Columns of a stretch of a trace.
struct Columns {
    time_s: Vec<f64>,
    path_m: Vec<f64>,
    station_m: Vec<f64>,
    height_m: Vec<f64>,
}

impl Columns {
    fn of(trace: &[Sample]) -> Columns {
        let of = |f: &dyn Fn(&Sample) -> f64| -> Vec<f64> { trace.iter().map(f).collect() };
        let mut path_m = Vec::with_capacity(trace.len());
        for (i, s) in trace.iter().enumerate() {
            let way = |a: &Sample| 0.5 * (a.speed_m_s + s.speed_m_s) * (s.time_s - a.time_s);
            path_m.push(if i == 0 { 0.0 } else { path_m[i - 1] + way(&trace[i - 1]) });
        }
        Columns {
            time_s: of(&|s| s.time_s),
            path_m,
            station_m: of(&|s| s.station_m),
            height_m: of(&|s| s.height_m),
        }
    }

    /// A column at the place of an extreme.
    fn there(&self, column: &[f64], e: &Extreme) -> f64 {
        Near::new(&self.time_s, column, e.index).at(e.at).0
    }
}

/// Pressures in a stretch of a trace: maxima of the load that stand out by `rise_g` over weight.
pub fn pressures(trace: &[Sample], rise_g: f64) -> Vec<Pressure> {
    let c = Columns::of(trace);
    let load: Vec<f64> = trace.iter().map(|s| s.g_load).collect();
    let maxima = extremes(&c.time_s, &load, rise_g).into_iter().filter(|e| e.maximum);
    maxima
        .map(|e| Pressure {
            station_m: c.there(&c.station_m, &e),
            time_s: e.at,
            path_m: c.there(&c.path_m, &e),
            g_load: e.value,
            height_m: c.there(&c.height_m, &e),
        })
        .collect()
}

/// Turning points of the height in a stretch of a trace that stand out by `rise_m`, the first a highest place.
pub fn turns(trace: &[Sample], rise_m: f64) -> Vec<Turn> {
    let c = Columns::of(trace);
    extremes(&c.time_s, &c.height_m, rise_m)
        .iter()
        .map(|e| Turn { time_s: e.at, path_m: c.there(&c.path_m, e), height_m: e.value })
        .collect()
}

/// Sum of squares and slope of the straight line through values one apart.
fn straight(values: &[f64]) -> (f64, f64, f64) {
    let n = values.len() as f64;
    let (x0, y0) = (0.5 * (n - 1.0), values.iter().sum::<f64>() / n);
    let (mut xx, mut xy) = (0.0, 0.0);
    for (i, v) in values.iter().enumerate() {
        let x = i as f64 - x0;
        xx += x * x;
        xy += x * (v - y0);
    }
    let slope = xy / xx;
    (y0 - slope * x0, slope, n)
}

/// How swings die out; none for fewer than two, or for a swing of nothing.
pub(crate) fn damping(swings_m: &[f64]) -> Option<Damping> {
    if swings_m.len() < 2 || !swings_m.iter().all(|d| *d > 0.0 && d.is_finite()) {
        return None;
    }
    let logs: Vec<f64> = swings_m.iter().map(|d| d.ln()).collect();
    let (log_first, log_slope, _) = straight(&logs);
    let (first, slope, _) = straight(swings_m);
    let misfit = |law: &dyn Fn(f64) -> f64| -> f64 {
        swings_m.iter().enumerate().map(|(i, d)| (d - law(i as f64)).powi(2)).sum()
    };
    let viscous = misfit(&|i| (log_first + log_slope * i).exp());
    let coulomb = misfit(&|i| first + slope * i);
    // below a share of the swings that no trace resolves both laws fit
    let noise = 1e-18 * swings_m.iter().map(|d| d * d).sum::<f64>();
    let decay = if swings_m.len() < SWINGS_TO_TELL || viscous.max(coulomb) <= noise {
        Decay::CannotTell
    } else if viscous < TELLING * coulomb {
        Decay::Viscous
    } else if coulomb < TELLING * viscous {
        Decay::Coulomb
    } else {
        Decay::CannotTell
    };
    let half = -log_slope;
    let damping_ratio = half / (std::f64::consts::PI.powi(2) + half * half).sqrt();
    Some(Damping { damping_ratio, lost_a_swing_m: -slope, decay })
}

/// How the sled swings in the corners of a track; corners that the trace does not cover whole are left out.
pub fn swings(track: &Track, trace: &[Sample]) -> Vec<Swing> {
    let Some(last) = trace.last() else { return vec![] };
    let covered = |c: &&Corner| trace[0].station_m <= c.entry_m && c.exit_m <= last.station_m + 1e-6;
    let swing = |corner: &Corner| {
        let from = trace.partition_point(|s| s.station_m < corner.entry_m);
        let to = trace.partition_point(|s| s.station_m <= corner.exit_m);
        trace.get(from..to).filter(|inside| !inside.is_empty()).map(|inside| swing_in(track, corner, inside))
    };
    track.data.corners.iter().filter(covered).filter_map(swing).collect()
}

fn swing_in(track: &Track, corner: &Corner, inside: &[Sample]) -> Swing {
    let mut pressures = pressures(inside, PRESSURE_G);
    pressures.retain(|p| p.height_m >= ON_BANK_M);
    let mut turns = turns(inside, SWING_M);
    turns.retain(|t| t.height_m >= ON_BANK_M);
    let swings_m: Vec<f64> = turns.windows(2).map(|e| (e[1].height_m - e[0].height_m).abs()).collect();
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    // a swing there and back; the load swings twice as often where the sled crosses the bank fast
    let whole = |of: &dyn Fn(&Turn) -> f64| match turns.as_slice() {
        [first, .., last] if turns.len() >= TURNS_TO_TELL => {
            Some(2.0 * (of(last) - of(first)) / (turns.len() - 1) as f64)
        }
        _ => None,
    };
    let period_s = whole(&|t| t.time_s);
    let middle = &inside[inside.len() / 2];
    let trough_per_m = track.surface.station(middle.station_m).trough[0];
    let loads: Vec<f64> = inside.iter().map(|s| s.g_load).collect();
    let speeds: Vec<f64> = inside.iter().map(|s| s.speed_m_s).collect();
    let stiff = mean(&loads) * STANDARD_GRAVITY_M_S2 * trough_per_m;
    let natural_s = (stiff > 0.0).then(|| std::f64::consts::TAU / stiff.sqrt());
    let outside = inside.iter().flat_map(|s| s.contact.outside_screws).fold(0.0, f64::max);
    Swing {
        corner: corner.name.clone(),
        exit: at_exit(track, corner, inside, &pressures, period_s.or(natural_s)),
        amplitude_m: (!swings_m.is_empty()).then(|| 0.5 * mean(&swings_m)),
        damping: damping(&swings_m).filter(|_| swings_m.len() >= SWINGS_TO_DAMP),
        period_s,
        wavelength_m: whole(&|t| t.path_m),
        natural_wavelength_m: natural_s.map(|t| t * mean(&speeds)),
        outside_screws: outside,
        pressures,
        swings_m,
    }
}

fn at_exit(
    track: &Track,
    corner: &Corner,
    inside: &[Sample],
    pressures: &[Pressure],
    period_s: Option<f64>,
) -> Option<AtExit> {
    let turning = |s: &Sample| track.surface.station(s.station_m).turning[0].abs();
    let tightest = inside.iter().map(turning).fold(0.0, f64::max);
    // the last sample that is still within the curve, with a neighbour on either side
    let i = inside.iter().rposition(|s| turning(s) >= 0.5 * tightest)?.clamp(1, inside.len().max(3) - 2);
    let (before, here, after) = (inside.get(i - 1)?, inside.get(i)?, inside.get(i + 1)?);
    let across_m_s = (after.offset_m - before.offset_m) / (after.time_s - before.time_s);
    let outwards = if corner.hand == Hand::Left { -1.0 } else { 1.0 };
    let last = pressures.iter().rev().find(|p| p.time_s <= here.time_s);
    let phase = last.zip(period_s).map(|(p, t)| std::f64::consts::TAU * (here.time_s - p.time_s) / t);
    Some(AtExit { station_m: here.station_m, rising_m_s: outwards * across_m_s, phase_rad: phase })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// Turning points of a decay, from samples every 10 ms of x(t), through the finder of extremes.
    fn swings_of(x: impl Fn(f64) -> f64) -> Vec<f64> {
        let t: Vec<f64> = (0..=800).map(|i| f64::from(i) * 0.01).collect();
        let x: Vec<f64> = t.iter().map(|t| 1.5 + x(*t)).collect();
        extremes(&t, &x, 1e-3).windows(2).map(|e| (e[1].value - e[0].value).abs()).collect()
    }

    #[test]
    fn exact_damping_of_a_synthetic_decay() {
        // ratio 0.1 at 4 rad/s: log decrement 0.6314838834, damped period 1.5787097085 s (closed forms)
        let (ratio, omega) = (0.1_f64, 4.0);
        let fast = omega * (1.0 - ratio * ratio).sqrt();
        let swings = swings_of(|t| (-ratio * omega * t).exp() * (fast * t - 1.0).cos());
        let d = damping(&swings).unwrap();
        assert!((d.damping_ratio - ratio).abs() < 1e-4 * ratio, "{}", d.damping_ratio); // as promised
        let decrement = 2.0 * (swings[0] / swings[1]).ln();
        assert!((decrement - 0.631_483_883_4).abs() < 1e-6); // six samples of 0.04 rad leave less
        assert_eq!(d.decay, Decay::Viscous);
    }

    #[test]
    fn exact_coulomb_decay_is_told_apart() {
        // half periods between turning points that each lose 0.1 m of a swing of 1 m
        let swings = swings_of(|t| {
            let n = ((t * 4.0 - 1.0) / PI).floor().max(-1.0);
            // amplitude about the level that friction shifts from half period to half period
            let amplitude = 0.5 - 0.05 * (n + 1.0);
            let shift = if (n as i64) % 2 == 0 { 0.025 } else { -0.025 };
            amplitude * (t * 4.0 - 1.0).cos() + shift
        });
        let d = damping(&swings).unwrap();
        assert_eq!(d.decay, Decay::Coulomb, "{swings:?}");
        assert!((d.lost_a_swing_m - 0.1).abs() < 1e-3, "{}", d.lost_a_swing_m); // the joints are not smooth
    }

    #[test]
    fn exact_few_or_even_swings_tell_no_law() {
        assert_eq!(damping(&[0.3]), None);
        assert_eq!(damping(&[0.3, 0.0]), None);
        assert_eq!(damping(&[0.4, 0.2]).unwrap().decay, Decay::CannotTell);
        let even = damping(&[0.3; 6]).unwrap();
        assert_eq!((even.decay, even.damping_ratio), (Decay::CannotTell, 0.0));
    }
}
