//! The tables of an evening, cell by cell.

use super::asked::unknown_words;
use sweep_runner::evening::hours::Worth;
use sweep_runner::evening::ridden::Ridden;
use sweep_runner::evening::{Evening, Question};
use sweep_runner::rides::choice::{Choice, Standing};
use sweep_runner::rides::figures::Figure;
use sweep_runner::rides::paired::paired;
use sweep_runner::rides::words::figure;

/// Columns of the table of bows.
pub const BOWS: [&str; 8] = [
    "bow",
    "planned s",
    "median s",
    "nine in ten below s",
    "worst tenth s",
    "control lost %",
    "less the present, median s",
    "stands",
];
/// Columns of the table of pairs.
pub const PAIRS: [&str; 6] = ["pair", "bow", "median s", "control lost %", "stands", "what is known"];
/// Columns of the table of other ice.
pub const ICES: [&str; 5] = ["ice degC", "bow then", "median s", "control lost %", "what to do"];
/// Columns of the table of hours.
pub const HOURS: [&str; 7] = [
    "change",
    "gain ms",
    "95 % band ms",
    "lost %",
    "hours, assumed",
    "ms an hour",
    "where its numbers are from",
];

/// How one stands, in a few words.
pub fn standing(s: Option<&Standing>) -> String {
    match s {
        None => "-".into(),
        Some(Standing::NoRide) => "no ride".into(),
        Some(Standing::Out { .. }) => "out: loses control".into(),
        Some(Standing::Front) => "front".into(),
        Some(Standing::Alike { behind_s }) => format!("alike ({behind_s:+.3} s)"),
        Some(Standing::Slower { behind_s }) if behind_s.is_finite() => format!("slower ({behind_s:+.3} s)"),
        Some(Standing::Slower { .. } | Standing::LosesMore { .. }) => "loses control more often".into(),
    }
}

/// Share of rides lost, with its error (%).
pub fn lost_percent(r: &Ridden) -> String {
    r.rides().map_or("-".into(), |e| {
        let lost = e.figures().lost;
        figure(Some(Figure { value: 100.0 * lost.value, error: 100.0 * lost.error }), 0)
    })
}

fn median(r: &Ridden) -> String {
    match &r.rode {
        Ok(rode) => figure(rode.rides.figures().median_s, 3),
        Err(why) => why.clone(),
    }
}

/// The pair on the sled at all bows; the present one and the advised one marked.
pub fn bow_rows(q: &Question, found: &Evening) -> Vec<Vec<String>> {
    let whole = found.bow_choice.is_some();
    let now = found.bows.get(q.now).filter(|_| whole);
    let row = |(i, r): (usize, &Ridden)| {
        let mut name = r.name.clone();
        if whole && i == q.now {
            name += ", now";
        }
        if found.advised.is_some_and(|p| p.bow == i && p.pair == 0) && i != q.now {
            name += ", advised";
        }
        let stands = standing(found.bow_choice.as_ref().and_then(|c| c.standings.get(i)));
        match &r.rode {
            Err(why) => {
                vec![name, why.clone(), "-".into(), "-".into(), "-".into(), "-".into(), "-".into(), stands]
            }
            Ok(rode) => {
                let f = rode.rides.figures();
                let against = now
                    .filter(|_| i != q.now)
                    .and_then(|n| paired(&rode.rides, n.rides()?).median_s)
                    .map_or("-".into(), |s| if s.is_finite() { format!("{s:+.3}") } else { "lost".into() });
                vec![
                    name,
                    rode.rides.planned_time_s.map_or("control lost".into(), |t| format!("{t:.3}")),
                    figure(f.median_s, 3),
                    figure(f.p90_s, 3),
                    figure(f.worst_tenth_s, 3),
                    lost_percent(r),
                    against,
                    stands,
                ]
            }
        }
    };
    found.bows.iter().enumerate().map(row).collect()
}

/// The pairs in the bag.
pub fn pair_rows(q: &Question, found: &Evening) -> Vec<Vec<String>> {
    let Some(bow) = found.bow_choice.as_ref().and_then(|c| c.advised).filter(|_| !found.others.is_empty())
    else {
        return vec![];
    };
    // as the choice counts them: the pair on the sled, then the measured ones
    let mut chosen = 0;
    let choice = found.pair_choice.as_ref();
    let first = &found.bows[bow];
    let mut rows = vec![vec![
        format!("{}, on the sled", q.pairs[0].name),
        first.name.clone(),
        median(first),
        lost_percent(first),
        standing(choice.and_then(|c| c.standings.first())),
        unknown_words(&q.pairs[0]),
    ]];
    for o in &found.others {
        let pair = &q.pairs[o.pair];
        let stands = if pair.measured {
            chosen += 1;
            standing(choice.and_then(|c| c.standings.get(chosen)))
        } else {
            "not measured".into()
        };
        let at = o.choice.advised.unwrap_or(o.bows.iter().position(|b| *b == bow).unwrap_or(0));
        let r = &o.ridden[at];
        rows.push(vec![
            pair.name.clone(),
            r.name.clone(),
            median(r),
            lost_percent(r),
            stands,
            unknown_words(pair),
        ]);
    }
    rows
}

/// Why a bow does not stay, in a few words.
pub fn why_not(standing: Option<&Standing>) -> String {
    match standing {
        Some(Standing::Out { lost }) => format!("loses control in {:.0} %", 100.0 * lost),
        Some(Standing::Slower { behind_s }) if behind_s.is_finite() => format!("is {behind_s:.3} s slower"),
        Some(Standing::Slower { .. } | Standing::LosesMore { .. }) => "loses control more often".into(),
        _ => "has no ride".into(),
    }
}

fn what_to_do(choice: &Choice, ridden: &[Ridden], at: Option<usize>) -> String {
    match choice.advised {
        _ if choice.stays => "leave it".into(),
        Some(i) => {
            let why = why_not(at.and_then(|a| choice.standings.get(a)));
            let name = at.map_or("", |a| &ridden[a].name);
            format!("set {}: {name} {why}", ridden[i].name)
        }
        None => "none keeps control often enough: ask the coach".into(),
    }
}

/// What if the ice changes.
pub fn ice_rows(found: &Evening) -> Vec<Vec<String>> {
    let row = |ice: &sweep_runner::evening::OtherIce| {
        let tonight = found.advised.and_then(|p| ice.bows.iter().position(|b| *b == p.bow));
        let at = ice.choice.advised.or(tonight);
        let r = at.and_then(|i| ice.ridden.get(i));
        vec![
            format!("{}", ice.temperature_c),
            r.map_or("-".into(), |r| r.name.clone()),
            r.map_or("-".into(), median),
            r.map_or("-".into(), lost_percent),
            what_to_do(&ice.choice, &ice.ridden, tonight),
        ]
    };
    found.ices.iter().map(row).collect()
}

/// Milliseconds with their sign; what is lost has none.
pub(super) fn ms(s: f64) -> String {
    match format!("{:+.0}", 1e3 * s).as_str() {
        _ if !s.is_finite() => "lost".into(),
        "+0" | "-0" => "0".into(),
        text => text.into(),
    }
}

/// What an hour is worth, the best first.
pub fn hour_rows(found: &Evening) -> Vec<Vec<String>> {
    let mut all: Vec<&Worth> = found.hours.iter().collect();
    let rank = |w: &Worth| w.per_hour_s().unwrap_or(f64::NEG_INFINITY);
    all.sort_by(|a, b| rank(b).total_cmp(&rank(a)));
    let row = |w: &&Worth| {
        let band = w.pair.and_then(|p| p.band_s);
        vec![
            w.change.what.clone(),
            w.gain_s().map_or(w.refused.clone().unwrap_or("lost".into()), ms),
            // a gain is the other way round than a difference of times
            band.map_or("-".into(), |(low, high)| format!("{} to {}", ms(-high), ms(-low))),
            w.lost.map_or("-".into(), |l| format!("{:.0}", 100.0 * l)),
            format!("{}", w.change.hours),
            match w.per_hour_s() {
                None => "-".into(),
                Some(s) if w.told => ms(s),
                Some(s) => format!("{} *", ms(s)),
            },
            w.change.class.to_string(),
        ]
    };
    all.iter().map(row).collect()
}
