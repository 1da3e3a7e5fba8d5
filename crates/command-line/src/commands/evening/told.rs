//! What the evening comes to, in words and cells: screen, sheet and report tell the same numbers.

use super::asked::{Asked, unknown_words};
use super::bench::{Bench, bench};
use super::over::{Over, facts as calibration_facts};
use super::page::short;
use super::tables::{bow_rows, hour_rows, ice_rows, ms, pair_rows, why_not};
use sled_bench::balance::ballast_to_limit_kg;
use sled_dynamics::setup::Setup;
use sweep_runner::evening::air::{OtherAir, together_s};
use sweep_runner::evening::hours::schedule;
use sweep_runner::evening::ridden::{Ridden, mean_mm};
use sweep_runner::evening::{Evening, Question, bow_words};
use sweep_runner::rides::choice::Standing;
use sweep_runner::rides::figures::Figure;
use sweep_runner::rides::paired::paired;
use sweep_runner::rides::weather::Changed;
use sweep_runner::rides::words::figure;

/// Kept free below a limit for snow and water at the weighing (kg), assumed.
const SNOW_KG: f64 = 0.3;

/// Letters of the edition that are told.
const EDITION_LETTERS: usize = 60;

/// Letters of a pair's name that the advice has room for.
const NAME_LETTERS: usize = 24;

/// Label of the line about saddle and ballast.
pub const SADDLE: &str = "Saddle, ballast";

/// Label of the line about the air.
const AIR_ALONE: &str = "By the air alone";

/// Label of the line about the risk.
pub const RISK: &str = "P(control lost)";

/// What the sheet says beside the usual cautions.
pub const DECIDE: &str = "Officials, coach and the rules in force decide what is ridden. Measure again after every turn \
of a screw, before the sled goes onto the ice.";

/// The evening in words.
#[derive(Clone, Debug, Default)]
pub struct Told {
    /// Whose sled on which track.
    pub title: String,
    /// What it was computed with.
    pub with: String,
    /// The advice, one line.
    pub advice: String,
    /// Why, a line each.
    pub why: Vec<String>,
    /// Label and value.
    pub facts: Vec<[String; 2]>,
    /// What to do at the bench; none where nothing is turned.
    pub bench: Option<Bench>,
    /// Rows of the tables.
    pub bows: Vec<Vec<String>>,
    /// Pairs.
    pub pairs: Vec<Vec<String>>,
    /// What if the ice changes.
    pub ices: Vec<Vec<String>>,
    /// What an hour is worth.
    pub hours: Vec<Vec<String>>,
    /// What the hours go to.
    pub plan_of_hours: String,
    /// Presses that matter most: where and how, and what missing one costs.
    pub presses: Vec<[String; 2]>,
    /// Checks of the rules.
    pub rules: Vec<String>,
    /// What is to be known besides.
    pub notes: Vec<String>,
}

/// Puts an evening into words.
pub fn told(asked: &Asked, found: &Evening, over: Option<&Over>) -> Told {
    let (plan, q) = (&asked.plan, &asked.question);
    let setup = found.advised().map_or(&q.pairs[0].setup, |r| &r.setup);
    let mut told = Told {
        title: format!("{} on {}", q.pairs[0].setup.name, asked.track.track.data.name),
        with: format!(
            "{}, {} rides of each set-up with the same mistakes, seed {}; ice {} degC, air {} degC",
            plan.skill.name, plan.rides, plan.seed, setup.ice.temperature_c, setup.air.temperature_c
        ),
        bows: bow_rows(q, found),
        pairs: pair_rows(q, found),
        ices: ice_rows(found),
        hours: hour_rows(found),
        plan_of_hours: plan_of_hours(found, plan.hours),
        presses: found.presses.iter().map(|p| [p.words(), p.cost_words()]).collect(),
        rules: rules(asked, setup),
        notes: asked.notes.clone(),
        ..Told::default()
    };
    advice(asked, found, &mut told);
    told.facts.push(["Bow now".into(), format!("{}, {}", bow_words(&q.bows[q.now]), asked.bow_from)]);
    if let Some(ridden) = found.advised() {
        told.facts.extend(expected(found, ridden));
        let s = &setup.sled;
        told.facts.push([
            SADDLE.into(),
            format!(
                "balance point {:+.0} mm, ballast {} kg: as they are",
                1e3 * s.balance_point_m,
                s.ballast_kg
            ),
        ]);
    }
    told.facts.extend(calibration_facts(asked, over));
    told.facts.extend(asked.past.iter().cloned());
    if let Some(place) = found.advised.filter(|_| !found.stays(q)) {
        told.bench = Some(bench(asked, setup, place.pair > 0));
    }
    for o in &found.others {
        let pair = &q.pairs[o.pair];
        if !pair.unknown.is_empty() {
            told.notes.push(format!("pair {}: {}", pair.name, unknown_words(pair)));
        }
    }
    if !found.whole {
        told.notes.insert(0, "interrupted: what is finished is shown, the rest is left out".into());
    }
    told
}

fn advice(asked: &Asked, found: &Evening, told: &mut Told) {
    let q = &asked.question;
    let most = 100.0 * asked.plan.most_lost;
    let Some(choice) = &found.bow_choice else {
        told.advice = "No advice: interrupted before all bows were ridden.".into();
        return;
    };
    let Some(place) = found.advised else {
        told.advice = "No set-up is advised: all of them lose control too often.".into();
        told.why.push(match found.least_lost() {
            Some((lost, i)) => format!(
                "more than {most} % of the rides are lost with every bow; the least share is {:.0} %, with {}",
                100.0 * lost,
                found.bows[i].name
            ),
            None => "no ride could be planned with any bow".into(),
        });
        told.why
            .push("nothing faster is advised; talk to the coach before anybody starts with this sled".into());
        return;
    };
    let (pair, bow) = (&q.pairs[place.pair], bow_words(&q.bows[place.bow]));
    let name = short(&pair.name, NAME_LETTERS);
    let named = if q.pairs.len() > 1 { format!("pair {name}, ") } else { String::new() };
    told.advice = if found.stays(q) {
        format!("Leave it as it is: {named}bow {bow}.")
    } else if place.pair > 0 {
        format!("Put pair {name} on, bow {bow}.")
    } else {
        format!(
            "Set the bow to {bow}{}.",
            if named.is_empty() { String::new() } else { format!(", pair {name} stays") }
        )
    };
    let large = large_step(q, place.bow, found);
    if large.is_some() && place.pair == 0 {
        told.advice += " Only if it was ridden in training.";
    }
    told.why.push(why_bow(q.now, found, choice, most));
    if let Some([low, high]) = choice.range.filter(|[low, high]| low < high) {
        told.why.push(format!(
            "bows from {} to {} cannot be told apart by these rides",
            found.bows[low].name, found.bows[high].name
        ));
    }
    if place.bow != q.now && (place.bow == 0 || place.bow + 1 == q.bows.len()) {
        told.why.push(
            "it is the last bow that was tried on this side: name more in bows_mm before going further"
                .into(),
        );
    }
    told.why.extend(large);
    told.why.extend(no_more_than_chance(q.now, found));
    let moved = found.ices.iter().filter(|i| !i.choice.stays).map(|ice| {
        let at = ice.bows.iter().position(|b| *b == place.bow);
        let why = why_not(at.and_then(|a| ice.choice.standings.get(a)));
        format!("at {} degC it {why}", ice.temperature_c)
    });
    let moved: Vec<String> = moved.collect();
    if !moved.is_empty() {
        told.why.push(format!(
            "it does not suit all ice: {}; see what to do if the ice changes",
            moved.join(", ")
        ));
    }
    if let Some(pairs) = &found.pair_choice {
        told.why.push(if pairs.stays {
            format!("pair {} stays: no other measured pair comes out faster", q.pairs[0].name)
        } else {
            format!("pair {} is told apart from pair {} by the rides", pair.name, q.pairs[0].name)
        });
    }
}

/// More bow than this in one evening makes another sled (mm). Common practice, no source.
const LARGE_STEP_MM: f64 = 1.0;

/// Where the advised bow is far from the present one: to ride it in training first, and what a smaller step gains.
fn large_step(q: &Question, advised: usize, found: &Evening) -> Option<String> {
    let mm = |i: usize| mean_mm(&q.bows[i]);
    let step_mm = mm(advised) - mm(q.now);
    if step_mm.abs() <= LARGE_STEP_MM {
        return None;
    }
    let gain_s = |i: usize| paired(found.bows.get(q.now)?.rides()?, found.bows.get(i)?.rides()?).median_s;
    let half_way_mm = mm(q.now) + LARGE_STEP_MM.copysign(step_mm);
    let between = (0..q.bows.len())
        .filter(|i| *i != q.now && (mm(*i) - mm(q.now)) * (mm(advised) - mm(*i)) > 0.0)
        .filter_map(|i| Some((i, gain_s(i).filter(|g| g.is_finite() && *g > 0.0)?)))
        .min_by(|a, b| (mm(a.0) - half_way_mm).abs().total_cmp(&(mm(b.0) - half_way_mm).abs()));
    let less = between
        .map_or(String::new(), |(i, gain_s)| format!("; {} gains {gain_s:.3} s of that", found.bows[i].name));
    Some(format!(
        "that is {:.1} mm {} than now, another sled to ride: never without training runs{less}",
        step_mm.abs(),
        if step_mm > 0.0 { "more" } else { "less" }
    ))
}

/// Where the present bow is out, whether it loses control more often than the advised one beyond chance.
fn no_more_than_chance(now: usize, found: &Evening) -> Option<String> {
    let choice = found.bow_choice.as_ref()?;
    let Some(Standing::Out { .. }) = choice.standings.get(now) else { return None };
    let (present, advised) = (found.bows.get(now)?.rides()?, found.advised()?.rides()?);
    let pair = paired(present, advised);
    (!pair.loses_more(0)).then(|| {
        format!(
            "{} of {} rides lost with the present bow, {} with this one: chance alone may do that; ask again with more \
             rides before anything is turned",
            pair.lost[0], pair.pairs, pair.lost[1]
        )
    })
}

fn why_bow(now: usize, found: &Evening, choice: &sweep_runner::rides::choice::Choice, most: f64) -> String {
    let name = |i: Option<usize>| i.map_or(String::new(), |i| found.bows[i].name.clone());
    match choice.standings.get(now) {
        Some(Standing::Front) => {
            "the present bow has the least median time of those that keep control".into()
        }
        Some(Standing::Alike { behind_s }) => format!(
            "the present bow is {:.3} s behind {} in the median: less than the rides can tell, not worth the risk",
            behind_s,
            name(choice.front)
        ),
        Some(Standing::Slower { behind_s }) if behind_s.is_finite() => {
            format!("the present bow is {behind_s:.3} s behind {} in the median", name(choice.front))
        }
        Some(Standing::Slower { .. } | Standing::LosesMore { .. }) => {
            format!("the present bow loses control more often than {}", name(choice.front))
        }
        Some(Standing::Out { lost }) => format!(
            "the present bow loses control in {:.0} % of the rides; allowed are {most} %",
            100.0 * lost
        ),
        Some(Standing::NoRide) | None => "no ride could be planned with the present bow".into(),
    }
}

fn expected(found: &Evening, ridden: &Ridden) -> Vec<[String; 2]> {
    let Some(rides) = ridden.rides() else { return vec![] };
    let f = rides.figures();
    let time = |f: Option<Figure>| {
        f.map_or("-".to_string(), |f| if f.is_lost() { "lost".into() } else { format!("{:.3}", f.value) })
    };
    let percent = |f: Figure| figure(Some(Figure { value: 100.0 * f.value, error: 100.0 * f.error }), 0);
    let mut facts = vec![[
        "Expected time".to_string(),
        format!(
            "median {} s, eight rides in ten from {} to {} s",
            figure(f.median_s, 3),
            time(f.p10_s),
            time(f.p90_s)
        ),
    ]];
    let medians: Vec<f64> = found
        .ices
        .iter()
        .filter_map(|ice| {
            let i = found.advised.and_then(|p| ice.bows.iter().position(|b| *b == p.bow))?;
            ice.ridden.get(i)?.rides()?.figures().median_s.map(|m| m.value)
        })
        .collect();
    if medians.len() > 1 {
        let [low, high] =
            [f64::min, f64::max].map(|pick| medians.iter().copied().reduce(pick).unwrap_or(f64::NAN));
        let [warm, cold] =
            [found.ices.first(), found.ices.last()].map(|i| i.map_or(f64::NAN, |i| i.temperature_c));
        let told =
            if high.is_finite() { format!("{low:.3} to {high:.3} s") } else { format!("{low:.3} s to lost") };
        facts.push(["By the ice alone".into(), format!("median {told} for ice from {warm} to {cold} degC")]);
    }
    facts.extend(by_the_air(&found.air));
    let best = found.best.map_or(String::new(), |best| {
        format!("; P(best): {} % of rides, of {} set-ups that are not out", percent(best), found.of)
    });
    let many = rides.rides.len();
    facts.push([RISK.into(), format!("{} % of {many} rides{best}", percent(f.lost))]);
    facts
}

/// What the spread of the air does to the expected time: label and value.
fn by_the_air(all: &[OtherAir]) -> Option<[String; 2]> {
    let end = |e: &Option<Changed>| match e {
        None => ["-".to_string(), "not allowed".into()],
        // a thousandth of a hectopascal is noise of the reckoning
        Some(c) => [format!("{}", (10.0 * c.value).round() / 10.0), c.less_base_s.map_or("lost".into(), ms)],
    };
    let one = |a: &OtherAir| {
        let [[from, less], [to, more]] = a.ends.each_ref().map(end);
        let (what, unit) = match a.key {
            "air.temperature_c" => ("air", "degC"),
            "air.humidity_percent" => ("humidity", "%"),
            _ => ("pressure", "hPa"),
        };
        format!("{less} to {more} for {what} {from} to {to} {unit}")
    };
    let each: Vec<String> = all.iter().map(one).collect();
    let together = match together_s(all) {
        Some(s) if all.len() > 1 => format!("; together ±{:.0}", 1e3 * s),
        _ => String::new(),
    };
    let label = AIR_ALONE.to_string();
    (!each.is_empty()).then(|| [label, format!("ms: {}{together}", each.join(", "))])
}

fn plan_of_hours(found: &Evening, hours: f64) -> String {
    if found.hours.is_empty() {
        return String::new();
    }
    let picked = schedule(&found.hours, hours);
    let one = |i: &usize| format!("{} ({} h)", found.hours[*i].change.what, found.hours[*i].change.hours);
    let list: Vec<String> = picked.iter().map(one).collect();
    if list.is_empty() {
        format!("Of {hours} h: nothing here is shown to be faster. Rest, and go through the ride notes.")
    } else {
        format!("Of {hours} h, best first: {}.", list.join("; "))
    }
}

fn rules(asked: &Asked, setup: &Setup) -> Vec<String> {
    let mass_kg = setup.sled.mass_kg();
    let edition: String = asked
        .plan
        .rules
        .edition
        .as_deref()
        .unwrap_or("edition not stated")
        .chars()
        .take(EDITION_LETTERS)
        .collect();
    let mass = match asked.plan.rules.most_mass_kg {
        None => asked.rules.mass_words(setup),
        Some(most) => {
            let left_kg = ballast_to_limit_kg(mass_kg, most, SNOW_KG);
            let verdict = if mass_kg > most {
                "OVER"
            } else if left_kg < 0.0 {
                "too near"
            } else {
                "below"
            };
            format!(
                "mass of athlete and sled {mass_kg:.1} kg, {verdict} the stated limit {most:.1} kg ({edition}): margin \
                 {:+.1} kg, {left_kg:+.1} kg with {SNOW_KG} kg of snow",
                most - mass_kg
            )
        }
    };
    let mut all = vec![mass];
    if asked.plan.rules.most_mass_kg.is_some() {
        all.push(asked.rules.sled_mass_words(setup));
    }
    all.push(asked.rules.other_words(setup));
    all
}
