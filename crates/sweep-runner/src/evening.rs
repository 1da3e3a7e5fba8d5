//! The evening before a race: one pair and one bow for tomorrow, from rides with the same mistakes.
//!
//! Every advice is that of the one rule of choice ([`crate::rides::choice`]): what is on the sled stays unless the rides
//! tell it slower, or it loses control too often. Nothing is advised where all set-ups do.
//! First bow with the pair on the sled, then the other pairs at the advised bow and its neighbours, then other ice, what
//! an hour is worth, and which presses matter most.

pub mod air;
pub mod hours;
pub mod plan_file;
pub mod presses;
pub mod ridden;
pub mod scratches;
pub mod travel;
pub mod travel_file;

use crate::evening::air::{OtherAir, other_air};
use crate::evening::hours::{Change, Worth, changes, of_the_athlete, worth};
use crate::evening::presses::{MissedPress, dearest_presses};
use crate::evening::ridden::{Ridden, Tonight, mean_mm, share_best, with_bows};
use crate::evening::scratches::Scratch;
use crate::rides::choice::Choice;
use crate::rides::ensemble::Ensemble;
use crate::rides::figures::Figure;
use ice_contact::runner::Bow;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys::set;

/// Presses that are told.
pub(crate) const PRESSES: usize = 6;
/// Hours that setting the bow takes (h), assumed.
const BOW_HOURS: f64 = 0.7;

/// A pair in the bag.
#[derive(Clone, Debug)]
pub struct Pair {
    /// Its name.
    pub name: String,
    /// The set-up with this pair on; its bows are not looked at.
    pub setup: Setup,
    /// Numbers of the pair that nobody measured.
    pub unknown: Vec<&'static str>,
    /// Whether anything that enters the reckoning was measured.
    pub measured: bool,
}

/// What is asked tonight.
#[derive(Clone, Debug)]
pub struct Question {
    /// The pairs, the first on the sled.
    pub pairs: Vec<Pair>,
    /// Bows of the left and the right runner that are tried, from little to much.
    pub bows: Vec<[Bow; 2]>,
    /// Which of them is on the sled.
    pub now: usize,
    /// Other temperatures of the ice (degC).
    pub ices_c: Vec<f64>,
    /// Keys of the air that may be off their forecast, and how far, in the unit of the key.
    pub air_spreads: Vec<(&'static str, f64)>,
    /// Greatest mass of athlete and sled (kg), where one is known.
    pub most_mass_kg: Option<f64>,
    /// Scratches of the runners on the sled.
    pub scratches: Vec<Scratch>,
}

/// A pair at a bow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Which of the pairs.
    pub pair: usize,
    /// Which of the bows.
    pub bow: usize,
}

/// Another pair, ridden at the bows around the advised one.
#[derive(Clone, Debug)]
pub struct OtherPair {
    /// Which of the pairs.
    pub pair: usize,
    /// Which bows.
    pub bows: Vec<usize>,
    /// The rides.
    pub ridden: Vec<Ridden>,
    /// The choice among them.
    pub choice: Choice,
}

/// Other ice.
#[derive(Clone, Debug)]
pub struct OtherIce {
    /// Temperature of the ice (degC).
    pub temperature_c: f64,
    /// Which bows.
    pub bows: Vec<usize>,
    /// The rides; as many, unless the ice cannot be computed.
    pub ridden: Vec<Ridden>,
    /// The choice among them, what is advised for the forecast taken as on the sled.
    pub choice: Choice,
}

/// What the evening comes to; what an interruption left out is empty.
#[derive(Clone, Debug, Default)]
pub struct Evening {
    /// The pair on the sled at all bows; after an interruption those that are finished.
    pub bows: Vec<Ridden>,
    /// The choice among them.
    pub bow_choice: Option<Choice>,
    /// The other pairs.
    pub others: Vec<OtherPair>,
    /// The choice among pairs: the pair on the sled first, then those of `others` of which anything is measured.
    pub pair_choice: Option<Choice>,
    /// What is advised; none where all are out.
    pub advised: Option<Place>,
    /// Share of rides in which it is the fastest of all set-ups that are not out `[-]`.
    pub best: Option<Figure>,
    /// How many those are.
    pub of: usize,
    /// Other ice with the advised pair.
    pub ices: Vec<OtherIce>,
    /// Other air with what is advised.
    pub air: Vec<OtherAir>,
    /// What an hour is worth.
    pub hours: Vec<Worth>,
    /// The presses that matter most, with what is advised, or else with what is on the sled.
    pub presses: Vec<MissedPress>,
    /// True where all of it was computed.
    pub whole: bool,
}

impl Evening {
    /// The rides of a pair at a bow.
    pub fn ridden(&self, place: Place) -> Option<&Ridden> {
        if place.pair == 0 {
            return self.bows.get(place.bow);
        }
        let other = self.others.iter().find(|o| o.pair == place.pair)?;
        other.ridden.get(other.bows.iter().position(|b| *b == place.bow)?)
    }

    /// The rides of what is advised.
    pub fn advised(&self) -> Option<&Ridden> {
        self.ridden(self.advised?)
    }

    /// True where nothing on the sled changes.
    pub fn stays(&self, question: &Question) -> bool {
        self.advised == Some(Place { pair: 0, bow: question.now })
    }

    /// The least share of rides lost among the bows `[-]`, and with which.
    pub fn least_lost(&self) -> Option<(f64, usize)> {
        let of = |(i, r): (usize, &Ridden)| Some((r.rides()?.figures().lost.value, i));
        self.bows.iter().enumerate().filter_map(of).min_by(|a, b| a.0.total_cmp(&b.0))
    }
}

/// How many set-ups are planned and ridden at most, for whoever tells how far it is.
pub fn steps(question: &Question) -> usize {
    let ices = 3 * question.ices_c.len();
    question.bows.len() + 3 * (question.pairs.len().saturating_sub(1)) + ices + hours::MOST_CHANGES
}

/// Whether all screws stand alike, to what is read.
fn is_even([l, r]: &[Bow; 2]) -> bool {
    [l.rear_m, r.front_m, r.rear_m].iter().all(|b| (b - l.front_m).abs() < 5e-6)
}

/// A bow in short.
pub fn bow_name(bows: &[Bow; 2]) -> String {
    format!("{:.2} mm{}", mean_mm(bows), if is_even(bows) { "" } else { " uneven" })
}

/// A bow in words, front and rear screw of an uneven one told apart.
pub fn bow_words(bows: &[Bow; 2]) -> String {
    let one = |b: &Bow| format!("{:.2}/{:.2}", 1e3 * b.front_m, 1e3 * b.rear_m);
    let screws = format!(" (left {}, right {})", one(&bows[0]), one(&bows[1]));
    format!("{:.2} mm{}", mean_mm(bows), if is_even(bows) { "" } else { &screws })
}

/// The advised bow and its neighbours.
fn around(bow: usize, many: usize) -> Vec<usize> {
    (bow.saturating_sub(1)..many.min(bow + 2)).collect()
}

/// Answers; where it is interrupted, with what is finished.
pub fn evening(tonight: &Tonight<'_>, question: &Question) -> Evening {
    let mut found = Evening::default();
    found.whole = answer(tonight, question, &mut found).is_some();
    found
}

fn answer(tonight: &Tonight<'_>, question: &Question, found: &mut Evening) -> Option<()> {
    let at = |pair: usize, bow: usize| {
        let bows = &question.bows[bow];
        (bow_name(bows), with_bows(&question.pairs[pair].setup, bows))
    };
    let on_the_sled: Vec<_> = (0..question.bows.len()).map(|bow| at(0, bow)).collect();
    let ridden = tonight.ride_each(&on_the_sled);
    let every = ridden.iter().all(Option::is_some);
    found.bows = ridden.into_iter().flatten().collect();
    if !every {
        return None;
    }
    let all: Vec<&Ridden> = found.bows.iter().collect();
    let choice = tonight.chosen(&all, Some(question.now));
    let advised = choice.advised;
    found.bow_choice = Some(choice);
    let Some(bow) = advised else {
        // nothing is advised; the presses of what is on the sled are told all the same
        let now = &found.bows[question.now];
        found.presses = presses_of(tonight, now);
        return Some(());
    };
    other_pairs(tonight, question, found, &at, bow)?;
    let place = found.advised?;
    probability_of_best(tonight, found, place);
    other_ice(tonight, question, found, &at, place)?;
    let base = found.advised()?.clone();
    // a planned ride that is lost has no other air to tell of
    let prepared = tonight.prepared(&base.setup, Some(&base)).ok();
    found.air = prepared.and_then(|p| other_air(&p, &question.air_spreads).ok()).unwrap_or_default();
    found.hours = what_hours_are_worth(tonight, question, found, &base)?;
    found.presses = presses_of(tonight, &base);
    Some(())
}

type At<'a> = dyn Fn(usize, usize) -> (String, Setup) + 'a;

fn other_pairs(
    tonight: &Tonight<'_>,
    question: &Question,
    found: &mut Evening,
    at: &At<'_>,
    bow: usize,
) -> Option<()> {
    found.advised = Some(Place { pair: 0, bow });
    for pair in 1..question.pairs.len() {
        let bows = around(bow, question.bows.len());
        let setups: Vec<_> = bows.iter().map(|b| at(pair, *b)).collect();
        let ridden = match tonight.ride_all(&setups) {
            Some(ridden) => ridden,
            None => {
                // with pairs left unridden nothing is said about any
                found.others.clear();
                return None;
            }
        };
        let choice = tonight.chosen(&ridden.iter().collect::<Vec<_>>(), None);
        found.others.push(OtherPair { pair, bows, ridden, choice });
    }
    // what nobody has measured stands for no pair, and is not advised
    let told = |o: &&OtherPair| question.pairs[o.pair].measured && !o.ridden.is_empty();
    let best = |o: &OtherPair| o.choice.advised.unwrap_or(o.bows.iter().position(|b| *b == bow).unwrap_or(0));
    let places: Vec<Place> = [Place { pair: 0, bow }]
        .into_iter()
        .chain(found.others.iter().filter(told).map(|o| Place { pair: o.pair, bow: o.bows[best(o)] }))
        .collect();
    if places.len() > 1 {
        let all: Vec<&Ridden> = places.iter().filter_map(|p| found.ridden(*p)).collect();
        let choice = tonight.chosen_of_a_bag(&all, Some(0));
        if let Some(i) = choice.advised {
            found.advised = Some(places[i]);
        }
        found.pair_choice = Some(choice);
    }
    Some(())
}

fn probability_of_best(tonight: &Tonight<'_>, found: &mut Evening, place: Place) {
    let in_time = |e: &&Ensemble| e.figures().lost.value <= tonight.most_lost;
    let mine = found.ridden(place).and_then(Ridden::rides);
    let every = found.bows.iter().chain(found.others.iter().flat_map(|o| &o.ridden));
    let all: Vec<&Ensemble> = every.filter_map(Ridden::rides).filter(in_time).collect();
    let which = mine.and_then(|m| all.iter().position(|e| std::ptr::eq(*e, m)));
    (found.best, found.of) = (which.and_then(|w| share_best(&all, w)), all.len());
}

fn other_ice(
    tonight: &Tonight<'_>,
    question: &Question,
    found: &mut Evening,
    at: &At<'_>,
    place: Place,
) -> Option<()> {
    let forecast_c = question.pairs[place.pair].setup.ice.temperature_c;
    let bows = around(place.bow, question.bows.len());
    let now = bows.iter().position(|b| *b == place.bow);
    for &temperature_c in &question.ices_c {
        let setups: Vec<_> = bows
            .iter()
            .filter_map(|b| {
                let (name, mut setup) = at(place.pair, *b);
                set(&mut setup, "ice.temperature_c", temperature_c).ok()?;
                Some((name, setup))
            })
            .collect();
        let there: Option<Vec<Ridden>> =
            bows.iter().map(|b| found.ridden(Place { bow: *b, ..place }).cloned()).collect();
        let ridden = match there {
            // the forecast itself is ridden already
            Some(there) if temperature_c == forecast_c => there,
            _ => tonight.ride_all(&setups)?,
        };
        let choice = tonight.chosen(&ridden.iter().collect::<Vec<_>>(), now);
        found.ices.push(OtherIce { temperature_c, bows: bows.clone(), ridden, choice });
    }
    Some(())
}

fn what_hours_are_worth(
    tonight: &Tonight<'_>,
    question: &Question,
    found: &Evening,
    base: &Ridden,
) -> Option<Vec<Worth>> {
    let mut worths = Vec::new();
    let place = found.advised?;
    let now = found.ridden(Place { pair: 0, bow: question.now });
    if !found.stays(question)
        && let Some(now) = now
    {
        let what = if place.pair == 0 {
            format!("bow {} to {}", now.name, base.name)
        } else {
            format!("pair {} with bow {}", question.pairs[place.pair].name, base.name)
        };
        let class = "rides with own plans";
        let change = Change {
            what,
            class,
            hours: BOW_HOURS,
            may_advise: true,
            ends_at_base: true,
            after: None,
            refused: None,
        };
        worths.push(worth(tonight, change, now, base));
    }
    let tried = changes(&base.setup, question.most_mass_kg, &question.scratches);
    let setups: Vec<(String, Setup)> =
        tried.iter().filter_map(|(c, s)| Some((c.what.clone(), s.clone()?))).collect();
    let ridden = tonight.ride_all_as(&setups, base)?;
    for (change, _) in tried {
        match ridden.iter().find(|r| r.name == change.what) {
            // what is there now was ridden, and the work ends at the advised set-up
            Some(scratched) if change.ends_at_base => worths.push(worth(tonight, change, scratched, base)),
            // a further step is told against the one before
            Some(changed) => {
                let before = change.after.as_ref().map(|what| ridden.iter().find(|r| r.name == *what));
                worths.push(worth(tonight, change, before.flatten().unwrap_or(base), changed));
            }
            None => {
                let refused = change.refused.clone();
                worths.push(Worth { change, pair: None, lost: None, told: false, refused });
            }
        }
    }
    for (change, skill) in of_the_athlete(tonight.skill) {
        let fresher = Tonight { skill: &skill, ..*tonight };
        let setups = [(change.what.clone(), base.setup.clone())];
        let ridden = fresher.ride_all_as(&setups, base)?;
        worths.extend(ridden.first().map(|r| worth(tonight, change.clone(), base, r)));
    }
    Some(worths)
}

fn presses_of(tonight: &Tonight<'_>, ridden: &Ridden) -> Vec<MissedPress> {
    let prepared = tonight.prepared(&ridden.setup, Some(ridden));
    prepared.map_or(vec![], |p| dearest_presses(&p, PRESSES))
}
