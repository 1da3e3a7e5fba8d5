//! The planning problem with its derivatives taken in parallel.

use numerics::ddp::{Expansion, FinalExpansion, Problem, Step};
use rayon::prelude::*;
use sled_dynamics::laws::ice::Ice;
use sled_dynamics::riding::plan::RideProblem;
use sled_dynamics::riding::plan_state::{CONTROLS, STATES};

/// The problem with its derivatives taken in parallel; the result does not depend on the number of threads.
pub(super) struct Parallel<'a, 'b, I>(pub(super) &'b mut RideProblem<'a, I>);

impl<I: Ice + Sync> Problem<STATES, CONTROLS> for Parallel<'_, '_, I> {
    fn stages(&self) -> usize {
        self.0.stages()
    }
    fn step(&self, k: usize, x: &[f64; STATES], u: &[f64; CONTROLS]) -> Option<Step<STATES>> {
        self.0.step(k, x, u)
    }
    fn expand(
        &self,
        k: usize,
        x: &[f64; STATES],
        u: &[f64; CONTROLS],
        costate: &[f64; STATES],
    ) -> Option<Expansion<STATES, CONTROLS>> {
        self.0.expand(k, x, u, costate)
    }
    fn final_cost(&self, x: &[f64; STATES]) -> Option<f64> {
        self.0.final_cost(x)
    }
    fn expand_final(&self, x: &[f64; STATES]) -> Option<FinalExpansion<STATES>> {
        self.0.expand_final(x)
    }
    fn expand_all(
        &self,
        xs: &[[f64; STATES]],
        us: &[[f64; CONTROLS]],
        costates: &[[f64; STATES]],
        out: &mut [Expansion<STATES, CONTROLS>],
    ) -> Result<(), usize> {
        // neighbours share the bend in their middle
        let failed: Vec<usize> = out
            .par_chunks_mut(2)
            .enumerate()
            .with_min_len(8)
            .flat_map_iter(|(pair, out)| {
                let first = 2 * pair;
                let middle = first + out.len() - 1;
                let bend = self.0.bend(middle, &xs[middle], &us[middle], &costates[first]);
                out.iter_mut().enumerate().filter_map(move |(i, out)| {
                    let k = first + i;
                    match self.0.expand_with(k, &xs[k], &us[k], bend.as_ref()) {
                        Some(e) => {
                            *out = e;
                            None
                        }
                        None => Some(k),
                    }
                })
            })
            .collect();
        failed.first().map_or(Ok(()), |k| Err(*k))
    }
}
