//! The desk where questions are answered: what was ridden is kept for a while, each window has one question in hand,
//! and a newer one takes its place.

use crate::asked::{Asked, AskedFile, AskedSetup, Sled};
use crate::evening::{EveningTold, Evenings, Readings};
use crate::evidence::{Analyses, Calibrated, Calibrations, TrialPlans};
use crate::job::Job;
use crate::pairs::Pairs;
use crate::ridden::{Planner, Ridden, guided};
use crate::rough::rough;
use crate::told::{Told, told};
use crate::track_checked::{DesignSpeeds, LeftAlone};
use serde_json::{Value, json};
use sled_dynamics::motion::precision::Detail;
use std::collections::VecDeque;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use tokio::sync::watch;
use track_geometry::track::Track;

/// Sleds that are kept, each with the tables of its runners.
const KEPT: usize = 16;
/// Windows that are answered at a time; the one that asked longest ago makes room.
const WINDOWS: usize = 16;
/// Rides of each sled before the next is ridden, as in `compare`.
const ROUND: usize = 32;

/// What the page is made of.
pub struct Given {
    /// The track.
    pub track: Track,
    /// The set-up that the page begins with.
    pub setup: AskedFile,
    /// Keys set beside it.
    pub sets: Vec<(String, String)>,
    /// Plans a ride, or finds it kept.
    pub plan: Box<Planner>,
    /// Answers an evening.
    pub evenings: Arc<Evenings>,
    /// Reads caliper readings.
    pub readings: Arc<Readings>,
    /// A plan of an evening to begin with.
    pub evening_plan: String,
    /// Proposes design speeds for a corner list.
    pub design_speeds: Arc<DesignSpeeds>,
    /// Reads a runner library.
    pub pairs: Arc<Pairs>,
    /// Warns of a track: eyes in corners, and a sled left alone.
    pub left_alone: Arc<LeftAlone>,
    /// Tells two set-ups of a timing sheet apart.
    pub analyses: Arc<Analyses>,
    /// Fits a timing sheet.
    pub calibrations: Arc<Calibrations>,
    /// Plans a trial.
    pub trial_plans: Arc<TrialPlans>,
    /// What stands below every answer.
    pub cautions: Vec<String>,
    /// Version of the program.
    pub version: String,
}

/// The question of a window, and what is told of it so far.
struct Window {
    name: String,
    number: u64,
    waiting: Option<Asked>,
    told: Option<Value>,
    told_of: u64,
    version: u64,
}

/// The desk.
pub struct Desk {
    /// What the page is made of.
    pub(crate) given: Given,
    known: Mutex<VecDeque<Arc<Ridden>>>,
    windows: Mutex<VecDeque<Window>>,
    asked: Condvar,
    changes: watch::Sender<u64>,
    /// The evening in hand.
    pub(crate) evening: Arc<Job<EveningTold>>,
    /// The calibration in hand.
    pub(crate) calibration: Arc<Job<Calibrated>>,
    /// The told line in hand.
    pub(crate) line: Arc<Job<Value>>,
}

fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Desk {
    /// An empty desk.
    pub fn new(given: Given) -> Arc<Desk> {
        Arc::new(Desk {
            given,
            known: Mutex::default(),
            windows: Mutex::default(),
            asked: Condvar::new(),
            changes: watch::Sender::new(0),
            evening: Arc::new(Job::new("an evening")),
            calibration: Arc::new(Job::new("a calibration")),
            line: Arc::new(Job::new("a line")),
        })
    }

    /// A set-up as asked for, checked.
    pub(crate) fn sled(&self, asked: &AskedSetup) -> Result<Sled, String> {
        asked.checked(&self.given.setup)
    }

    /// A sled that is kept.
    pub(crate) fn find(&self, key: &str) -> Option<Arc<Ridden>> {
        let mut known = held(&self.known);
        let at = known.iter().position(|r| r.key == key)?;
        let found = known.remove(at)?;
        known.push_front(Arc::clone(&found));
        Some(found)
    }

    /// The sled that was ridden whose steering fits best: with the same runners and skill before the same skill
    /// before any.
    fn near(&self, sled: &Sled) -> Option<Arc<Ridden>> {
        let runners_key = sled.runners_key();
        let strange = |r: &Ridden| {
            2 * usize::from(r.sled.skill.name != sled.skill.name) + usize::from(r.runners_key != runners_key)
        };
        held(&self.known).iter().min_by_key(|r| strange(r)).cloned()
    }

    /// The window of a name, made where it is new.
    fn with_window<T>(&self, name: &str, change: impl FnOnce(&mut Window) -> T) -> T {
        let mut windows = held(&self.windows);
        let window = match windows.iter().position(|w| w.name == name) {
            Some(at) => windows.remove(at),
            None => None,
        };
        windows.push_front(window.unwrap_or_else(|| Window {
            name: name.to_string(),
            number: 0,
            waiting: None,
            told: None,
            told_of: 0,
            version: 0,
        }));
        windows.truncate(WINDOWS);
        change(&mut windows[0])
    }

    /// Notes that a question was asked; false where a newer one of the window was asked already.
    pub(crate) fn is_newest(&self, window: &str, number: u64) -> bool {
        self.with_window(window, |w| {
            w.number = w.number.max(number);
            w.number == number
        })
    }

    /// Whether a question of a window is still to be answered.
    fn is_wanted(&self, window: &str, number: u64) -> bool {
        held(&self.windows).iter().any(|w| w.name == window && w.number == number)
    }

    /// The quick answer; the full one where it is known. None where a newer question was asked.
    pub(crate) fn quick(&self, asked: &Asked) -> Result<Option<Value>, String> {
        if !self.is_newest(&asked.window, asked.number) {
            return Ok(None);
        }
        let (here, pinned) = (self.sled(&asked.here)?, self.sled(&asked.pinned)?);
        let pinned = self.find(&pinned.key());
        if let Some(known) = self.find(&here.key()) {
            return self.told(asked, &known, pinned.as_deref(), None).map(Some);
        }
        let near = self.near(&here);
        let quick = rough(&self.given.track, &here, near.as_ref())?;
        if !self.is_newest(&asked.window, asked.number) {
            return Ok(None);
        }
        let told_of = Told {
            track: &self.given.track,
            asked,
            sled: &here,
            descent: &quick.descent,
            ridden: None,
            pinned: pinned.as_deref(),
            guided_s: None,
            rough: Some(quick.how),
            doing: None,
        };
        Ok(Some(told(&told_of)))
    }

    /// Puts a question on the desk for the full answer.
    pub(crate) fn ask(&self, asked: Asked) -> Result<(), String> {
        // refused at once, not when its turn comes
        self.sled(&asked.here)?;
        self.sled(&asked.pinned)?;
        if self.is_newest(&asked.window, asked.number) {
            let name = asked.window.clone();
            self.with_window(&name, |w| w.waiting = Some(asked));
            self.asked.notify_all();
        }
        Ok(())
    }

    /// What is told of a window's question once it is newer than a version; none where nothing newer came in time.
    pub(crate) async fn answer(
        &self,
        window: &str,
        number: u64,
        since: u64,
        patience: Duration,
    ) -> Option<Value> {
        let mut changes = self.changes.subscribe();
        let look = || {
            let windows = held(&self.windows);
            let window = windows.iter().find(|w| w.name == window)?;
            let news = window.told_of >= number && window.version > since;
            let told = window.told.clone().filter(|_| news)?;
            Some(json!({ "version": window.version, "told": told }))
        };
        let wait = async {
            loop {
                if let Some(news) = look() {
                    return Some(news);
                }
                if changes.changed().await.is_err() {
                    return None;
                }
            }
        };
        tokio::time::timeout(patience, wait).await.ok().flatten()
    }

    fn tell(&self, asked: &Asked, told: Value) {
        if self.is_wanted(&asked.window, asked.number) {
            self.with_window(&asked.window, |w| {
                w.version += 1;
                w.told_of = asked.number;
                w.told = Some(told);
            });
            self.changes.send_modify(|n| *n += 1);
        }
    }

    fn told(
        &self,
        asked: &Asked,
        here: &Ridden,
        pinned: Option<&Ridden>,
        doing: Option<(&str, usize, usize)>,
    ) -> Result<Value, String> {
        let guided_s = guided(&self.given.track, &here.sled, Detail::Bare)?.finish_time_s;
        Ok(told(&Told {
            track: &self.given.track,
            asked,
            sled: &here.sled,
            descent: &here.descent,
            ridden: Some(here),
            pinned,
            guided_s,
            rough: None,
            doing,
        }))
    }

    /// The full answer of a finished comparison, with nobody waiting for less.
    pub(crate) fn finished(&self, asked: &Asked) -> Result<Value, String> {
        asked.check()?;
        let (here, pinned) = (self.sled(&asked.here)?, self.sled(&asked.pinned)?);
        let here = self.ridden(asked, &here, "first")?;
        let pinned = self.ridden(asked, &pinned, "second")?;
        for ridden in [&here, &pinned] {
            let ready = ridden.prepared(&self.given.track)?;
            ridden.ride_on(&ready, asked.seed, asked.rides as usize);
        }
        self.told(asked, &here, Some(&pinned), None)
    }

    /// Works through questions until the program ends: one thread does.
    pub(crate) fn work(&self) {
        loop {
            let next = {
                let mut windows = held(&self.windows);
                loop {
                    // the window that has waited longest
                    if let Some(asked) = windows.iter_mut().rev().find_map(|w| w.waiting.take()) {
                        break asked;
                    }
                    windows = self.asked.wait(windows).unwrap_or_else(PoisonError::into_inner);
                }
            };
            // one that fails must not end the thread: the next is answered
            let failed = || {
                Err("this could not be computed: the numbers may lie where the model does not hold".into())
            };
            let done = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| self.full(&next)));
            if let Err(why) = done.unwrap_or_else(|_| failed()) {
                self.tell(&next, json!({ "number": next.number, "error": why }));
            }
        }
    }

    /// The sled with its plan, from those that are kept or made.
    fn ridden(&self, asked: &Asked, sled: &Sled, which: &str) -> Result<Arc<Ridden>, String> {
        if let Some(known) = self.find(&sled.key()) {
            return Ok(known);
        }
        let doing = |what: &str, step: usize| {
            let said = format!("{what} of the {which} set-up");
            self.tell(asked, json!({ "number": asked.number, "doing": [said, step, 3] }));
        };
        doing("runners on the ice", 0);
        let plan = &*self.given.plan;
        let done = || doing("planned ride", 1);
        let made = Ridden::new(&self.given.track, sled, plan, &done)
            .map_err(|why| format!("the {which} set-up has no ride: {why}"))?;
        let made = Arc::new(made);
        let mut known = held(&self.known);
        known.push_front(Arc::clone(&made));
        known.truncate(KEPT);
        Ok(made)
    }

    /// The full answer, told as far as it is each time; ends early where a newer question was asked.
    fn full(&self, asked: &Asked) -> Result<(), String> {
        let wanted = || self.is_wanted(&asked.window, asked.number);
        let (here, pinned) = (self.sled(&asked.here)?, self.sled(&asked.pinned)?);
        if !wanted() {
            return Ok(());
        }
        let here = self.ridden(asked, &here, "present")?;
        let rides = asked.rides as usize;
        self.tell(
            asked,
            self.told(asked, &here, self.find(&pinned.key()).as_deref(), Some(("rides", 0, rides)))?,
        );
        if !wanted() {
            return Ok(());
        }
        let pinned = self.ridden(asked, &pinned, "pinned")?;
        let track = &self.given.track;
        let (ready, other) = (here.prepared(track)?, pinned.prepared(track)?);
        let mut ridden = 0;
        while ridden < rides {
            self.tell(asked, self.told(asked, &here, Some(&pinned), Some(("rides", ridden, rides)))?);
            ridden = rides.min(ridden + ROUND);
            here.ride_on(&ready, asked.seed, ridden);
            pinned.ride_on(&other, asked.seed, ridden);
            if !wanted() {
                return Ok(());
            }
        }
        self.tell(asked, self.told(asked, &here, Some(&pinned), None)?);
        Ok(())
    }
}
