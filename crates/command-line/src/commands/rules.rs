//! The rules by season: read from a file or as built in, and what a set-up says to them.

use crate::files::read_text;
use crate::words::every_fault;
use sled_bench::rules::reading::read_rules;
use sled_bench::rules::{Class, Measured, Season, Verdict};
use sled_dynamics::setup::Setup;
use std::path::{Path, PathBuf};

/// The rules that are used when none are named.
const BUILT_IN: &str = include_str!("../../../../examples/rules.toml");

/// Which rules.
#[derive(clap::Args)]
pub struct RuleOptions {
    /// Limits by season, a file like examples/rules.toml [default: that one, built in; its limits were not looked
    /// up in a rule book]
    #[arg(long, value_name = "FILE")]
    rules: Option<PathBuf>,
    /// Season of that file [default: its last]
    #[arg(long, value_name = "NAME")]
    season: Option<String>,
    /// For whom the limits are [default: both are shown]
    #[arg(long, value_enum)]
    class: Option<ClassName>,
}

/// For whom.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum ClassName {
    Women,
    Men,
}

/// Limits of a season, and for whom.
#[derive(Clone, Debug)]
pub struct Rules {
    /// The limits.
    pub season: Season,
    /// For whom; none: for both.
    pub class: Option<Class>,
}

impl RuleOptions {
    /// Reads them.
    pub fn read(&self) -> Result<Rules, String> {
        let class = self.class.map(|c| if c == ClassName::Women { Class::Women } else { Class::Men });
        rules(self.rules.as_deref(), self.season.as_deref(), class)
    }
}

/// The rules of a file or as built in; of a season, or the last.
pub fn rules(file: Option<&Path>, season: Option<&str>, class: Option<Class>) -> Result<Rules, String> {
    let (name, text) = match file {
        Some(path) => (path.display().to_string(), read_text(path)?),
        None => ("examples/rules.toml".to_string(), BUILT_IN.to_string()),
    };
    let mut seasons = read_rules(&name, &text)
        .map_err(|found| format!("these rules cannot be used\n{}", every_fault(found)))?;
    let names = || seasons.iter().map(|s| s.name.as_str()).collect::<Vec<_>>().join(", ");
    let which = match season {
        None => seasons.len() - 1,
        Some(wanted) => seasons
            .iter()
            .position(|s| s.name == wanted)
            .ok_or_else(|| format!("{name}: no season \"{wanted}\"; allowed: {}", names()))?,
    };
    Ok(Rules { season: seasons.swap_remove(which), class })
}

/// What a set-up says of itself: length, height and the temperature of its runners it does not know.
pub fn measured(setup: &Setup) -> Measured {
    let s = &setup.sled;
    Measured {
        mass_kg: Some(s.mass_kg()),
        sled_mass_kg: Some(s.sled_mass_kg + s.ballast_kg),
        gauge_m: Some(s.gauge_m),
        diameter_m: Some(setup.runners.both.diameter_m),
        ..Measured::default()
    }
}

impl Rules {
    /// Both masses, in the words that every command uses.
    pub fn mass_words(&self, setup: &Setup) -> String {
        self.season.mass_words(self.class, &measured(setup))
    }

    /// The mass of both in words, where it is beyond what is said to be the limit of every class.
    pub fn beyond_all(&self, setup: &Setup) -> Option<String> {
        let beyond = |class| matches!(self.season.verdict(class, 0, &measured(setup)), Verdict::Outside(_));
        [Class::Women, Class::Men].into_iter().all(beyond).then(|| self.mass_words(setup))
    }

    /// The sled's mass alone, where that of both has a limit of its own.
    pub fn sled_mass_words(&self, setup: &Setup) -> String {
        self.season.mass_words_of(1, self.class, &measured(setup))
    }

    /// All that is not a mass.
    pub fn other_words(&self, setup: &Setup) -> String {
        self.season.other_words(self.class, &measured(setup)).join("; ")
    }
}
