//! A sled that was planned for and ridden: all that later questions take from it.

use crate::asked::Sled;
use sled_dynamics::analysis::bow_contact::{Place, flat_place, places};
use sled_dynamics::analysis::bow_measures::own_measure;
use sled_dynamics::analysis::losses::spacing_to_finish_m;
use sled_dynamics::analysis::oscillation::{Swing, swings};
use sled_dynamics::laws::on_runners::OnRunners;
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::precision::{Detail, Precision};
use std::sync::{Mutex, OnceLock, PoisonError};
use sweep_runner::rides::case::{Case, Model};
use sweep_runner::rides::ensemble::{Ensemble, RIDES, rides};
use sweep_runner::rides::planner::Planned;
use sweep_runner::rides::prepared::{Attempt, Prepared, Ready};
use track_geometry::track::Track;

/// Spacing of the trace (m), as that of `descend`.
pub const TRACE_M: f64 = 0.5;
/// Spacing of the trace that swings are read from (m), as that of `corners`.
const SWINGS_M: f64 = 0.25;

/// Plans a ride for a set-up and a lag, or finds it kept.
pub type Planner = dyn Fn(&Ready<'_>, f64) -> Result<Planned, String> + Send + Sync;

/// A sled with its plan, the planned ride, and what is known of rides with mistakes.
pub struct Ridden {
    /// What was asked.
    pub sled: Sled,
    /// What its descents depend on.
    pub key: String,
    /// What the tables of its runners depend on.
    pub runners_key: String,
    /// The sled on its runners.
    pub ice: OnRunners,
    /// Masses, gravity, air.
    pub constants: Constants,
    /// The plan.
    pub planned: Planned,
    /// The planned ride, as `descend` has it.
    pub descent: Descent,
    /// The same with a trace that ends at the finish, as `compare` has it.
    pub to_finish: Descent,
    /// How it swings in the corners, as `corners` has it.
    pub swings: Vec<Swing>,
    /// Where friction is looked at, each with its share of the work of friction.
    looked_at: Vec<(Place, f64)>,
    friction: OnceLock<Option<f64>>,
    rides: Mutex<(u64, Ensemble)>,
}

impl Ridden {
    /// Plans and rides; `ice` are tables of the same runners on the same ice, where they are at hand.
    pub fn new(
        track: &Track,
        sled: &Sled,
        ice: Option<&OnRunners>,
        plan: &Planner,
        tables_done: &dyn Fn(),
    ) -> Result<Ridden, String> {
        let setup = &sled.setup;
        let ready = match ice {
            Some(ice) => Ready::on(track, setup, ice.tables()),
            None => Ready::new(track, setup),
        };
        let ready = ready.map_err(|e| e.to_string())?;
        tables_done();
        let lag_s = sled.skill.lag_s;
        let planned = plan(&ready, lag_s)?;
        let prepared = Prepared::new(ready, planned, lag_s).map_err(|e| e.to_string())?;
        let ride = |detail| prepared.descent(&Attempt::perfect(), Precision::default(), detail);
        let descent = ride(Detail::Trace(TRACE_M));
        let to_finish = ride(Detail::Trace(spacing_to_finish_m(track, TRACE_M)));
        let swings = swings(track, &ride(Detail::Trace(SWINGS_M)).trace);
        let rides = Ensemble { planned_time_s: to_finish.finish_time_s, rides: vec![] };
        Ok(Ridden {
            key: sled.key(),
            runners_key: sled.runners_key(),
            ice: prepared.ready.ice.clone(),
            constants: prepared.ready.constants,
            looked_at: looked_at(track, &prepared.ready.constants, &descent),
            planned: prepared.planned,
            sled: sled.clone(),
            descent,
            to_finish,
            swings,
            friction: OnceLock::new(),
            rides: Mutex::new((0, rides)),
        })
    }

    /// The sled with its ride, ready for more rides.
    pub fn prepared<'a>(&'a self, track: &'a Track) -> Result<Prepared<'a>, String> {
        let ready = Ready::on(track, &self.sled.setup, self.ice.tables()).map_err(|e| e.to_string())?;
        Prepared::new(ready, self.planned.clone(), self.sled.skill.lag_s).map_err(|e| e.to_string())
    }

    /// The rides with the mistakes of a seed that are known, at most so many.
    pub fn rides(&self, seed: u64, most: usize) -> Ensemble {
        let known = self.rides.lock().unwrap_or_else(PoisonError::into_inner);
        let rides = if known.0 == seed { &known.1.rides[..most.min(known.1.rides.len())] } else { &[] };
        Ensemble { planned_time_s: known.1.planned_time_s, rides: rides.to_vec() }
    }

    /// Rides on until so many are known.
    pub fn ride_on(&self, prepared: &Prepared<'_>, seed: u64, until: usize) {
        let from = self.rides(seed, usize::MAX).rides.len();
        let more = rides(prepared, &self.sled.skill, seed, from..until.max(from), RIDES);
        let mut known = self.rides.lock().unwrap_or_else(PoisonError::into_inner);
        if known.0 != seed {
            known.0 = seed;
            known.1.rides.clear();
        }
        // whoever rode the same numbers meanwhile has the same rides
        if known.1.rides.len() == from {
            known.1.rides.extend(more);
        }
    }

    /// Friction of this sled's runners by contact, the places weighted; none where a contact is not found.
    pub fn friction(&self) -> Option<f64> {
        *self.friction.get_or_init(|| self.friction_of(&self.sled))
    }

    /// Friction of another sled at this sled's places.
    pub fn friction_of(&self, sled: &Sled) -> Option<f64> {
        self.looked_at.iter().try_fold(0.0, |sum, (place, share)| {
            let measure = own_measure(&sled.setup, place).ok()??;
            Some(sum + share * measure.friction)
        })
    }
}

/// Loads between which the three places stand `[-]`.
const LIGHT_G: f64 = 1.5;
const HEAVY_G: f64 = 3.0;

/// Three places that stand for the way: flat ice, a corner of middle load and the one of greatest load; their shares
/// are those of load times way below 1.5 g, up to 3 g and above.
fn looked_at(track: &Track, constants: &Constants, descent: &Descent) -> Vec<(Place, f64)> {
    let mut shares = [0.0; 3];
    for pair in descent.trace.windows(2) {
        let g = 0.5 * (pair[0].g_load + pair[1].g_load);
        let class = usize::from(g > LIGHT_G) + usize::from(g > HEAVY_G);
        shares[class] += g.max(0.0) * (pair[1].station_m - pair[0].station_m);
    }
    let sum: f64 = shares.iter().sum();
    let mut corners: Vec<Place> = places(track, constants, descent).into_iter().skip(1).collect();
    corners.sort_by(|a, b| a.g_load.total_cmp(&b.g_load));
    let of = |class: usize, least: f64, most: f64| {
        let inside: Vec<&Place> = corners.iter().filter(|p| p.g_load > least && p.g_load <= most).collect();
        let middle = inside.get(inside.len() / 2)?;
        Some(((*middle).clone(), shares[class] / sum))
    };
    let flat = (flat_place(), shares[0] / sum);
    [Some(flat), of(1, LIGHT_G, HEAVY_G), of(2, HEAVY_G, f64::INFINITY)].into_iter().flatten().collect()
}

/// The guided estimate of a set-up (s), as `descend` has it; and its descent.
pub fn guided(track: &Track, sled: &Sled, detail: Detail) -> Result<Descent, String> {
    let case =
        Case { track, setup: &sled.setup, model: Model::Guided, precision: Precision::default(), detail };
    case.descent().map_err(|e| e.to_string())
}
