//! `--unknowns`: a question asked with every kept sample of what nobody has measured.

use super::refused;
use crate::files::read_text;
use crate::interrupt;
use crate::progress::Progress;
use std::path::{Path, PathBuf};
use sweep_runner::plausible::bands::{LEFT_OUT, OverSets, over_rows};
use sweep_runner::plausible::keyed::{Set, keys_of, read_keyed};
use sweep_runner::plausible::table::read_kept;

/// The samples that come with the program; `docs/plausible.md` has the command that made them.
const SHIPPED: &str = include_str!("../../../../examples/plausible.csv");
/// What they are called on the command line.
const SHIPPED_NAME: &str = "shipped";

/// The option.
#[derive(clap::Args)]
pub struct UnknownsOption {
    /// Also compute over samples of what nobody has measured: `shipped`, or a table of kept samples by `sagitta plausible`
    #[arg(long, value_name = "FILE.csv", conflicts_with = "calibration")]
    unknowns: Option<PathBuf>,
}

impl UnknownsOption {
    /// Whether any are named.
    pub fn is_named(&self) -> bool {
        self.unknowns.is_some()
    }

    /// The sets, where any are named.
    pub fn sets(&self) -> Result<Option<Vec<Set>>, String> {
        self.unknowns.as_deref().map(sets).transpose()
    }
}

/// The sets of a file: kept samples of the plausible set, or samples of keys as a calibration leaves them.
pub fn sets(path: &Path) -> Result<Vec<Set>, String> {
    let file = path.display().to_string();
    let text = if file == SHIPPED_NAME { SHIPPED.to_string() } else { read_text(path)? };
    let read = if keys_of(&text).is_some() {
        read_keyed(&file, &text).map(|all| all.into_iter().map(Set::Keyed).collect())
    } else {
        read_kept(&file, &text).map(|all| all.into_iter().map(|k| Set::Plausible(k.sample)).collect())
    };
    let sets: Vec<Set> = read.map_err(|faults| refused("these unknowns", &faults))?;
    if sets.is_empty() {
        return Err(format!("{file}: holds no set; nothing can be asked over it"));
    }
    Ok(sets)
}

/// What is asked at every set, until an interruption.
pub fn at_sets<T>(sets: &[Set], answer: impl Fn(&Set) -> T) -> Vec<T> {
    let mut progress = Progress::new(sets.len(), "sets of unknowns");
    let mut all = Vec::with_capacity(sets.len());
    for set in sets {
        if interrupt::asked() {
            break;
        }
        all.push(answer(set));
        progress.done(1);
    }
    all
}

/// How many sets there are and what they are of, in words.
pub fn many_words(sets: &[Set]) -> String {
    let what = match sets.first() {
        Some(Set::Keyed(keyed)) => format!("samples of {}", keyed.keys.join(", ")),
        _ => "plausible sets of what nobody has measured".to_string(),
    };
    format!("{} {what}", sets.len())
}

/// What differences do over the sets, one each; none where no set has one.
pub fn over_sets(sets: &[Set], differences_s: &[f64]) -> Option<OverSets> {
    let names = sets.first().map_or(vec![], Set::names);
    let rows: Vec<&[f64]> = sets.iter().map(Set::values).collect();
    over_rows(&names, &rows, differences_s)
}

/// Median and band of a difference, and how many sets have none; `named` puts a difference into words.
pub fn band_words(told: &OverSets, sets: usize, named: impl Fn(f64) -> String) -> String {
    let left_out = match sets - told.sets {
        0 => String::new(),
        n => format!("; {n} sets without a time of both left out"),
    };
    format!(
        "median {}, {:.0} % of sets from {} to {}{left_out}",
        named(told.median_s),
        100.0 * (1.0 - 2.0 * LEFT_OUT),
        named(told.band_s.0),
        named(told.band_s.1),
    )
}

/// Which unknown goes most with a difference, in words.
pub fn decides_words(told: &OverSets) -> String {
    told.decides.map_or("no unknown decides beyond chance".to_string(), |(name, r)| {
        format!("{name} decides most, rank correlation {r:+.2}")
    })
}
