//! The sheet for the sled bag, one A4 page in black and white, and the report with all tables.

use super::page::{list, page, short, table, with_text};
use super::tables::{BOWS, HOURS, ICES, PAIRS};
use super::told::{DECIDE, RISK, SADDLE, Told};
use crate::words::{ABSOLUTE, CAUTION};

const SHEET: &str = "@page { size: A4; margin: 8mm 11mm; }
* { box-sizing: border-box; }
body { font: 7.1pt/1.1 'Liberation Sans', Arial, Helvetica, 'DejaVu Sans Condensed', sans-serif; color: #000; background: #fff; margin: 0 auto; max-width: 188mm; }
h1 { font-size: 11pt; margin: 0 0 1mm; }
h2 { font-size: 9pt; margin: 1.1mm 0 0.3mm; border-bottom: 0.3mm solid #000; }
p { margin: 0.6mm 0; }
.advice { font-size: 13pt; font-weight: bold; border: 0.6mm solid #000; padding: 1mm 2.5mm; margin: 1mm 0; }
ul, ol { margin: 0.6mm 0; padding-left: 4.5mm; }
svg { display: block; width: 68%; height: auto; margin: 0 auto; }
table { border-collapse: collapse; width: 100%; }
th, td { border-bottom: 0.15mm solid #777; padding: 0.15mm 1mm 0.15mm 0; text-align: left; vertical-align: top; }
.two { display: grid; grid-template-columns: 1fr 1fr; gap: 0 5mm; }
.bench { grid-template-columns: 3fr 2fr; }
.ice { grid-template-columns: 4fr 5fr; }
.hours td:first-child { width: 52%; }
.facts td:first-child, .one td { white-space: nowrap; }
.steps { columns: 2; column-gap: 5mm; }
.small { font-size: 7pt; }
";
const REPORT: &str =
    "body { font: 11pt/1.4 sans-serif; color: #000; background: #fff; margin: 2em auto; max-width: 70em; }
table { border-collapse: collapse; margin: 0.5em 0; }
th, td { border-bottom: 1px solid #777; padding: 0.2em 1em 0.2em 0; text-align: left; vertical-align: top; }
svg { max-width: 50em; }
.advice { font-size: 16pt; font-weight: bold; border: 2px solid #000; padding: 0.5em; }
";
/// Head of the column of turns.
pub const TURN: &str = "key, every turn from 12 o'clock";
/// What the star says: no hour is given to it.
pub const STAR: &str = "cannot be told from no change, loses control too often, or no limit stated";
const PRESSES: [&str; 2] = ["press", "missed costs"];

/// Rows that a table of the one page shows; the rest stands in the report.
const MOST_ROWS: usize = 12;
/// Changes that an hour may go to, the best first, that it shows.
const MOST_HOURS: usize = 8;
/// Other pairs and notes that it shows.
const MOST_LINES: usize = 3;
/// Letters that it shows of the title, of a reason, of a fact, of a note, of a press, of what an hour could go to, of what
/// the hours go to, of a pair's name and of a point's.
const TITLE: usize = 90;
const REASON: usize = 160;
const FACT: usize = 210;
const NOTE: usize = 110;
const PRESS: usize = 110;
const CHANGE: usize = 56;
const PLAN_OF_HOURS: usize = 240;
const NAME: usize = 30;
const POINT: usize = 18;

/// The first rows of a table, and a row that says where the rest is.
fn first_rows(rows: &[Vec<String>], most: usize) -> Vec<Vec<String>> {
    let mut first: Vec<Vec<String>> = rows.iter().take(most).cloned().collect();
    if rows.len() > most {
        first.push(vec![format!("{} more in report.html", rows.len() - most)]);
    }
    first
}

/// What the one page has room for.
fn for_one_page(told: &Told) -> Told {
    let mut t = told.clone();
    t.title = short(&t.title, TITLE);
    t.plan_of_hours = short(&t.plan_of_hours, PLAN_OF_HOURS);
    // risk, saddle and ballast share a line
    if let Some(at) = t.facts.iter().position(|f| f[0] == SADDLE) {
        let saddle = t.facts.remove(at);
        match t.facts.iter_mut().find(|f| f[0] == RISK) {
            Some(risk) => risk[1] += &format!("; {}", saddle[1]),
            None => t.facts.insert(at, saddle),
        }
    }
    let lines = t.why.iter_mut().map(|w| (w, REASON)).chain(t.notes.iter_mut().map(|n| (n, NOTE)));
    let facts = t.facts.iter_mut().map(|f| (&mut f[1], FACT));
    let presses = t.presses.iter_mut().map(|p| (&mut p[0], PRESS));
    let changes = t.hours.iter_mut().map(|h| (&mut h[0], CHANGE));
    let pairs = t.pairs.iter_mut().map(|p| (&mut p[0], NAME));
    for (text, most) in lines.chain(facts).chain(presses).chain(changes).chain(pairs) {
        *text = short(text, most);
    }
    // where a median should stand is why there is none; the report tells it
    for median in t.pairs.iter_mut().chain(&mut t.ices).map(|row| &mut row[2]) {
        if median.chars().count() > NAME {
            *median = "no ride".into();
        }
    }
    t.pairs.truncate(MOST_LINES + 1);
    if t.notes.len() > MOST_LINES {
        let more = t.notes.len() - MOST_LINES;
        t.notes.truncate(MOST_LINES);
        t.notes.push(format!("{more} more in report.html"));
    }
    t
}

fn some(title: &str, html: String) -> String {
    if html.is_empty() { html } else { with_text("h2", title) + &html }
}

fn head(told: &Told) -> String {
    let advice = with_text("div", &told.advice).replacen("<div>", "<div class=\"advice\">", 1);
    with_text("h1", &told.title)
        + &with_text("p", &told.with)
        + &advice
        + &list("ul", told.why.iter().map(String::as_str))
}

/// Readings wanted, left and right side by side where both have the same points; as many as the page has room for, or all.
fn readings(points: &[Vec<String>], all: bool) -> String {
    let most = if all { usize::MAX } else { MOST_ROWS };
    let name = |p: &[String]| short(&p[1], if all { usize::MAX } else { POINT });
    let (left, right): (Vec<_>, Vec<_>) = points.iter().partition(|p| p[0] == "left");
    let same = left.len() == right.len() && left.iter().zip(&right).all(|(l, r)| l[1] == r[1]);
    if !same && all {
        return table(&crate::commands::bow::target::POINTS, points);
    }
    let both =
        |(l, r): (&&Vec<String>, &&Vec<String>)| vec![name(l), l[2].clone(), l[4].clone(), r[4].clone()];
    let one = |p: &Vec<String>| vec![p[0].clone(), name(p), p[2].clone(), p[4].clone()];
    let (header, rows): (_, Vec<Vec<String>>) = if same {
        (["point", "at mm", "left must read", "right must read"], left.iter().zip(&right).map(both).collect())
    } else {
        (["runner", "point", "at mm", "must read"], points.iter().map(one).collect())
    };
    let yours = points.iter().any(|p| p[4].starts_with("yours"));
    let note =
        if yours { with_text("p", "yours: what you read at this point without bow") } else { String::new() };
    format!("<div class=\"one\">\n{}</div>\n{note}", table(&header, &first_rows(&rows, most)))
}

fn screws(told: &Told) -> String {
    let Some(bench) = &told.bench else { return String::new() };
    let rows: Vec<Vec<String>> = bench.screws.iter().map(|r| r.to_vec()).collect();
    if !bench.without.is_empty() {
        return with_text("p", &bench.without);
    }
    table(&["runner", "screw", "advance now mm", "wanted mm", "caliper there mm", TURN], &rows)
}

fn hours(told: &Told, columns: &[usize], most: usize) -> String {
    let header: Vec<&str> = columns.iter().map(|c| HOURS[*c]).collect();
    let rows: Vec<Vec<String>> =
        told.hours.iter().map(|r| columns.iter().map(|c| r[*c].clone()).collect()).collect();
    let line = if told.plan_of_hours.is_empty() {
        String::new()
    } else {
        with_text("p", &format!("* {STAR}: no hour is given to it")) + &with_text("p", &told.plan_of_hours)
    };
    table(&header, &first_rows(&rows, most)) + &line
}

fn presses(told: &Told) -> String {
    let rows: Vec<Vec<String>> = told.presses.iter().map(|p| p.to_vec()).collect();
    table(&PRESSES, &rows)
}

fn facts(told: &Told) -> String {
    let rows: Vec<Vec<String>> = told.facts.iter().map(|f| f.to_vec()).collect();
    format!("<div class=\"facts\">\n{}</div>\n", table(&[], &rows))
}

fn end(told: &Told) -> String {
    let known: Vec<&str> = told.rules.iter().chain(&told.notes).map(String::as_str).collect();
    let cautions = with_text("p", &[DECIDE, CAUTION, ABSOLUTE].join(" "));
    some("Rules and what is to be known", list("ul", known))
        + &format!("<div class=\"small\">\n{cautions}</div>\n")
}

/// The one page.
pub fn sheet(told: &Told) -> String {
    let told = &for_one_page(told);
    let steps = told.bench.as_ref().map_or(&[][..], |b| &b.steps);
    let read = told.bench.as_ref().map_or(String::new(), |b| readings(&b.points, false));
    let turns = if told.bench.is_some() {
        let (left, steps) = (screws(told), list("ol", steps.iter().copied()));
        let drawing = told.bench.as_ref().map_or("", |b| b.drawing.as_str());
        format!(
            "<h2>At the bench</h2>\n<div class=\"two bench\">\n<div>\n{left}{drawing}</div>\n<div>\n{read}</div>\n</div>\n<div \
             class=\"steps\">\n{steps}</div>\n"
        )
    } else {
        String::new()
    };
    let pairs: Vec<Vec<String>> =
        told.pairs.iter().map(|r| vec![r[0].clone(), r[2].clone(), r[3].clone(), r[4].clone()]).collect();
    let ice = some("If the ice changes", table(&ICES, &told.ices))
        + &some("Pairs", table(&["pair", "median s", "control lost %", "stands"], &pairs));
    let hour = some("What an hour is worth", hours(told, &[0, 1, 4, 5], MOST_HOURS));
    let body = head(told)
        + &facts(told)
        + &turns
        + &format!(
            "<div class=\"two ice\">\n<div>\n{ice}</div>\n<div class=\"hours\">\n{hour}</div>\n</div>\n"
        )
        + &some("Ride notes: the presses that matter most", presses(told))
        + &end(told);
    page(&told.title, SHEET, &body)
}

/// All tables.
pub fn report(told: &Told) -> String {
    let bench = told.bench.as_ref();
    let check = bench
        .map_or(String::new(), |b| if b.check.is_empty() { String::new() } else { with_text("p", &b.check) });
    let explained = "± one standard error of the sampling. Rides that lose control rank last. Times less the present: median \
                     over rides with the same mistakes. Front: least median of those that keep control; alike: not told from \
                     it. Each bow and pair has a ride planned for it alone; what an hour is worth is ridden by the plan of \
                     the advised set-up, but for the bow. By the air alone: the planned ride \
                     with one number of the air at either end of its spread; together by squares, as if temperature, \
                     humidity and pressure missed their forecasts independently (assumed). Presses: one is \
                     left out, all others are made, in a ride without other mistakes.";
    let body = head(told)
        + &facts(told)
        + &some("Bows", table(&BOWS, &told.bows))
        + &some("Pairs in the bag", table(&PAIRS, &told.pairs))
        + &some("If the ice changes", table(&ICES, &told.ices))
        + &some(
            "At the bench",
            screws(told)
                + bench.map_or("", |b| b.drawing.as_str())
                + &bench.map_or(String::new(), |b| readings(&b.points, true))
                + &check,
        )
        + &some("What an hour is worth", hours(told, &[0, 1, 2, 3, 4, 5, 6], usize::MAX))
        + &some("The presses that matter most", presses(told))
        + &with_text("p", explained)
        + &end(told);
    page(&told.title, REPORT, &body)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::commands::evening::bench::Bench;

    #[test]
    fn exact_the_page_shows_no_more_than_it_has_room_for() {
        let row = |side: &str, i: usize| -> Vec<String> {
            [side, &format!("point {i}"), "0", "0", "40.00"].map(String::from).to_vec()
        };
        let points = ["left", "right"].iter().flat_map(|s| (0..40).map(move |i| row(s, i))).collect();
        let told = Told {
            title: "name ".repeat(200),
            notes: vec!["note ".repeat(200); 30],
            why: vec!["why ".repeat(200)],
            facts: vec![["Past runs".into(), "run ".repeat(200)]],
            hours: vec![["change ".repeat(200)].into_iter().chain(vec!["1".to_string(); 6]).collect()],
            plan_of_hours: "hour ".repeat(200),
            ices: vec![vec!["-3".into(), "4 mm".into(), "no ride could be planned: ".repeat(50)]],
            pairs: vec![vec!["pair".into(); 6]; 20],
            bench: Some(Bench { points, ..Bench::default() }),
            ..Told::default()
        };
        let html = sheet(&told);
        let count = |what: &str| html.matches(what).count();
        // twelve of forty points, four of twenty pairs, three of thirty notes, each cut
        assert_eq!((count("<td>point"), count("28 more"), count("27 more")), (12, 1, 1));
        assert_eq!((count("<tr><td>pair"), count("<li>note")), (4, 3));
        assert!(html.lines().all(|l| l.len() < 500)); // the caution is the longest line
        // the report leaves nothing out
        let all = report(&told);
        assert_eq!((all.matches("<td>point").count(), all.matches("<li>note").count()), (40, 30));
        assert_eq!(all.matches("<tr><td>pair").count(), 20);
    }
}
