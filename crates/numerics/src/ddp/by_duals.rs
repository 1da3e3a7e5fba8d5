//! Expansions from one generic function of a stage, by dual numbers.

use super::dense::{dot, symmetrise};
use super::problem::{Expansion, Step};
use crate::dual::{Dual, Real};

/// A stage written once for numbers and duals.
pub(crate) trait SmoothStage<const N: usize, const M: usize> {
    /// Next state and cost; `None` outside the domain.
    fn stage<T: Real>(&self, k: usize, x: &[T; N], u: &[T; M]) -> Option<([T; N], T)>;

    /// The stage on plain numbers.
    fn plain(&self, k: usize, x: &[f64; N], u: &[f64; M]) -> Option<Step<N>> {
        self.stage(k, x, u).map(|(next, cost)| Step { next, cost })
    }
}

/// Which second derivatives an expansion carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Curvature {
    /// Of the cost (Gauss-Newton on the dynamics).
    Cost,
    /// Of the cost and of the dynamics along the costate (exact).
    Full,
}

/// Expansion of `stage`; `Z` must be `N + M`. First derivatives are exact; second ones
/// are differences of exact gradients (`Z` more evaluations on duals), good to about
/// 1e-6 of their size, which costs no accuracy of the solution.
pub(crate) fn expand_by_duals<const N: usize, const M: usize, const Z: usize, S: SmoothStage<N, M>>(
    stage: &S,
    k: usize,
    x: &[f64; N],
    u: &[f64; M],
    costate: &[f64; N],
    curvature: Curvature,
) -> Option<Expansion<N, M>> {
    const { assert!(Z == N + M, "Z is the number of states and controls") }
    const SHARE: f64 = 1e-6; // of the variable: error of a one-sided difference of exact gradients
    let at = |x: &[f64; N], u: &[f64; M]| {
        let x: [Dual<Z>; N] = std::array::from_fn(|i| Dual::variable(x[i], i));
        let u: [Dual<Z>; M] = std::array::from_fn(|i| Dual::variable(u[i], N + i));
        stage.stage(k, &x, &u)
    };
    let (next, cost) = at(x, u)?;
    let mut out = Expansion::ZERO;
    for (i, next) in next.iter().enumerate() {
        out.a[i].copy_from_slice(&next.du[..N]);
        out.b[i].copy_from_slice(&next.du[N..]);
    }
    out.cost_x.copy_from_slice(&cost.du[..N]);
    out.cost_u.copy_from_slice(&cost.du[N..]);
    let along = match curvature {
        Curvature::Cost => [0.0; N],
        Curvature::Full => *costate,
    };
    let gradient = |(next, cost): ([Dual<Z>; N], Dual<Z>)| -> [f64; Z] {
        std::array::from_fn(|j| cost.du[j] + dot(&along, &next.map(|next| next.du[j])))
    };
    let here = gradient((next, cost));
    let mut hessian = [[0.0; Z]; Z];
    for (i, row) in hessian.iter_mut().enumerate() {
        let size = if i < N { x[i] } else { u[i - N] };
        let h = SHARE * size.abs().max(1.0);
        let moved = |h: f64| {
            let (mut x, mut u) = (*x, *u);
            if i < N {
                x[i] += h;
            } else {
                u[i - N] += h;
            }
            at(&x, &u).map(|there| (h, gradient(there)))
        };
        let (h, there) = moved(h).or_else(|| moved(-h))?;
        for (entry, (there, here)) in row.iter_mut().zip(there.iter().zip(&here)) {
            *entry = (there - here) / h;
        }
    }
    symmetrise(&mut hessian);
    let (by_x, by_u) = hessian.split_at(N);
    for (out, row) in out.cost_xx.iter_mut().zip(by_x) {
        out.copy_from_slice(&row[..N]);
    }
    for ((ux, uu), row) in out.cost_ux.iter_mut().zip(&mut out.cost_uu).zip(by_u) {
        ux.copy_from_slice(&row[..N]);
        uu.copy_from_slice(&row[N..]);
    }
    Some(out)
}
