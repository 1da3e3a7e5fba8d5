//! What the ice under a runner carries: cut, pressed back, melted away, from the leading edge to the rear.
//!
//! Ice that is cut bears its hardness. Ice that melts faster than the runner sinks gives way; what is left is carried by
//! the water. The pressure over the hardness is the *share*; it hangs on everything that is in front of a place.

mod crossing;
mod mean;

use crate::film::{MeltFilm, PARTING, VISCOSITY_PA_S};
use crate::rig::Rig;
use crate::runner::IceState;
use crossing::crossing;
use mean::Mean;
use numerics::dual::{Dual, Real};

/// Spring-back of pressed ice over the width of the contact, for a pressure of the modulus of the ice `[-]`: half-space
/// under a long strip, `(2/pi) (ln(2 l/w) + 1)` with a strip some thirty times as long as wide.
const SPRING_BACK: f64 = 3.2;
/// Part of the film that is lost on a metre off the ice (1/m). Assumed.
pub(crate) const DRY_LOSS_PER_M: f64 = 50.0;
/// Film below which two surfaces count as dry (m).
const LEAST_M: f64 = 1e-9;
/// Depth below which a cell counts as not touched (m).
const LEAST_DEPTH_M: f64 = 1e-12;

/// Ice that is cut, springs back and melts under a runner.
///
/// ```text
///   D   depth of the steel below the highest crests,  w  width of a contact,  h  film of melt water
///   I   depth of the unloaded surface of the ice:     I' = v_m/V + (what is cut)
///   e   = D + h - I                                   compression of the ice, 0 <= e <= e_H
///   p   = H e/e_H,  e_H = 3.2 (H/E) w                 at e = e_H the ice is cut, and bears H
///   v_m = [tau V - q_ice] / (rho_i L)                 melting, by the heat of the film (film.rs)
///   share = p / H,  line load = p * (mean width)
/// ```
///
/// | symbol | name | unit |
/// |---|---|---|
/// | H | `hardness_pa` | Pa |
/// | E | `youngs_modulus_pa` of ice | Pa |
/// | V | `contact_speed_m_s` of the ice | m/s |
/// | ' | per metre behind the leading edge | |
///
/// A second stretch of touch in the same rut meets the ice as the first one left it, at I. The edges of the groove
/// stand higher than the lowest line of the smooth front, and meet the ice as the front left it there: cut to the
/// same height, with its water on it. Where nothing touched in front they meet fresh ice.
///
/// Within a cell e is linear between its ends: the ice presses where e > 0, from the place on where it begins.
///
/// *Valid for* sliding ahead at about the speed of the contact. *Assumes* plane cross-sections, one film across the
/// width, elastic recovery as of a half-space under a long strip, a smooth film (roughness enters the friction only).
/// *Source*: derived here. Where the ice melts faster than the runner sinks the pressure falls below the hardness;
/// the recovery of the ice makes that a continuous change.
/// *Checked by* `exact_ice_behind_the_deepest_point_carries_its_recovery_only`,
/// `trade_a_flat_contact_melts_more_than_it_cuts`.
#[derive(Clone, Debug)]
pub(crate) struct Melting {
    film: MeltFilm,
    youngs_modulus_pa: f64,
    speed_m_s: f64,
    /// Melting per metre for the heat of a metre's shear stress (1/Pa): 1/(rho_i L).
    per_stress: f64,
    /// Growth c of the film at its start, h = c sqrt(s) (m^(1/2)).
    start: f64,
}

/// Ice under one runner from the leading edge to a place.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Under {
    /// Film of melt water (m).
    film_m: f64,
    /// Depth of the unloaded surface (m).
    ice_m: f64,
    share: f64,
    /// Nothing has touched the ice yet.
    fresh: bool,
    /// Length of touch in front (m).
    behind_m: f64,
}

impl Under {
    /// Ice that nothing has touched.
    pub(crate) const FRESH: Under = Under { film_m: 0.0, ice_m: 0.0, share: 1.0, fresh: true, behind_m: 0.0 };

    /// From the smooth rod to the edges of its groove, that much higher: the ice beside the lowest line of the rod is
    /// less deep by as much, at most untouched. Derivative of its depth by what it was.
    pub(crate) fn meets_the_edges(&mut self, height_m: f64) -> f64 {
        let cut = self.ice_m > height_m;
        self.ice_m = (self.ice_m - height_m).max(0.0);
        if cut { 1.0 } else { 0.0 }
    }

    /// Over a length off the ice: the water is lost bit by bit, the surface stays as it is. What is kept of the film.
    pub(crate) fn leave(&mut self, length_m: f64) -> f64 {
        let kept = (1.0 - DRY_LOSS_PER_M * length_m).max(0.0);
        self.film_m *= kept;
        self.share = if self.fresh { 1.0 } else { 0.0 };
        kept
    }
}

/// What a cell hangs on: depth at its rear and front end, film and ice depth in front of it.
const INPUTS: usize = 4;

/// What the ice does to one cell, with derivatives by its inputs.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Answer {
    /// Forces at its rear and front end (N).
    pub(crate) force_n: [f64; 2],
    /// Pressure over hardness, mean over the cell `[-]`.
    pub(crate) share: f64,
    /// Part of the length of touch where anything presses `[-]`.
    pub(crate) pressed: f64,
    /// Section that one contact of it cuts out of the ice (m2).
    pub(crate) cut_m2: f64,
    /// Stiffness of ice that only springs back (N/m).
    pub(crate) stiffness_n_per_m: f64,
    /// Derivatives of the forces (N/m), of film, ice depth and share behind the cell.
    pub(crate) by_input: [[f64; INPUTS]; 5],
    /// Derivatives of the forces by the share in front of the cell (N).
    pub(crate) by_share_n: [f64; 2],
}

/// One cell as the film meets it.
#[derive(Clone, Copy)]
struct Way<T> {
    /// Length that touches (m).
    length_m: T,
    /// Shear stress whose heat the ice takes (Pa).
    chill_pa: T,
    /// Film that grows freely to the middle (m).
    free_m: T,
    /// Change of the squared film over the cell: without loss (m2), what it loses by the cold of the ice (m), by what
    /// flows off (of itself `[-]`), and by what is pressed out at the hardness (1/m2).
    grows_m2: T,
    chilled_m: T,
    flows_off: T,
    pressed_per_m2: T,
    /// Compression at which the ice is cut (m).
    recovery_m: T,
    /// Film in front (m).
    film_m: T,
    /// Part of the film that the stretch off the ice leaves, before and behind.
    kept: [T; 2],
}

/// Film and ice at the end of a cell for a share of the hardness.
#[derive(Clone, Copy)]
struct End<T> {
    film_m: T,
    melted_m: T,
}

impl Melting {
    pub(crate) fn new(film: MeltFilm, ice: &IceState) -> Melting {
        let (youngs_modulus_pa, speed_m_s) = (ice.youngs_modulus_pa, ice.contact_speed_m_s);
        let (k, water) = (film.upwelling, film.water_j_m3());
        let b = film.chill() / (water * speed_m_s.sqrt());
        let start = -k * b + (k * k * b * b + 2.0 * k * VISCOSITY_PA_S * speed_m_s / water).sqrt();
        Melting { per_stress: 1.0 / film.melting_j_m3(), start, film, youngs_modulus_pa, speed_m_s }
    }

    /// Geometry of a cell between depths of the steel below the highest crests at its rear and front end (m).
    #[inline]
    fn way<T: Real>(
        &self,
        rig: &Rig,
        c: usize,
        [rear_m, front_m]: [T; 2],
        film_m: T,
        behind_m: f64,
    ) -> Way<T> {
        let (zero, one) = (T::from(0.0), T::from(1.0));
        let middle_m = middle_depth_m([rear_m, front_m]);
        let (mean_m, wet) = rig.mean_width_m(c, middle_m);
        let width_m = mean_m / wet;
        let least = T::from(1e-3);
        let touching = match (rear_m > zero, front_m > zero) {
            (true, true) => one,
            (true, false) => (rear_m / (rear_m - front_m)).max(least),
            _ => (front_m / (front_m - rear_m)).max(least),
        };
        let length_m = touching * rig.length_m[c];
        // what of the cell is off the ice loses water before or behind the touch
        let dry = one - (T::from(rig.length_m[c]) - length_m) * DRY_LOSS_PER_M;
        let kept = [if front_m > zero { one } else { dry }, if rear_m > zero { one } else { dry }];
        let film = &self.film;
        let behind_m = length_m * 0.5 + behind_m;
        let (drag, water) = (VISCOSITY_PA_S * self.speed_m_s, film.water_j_m3());
        let chill_pa = T::from(film.chill()) / (behind_m * self.speed_m_s).sqrt();
        let grows_m = length_m * (2.0 * film.upwelling / water);
        Way {
            length_m,
            chill_pa,
            free_m: behind_m.sqrt() * self.start,
            grows_m2: grows_m * drag,
            chilled_m: grows_m * chill_pa,
            flows_off: rig.uneven.loss_per_m(wet) * length_m * 2.0,
            pressed_per_m2: length_m * (2.0 * film.upwelling * film.hardness_pa / drag) / (width_m * width_m),
            recovery_m: width_m * (SPRING_BACK * self.film.hardness_pa / self.youngs_modulus_pa),
            film_m,
            kept,
        }
    }

    /// One cell with depths of the steel below the highest crests at its rear and front end (m).
    pub(crate) fn cell(
        &self,
        rig: &Rig,
        c: usize,
        depth_m: [f64; 2],
        under: &mut Under,
        with_partials: bool,
    ) -> Answer {
        let [rear_m, front_m] = depth_m;
        let mut answer = Answer::default();
        if rear_m <= 0.0 && front_m <= 0.0 {
            answer.by_input[2][2] = under.leave(rig.length_m[c]);
            answer.by_input[3][3] = 1.0;
            answer.share = under.share;
            return answer;
        }
        let way = self.way(rig, c, depth_m, under.film_m, under.behind_m);
        let (before, fresh, ice_m, behind_m) = (under.share, under.fresh, under.ice_m, under.behind_m);
        // compression behind the cell for what the film and the melting there are
        let place = Place { fresh, ice_m };
        let compressed = |end: End<f64>| place.compressed_m(&way, depth_m, end);
        let over = |share: f64| {
            let end = self.film_after(&way, share);
            (share - compressed(end) / way.recovery_m, end)
        };
        let (share, end) = crossing(over, before);
        let e_m = compressed(end);
        let cut = share >= 1.0;
        // compression over that at which the ice is cut, at both ends; below zero off the ice
        let behind = e_m / way.recovery_m;
        let joins = !fresh && before <= 0.0;
        let front_e_m = front_m + way.film_m - ice_m;
        let ahead = if joins { (front_e_m / way.recovery_m).min(0.0) } else { before };
        let mean = if fresh { Mean::even(share) } else { Mean::between(ahead, behind) };
        (answer.share, answer.pressed) = (mean.share, mean.pressed);
        under.ice_m = rear_m + end.film_m - if cut { way.recovery_m } else { e_m };
        (under.film_m, under.share, under.fresh) = (end.film_m, share, false);
        if mean.pressed > 0.0 {
            under.behind_m += way.length_m * mean.pressed * (mean.share / mean.pressed / PARTING).min(1.0);
        }
        answer.cut_m2 = if fresh {
            rig.mean_cut_m2(c, front_m.max(rear_m))
        } else if cut {
            rig.mean_width_m(c, middle_depth_m(depth_m)).0 * (e_m - way.recovery_m)
        } else {
            0.0
        };
        let whole = rig.coefficient[c] * rig.length_m[c];
        let (ends, slopes) = rig.uneven.ends(rear_m, front_m);
        answer.force_n = ends.map(|g| answer.share * g * whole);
        if !with_partials {
            return answer;
        }
        answer.stiffness_n_per_m = whole * (ends[0] + ends[1]) / way.recovery_m;
        // by rear, front, film and share; the ice depth enters the compression alone
        let [rear, front, film, by_share] = {
            let at = [rear_m, front_m, way.film_m, share];
            std::array::from_fn::<Dual<INPUTS>, INPUTS, _>(|i| Dual::variable(at[i], i))
        };
        let beside = self.way(rig, c, [rear, front], film, behind_m);
        let after = self.film_after(&beside, by_share);
        let (film_du, recovery_du) = (after.film_m.du, beside.recovery_m.du);
        let e_du = place.compressed_m(&beside, [rear, front], after).du;
        let mut share_by = [0.0; INPUTS];
        let mut film_by = [film_du[0], film_du[1], film_du[2], 0.0];
        let mut e_by = [e_du[0], e_du[1], e_du[2], if fresh { 0.0 } else { -1.0 }];
        let recovery_by = [recovery_du[0], recovery_du[1], 0.0, 0.0];
        if share > 0.0 && !cut {
            for i in 0..INPUTS {
                share_by[i] = (e_by[i] - share * recovery_by[i]) / (way.recovery_m - e_du[3]);
                film_by[i] += film_du[3] * share_by[i];
                e_by[i] += e_du[3] * share_by[i];
            }
        }
        // of the mean share: by its values at both ends
        let mut mean_by = [0.0; INPUTS];
        for i in 0..INPUTS {
            let (behind_by, ahead_by) = if fresh {
                (share_by[i], 0.0)
            } else {
                let behind_by = if share > 0.0 && !cut {
                    share_by[i]
                } else {
                    (e_by[i] - behind * recovery_by[i]) / way.recovery_m
                };
                let own = [0.0, 1.0, 1.0, -1.0][i];
                let joining = joins && ahead < 0.0;
                (behind_by, if joining { (own - ahead * recovery_by[i]) / way.recovery_m } else { 0.0 })
            };
            mean_by[i] = mean.by_behind * behind_by + mean.by_ahead * ahead_by;
        }
        answer.by_share_n = ends.map(|g| if joins { 0.0 } else { whole * mean.by_ahead * g });
        answer.by_input[4] = share_by;
        for i in 0..INPUTS {
            let own = if i == 0 { 1.0 } else { 0.0 };
            answer.by_input[2][i] = film_by[i];
            answer.by_input[3][i] = own + film_by[i] - if cut { recovery_by[i] } else { e_by[i] };
            for end in 0..2 {
                let slope = if i < 2 { slopes[end][i] } else { 0.0 };
                answer.by_input[end][i] = whole * (answer.share * slope + mean_by[i] * ends[end]);
            }
        }
        answer
    }

    /// Film behind a cell and what it melts of the ice (m), bearing a share of the hardness.
    #[inline]
    fn film_after<T: Real>(&self, way: &Way<T>, share: T) -> End<T> {
        let zero = T::from(0.0);
        let before_m = way.film_m * way.kept[0];
        if share == zero {
            return End { film_m: before_m * way.kept[1], melted_m: zero };
        }
        let u0 = before_m * before_m;
        let mut middle_m = if before_m > zero { before_m } else { way.free_m };
        let mut u1 = u0;
        for _ in 0..2 {
            let change_m2 = way.grows_m2 - way.chilled_m * middle_m;
            u1 = grown(u0, change_m2, way.flows_off, way.pressed_per_m2 * share)
                .max(T::from(LEAST_M * LEAST_M));
            middle_m = ((u0 + u1) * 0.5).sqrt();
        }
        let after_m = u1.sqrt();
        let stress_pa = T::from(2.0 * VISCOSITY_PA_S * self.speed_m_s) / (before_m + after_m);
        let melted_m = ((stress_pa - way.chill_pa) * way.length_m * self.per_stress).max(zero);
        // where hardly anything presses, little is sheared and little melts
        let held = (share / PARTING).min(T::from(1.0));
        End { film_m: (before_m + (after_m - before_m) * held) * way.kept[1], melted_m: melted_m * held }
    }
}

/// Depth of the steel in the middle of a cell, below the highest crests (m).
#[inline]
fn middle_depth_m<T: Real>([rear_m, front_m]: [T; 2]) -> T {
    let zero = T::from(0.0);
    ((rear_m.max(zero) + front_m.max(zero)) * 0.5).max(T::from(LEAST_DEPTH_M))
}

/// Where a cell lies: on ice that nothing has touched, or on ice of a depth.
#[derive(Clone, Copy)]
struct Place {
    fresh: bool,
    ice_m: f64,
}

impl Place {
    /// Compression of the ice behind a cell for the film and the melting there (m).
    #[inline]
    fn compressed_m<T: Real>(self, way: &Way<T>, [rear_m, front_m]: [T; 2], end: End<T>) -> T {
        let start_m =
            if self.fresh { way.recovery_m + rear_m - front_m - way.film_m } else { rear_m - self.ice_m };
        start_m + end.film_m - end.melted_m
    }
}

/// du/ds = a - b u - c u^2 over a length by the backward Euler rule, for b and c not negative: exact while the film grows
/// freely and where it has come to its balance. The three come times the length.
#[inline]
fn grown<T: Real>(u0: T, a: T, b: T, c: T) -> T {
    let (from, linear) = (u0 + a, b + 1.0);
    from * 2.0 / (linear + (linear * linear + from.max(T::from(0.0)) * c * 4.0).sqrt())
}

#[cfg(test)]
mod tests;
