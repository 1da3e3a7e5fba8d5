//! Four rough plans from the bare line, and one start out of them.

use super::parallel::Parallel;
use super::{LAST_PRICE, RISE, Way, climb, rough};
use crate::rides::spliced::{Spliced, splice};
use numerics::ddp::{Solution, StartFault};
use rayon::prelude::*;
use sled_dynamics::laws::ice::Ice;
use sled_dynamics::riding::plan::RideProblem;
use sled_dynamics::riding::plan_state::{CONTROLS, PlanState, STATES};

/// First prices of the help on four ways from the bare line, by pairs. What one of them rides worse, another rides better.
const FIRST_PRICES: [[f64; 2]; 2] = [[RISE, RISE * RISE], [316.2, 3162.0]];
/// Price at which the ways of a pair are joined; the pairs are joined at the last price.
const PAIRS_AT: f64 = RISE * RISE;

/// A rough plan and the sweeps it took.
type Rough = (Solution<STATES, CONTROLS>, usize);

/// From the bare line by four ways: the better of each pair place by place, and the better of both pairs. Ways and pairs
/// are solved side by side. The first state is that of the launch.
pub(super) fn by_four_ways<I: Ice + Sync>(
    problem: &RideProblem<'_, I>,
    line: &[PlanState],
    hands_off: &[[f64; CONTROLS]],
    sweeps: &mut usize,
) -> Result<Spliced, Vec<StartFault>> {
    let raised = |states: &[PlanState], controls: &[[f64; CONTROLS]], first_price: f64, last_price: f64| {
        let (mut own, mut sweeps) = (problem.clone(), 0);
        let way = Way { states, controls, first_price, on_the_way: rough() };
        climb(&mut own, &way, last_price, &mut sweeps).map(|solved| (solved.solution, sweeps))
    };
    let joined = |plans: &[Rough], price: f64| {
        let mut own = problem.clone();
        own.prices.help = price;
        let plans: Vec<_> = plans.iter().map(|(plan, _)| plan.clone()).collect();
        splice(&Parallel(&mut own), &plans)
    };
    let ways: Vec<Rough> = FIRST_PRICES
        .as_flattened()
        .par_iter()
        .map(|price| raised(line, hands_off, *price, PAIRS_AT))
        .collect::<Result<_, _>>()?;
    let pairs: Vec<Rough> = ways
        .par_chunks(2)
        .map(|pair| {
            let both = joined(pair, PAIRS_AT);
            raised(&both.states, &both.controls, LAST_PRICE, LAST_PRICE)
        })
        .collect::<Result<_, _>>()?;
    *sweeps += ways.iter().chain(&pairs).map(|(_, sweeps)| sweeps).sum::<usize>();
    Ok(joined(&pairs, LAST_PRICE))
}
