//! A pair of a runner library on a set-up: what it changes, and what its unknown numbers leave open.

use crate::commands::evening::asked::name_with_pair;
use crate::commands::{Done, What, planned, ridden_by};
use crate::files::{self, Output, ReadTrack};
use crate::plan_store::PlanStore;
use crate::words::{CAUTION, every_fault, numbers, say, table};
use sled_bench::runner_record::{KEYS, RunnerRecord};
use sled_dynamics::analysis::bow_measures::own_measure;
use sled_dynamics::analysis::places::flat_place;
use sled_dynamics::motion::descent::Outcome;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys::get;
use std::path::Path;
use sweep_runner::rides::case::{Case, Model};
use sweep_runner::rides::prepared::{Attempt, Prepared};

/// Results that are told for each value: name with unit, and decimals.
const RESULTS: [(&str, usize); 5] = [
    ("static margin mm", 0),
    ("touch span m", 3),
    ("friction of the runners", 4),
    ("guided time s", 3),
    ("planned time s", 3),
];
/// The first results, which need no planned ride.
const UNPLANNED: usize = 4;

/// What is computed for one value of every number; nothing where it could not be.
type Figures = Vec<Option<f64>>;

/// One number of the record at the two ends of its band.
struct Ends {
    /// Which of [`KEYS`].
    number: usize,
    /// The two values, in the unit of its key.
    values: [f64; 2],
    /// What comes out.
    figures: [Figures; 2],
}

/// A result over everything that is not known.
struct Spread {
    middle: f64,
    /// Nothing where an end could not be computed.
    band: Option<[f64; 2]>,
    /// Ends that have no result: number and value.
    open: Vec<(usize, f64)>,
    /// The number that moves it most, and by how much from end to end.
    most: Option<(usize, f64)>,
}

/// Puts a pair on the set-up, tells what that changes, and writes the set-up.
pub fn put(what: &What, record: &RunnerRecord, plans: bool, out: Option<&Path>) -> Done {
    let (track, read) = what.read()?;
    let old = read.setup;
    let setup = with_record(what, record)?;
    let setup_file = files::setup_output("setup.toml", &setup)?;
    let base = if plans { Some(planned(&track, &setup, &what.store())?) } else { None };
    let rider = Rider { track: &track, store: what.store(), base: base.as_ref() };
    let base_friction = own_measure(&setup, &flat_place()).map_err(every_fault)?.map(|m| m.friction);
    let figures = |setup: &Setup| rider.figures(setup, base_friction);
    let middle = figures(&setup)?;
    let mut all = Vec::new();
    for number in (0..KEYS.len()).filter(|&i| KEYS[i].setup_key.is_some()) {
        let Some(values) = record.band(number) else { continue };
        if plans {
            let [a, b] = values.map(short);
            tell!("{} {a} and {b}: planning and riding ...", KEYS[number].key);
        }
        let at = |value| figures(&with_record(what, &record.with(number, value))?);
        all.push(Ends { number, values, figures: [at(values[0])?, at(values[1])?] });
    }
    let columns = if plans { RESULTS.len() } else { UNPLANNED };
    let spreads: Vec<Option<Spread>> = (0..columns).map(|c| spread(&middle, &all, c)).collect();
    let mut text = format!("{}: pair {} of the library put on {}\n\n", setup.name, record.pair, old.name);
    text += &format!("{}\n\n", changes(&old, &setup, record));
    text += "(in brackets): not known, taken as this with a wide error; what the set-up had belongs to another pair\n\
             the bow of the screws is left as it was: after the swap bow goes in from zero, `bow target --other-runners`\n\n";
    text += &format!("{}\n\n", ends_table(&middle, &all, columns));
    text += &words(&spreads, &track.track.data.name);
    say(&format!("{text}\n{CAUTION}\n"))?;
    if let Some(out) = out {
        let outputs = [setup_file, Output::new("bands.csv", bands_csv(&all, &spreads))];
        files::write_all(out, &outputs)?;
        tell!("written to {}", out.display());
    }
    Ok(0)
}

/// The set-up with what the record says, checked as any other.
fn with_record(what: &What, record: &RunnerRecord) -> Result<Setup, String> {
    let sets: Vec<String> = record.settings().iter().map(|(key, value)| format!("{key}={value}")).collect();
    let mut setup =
        what.with(&sets).map_err(|e| format!("pair {} cannot be put on: {e}", record.pair))?.setup;
    // a name that tells the old pair tells the new one
    setup.name = name_with_pair(&setup.name, &record.pair);
    Ok(setup)
}

/// What a set-up is ridden on.
struct Rider<'a> {
    track: &'a ReadTrack,
    store: PlanStore,
    /// The planned ride with the values taken, where rides are planned.
    base: Option<&'a Prepared<'a>>,
}

impl Rider<'_> {
    fn figures(&self, setup: &Setup, base_friction: Option<f64>) -> Result<Figures, String> {
        let flat = own_measure(setup, &flat_place()).map_err(every_fault)?;
        // the guided estimate has one friction for all runners: moved in proportion
        let ratio = flat.zip(base_friction).map(|(m, base)| m.friction / base);
        let guided_s = ratio.and_then(|ratio| {
            let mut setup = setup.clone();
            setup.ice.guided_friction *= ratio;
            let case = Case {
                track: &self.track.track,
                setup: &setup,
                model: Model::Guided,
                precision: Precision::default(),
                detail: Detail::Bare,
            };
            case.descent().ok()?.finish_time_s
        });
        let mut figures = vec![
            flat.map(|m| 1e3 * m.static_margin_m),
            flat.map(|m| m.touch_span_m),
            flat.map(|m| m.friction),
            guided_s,
        ];
        if let Some(base) = self.base {
            // every value gets a ride of its own: found from that of the values taken, or else from nothing
            let ridden = ridden_by(base, setup).or_else(|_| planned(self.track, setup, &self.store)).ok();
            let descent = ridden.map(|r| r.descent(&Attempt::perfect(), Precision::default(), Detail::Bare));
            let finished = descent.filter(|d| d.outcome == Outcome::Finished);
            figures.push(finished.and_then(|d| d.finish_time_s));
        }
        Ok(figures)
    }
}

fn spread(middle: &Figures, all: &[Ends], column: usize) -> Option<Spread> {
    let middle = middle[column]?;
    let (mut down, mut up) = (0.0_f64, 0.0_f64);
    let (mut open, mut most) = (Vec::new(), None::<(usize, f64)>);
    for ends in all {
        let (mut low, mut high) = (middle, middle);
        for (value, figures) in ends.values.iter().zip(&ends.figures) {
            match figures[column] {
                Some(figure) => (low, high) = (low.min(figure), high.max(figure)),
                None => open.push((ends.number, *value)),
            }
        }
        (down, up) = (down.hypot(middle - low), up.hypot(high - middle));
        if high - low > most.map_or(0.0, |m| m.1) {
            most = Some((ends.number, high - low));
        }
    }
    let band = open.is_empty().then_some([middle - down, middle + up]);
    Some(Spread { middle, band, open, most })
}

fn changes(old: &Setup, new: &Setup, record: &RunnerRecord) -> String {
    let rows = KEYS.iter().enumerate().filter_map(|(i, key)| {
        let r = record.reckoned(i)?;
        let value = if r.known { format!("{}", r.value) } else { format!("({})", r.value) };
        let band = record.band(i).map_or(String::new(), |[a, b]| format!("{} to {}", short(a), short(b)));
        let (was, note) = match key.setup_key {
            Some(path) => (get(old, path).map_or("-".into(), short), ""),
            None => ("-".to_string(), "not used"),
        };
        let same = key.setup_key.is_some_and(|path| get(old, path) == get(new, path));
        let note = if same { "as before" } else { note };
        Some(vec![key.key.to_string(), was, value, band, note.to_string()])
    });
    table(&["number", "set-up had", "pair has", "95 % band", ""], rows)
}

/// A number of a record: to a hundredth, below 1 to a thousandth.
fn short(value: f64) -> String {
    let text = format!("{value:.*}", if value.abs() < 1.0 { 3 } else { 2 });
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}

fn cell(figure: Option<f64>, column: usize) -> String {
    let missing = if column < UNPLANNED { "unsolved" } else { "no ride" };
    figure.map_or(missing.into(), |v| format!("{v:.*}", RESULTS[column].1))
}

fn ends_table(middle: &Figures, all: &[Ends], columns: usize) -> String {
    let header: Vec<&str> = ["number at"].into_iter().chain(RESULTS[..columns].iter().map(|r| r.0)).collect();
    let first = [vec!["the values taken".to_string()], cells(middle)].concat();
    let ends = all.iter().flat_map(|ends| {
        [0, 1].map(|end| {
            let at = format!("{} {}", KEYS[ends.number].key, short(ends.values[end]));
            [vec![at], cells(&ends.figures[end])].concat()
        })
    });
    numbers(&header, std::iter::once(first).chain(ends))
}

fn cells(figures: &Figures) -> Vec<String> {
    figures.iter().enumerate().map(|(c, f)| cell(*f, c)).collect()
}

fn words(spreads: &[Option<Spread>], track: &str) -> String {
    let mut text = String::new();
    for (c, s) in spreads.iter().enumerate() {
        let name = RESULTS[c].0;
        let Some(s) = s else {
            text += &format!("{name}: not found with the values taken\n");
            continue;
        };
        let value = cell(Some(s.middle), c);
        text += &match s.band {
            Some([low, high]) => {
                format!("{name}: {value}, 95 % {} to {}", cell(Some(low), c), cell(Some(high), c))
            }
            None => {
                let place = |(i, v): &(usize, f64)| format!("{} {}", KEYS[*i].key, short(*v));
                let open: Vec<String> = s.open.iter().map(place).collect();
                format!("{name}: {value}, no band, since there is none at {}", open.join(", "))
            }
        };
        text += &match s.most {
            Some((number, moved)) if moved >= 0.5 * 0.1_f64.powi(RESULTS[c].1 as i32) => {
                format!("; {} moves it most, by {}\n", KEYS[number].key, cell(Some(moved), c))
            }
            _ => "; none of the numbers moves it\n".to_string(),
        };
    }
    text += &format!(
        "one number at a time at both ends of its band, the others as taken; the swings added as if independent\n\
         margin, span and friction (film and ploughing, going straight): at 1 g on flat ice, 72 km/h, contact solved \
         without tables\n\
         guided time on {track}: friction of the guided estimate moved in proportion to that of the runners\n"
    );
    if spreads.len() > UNPLANNED {
        text += &format!(
            "planned time on {track}: every value with a ride of its own, without mistakes; a plan may differ by some \
             milliseconds for no reason of the runners; no ride: none found, or control lost\n"
        );
    }
    text
}

fn bands_csv(all: &[Ends], spreads: &[Option<Spread>]) -> String {
    let name = |c: usize| RESULTS[c].0.replace(' ', "_");
    let mut text = String::from("number,value");
    for c in 0..spreads.len() {
        text += &format!(",{}", name(c));
    }
    let number = |v: Option<f64>| v.map_or(String::new(), |v| v.to_string());
    let mut line = |first: &str, value: String, figures: Vec<Option<f64>>| {
        let figures: String = figures.into_iter().map(|v| format!(",{}", number(v))).collect();
        text += &format!("\n{first},{value}{figures}");
    };
    let of = |get: &dyn Fn(&Spread) -> Option<f64>| {
        spreads.iter().map(|s| s.as_ref().and_then(get)).collect::<Vec<_>>()
    };
    line("as_taken", String::new(), of(&|s| Some(s.middle)));
    line("band95_from", String::new(), of(&|s| s.band.map(|b| b[0])));
    line("band95_to", String::new(), of(&|s| s.band.map(|b| b[1])));
    for ends in all {
        for (value, figures) in ends.values.iter().zip(&ends.figures) {
            line(KEYS[ends.number].key, value.to_string(), figures.clone());
        }
    }
    text + "\n"
}
