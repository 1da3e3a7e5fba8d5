use super::super::{Dense, End, Fast, Next, Steps, System, integrate};
use super::{B, BESIDE, C, EVALUATED, EXPLICIT, G, IMPLICIT};
use approx::assert_abs_diff_eq;

/// Relaxes fast onto a curve, with a slow state beside it that two fast ones drive:
/// p' = -r (p - cos x) - sin x, q' = -r (q - p + cos x) [the same fast rate, coupled], z' = p z.
/// From p = 1, q = 0, z = 1: p = cos x, q = 0, z = exp(sin x).
struct Relaxing(f64);

impl System<3> for Relaxing {
    fn rates(&mut self, x: f64, y: &[f64; 3]) -> [f64; 3] {
        let (sin, cos) = x.sin_cos();
        [-self.0 * (y[0] - cos) - sin, -self.0 * (y[1] - y[0] + cos), y[0] * y[2]]
    }
    fn fast(&self) -> Option<Fast> {
        Some(Fast { at: [0, 1], by: [1e-3; 2] })
    }
}

fn error(rate: f64, steps: usize) -> f64 {
    let grid: Vec<f64> = (0..=steps).map(|i| 2.0 * i as f64 / steps as f64).collect();
    let out = integrate(&mut Relaxing(rate), [1.0, 0.0, 1.0], &grid, Steps::Grid(&grid));
    assert_eq!(out.end, End::Reached);
    (out.y[2] - 2.0_f64.sin().exp()).abs()
}

#[test]
fn order_four_with_a_fast_part() {
    let ratio = error(3.0, 40) / error(3.0, 80);
    // theory 16; half an order of slack
    assert!(ratio > 11.0 && ratio < 23.0, "{ratio}");
}

/// y' = -2 x y^2, y(0) = 1: y = 1/(1 + x^2); nothing is fast, so that the slopes are a poor guess and must not matter.
struct Bell(f64);

impl System<2> for Bell {
    fn rates(&mut self, x: f64, y: &[f64; 2]) -> [f64; 2] {
        [-2.0 * x * y[0] * y[0], -2.0 * x * y[1] * y[0]]
    }
    fn fast(&self) -> Option<Fast> {
        Some(Fast { at: [0, 1], by: [0.5; 2] })
    }
    fn accepted(&mut self, d: &Dense<2>) -> Next {
        let x = d.x0 + 0.37 * d.h;
        self.0 = self.0.max((d.at(x)[0] - 1.0 / (1.0 + x * x)).abs());
        Next::Go
    }
}

#[test]
fn order_four_whatever_the_slopes() {
    let at = |n: usize| {
        let grid: Vec<f64> = (0..=n).map(|i| 2.0 * i as f64 / n as f64).collect();
        let mut bell = Bell(0.0);
        let out = integrate(&mut bell, [1.0; 2], &grid, Steps::Grid(&grid));
        ((out.y[0] - 0.2).abs(), bell.0)
    };
    let (coarse, fine) = (at(40), at(80));
    let (ends, inside) = (coarse.0 / fine.0, coarse.1 / fine.1);
    // theory 16 at the ends and, of a cubic with local order 4, inside; half an order of slack
    assert!(ends > 11.0 && ends < 23.0, "{ends}");
    assert!(inside > 11.0 && inside < 23.0, "{inside}");
}

#[test]
fn exact_a_fast_part_dies_away() {
    // steps of fifteen times the life of the fast part, where the explicit pair grows by a factor of some hundred each
    let (rate, steps) = (300.0, 40);
    let grid: Vec<f64> = (0..=steps).map(|i| 2.0 * i as f64 / steps as f64).collect();
    // begun beside the curve
    let out = integrate(&mut Relaxing(rate), [1.5, 0.3, 1.0], &grid, Steps::Grid(&grid));
    // the forcing is taken explicitly, which leaves some h^3 r at such steps, 0.04; a quarter of that
    assert_abs_diff_eq!(out.y[0], 2.0_f64.cos(), epsilon = 1e-2);
    assert_abs_diff_eq!(out.y[1], 0.0, epsilon = 1e-2);
}

#[test]
fn exact_conditions_of_the_additive_pair() {
    // sums over trees up to order 4 for b and 3 for the step beside it, in every mixture of the two tableaus
    let c: Vec<f64> = std::iter::once(0.0).chain(C).collect();
    let whole = |part: &[[f64; EVALUATED]; EVALUATED], own: f64| -> Vec<Vec<f64>> {
        let mut rows = vec![vec![0.0; 6]];
        for (i, row) in part.iter().enumerate() {
            let mut all = row.to_vec();
            all.push(0.0);
            all[i + 1] += own;
            rows.push(all);
        }
        rows
    };
    let parts = [whole(&EXPLICIT, 0.0), whole(&IMPLICIT, G)];
    let times = |a: &[Vec<f64>], v: &[f64]| -> Vec<f64> {
        a.iter().map(|row| row.iter().zip(v).map(|(a, v)| a * v).sum()).collect()
    };
    let with = |v: &[f64], w: &[f64]| -> Vec<f64> { v.iter().zip(w).map(|(v, w)| v * w).collect() };
    let sum = |b: &[f64; 6], v: &[f64]| -> f64 { b.iter().zip(v).map(|(b, v)| b * v).sum() };
    let ones = vec![1.0; 6];
    let (c2, c3) = (with(&c, &c), with(&c, &with(&c, &c)));
    // published fractions of 12 digits over 12 digits
    let is = |got: f64, wanted: f64| assert_abs_diff_eq!(got, wanted, epsilon = 1e-13);
    for a in &parts {
        for (row, c) in times(a, &ones).iter().zip(&c) {
            is(*row, *c);
        }
    }
    for b in [&B, &BESIDE] {
        is(sum(b, &ones), 1.0);
        is(sum(b, &c), 0.5);
        is(sum(b, &c2), 1.0 / 3.0);
        for a in &parts {
            is(sum(b, &times(a, &c)), 1.0 / 6.0);
        }
    }
    is(sum(&B, &c3), 0.25);
    for a in &parts {
        is(sum(&B, &with(&c, &times(a, &c))), 0.125);
        is(sum(&B, &times(a, &c2)), 1.0 / 12.0);
        for other in &parts {
            is(sum(&B, &times(a, &times(other, &c))), 1.0 / 24.0);
        }
    }
    // and the step beside is not of order 4, else its difference would tell nothing
    assert!((sum(&BESIDE, &c3) - 0.25).abs() > 1e-4);
}
