//! A week before travel: each athlete's bow to start from, the order of pairs, and which two to take, over ice from warm
//! to cold.
//!
//! First all bows with the pair on the sled on every ice: the bow to start from is chosen by the rides on all ice
//! together, so that one which keeps control on a single ice, or by chance, is none. Then every other pair at that bow and
//! its neighbours on every ice: its own bow of these is chosen in the same way. Bows and pairs are judged by the one rule
//! of choice ([`crate::rides::choice`]).
//!
//! ```text
//!   order:   pairs of which nothing is measured last; then the ices on which a pair loses control too often, fewest
//!            first; then the mean over the ices of the median, least first
//!   first:   the first of the order that is measured and keeps control on any ice
//!   second:  of the others the one that keeps control on most ices where the first does not, then the one that loses
//!            it on fewest, then the least mean over the ices of the better of both medians, to 0.01 s
//! ```
//!
//! *Valid for* rides of all pairs with the same mistakes. *Assumes* that a pair which loses control too often on an ice
//! is not ridden there. *Source*: assumed; that two pairs travel is common practice, no source. *Checked by*
//! `exact_the_second_pair_is_the_one_that_helps_where_the_first_does_not`, `exact_what_nobody_measured_does_not_travel`.

use crate::evening::ridden::{Ridden, Tonight, with_bows};
use crate::evening::{OtherIce, Pair, bow_name};
use crate::rides::choice::{Candidate, Choice, STEP_S, choose};
use crate::rides::ensemble::Ensemble;
use ice_contact::runner::Bow;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys::set;

/// One athlete who travels.
#[derive(Clone, Debug)]
pub struct Traveller {
    /// The pairs, the first on the sled; each in the conditions of the forecast.
    pub pairs: Vec<Pair>,
    /// Bows of the left and the right runner that are tried, from little to much.
    pub bows: Vec<[Bow; 2]>,
    /// Temperatures of the ice (degC), the warmest first.
    pub ices_c: Vec<f64>,
    /// Which of them is the forecast.
    pub forecast: usize,
}

/// A pair on every ice.
#[derive(Clone, Debug)]
pub struct PairOnIce {
    /// Which of the pairs.
    pub pair: usize,
    /// Its bow, among those that were tried.
    pub bow: usize,
    /// The rides with it, one for each ice.
    pub ridden: Vec<Ridden>,
}

/// What it comes to for one athlete; what an interruption left out is empty.
#[derive(Clone, Debug, Default)]
pub struct Travel {
    /// The pair on the sled at all bows, with the forecast; after an interruption those that are finished.
    pub bows: Vec<Ridden>,
    /// The choice among the bows by the rides on all ice together; no bow is on the sled yet.
    pub bow_choice: Option<Choice>,
    /// All pairs on every ice, each at its own bow: of the bow to start from and its neighbours, by the rule.
    pub pairs: Vec<PairOnIce>,
    /// The choice among the pairs on each ice, the pair on the sled taken as what stays.
    pub pair_choices: Vec<Choice>,
    /// The pairs from best to worst, indices into `pairs`.
    pub order: Vec<usize>,
    /// Which two to take, indices into `pairs`.
    pub take: Vec<usize>,
    /// All bows on the other ice with the pair on the sled, the one to start from taken as on it.
    pub ices: Vec<OtherIce>,
    /// True where all of it was computed.
    pub whole: bool,
}

impl Travel {
    /// The bow to start from.
    pub fn bow(&self) -> Option<usize> {
        self.bow_choice.as_ref().and_then(|c| c.advised)
    }
}

/// The bow to start from and one to either side.
const NEIGHBOURS: usize = 3;

/// How many set-ups are planned and ridden at most.
pub fn steps(traveller: &Traveller) -> usize {
    let (pairs, ices) = (traveller.pairs.len(), traveller.ices_c.len());
    traveller.bows.len() * ices + (pairs - 1) * ices * traveller.bows.len().min(NEIGHBOURS)
}

/// A pair over the ices, to order by.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct OverIces {
    /// Whether anything that enters the reckoning was measured.
    pub(crate) measured: bool,
    /// Median on each ice (s); infinite where it falls among lost rides or there is no ride.
    pub(crate) median_s: Vec<f64>,
    /// Whether control is kept often enough, on each ice.
    pub(crate) keeps: Vec<bool>,
}

impl OverIces {
    fn of(pair: &PairOnIce, measured: bool, most_lost: f64) -> OverIces {
        let figures = || pair.ridden.iter().map(|r| r.rides().map(Ensemble::figures));
        OverIces {
            measured,
            median_s: figures()
                .map(|f| f.and_then(|f| f.median_s).map_or(f64::INFINITY, |m| m.value))
                .collect(),
            keeps: figures().map(|f| f.is_some_and(|f| f.lost.value <= most_lost)).collect(),
        }
    }

    fn out(&self) -> usize {
        self.keeps.iter().filter(|k| !**k).count()
    }

    fn mean_s(&self) -> f64 {
        self.median_s.iter().sum::<f64>() / self.median_s.len().max(1) as f64
    }
}

/// The order of pairs, the best first; of equal ones the first in the bag.
pub(crate) fn order(pairs: &[OverIces]) -> Vec<usize> {
    let mut all: Vec<usize> = (0..pairs.len()).collect();
    let rank = |i: &usize| (!pairs[*i].measured, pairs[*i].out());
    all.sort_by(|a, b| rank(a).cmp(&rank(b)).then(pairs[*a].mean_s().total_cmp(&pairs[*b].mean_s())));
    all
}

/// Which two to take, the first of them the one to start with; fewer where no others are measured and keep control
/// somewhere.
pub(crate) fn two_to_take(pairs: &[OverIces]) -> Vec<usize> {
    let order = order(pairs);
    let fits = |i: &usize| pairs[*i].measured && pairs[*i].keeps.contains(&true);
    let Some(first) = order.iter().copied().find(fits) else { return vec![] };
    let a = &pairs[first];
    // the better of both on an ice, of those that keep control there
    let both_s = |b: &OverIces| -> f64 {
        let best = |i: usize| {
            let one = |p: &OverIces| if p.keeps[i] { p.median_s[i] } else { f64::INFINITY };
            one(a).min(one(b))
        };
        (0..a.keeps.len()).map(best).sum::<f64>() / a.keeps.len().max(1) as f64
    };
    let covers = |b: &OverIces| (0..a.keeps.len()).filter(|i| !a.keeps[*i] && b.keeps[*i]).count();
    let second = order.iter().copied().filter(|i| *i != first).filter(fits).min_by(|x, y| {
        let key = |i: &usize| (std::cmp::Reverse(covers(&pairs[*i])), pairs[*i].out());
        let (sx, sy) = (both_s(&pairs[*x]), both_s(&pairs[*y]));
        // what a timing sheet cannot tell leaves it to the order
        let time = if (sx - sy).abs() < STEP_S { std::cmp::Ordering::Equal } else { sx.total_cmp(&sy) };
        key(x).cmp(&key(y)).then(time)
    });
    [Some(first), second].into_iter().flatten().collect()
}

/// Answers for one athlete; where it is interrupted, with what is finished.
pub fn travel(tonight: &Tonight<'_>, traveller: &Traveller) -> Travel {
    let mut found = Travel::default();
    found.whole = answer(tonight, traveller, &mut found).is_some();
    found
}

/// Rides on several ices as one; none where one of them has none.
///
/// Checked by: `exact_rides_on_all_ice_are_one`.
pub(crate) fn together(rides: &[Option<&Ensemble>]) -> Option<Ensemble> {
    let all: Option<Vec<&Ensemble>> = rides.iter().copied().collect();
    let all = all?;
    Some(Ensemble {
        planned_time_s: all.first()?.planned_time_s,
        rides: all.iter().flat_map(|e| e.rides.iter().cloned()).collect(),
    })
}

/// The choice among bows by the rides on all ice together, bow by bow and ice by ice; nothing is on the sled.
fn chosen_on_all_ice(by_bow: &[Vec<&Ridden>], most_lost: f64) -> Choice {
    let rides = |on: &Vec<&Ridden>| together(&on.iter().map(|r| r.rides()).collect::<Vec<_>>());
    let pooled: Vec<Option<Ensemble>> = by_bow.iter().map(rides).collect();
    // the worst of all ice
    let worst = |on: &Vec<&Ridden>| {
        let of = on.iter().map(|r| r.candidate());
        of.fold([0.0f64; 2], |most, c| [most[0].max(c.numerical_s), most[1].max(c.by_plan_s)])
    };
    let candidates: Vec<Candidate<'_>> = by_bow
        .iter()
        .zip(&pooled)
        .map(|(on, rides)| {
            let [numerical_s, by_plan_s] = worst(on);
            Candidate { rides: rides.as_ref(), numerical_s, by_plan_s }
        })
        .collect();
    choose(&candidates, None, most_lost)
}

fn on_ice(setup: &Setup, temperature_c: f64) -> Option<Setup> {
    let mut there = setup.clone();
    set(&mut there, "ice.temperature_c", temperature_c).ok()?;
    Some(there)
}

fn answer(tonight: &Tonight<'_>, t: &Traveller, found: &mut Travel) -> Option<()> {
    let at = |pair: usize, bow: usize| with_bows(&t.pairs[pair].setup, &t.bows[bow]);
    // the forecast first: after an interruption it is what is told
    let (bows, ices) = (t.bows.len(), t.ices_c.len());
    let in_turn: Vec<usize> =
        [t.forecast].into_iter().chain((0..ices).filter(|i| *i != t.forecast)).collect();
    let mut on: Vec<Vec<Ridden>> = vec![vec![]; ices];
    for ice in in_turn {
        let first: Option<Vec<_>> =
            (0..bows).map(|b| Some((bow_name(&t.bows[b]), on_ice(&at(0, b), t.ices_c[ice])?))).collect();
        let ridden = tonight.ride_each(&first?);
        let every = ridden.iter().all(Option::is_some);
        on[ice] = ridden.into_iter().flatten().collect();
        if ice == t.forecast {
            found.bows = on[ice].clone();
        }
        if !every {
            return None;
        }
    }
    let by_bow: Vec<Vec<&Ridden>> = (0..bows).map(|b| on.iter().map(|i| &i[b]).collect()).collect();
    let choice = chosen_on_all_ice(&by_bow, tonight.most_lost);
    let advised = choice.advised;
    found.bow_choice = Some(choice);
    let Some(bow) = advised else { return Some(()) };
    let near: Vec<usize> = (bow.saturating_sub(1)..bows.min(bow + 2)).collect();
    let mut asked = vec![];
    for pair in 1..t.pairs.len() {
        for b in &near {
            for temperature_c in &t.ices_c {
                asked.push((t.pairs[pair].name.clone(), on_ice(&at(pair, *b), *temperature_c)?));
            }
        }
    }
    let mut ridden = tonight.ride_all(&asked)?.into_iter();
    let first = on.iter().map(|i| i[bow].clone()).collect();
    found.pairs.push(PairOnIce { pair: 0, bow, ridden: first });
    for pair in 1..t.pairs.len() {
        let mut here: Vec<Vec<Ridden>> = near.iter().map(|_| ridden.by_ref().take(ices).collect()).collect();
        let by_bow: Vec<Vec<&Ridden>> = here.iter().map(|r| r.iter().collect()).collect();
        let own = chosen_on_all_ice(&by_bow, tonight.most_lost).advised;
        // where none keeps control it is told at the bow to start from
        let own = own.or(near.iter().position(|b| *b == bow)).unwrap_or(0);
        found.pairs.push(PairOnIce { pair, bow: near[own], ridden: here.swap_remove(own) });
    }
    let side_by_side = |ice: usize| -> Vec<&Ridden> { found.pairs.iter().map(|p| &p.ridden[ice]).collect() };
    found.pair_choices =
        (0..t.ices_c.len()).map(|ice| tonight.chosen_of_a_bag(&side_by_side(ice), Some(0))).collect();
    let over: Vec<OverIces> =
        found.pairs.iter().map(|p| OverIces::of(p, t.pairs[p.pair].measured, tonight.most_lost)).collect();
    found.order = order(&over);
    found.take = two_to_take(&over);
    // does the bow to start from stay where the ice is another?
    for (ice, ridden) in on.into_iter().enumerate().filter(|(i, _)| *i != t.forecast) {
        let choice = tonight.chosen(&ridden.iter().collect::<Vec<_>>(), Some(bow));
        found.ices.push(OtherIce { temperature_c: t.ices_c[ice], bows: (0..bows).collect(), ridden, choice });
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn over(measured: bool, median_s: [f64; 3], keeps: [bool; 3]) -> OverIces {
        OverIces { measured, median_s: median_s.to_vec(), keeps: keeps.to_vec() }
    }

    const ALL: [bool; 3] = [true; 3];

    #[test]
    fn exact_the_second_pair_is_the_one_that_helps_where_the_first_does_not() {
        let pairs = [
            over(true, [56.0, 56.2, 56.9], ALL), // mean 56.37
            over(true, [56.2, 56.2, 56.5], ALL), // mean 56.30: first
            over(true, [56.3, 56.3, 56.4], ALL), // mean 56.33: second in the order
        ];
        assert_eq!(order(&pairs), [1, 2, 0]);
        // with the first: 56.0 56.2 56.5 against 56.2 56.2 56.4: the last of the order helps more
        assert_eq!(two_to_take(&pairs), [1, 0]);
        // one that loses control on an ice comes behind, whatever its times
        let mut fast = pairs.clone();
        fast[0].keeps[2] = false;
        fast[0].median_s = vec![55.0; 3];
        assert_eq!(order(&fast), [1, 2, 0]);
        assert_eq!(two_to_take(&fast), [1, 2]);
        // and where the first itself loses control on an ice, one that keeps it there goes along
        let pairs = [
            over(true, [56.0, 56.0, 56.0], [true, true, false]),
            over(true, [57.0, 57.0, 57.0], [false, true, true]),
            over(true, [56.1, 56.1, 56.1], [true, true, false]),
        ];
        assert_eq!(two_to_take(&pairs), [0, 1]);
    }

    #[test]
    fn exact_rides_on_all_ice_are_one() {
        use crate::rides::ensemble::RideRow;
        let of = |times: &[f64]| {
            let row = |t: &f64| RideRow { finish_time_s: Some(*t), touches: 0, lip_touches: 0, lost: None };
            Ensemble { planned_time_s: Some(times[0]), rides: times.iter().map(row).collect() }
        };
        let (a, b) = (of(&[50.0, 51.0]), of(&[52.0, 53.0]));
        let both = together(&[Some(&a), Some(&b)]).expect("rides");
        let times: Vec<_> = both.rides.iter().filter_map(|r| r.finish_time_s).collect();
        assert_eq!((times, both.planned_time_s), (vec![50.0, 51.0, 52.0, 53.0], Some(50.0)));
        // without a ride on one ice a bow has none
        assert!(together(&[Some(&a), None]).is_none());
    }

    #[test]
    fn exact_what_nobody_measured_does_not_travel() {
        let pairs =
            [over(false, [50.0; 3], ALL), over(true, [56.0; 3], ALL), over(true, [55.0; 3], [false; 3])];
        assert_eq!(order(&pairs), [1, 2, 0]);
        assert_eq!(two_to_take(&pairs), [1]);
        assert_eq!(two_to_take(&pairs[..1]), [0; 0]);
    }
}
