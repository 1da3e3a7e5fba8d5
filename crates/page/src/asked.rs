//! From the text of a request to a checked question; what cannot be computed with is told in a sentence.

use serde::Deserialize;
use serde::de::DeserializeOwned;
use sled_dynamics::laws::on_runners::{bending_stress_pa, ice_state};
use sled_dynamics::riding::errors_of_ride::{SKILLS, Skill};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::file::read_setup_with_beam;

/// Longest text of a set-up (bytes).
pub(crate) const LONGEST_SETUP: usize = 64 * 1024;
/// Most keys set beside a file.
const MOST_SETS: usize = 64;
/// Longest name of a file or value of a key (bytes).
const LONGEST_NAME: usize = 120;
/// Longest name that a window gives itself (bytes).
const LONGEST_WINDOW: usize = 40;
/// Rides of an ensemble: with fewer there is no band; more would keep a hand waiting.
pub const RIDES: std::ops::RangeInclusive<u32> = 6..=2000;

/// A file as chosen in the browser.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields)]
pub struct AskedFile {
    /// Its name.
    pub name: String,
    /// Its text.
    pub text: String,
}

/// A set-up as asked for: a file, or the one that the page began with, and keys set beside it.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields)]
pub struct AskedSetup {
    /// The file.
    #[serde(default)]
    pub file: Option<AskedFile>,
    /// Keys and values, as after `--set`.
    pub sets: Vec<(String, String)>,
    /// The skill of who rides, by name.
    pub skill: String,
}

/// A question of the bench: a set-up against the pinned one.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Asked {
    /// Which window asks.
    pub window: String,
    /// Number of the question; a greater one of the same window takes its place.
    pub number: u64,
    /// The set-up of the controls.
    pub here: AskedSetup,
    /// The set-up it is compared with.
    pub pinned: AskedSetup,
    /// Rides of each.
    pub rides: u32,
    /// Seed of the mistakes.
    pub seed: u64,
}

/// A set-up as checked, and who rides it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Sled {
    /// The set-up, with the lag of the skill.
    pub(crate) setup: Setup,
    /// Who rides.
    pub(crate) skill: Skill,
}

/// The text of a request as what it should be.
pub(crate) fn read<T: DeserializeOwned>(bytes: &[u8]) -> Result<T, String> {
    serde_json::from_slice(bytes).map_err(|e| format!("the request cannot be read: {e}"))
}

/// Something that is too long, told.
fn at_most(what: &str, length: usize, most: usize) -> Result<(), String> {
    if length <= most { Ok(()) } else { Err(format!("{what}: {length} bytes; allowed are {most}")) }
}

/// Whether a window may call itself so.
pub(crate) fn window(name: &str) -> Result<(), String> {
    at_most("window", name.len(), LONGEST_WINDOW)?;
    let plain = !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
    if plain { Ok(()) } else { Err("window: allowed are letters, digits and -".into()) }
}

impl Asked {
    /// Checks what is no set-up.
    pub(crate) fn check(&self) -> Result<(), String> {
        window(&self.window)?;
        if RIDES.contains(&self.rides) {
            return Ok(());
        }
        Err(format!("rides: read {}; allowed are {} to {}", self.rides, RIDES.start(), RIDES.end()))
    }
}

impl AskedSetup {
    /// The set-up, read and checked as the command line reads and checks it, with the lag of the skill.
    pub(crate) fn checked(&self, first: &AskedFile) -> Result<Sled, String> {
        let file = self.file.as_ref().unwrap_or(first);
        at_most("name of the set-up", file.name.len(), LONGEST_NAME)?;
        at_most("the set-up", file.text.len(), LONGEST_SETUP)?;
        if self.sets.len() > MOST_SETS {
            return Err(format!("sets: {} keys; allowed are {MOST_SETS}", self.sets.len()));
        }
        for (key, value) in &self.sets {
            at_most("a key", key.len(), LONGEST_NAME)?;
            at_most("a value", value.len(), LONGEST_NAME)?;
        }
        let skill = SKILLS.into_iter().find(|s| s.name == self.skill).ok_or_else(|| {
            let read: String = self.skill.chars().take(LONGEST_WINDOW).collect();
            format!("skill {read}: not known; allowed are {}", SKILLS.map(|s| s.name).join(", "))
        })?;
        let mut setup = read_setup_with_beam(&file.name, &file.text, &self.sets, Some(&bending_stress_pa))
            .map_err(|faults| format!("this set-up cannot be used: {faults}"))?;
        setup.pilot.lag_s = skill.lag_s;
        Ok(Sled { setup, skill })
    }
}

impl Sled {
    /// What its descents depend on; the name is nothing of that, the lag is that of the skill.
    pub(crate) fn key(&self) -> String {
        let mut bare = self.setup.clone();
        bare.name.clear();
        format!("{bare:?} {}", self.skill.name)
    }

    /// What the tables of its runners depend on.
    pub(crate) fn runners_key(&self) -> String {
        format!("{:?} {:?}", self.setup.runners, ice_state(&self.setup.ice))
    }
}
