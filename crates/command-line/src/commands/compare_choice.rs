//! What the rule of choice says of the set-ups that `compare` rode.

use sled_dynamics::setup::Setup;
use sweep_runner::rides::beside_steps::of_rides_s;
use sweep_runner::rides::choice::{Candidate, choose};
use sweep_runner::rides::ensemble::Ensemble;
use sweep_runner::rides::paired::ALLOWED_LOST;

/// A set-up, the numerical error of its planned time (s), and its rides.
pub type Rode<'a> = (&'a Setup, f64, &'a Ensemble);

/// What the rule of choice says of all of them; the first is what is on the sled. None where there was no ride.
pub fn chosen(all: &[Option<Rode<'_>>], one_plan: bool) -> String {
    let candidates: Vec<Candidate<'_>> = all
        .iter()
        .map(|rode| match rode {
            None => Candidate { rides: None, numerical_s: 0.0, by_plan_s: 0.0 },
            Some((setup, numerical_s, rides)) => Candidate {
                rides: Some(*rides).filter(|r| !r.rides.is_empty()),
                numerical_s: *numerical_s,
                by_plan_s: if one_plan { 0.0 } else { of_rides_s(setup) },
            },
        })
        .collect();
    if candidates.iter().all(|c| c.rides.is_none()) {
        return String::new();
    }
    let names: Vec<String> = (1..=all.len()).map(|i| format!("({i})")).collect();
    format!(
        "\nchoice, (1) being on the sled: {}",
        choose(&candidates, Some(0), ALLOWED_LOST).words(&names, ALLOWED_LOST)
    )
}
