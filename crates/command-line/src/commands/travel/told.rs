//! What a journey comes to, in words and cells: screen and page tell the same numbers.

use super::asked::{Asked, AskedAthlete};
use super::before_leaving::{measure, settled, short};
use crate::commands::evening::asked::unknown_words;
use crate::commands::evening::page;
use crate::commands::evening::tables::{lost_percent, standing, why_not};
use sled_dynamics::setup::Setup;
use sweep_runner::evening::bow_name;
use sweep_runner::evening::ridden::{Ridden, with_bows};
use sweep_runner::evening::travel::Travel;
use sweep_runner::rides::choice::Standing;
use sweep_runner::rides::paired::paired;
use sweep_runner::rides::words::figure;

/// What the page says beside the usual cautions.
pub const DECIDE: &str = "The bow is one to start training from, not one to race. Coach, officials and the rules in \
force decide what is taken and ridden.";
/// Letters of a pair's name that the advice has room for.
const NAME_LETTERS: usize = 24;
/// First columns of the table of pairs; one for each ice follows.
pub const PAIRS: [&str; 5] = ["pair", "bow", "take", "with the forecast", "what is not known"];
/// Columns of the table of tests.
pub const TESTS: [&str; 5] = ["test", "B less A, believed s", "chance to tell %", "worth ms", "advice"];

/// One athlete in words.
#[derive(Clone, Debug, Default)]
pub struct AthleteTold {
    /// Who, with what skill.
    pub name: String,
    /// Which pairs, which bow.
    pub advice: String,
    /// Why, a line each.
    pub why: Vec<String>,
    /// Heads of the columns of ice.
    pub ices: Vec<String>,
    /// Rows of the table of pairs.
    pub pairs: Vec<Vec<String>>,
    /// Rows of the table of tests.
    pub tests: Vec<Vec<String>>,
    /// What to measure before leaving, the most urgent first.
    pub measure: Vec<String>,
    /// Checks of the rules.
    pub rules: Vec<String>,
}

/// The journey in words.
#[derive(Clone, Debug, Default)]
pub struct Told {
    /// Where to.
    pub title: String,
    /// What it was computed with.
    pub with: String,
    /// Who travels.
    pub athletes: Vec<AthleteTold>,
    /// What is to be known besides.
    pub notes: Vec<String>,
}

/// Puts a journey into words.
pub fn told(asked: &Asked, found: &[Travel]) -> Told {
    let plan = &asked.plan;
    let spread = &asked.athletes[0].traveller;
    let ices: Vec<String> = spread.ices_c.iter().map(ToString::to_string).collect();
    let mut notes = vec![format!(
        "A test is {} training runs in ABBA, spread {} s from run to run; believed: the rides' difference, its standard \
         deviation as large as itself and 0.02 s at least, and what nobody measured of the pair, by the guided estimate; measure first where that is the greater part.",
        plan.runs, plan.spread_s
    )];
    if found.iter().any(|f| !f.whole) {
        notes.insert(0, "interrupted: what is finished is shown, the rest is left out".into());
    }
    Told {
        title: format!("To {}: what to take, where to start", asked.track.track.data.name),
        with: format!(
            "{} rides of each set-up with the same mistakes, seed {}; ice {} degC, the forecast in the middle of them; a \
             set-up that loses control in more than {} % of the rides is out",
            plan.rides,
            plan.seed,
            ices.join(", "),
            100.0 * plan.most_lost
        ),
        athletes: asked.athletes.iter().zip(found).map(|(a, f)| athlete(asked, a, f)).collect(),
        notes,
    }
}

/// The set-up to start training from.
pub fn to_start_from(a: &AskedAthlete, found: &Travel) -> Option<Setup> {
    let first = found.pairs.get(*found.take.first()?)?;
    Some(with_bows(&a.traveller.pairs[first.pair].setup, &a.traveller.bows[first.bow]))
}

fn athlete(asked: &Asked, a: &AskedAthlete, found: &Travel) -> AthleteTold {
    let t = &a.traveller;
    let mut told = AthleteTold {
        name: format!("{}, {}: {}", a.said.name, a.said.skill.name, t.pairs[0].setup.name),
        ices: t.ices_c.iter().map(|c| format!("{c} degC: median s (lost %)")).collect(),
        rules: vec![a.rules.mass_words(&a.base), a.rules.other_words(&a.base)],
        why: a.used.iter().flat_map(|u| u.words.lines()).map(String::from).collect(),
        ..AthleteTold::default()
    };
    let name = |i: &usize| page::short(&t.pairs[found.pairs[*i].pair].name, NAME_LETTERS);
    let Some(choice) = &found.bow_choice else {
        told.advice = "No advice: interrupted before all bows were ridden.".into();
        told.why.extend(found.bows.iter().map(|r| {
            let median = r.rides().map_or("no ride".into(), |e| figure(e.figures().median_s, 3));
            format!("{} with the forecast: median {median} s, control lost in {} %", r.name, lost_percent(r))
        }));
        return told;
    };
    let Some(bow) = choice.advised else {
        told.advice = "No bow is advised: every one loses control too often.".into();
        told.why.push(
            "talk to the coach before this sled is ridden there; more bows, another pair or more practice on it".into(),
        );
        told.why
            .extend(found.bows.iter().map(|r| format!("{}: control lost in {} %", r.name, lost_percent(r))));
        return told;
    };
    let start = bow_name(&t.bows[bow]);
    told.why.push(why_bow(asked, found, &start));
    if found.pairs.is_empty() {
        told.advice = format!("Start from {start}. Pairs: interrupted before they were ridden.");
        return told;
    }
    let take: Vec<String> = found.take.iter().map(name).collect();
    // a pair that goes first may want a bow of its own
    let start = found.take.first().map_or(start, |i| bow_name(&t.bows[found.pairs[*i].bow]));
    told.advice = match take.as_slice() {
        [] => format!(
            "No pair keeps control at {start} on any ice, of those measured: measure, then ask again."
        ),
        [one] if t.pairs.len() == 1 => format!("Start from {start} with the pair {one}."),
        [one] => format!("Take {one}; start from {start}. No second pair: see what to measure."),
        [one, two, ..] => format!("Take {one} and {two}; start from {start} with {one}."),
    };
    // where the pair that goes first does not keep control
    let kept = |ice: &usize| {
        let lost = |r: &Ridden| r.rides().map_or(1.0, |e| e.figures().lost.value);
        found.take.first().is_none_or(|first| lost(&found.pairs[*first].ridden[*ice]) <= asked.plan.most_lost)
    };
    let not: Vec<String> =
        (0..t.ices_c.len()).filter(|ice| !kept(ice)).map(|ice| t.ices_c[ice].to_string()).collect();
    if !not.is_empty() {
        told.advice +=
            &format!(" Not on ice of {} degC: it loses control too often there.", not.join(" and "));
    }
    told.why.extend(on_other_ice(t, found, bow));
    told.why.extend(why_pairs(a, found, asked.plan.most_lost));
    told.pairs = found.order.iter().map(|i| pair_row(a, found, *i)).collect();
    told.tests = settled(asked, a, found);
    told.measure = measure(a, found);
    told
}

fn why_bow(asked: &Asked, found: &Travel, start: &str) -> String {
    let Some(choice) = &found.bow_choice else { return String::new() };
    let of = |r: &Ridden| r.name.clone();
    let range = choice.range.filter(|[low, high]| low < high).map(|[low, high]| {
        format!(
            "of the bows between {} and {} none comes out faster without losing control more often",
            of(&found.bows[low]),
            of(&found.bows[high])
        )
    });
    let out: Vec<String> = found
        .bows
        .iter()
        .zip(&choice.standings)
        .filter_map(|(r, s)| match s {
            Standing::Out { lost } => Some(format!("{} ({:.0} %)", r.name, 100.0 * lost)),
            Standing::NoRide => Some(format!("{} (no ride)", r.name)),
            _ => None,
        })
        .collect();
    let out = if out.is_empty() {
        format!("none loses control in more than {} %", 100.0 * asked.plan.most_lost)
    } else {
        format!("out, since they lose control too often: {}", out.join(", "))
    };
    let edge = choice.advised.filter(|b| *b == 0 || b + 1 == found.bows.len());
    let edge =
        edge.map_or("", |_| "; it is the last that was tried on this side, so ask for more in bows_mm");
    // what passes beside one that does not may have passed by chance
    let beside = choice.advised.into_iter().flat_map(|b| [b.checked_sub(1), Some(b + 1)]).flatten();
    let near = beside.filter_map(|b| {
        let out = matches!(choice.standings.get(b), Some(Standing::Out { .. }));
        out.then(|| found.bows[b].name.clone())
    });
    let near: Vec<String> = near.collect();
    let near = if near.is_empty() {
        String::new()
    } else {
        format!("; {} beside it is out, so chance may be in it: ask with more rides", near.join(" and "))
    };
    match range {
        Some(range) => {
            format!("{start}: {range}, and it has the least slow rides of them; {out}{near}{edge}")
        }
        None => {
            let keeps = |s: &&Standing| !matches!(s, Standing::Out { .. } | Standing::NoRide);
            let alone = choice.standings.iter().filter(keeps).count() == 1;
            let why = if alone {
                "the only one that keeps control"
            } else {
                "faster than the others that keep control"
            };
            format!("{start} is {why}, on all ice together; {out}{near}{edge}")
        }
    }
}

fn on_other_ice(t: &sweep_runner::evening::travel::Traveller, found: &Travel, bow: usize) -> Option<String> {
    let out = |b: usize| {
        let stands = found.bow_choice.as_ref().and_then(|c| c.standings.get(b));
        matches!(stands, Some(Standing::Out { .. } | Standing::NoRide))
    };
    let each: Vec<String> = found
        .ices
        .iter()
        .map(|ice| {
            let at = ice.bows.iter().position(|b| *b == bow);
            let why = why_not(at.and_then(|a| ice.choice.standings.get(a)));
            match ice.choice.advised {
                _ if ice.choice.stays => format!("at {} degC it stays", ice.temperature_c),
                // what is out on all ice together is no bow to start from, whatever one ice says
                Some(i) if out(i) => format!(
                    "at {} degC it {why}, yet {} is out on all ice together: stay, and ask again with the ice of the day",
                    ice.temperature_c, ice.ridden[i].name
                ),
                Some(i) => format!("at {} degC it {why}: start from {}", ice.temperature_c, ice.ridden[i].name),
                None => format!("at {} degC none of {} keeps control", ice.temperature_c, near(t, &ice.bows)),
            }
        })
        .collect();
    (!each.is_empty()).then(|| each.join("; "))
}

fn near(t: &sweep_runner::evening::travel::Traveller, bows: &[usize]) -> String {
    bows.iter().map(|b| bow_name(&t.bows[*b])).collect::<Vec<_>>().join(", ")
}

fn mean_s(found: &Travel, i: usize) -> f64 {
    let medians = found.pairs[i]
        .ridden
        .iter()
        .map(|r| r.rides().and_then(|e| e.figures().median_s).map_or(f64::INFINITY, |m| m.value));
    medians.sum::<f64>() / found.pairs[i].ridden.len().max(1) as f64
}

fn why_pairs(a: &AskedAthlete, found: &Travel, most_lost: f64) -> Vec<String> {
    let t = &a.traveller;
    let name = |i: usize| &t.pairs[found.pairs[i].pair].name;
    let mut why = vec![];
    if let [first, second, ..] = found.take[..] {
        let (m1, m2) = (mean_s(found, first), mean_s(found, second));
        let better: Vec<String> = (0..t.ices_c.len())
            .filter_map(|ice| {
                let of = |i: usize| found.pairs[i].ridden[ice].rides();
                let gain_s = -paired(of(second)?, of(first)?).median_s?;
                (gain_s >= 0.01).then(|| format!("{gain_s:.2} s faster at {} degC", t.ices_c[ice]))
            })
            .collect();
        let sure = match found.pair_choices.get(t.forecast).and_then(|c| c.standings.get(second)) {
            Some(Standing::Slower { .. } | Standing::LosesMore { .. }) => {
                "told apart by the rides with the forecast"
            }
            Some(Standing::Out { .. } | Standing::NoRide) => "which is out with the forecast",
            _ => "not told apart by the rides with the forecast",
        };
        let lost = |ice: &usize| {
            found.pairs[second].ridden[*ice].rides().is_none_or(|e| e.figures().lost.value > most_lost)
        };
        let not: Vec<String> =
            (0..t.ices_c.len()).filter(lost).map(|ice| t.ices_c[ice].to_string()).collect();
        let not = if not.is_empty() {
            String::new()
        } else {
            format!("; not on ice of {} degC, where it loses control too often", not.join(" and "))
        };
        let means = if m1.is_finite() && m2.is_finite() {
            format!("mean of the medians over the ice {m1:.3} s against {m2:.3} s")
        } else {
            "one of them falls among lost rides on some ice".into()
        };
        why.push(format!("{} before {}: {means}, {sure}", name(first), name(second)));
        why.push(if better.is_empty() {
            format!("{} goes along as a spare: on no ice is it ahead in the median{not}", name(second))
        } else {
            format!("{} goes along since it is {} in the median{not}", name(second), better.join(", "))
        });
    }
    let risk: Vec<String> = found
        .take
        .first()
        .map(|first| found.pairs[*first].ridden.iter().zip(&t.ices_c))
        .into_iter()
        .flatten()
        .map(|(r, c)| format!("{} at {c}", lost_percent(r)))
        .collect();
    if !risk.is_empty() {
        why.push(format!("risk, control lost in % of the rides with it: {} degC", risk.join(", ")));
    }
    why
}

fn pair_row(a: &AskedAthlete, found: &Travel, i: usize) -> Vec<String> {
    let pair = &a.traveller.pairs[found.pairs[i].pair];
    let take = match found.take.iter().position(|t| *t == i) {
        Some(0) => "first",
        Some(_) => "second",
        None => "leave",
    };
    let stands = found.pair_choices.get(a.traveller.forecast).and_then(|c| c.standings.get(i));
    let unknown = match a.swings.get(found.pairs[i].pair).and_then(Option::as_ref) {
        Some(swing) if !swing.numbers.is_empty() => {
            let moved = |m: &Option<f64>| m.map_or("open".to_string(), |m| format!("{m:.2} s"));
            let most = swing
                .numbers
                .first()
                .map_or(String::new(), |(doc, m)| format!("{} ({})", short(doc), moved(m)));
            let many = if pair.measured { swing.numbers.len().to_string() } else { "all".into() };
            format!("{many} unknown, most: {most}")
        }
        _ => unknown_words(pair),
    };
    let ridden = found.pairs[i].ridden.iter().map(|r| match &r.rode {
        Ok(rode) => format!("{} ({})", figure(rode.rides.figures().median_s, 2), lost_percent(r)),
        Err(why) => why.clone(),
    });
    let stands = if pair.measured { standing(stands) } else { "not measured".into() };
    let bow = bow_name(&a.traveller.bows[found.pairs[i].bow]);
    [pair.name.clone(), bow, take.into(), stands, unknown].into_iter().chain(ridden).collect()
}
