//! The quick answer while a slider moves: the plan of a sled that was ridden, with the numbers of the asked one.
//!
//! ```text
//!   mu' = mu (sum_i w_i mu_i(asked)) / (sum_i w_i mu_i(ridden)),     i: five classes of load
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | mu' | friction of the quick ride: that of the ridden sled's tables, times the ratio | - |
//! | mu_i | friction by the contact at the mean load, curvature and speed of a class, film and ploughing over load | - |
//! | w_i | share of the class in load times way | - |
//!
//! *Valid for* a look while the hand moves; it is marked rough wherever it is shown. It is ridden at the precision of rides with mistakes, good to 0.01 ms. *Assumes* that the steering of
//! the ridden sled holds the asked one, and that grip is that of the ridden one's runners. *Source*: assumed.
//! *Checked by* `exact_the_same_sled_is_no_rough_answer`, `exact_a_rough_answer_is_near`.

use crate::asked::Sled;
use crate::ridden::{Ridden, TRACE_M, guided};
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::motion::precision::{Detail, Pair, Precision};
use sled_dynamics::setup::Friction;
use std::sync::Arc;
use sweep_runner::rides::prepared::{Attempt, Prepared, Ready};
use track_geometry::track::Track;

/// Spacing of the trace of a quick ride (m): half as many rows as a full one.
pub(crate) const ROUGH_TRACE_M: f64 = 2.0 * TRACE_M;
/// Precision of a quick answer: 0.01 ms on a ride without walls.
pub(crate) const QUICK: Precision = Precision { pair: Pair::Fifth, tolerance: 1e-5, greatest_step_m: 2.0 };

/// A quick answer.
pub(crate) struct Rough {
    /// The descent.
    pub(crate) descent: Descent,
    /// How it was found, in words.
    pub(crate) how: &'static str,
}

/// By what the first quick answer is found.
const GUIDED: &str = "no ride planned yet: held on the line with constant friction";
/// By what one is found with the runners of the ridden sled.
const SAME_RUNNERS: &str = "steered as last planned";
/// By what one is found for other runners.
const OTHER_RUNNERS: &str = "steered as last planned, friction by five contacts";

/// The quick answer for a sled, from the nearest sled that was ridden.
pub(crate) fn rough(track: &Track, sled: &Sled, known: Option<&Arc<Ridden>>) -> Result<Rough, String> {
    let Some(near) = known else {
        return Ok(Rough { descent: guided(track, sled, Detail::Trace(TRACE_M))?, how: GUIDED });
    };
    let mut ready = Ready::on(track, &sled.setup, near.ice.tables()).map_err(|e| e.to_string())?;
    let same = near.runners_key == sled.runners_key();
    let film = sled.setup.ice.friction == Friction::Film;
    if !same
        && film
        && let Some(ratio) = near.friction_ratio(sled)
    {
        ready.ice = ready.ice.with_friction_factor(ratio * sled.setup.ice.friction_factor);
    }
    // another reaction needs another plan: the known one is ridden with its own
    let lag_s = near.sled.skill.lag_s;
    let prepared = Prepared::new(ready, near.planned.clone(), lag_s).map_err(|e| e.to_string())?;
    let descent = prepared.descent(&Attempt::perfect(), QUICK, Detail::Trace(ROUGH_TRACE_M));
    Ok(Rough { descent, how: if same { SAME_RUNNERS } else { OTHER_RUNNERS } })
}
