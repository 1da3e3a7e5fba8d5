//! The backward sweep: from the expansions to a feedback law.
//!
//! ```text
//! v    = V_x + V_xx gap                          (at the next stage)
//! Q_x  = l_x + A^T v            Q_u  = l_u + B^T v
//! Q_xx = l_xx + A^T V_xx A      Q_ux = l_ux + B^T V_xx A      Q_uu = l_uu + B^T V_xx B
//! d    = argmin 1/2 d^T H d + Q_u^T d within the limits
//! G    = -H^-1 (Q_ux + r B^T A) on the free controls, zero on the held ones
//! H    = Q_uu + r B^T B + r c I
//! V_x  = Q_x + G^T (Q_uu d + Q_u) + Q_ux^T d     V_xx = Q_xx + G^T (Q_uu G + Q_ux) + Q_ux^T G
//! ```
//!
//! with r the regularisation and c the share of it that goes to the controls.
//!
//! *Source*: Tassa, Erez, Todorov, IROS 2012, equations 10-11; the gap as in Mastalli
//! et al., ICRA 2020, equation 12.

use super::box_program::minimise_in_box;
use super::dense::{
    Cholesky, add_scaled, add_scaled_rows, apply, mul, symmetrise, transposed_apply, transposed_mul,
};
use super::problem::{Expansion, FinalExpansion, Limits};

/// The feedback law of one stage: `u = u_k + a open + gain (x - x_k)`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Law<const N: usize, const M: usize> {
    /// Open-loop change of the controls.
    pub(crate) open: [f64; M],
    /// Feedback gain.
    pub(crate) gain: [[f64; N]; M],
    /// Greatest cost gradient of a control that no limit holds, with feedback after it.
    pub(crate) gradient: f64,
}

impl<const N: usize, const M: usize> Law<N, M> {
    /// No change.
    pub(crate) const ZERO: Self = Law { open: [0.0; M], gain: [[0.0; N]; M], gradient: 0.0 };
}

/// Derivatives of the cost-to-go by the state.
#[derive(Clone, Copy)]
pub(crate) struct Value<const N: usize> {
    /// Gradient.
    pub x: [f64; N],
    /// Hessian.
    pub(crate) xx: [[f64; N]; N],
}

/// Weights of the regularisation.
#[derive(Clone, Copy)]
pub(crate) struct Weights {
    /// On the change of the next state.
    pub(crate) state: f64,
    /// On the change of the control.
    pub(crate) control: f64,
}

/// One stage; `room` are the limits of the change of the control. `None` if the
/// Hessian is not positive definite on the free controls.
#[inline]
pub(crate) fn stage<const N: usize, const M: usize>(
    e: &Expansion<N, M>,
    next: &Value<N>,
    costate: &[f64; N],
    room: &Limits<M>,
    weights: Weights,
) -> Option<(Law<N, M>, Value<N>)> {
    let mut q_x = transposed_apply(&e.a, costate);
    add_scaled(&mut q_x, 1.0, &e.cost_x);
    let mut q_u = transposed_apply(&e.b, costate);
    add_scaled(&mut q_u, 1.0, &e.cost_u);
    let v_a = mul(&next.xx, &e.a);
    let v_b = mul(&next.xx, &e.b);
    let mut q_xx = transposed_mul(&e.a, &v_a);
    add_scaled_rows(&mut q_xx, 1.0, &e.cost_xx);
    let mut q_ux = transposed_mul(&e.b, &v_a);
    add_scaled_rows(&mut q_ux, 1.0, &e.cost_ux);
    let mut q_uu = transposed_mul(&e.b, &v_b);
    add_scaled_rows(&mut q_uu, 1.0, &e.cost_uu);

    let mut h = q_uu;
    let mut h_ux = q_ux;
    if weights.state > 0.0 {
        add_scaled_rows(&mut h, weights.state, &transposed_mul(&e.b, &e.b));
        add_scaled_rows(&mut h_ux, weights.state, &transposed_mul(&e.b, &e.a));
    }
    for (i, row) in h.iter_mut().enumerate() {
        row[i] += weights.control;
    }
    let mut law = feedback(&h, &q_u, &h_ux, room)?;
    for ((g, lower), upper) in q_u.iter().zip(&room.lower).zip(&room.upper) {
        let held = *lower >= 0.0 && *g > 0.0 || *upper <= 0.0 && *g < 0.0;
        if !held {
            law.gradient = law.gradient.max(g.abs());
        }
    }

    let mut along = apply(&q_uu, &law.open);
    add_scaled(&mut along, 1.0, &q_u);
    let mut x = q_x;
    add_scaled(&mut x, 1.0, &transposed_apply(&law.gain, &along));
    add_scaled(&mut x, 1.0, &transposed_apply(&q_ux, &law.open));
    let mut across = mul(&q_uu, &law.gain);
    add_scaled_rows(&mut across, 1.0, &q_ux);
    let mut xx = q_xx;
    add_scaled_rows(&mut xx, 1.0, &transposed_mul(&law.gain, &across));
    add_scaled_rows(&mut xx, 1.0, &transposed_mul(&q_ux, &law.gain));
    symmetrise(&mut xx);
    Some((law, Value { x, xx }))
}

fn feedback<const N: usize, const M: usize>(
    h: &[[f64; M]; M],
    q_u: &[f64; M],
    h_ux: &[[f64; N]; M],
    room: &Limits<M>,
) -> Option<Law<N, M>> {
    if *room == Limits::NONE {
        let factor = Cholesky::new(h)?;
        let open = factor.solve_one(q_u).map(|d| -d);
        return Some(Law { open, gain: factor.solve(*h_ux).map(|row| row.map(|g| -g)), ..Law::ZERO });
    }
    let minimum = minimise_in_box(h, q_u, room)?;
    let mut pull = *h_ux;
    for (row, free) in pull.iter_mut().zip(minimum.free) {
        if !free {
            *row = [0.0; N];
        }
    }
    Some(Law { open: minimum.at, gain: minimum.factor.solve(pull).map(|row| row.map(|g| -g)), ..Law::ZERO })
}

/// All stages from last to first: writes the laws and the costates.
///
/// # Errors
/// The stage whose Hessian is not positive definite.
pub(crate) fn sweep<const N: usize, const M: usize>(
    expansions: &[Expansion<N, M>],
    last: &FinalExpansion<N>,
    gaps: &[[f64; N]],
    rooms: &[Limits<M>],
    weights: Weights,
    laws: &mut [Law<N, M>],
    costates: &mut [[f64; N]],
) -> Result<(), usize> {
    let mut value = Value { x: last.cost_x, xx: last.cost_xx };
    for k in (0..expansions.len()).rev() {
        let mut costate = value.x;
        add_scaled(&mut costate, 1.0, &apply(&value.xx, &gaps[k]));
        let (law, before) = stage(&expansions[k], &value, &costate, &rooms[k], weights).ok_or(k)?;
        laws[k] = law;
        costates[k] = costate;
        value = before;
    }
    Ok(())
}
