//! What a caller tells the solver: stages, their steps, costs and expansions.

/// The result of one stage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step<const N: usize> {
    /// State at the next stage.
    pub next: [f64; N],
    /// Cost of the stage.
    pub cost: f64,
}

/// Least and greatest value of each control; infinite where there is no limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits<const M: usize> {
    /// Least values.
    pub(crate) lower: [f64; M],
    /// Greatest values.
    pub(crate) upper: [f64; M],
}

impl<const M: usize> Limits<M> {
    /// No limits.
    pub(crate) const NONE: Self = Limits { lower: [f64::NEG_INFINITY; M], upper: [f64::INFINITY; M] };

    /// `u` moved to the nearest value inside.
    pub(crate) fn clamp(&self, mut u: [f64; M]) -> [f64; M] {
        for ((u, lower), upper) in u.iter_mut().zip(&self.lower).zip(&self.upper) {
            *u = u.max(*lower).min(*upper);
        }
        u
    }
}

/// A stage near a point: linear dynamics and quadratic cost. Matrices are rows of
/// columns: `a[i][j]` is the derivative of next state `i` by state `j`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expansion<const N: usize, const M: usize> {
    /// Derivative of the next state by the state.
    pub a: [[f64; N]; N],
    /// Derivative of the next state by the control.
    pub b: [[f64; M]; N],
    /// Gradient of the stage cost by the state.
    pub cost_x: [f64; N],
    /// Gradient of the stage cost by the control.
    pub cost_u: [f64; M],
    /// Hessian by the state (symmetric), of the cost or of cost + costate . next.
    pub cost_xx: [[f64; N]; N],
    /// Mixed Hessian: row control, column state.
    pub cost_ux: [[f64; N]; M],
    /// Hessian by the control (symmetric).
    pub cost_uu: [[f64; M]; M],
}

impl<const N: usize, const M: usize> Expansion<N, M> {
    /// All entries zero.
    pub const ZERO: Self = Expansion {
        a: [[0.0; N]; N],
        b: [[0.0; M]; N],
        cost_x: [0.0; N],
        cost_u: [0.0; M],
        cost_xx: [[0.0; N]; N],
        cost_ux: [[0.0; N]; M],
        cost_uu: [[0.0; M]; M],
    };

    pub(super) fn is_finite(&self) -> bool {
        let finite = |rows: &[f64]| rows.iter().all(|v| v.is_finite());
        finite(self.a.as_flattened())
            && finite(self.b.as_flattened())
            && finite(&self.cost_x)
            && finite(&self.cost_u)
            && finite(self.cost_xx.as_flattened())
            && finite(self.cost_ux.as_flattened())
            && finite(self.cost_uu.as_flattened())
    }
}

/// The final cost near a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FinalExpansion<const N: usize> {
    /// Gradient.
    pub cost_x: [f64; N],
    /// Hessian (symmetric).
    pub cost_xx: [[f64; N]; N],
}

/// A problem of optimal control with `N` states and `M` controls.
pub trait Problem<const N: usize, const M: usize> {
    /// Number of steps `K`; there are `K + 1` states and `K` controls.
    fn stages(&self) -> usize;

    /// Next state and cost of stage `k`; `None` where the point is outside the
    /// domain. A value that is not finite counts as outside.
    fn step(&self, k: usize, x: &[f64; N], u: &[f64; M]) -> Option<Step<N>>;

    /// Derivatives of [`step`](Self::step). `costate` is the solver's latest estimate
    /// of the derivative of the cost-to-go by the next state (zero at first): an
    /// expansion may add its product with the second derivatives of the next state to
    /// the Hessians, or leave it out.
    fn expand(&self, k: usize, x: &[f64; N], u: &[f64; M], costate: &[f64; N]) -> Option<Expansion<N, M>>;

    /// Cost of the last state; `None` outside the domain.
    fn final_cost(&self, x: &[f64; N]) -> Option<f64>;

    /// Derivatives of [`final_cost`](Self::final_cost).
    fn expand_final(&self, x: &[f64; N]) -> Option<FinalExpansion<N>>;

    /// Limits of the controls of stage `k`.
    fn limits(&self, _k: usize) -> Limits<M> {
        Limits::NONE
    }

    /// All expansions, into `out`; each stage is independent of the others, so an
    /// implementation may spread them over threads. `xs` and `costates` belong to the
    /// stages in order: `costates[k]` goes with the next state of stage `k`.
    ///
    /// # Errors
    /// The first stage whose point is outside the domain.
    fn expand_all(
        &self,
        xs: &[[f64; N]],
        us: &[[f64; M]],
        costates: &[[f64; N]],
        out: &mut [Expansion<N, M>],
    ) -> Result<(), usize> {
        for (k, (((x, u), costate), out)) in xs.iter().zip(us).zip(costates).zip(out).enumerate() {
            *out = self.expand(k, x, u, costate).ok_or(k)?;
        }
        Ok(())
    }
}
