//! The film at several speeds side by side, from one place behind the leading edge to the next.
//!
//! What works on all speeds stays in functions of its own: inlined into one another, a compiler no longer takes the
//! speeds in pairs.

use super::{LATENT_J_KG, LEAST_M, MeltFilm, VISCOSITY_PA_S, WATER_KG_M3};
use crate::lanes::exp;

/// Least growth of the squared film that is not told apart from none (m).
const LEAST_GROWTH: f64 = 1e-100;
/// Least rate of change that is not told apart from none (1/m).
const LEAST_RATE: f64 = 1e-9;

/// Thickness of the film at `N` speeds: square (m2) and itself (m).
pub(super) struct Thickness<const N: usize> {
    square: [f64; N],
    film_m: [f64; N],
}

impl<const N: usize> Thickness<N> {
    pub(super) const NONE: Self = Thickness { square: [0.0; N], film_m: [0.0; N] };

    /// Keeps this part of the thickness.
    pub(super) fn lose(&mut self, kept: f64) {
        self.film_m = self.film_m.map(|h| h * kept);
        self.square = self.film_m.map(|h| h * h);
    }
}

/// What is the same at all speeds: pressure (Pa), and film left behind in troughs (1/m).
#[derive(Clone, Copy)]
pub(super) struct Held {
    pub(super) pressure_pa: f64,
    pub(super) loss_per_m: f64,
}

/// The film at `N` speeds, in u = h^2: du/ds = A - B u - C u^2 with slowly varying A and C.
pub(super) struct Flow<'a, const N: usize> {
    film: &'a MeltFilm,
    /// 2 K / (rho_w L).
    melt: f64,
    /// eta V.
    drag: [f64; N],
    /// 2 K B.
    cool: [f64; N],
    /// c of the start.
    start: [f64; N],
    /// 2 K / (eta V).
    squeeze: [f64; N],
}

impl<'a, const N: usize> Flow<'a, N> {
    pub(super) fn new(film: &'a MeltFilm, speeds_m_s: [f64; N]) -> Self {
        let k = film.upwelling;
        let drag = speeds_m_s.map(|v| VISCOSITY_PA_S * v);
        let melt = 2.0 * k / (WATER_KG_M3 * LATENT_J_KG);
        let chill = speeds_m_s.map(|v| film.chill / (WATER_KG_M3 * LATENT_J_KG * v.sqrt()));
        let start = std::array::from_fn(|n| {
            let b = chill[n];
            -k * b + (k * k * b * b + melt * drag[n]).sqrt()
        });
        Flow { film, melt, drag, cool: chill.map(|b| 2.0 * k * b), start, squeeze: drag.map(|d| 2.0 * k / d) }
    }

    /// From `s0` to `s1`: integrals of the shear stress (Pa m); the film goes on to `s1`.
    ///
    /// A and C are frozen at the middle, where the equation has an exact solution; two passes.
    #[inline(never)]
    pub(super) fn step(&self, s0: f64, s1: f64, film: &mut Thickness<N>, width: f64, held: Held) -> [f64; N] {
        let ds = s1 - s0;
        let u0 = film.square;
        let root_s = (0.5 * (s0 + s1)).sqrt();
        let (per_root, per_width) = (1.0 / root_s, 1.0 / (width * width));
        let Held { pressure_pa, loss_per_m } = held;
        let asperities = self.film.boundary_friction * pressure_pa;
        let mut middle = if s0 > 0.0 { film.film_m } else { self.start.map(|c| c * root_s) };
        let (mut u1, mut touching) = (u0, [0.0; N]);
        for _ in 0..2 {
            touching = self.film.touching(&middle);
            let (mut a, mut c) = ([0.0; N], [0.0; N]);
            for n in 0..N {
                let free = 1.0 - touching[n];
                a[n] = self.melt * (free * self.drag[n] + asperities * touching[n] * middle[n])
                    - self.cool[n] * middle[n] * per_root;
                c[n] = self.squeeze[n] * per_width * pressure_pa * free;
            }
            u1 = grown(&u0, &a, 2.0 * loss_per_m, &c, ds);
            for n in 0..N {
                u1[n] = u1[n].max(LEAST_M * LEAST_M);
                middle[n] = (0.5 * (u0[n] + u1[n])).sqrt();
            }
        }
        let mut stress_m = [0.0; N];
        for n in 0..N {
            let h1 = u1[n].sqrt();
            // the mean of 1/h over a step in which h^2 is linear
            let inverse_h = 2.0 / (film.film_m[n] + h1);
            let stress = (1.0 - touching[n]) * self.drag[n] * inverse_h + asperities * touching[n];
            stress_m[n] = stress * ds;
            film.film_m[n] = h1;
        }
        film.square = u1;
        stress_m
    }
}

/// Solutions of du/ds = a - b u - c u^2 after `ds`, for b and c not negative.
#[inline(never)]
fn grown<const N: usize>(u0: &[f64; N], a: &[f64; N], b: f64, c: &[f64; N], ds: f64) -> [f64; N] {
    let (mut root, mut rate, mut u1) = ([0.0; N], [0.0; N], [0.0; N]);
    for n in 0..N {
        root[n] = (b * b + 4.0 * a[n].max(LEAST_GROWTH) * c[n]).sqrt().max(LEAST_RATE);
        // further on nothing changes
        rate[n] = (-root[n] * ds).max(-100.0);
    }
    let e = exp(&rate);
    for n in 0..N {
        // towards the upper of the two steady values; the lower one only as its product with c, which may vanish
        let upper = 2.0 * a[n].max(LEAST_GROWTH) / (b + root[n]);
        let lower = -0.5 * (b + root[n]);
        let far = e[n] * (u0[n] - upper) / (u0[n] * c[n] - lower);
        u1[n] = (upper - far * lower) / (1.0 - far * c[n]);
    }
    for n in 0..N {
        if a[n] <= 0.0 {
            u1[n] = u0[n] / (1.0 + (b + c[n] * u0[n]) * ds) + a[n] * ds;
        }
    }
    u1
}
