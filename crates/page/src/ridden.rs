//! A sled that was planned for and ridden: all that later questions take from it.

use crate::asked::Sled;
use sled_dynamics::analysis::bow_measures::own_measure;
use sled_dynamics::analysis::losses::spacing_to_finish_m;
use sled_dynamics::analysis::oscillation::{Swing, swings};
use sled_dynamics::analysis::places::Place;
use sled_dynamics::laws::on_runners::OnRunners;
use sled_dynamics::laws::state::{State, motion};
use sled_dynamics::motion::descent::{Descent, Sample};
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::precision::{Detail, Precision};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, OnceLock, PoisonError};
use sweep_runner::rides::case::{Case, Model};
use sweep_runner::rides::corner_loads::{CornerLoad, LoadBand, load_band, rides_by_corner};
use sweep_runner::rides::ensemble::{Ensemble, RIDES};
use sweep_runner::rides::planner::Planned;
use sweep_runner::rides::prepared::{Attempt, Prepared, Ready};
use track_geometry::track::Track;

/// Spacing of the trace (m), as that of `descend`.
pub(crate) const TRACE_M: f64 = 0.5;
/// Spacing of the trace that swings are read from (m), as that of `corners`.
const SWINGS_M: f64 = 0.25;

/// Plans a ride for a set-up and a lag, or finds it kept.
pub(crate) type Planner = dyn Fn(&Ready<'_>, f64) -> Result<Planned, String> + Send + Sync;

/// The rides with mistakes that are known.
struct Known {
    seed: u64,
    ensemble: Ensemble,
    corners: Vec<Vec<CornerLoad>>,
}

/// A sled with its plan, the planned ride, and what is known of rides with mistakes.
pub(crate) struct Ridden {
    /// What was asked.
    pub(crate) sled: Sled,
    /// What its descents depend on.
    pub(crate) key: String,
    /// A number of its own, for the browser.
    pub(crate) number: u64,
    /// What the tables of its runners depend on.
    pub(crate) runners_key: String,
    /// The sled on its runners.
    pub(crate) ice: OnRunners,
    /// Masses, gravity, air.
    pub(crate) constants: Constants,
    /// The plan.
    pub(crate) planned: Planned,
    /// The planned ride, as `descend` has it.
    pub(crate) descent: Descent,
    /// The same with a trace that ends at the finish, as `compare` has it.
    pub(crate) to_finish: Descent,
    /// How it swings in the corners, as `corners` has it.
    pub(crate) swings: Vec<Swing>,
    /// Where friction is looked at, each with its share of the work of friction.
    looked_at: Vec<(Place, f64)>,
    friction: OnceLock<Vec<Option<f64>>>,
    rides: Mutex<Known>,
}

impl Ridden {
    /// Plans and rides; told when the tables of the runners are there.
    pub(crate) fn new(
        track: &Track,
        sled: &Sled,
        plan: &Planner,
        tables_done: &dyn Fn(),
    ) -> Result<Ridden, String> {
        static NEXT: AtomicU64 = AtomicU64::new(1);
        let ready = Ready::new(track, &sled.setup).map_err(|e| e.to_string())?;
        tables_done();
        let lag_s = sled.skill.lag_s;
        let planned = plan(&ready, lag_s)?;
        let prepared = Prepared::new(ready, planned, lag_s).map_err(|e| e.to_string())?;
        let ride = |detail| prepared.descent(&Attempt::perfect(), Precision::default(), detail);
        let descent = ride(Detail::Trace(TRACE_M));
        let to_finish = ride(Detail::Trace(spacing_to_finish_m(track, TRACE_M)));
        let swings = swings(track, &ride(Detail::Trace(SWINGS_M)).trace);
        let ensemble = Ensemble { planned_time_s: to_finish.finish_time_s, rides: vec![] };
        Ok(Ridden {
            key: sled.key(),
            number: NEXT.fetch_add(1, Ordering::Relaxed),
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
            rides: Mutex::new(Known { seed: 0, ensemble, corners: vec![] }),
        })
    }

    /// The sled with its ride, ready for more rides.
    pub(crate) fn prepared<'a>(&'a self, track: &'a Track) -> Result<Prepared<'a>, String> {
        let ready = Ready::on(track, &self.sled.setup, self.ice.tables()).map_err(|e| e.to_string())?;
        Prepared::new(ready, self.planned.clone(), self.sled.skill.lag_s).map_err(|e| e.to_string())
    }

    /// The rides with the mistakes of a seed that are known, at most so many.
    pub(crate) fn rides(&self, seed: u64, most: usize) -> Ensemble {
        let known = self.rides.lock().unwrap_or_else(PoisonError::into_inner);
        let all = &known.ensemble.rides;
        let rides = if known.seed == seed { &all[..most.min(all.len())] } else { &[] };
        Ensemble { planned_time_s: known.ensemble.planned_time_s, rides: rides.to_vec() }
    }

    /// How those rides load a corner; none where none came through it.
    pub(crate) fn load_band(&self, seed: u64, most: usize, corner: &str) -> Option<LoadBand> {
        let known = self.rides.lock().unwrap_or_else(PoisonError::into_inner);
        if known.seed != seed {
            return None;
        }
        load_band(&known.corners[..most.min(known.corners.len())], corner)
    }

    /// Rides on until so many are known.
    pub(crate) fn ride_on(&self, prepared: &Prepared<'_>, seed: u64, until: usize) {
        let from = self.rides(seed, usize::MAX).rides.len();
        let more = rides_by_corner(prepared, &self.sled.skill, seed, from..until.max(from), RIDES);
        let mut known = self.rides.lock().unwrap_or_else(PoisonError::into_inner);
        if known.seed != seed {
            known.seed = seed;
            known.ensemble.rides.clear();
            known.corners.clear();
        }
        // whoever rode the same numbers meanwhile has the same rides
        if known.ensemble.rides.len() == from {
            for (ride, corners) in more {
                known.ensemble.rides.push(ride);
                known.corners.push(corners);
            }
        }
    }

    /// Friction of another sled's runners over that of this one's, by contact at this one's places; those where a
    /// contact is not found are left out, and none is told where they are more than half.
    pub(crate) fn friction_ratio(&self, other: &Sled) -> Option<f64> {
        let own = self.friction.get_or_init(|| self.frictions(&self.sled));
        let both = own.iter().zip(self.frictions(other)).zip(&self.looked_at);
        let known = both.filter_map(|((a, b), (_, share))| Some(((*a)?, b?, share)));
        let [own, other, seen] = known.fold([0.0; 3], |[own, other, seen], (a, b, share)| {
            [own + share * a, other + share * b, seen + share]
        });
        (seen > 0.5).then_some(other / own)
    }

    fn frictions(&self, sled: &Sled) -> Vec<Option<f64>> {
        let at = |(place, _): &(Place, f64)| Some(own_measure(&sled.setup, place).ok()??.friction);
        self.looked_at.iter().map(at).collect()
    }
}

/// Curvature of the ice along the way of a sled at a row of its trace (1/m).
pub(crate) fn ice_curvature_per_m(track: &Track, constants: &Constants, s: &Sample) -> f64 {
    let at = track.surface.station(s.station_m);
    let state = State {
        offset_m: s.offset_m,
        yaw_rad: 0.0,
        forward_m_s: s.speed_m_s,
        lateral_velocity_m_s: 0.0,
        yaw_rate_rad_s: 0.0,
    };
    motion(&at, &at.patch(s.offset_m), &state, constants.gravity_m_s2).ice_curvature_per_m()
}

/// Loads over weight between which the places stand `[-]`: on straights, in the bends' ends, in bends.
const LOADS_G: [f64; 4] = [1.1, 1.5, 2.0, 3.0];

/// Places that stand for the way, by classes of load: each the mean of its class, weighted by load and way, and its
/// share of load times way.
fn looked_at(track: &Track, constants: &Constants, descent: &Descent) -> Vec<(Place, f64)> {
    // sums of load times way, and of that times load, curvature and speed
    let mut sums = [[0.0; 4]; LOADS_G.len() + 1];
    for pair in descent.trace.windows(2) {
        let s = &pair[0];
        let way = s.g_load.max(0.0) * (pair[1].station_m - s.station_m);
        let curvature_per_m = ice_curvature_per_m(track, constants, s);
        let class = LOADS_G.iter().filter(|g| s.g_load > **g).count();
        for (sum, v) in sums[class].iter_mut().zip([1.0, s.g_load, curvature_per_m, s.speed_m_s]) {
            *sum += way * v;
        }
    }
    let all: f64 = sums.iter().map(|s| s[0]).sum();
    let there = sums.iter().filter(|s| s[0] > 0.0);
    there
        .map(|[way, g, curvature, speed]| {
            let place = Place {
                name: String::new(),
                station_m: 0.0,
                g_load: g / way,
                ice_curvature_per_m: curvature / way,
                speed_m_s: speed / way,
            };
            (place, way / all)
        })
        .collect()
}

/// The guided estimate of a set-up (s), as `descend` has it; and its descent.
pub(crate) fn guided(track: &Track, sled: &Sled, detail: Detail) -> Result<Descent, String> {
    let case =
        Case { track, setup: &sled.setup, model: Model::Guided, precision: Precision::default(), detail };
    case.descent().map_err(|e| e.to_string())
}
