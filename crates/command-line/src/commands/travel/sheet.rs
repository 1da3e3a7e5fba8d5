//! The page for the coach: one A4 page in black and white for one or two athletes.

use super::told::{AthleteTold, DECIDE, PAIRS, TESTS, Told};
use crate::commands::evening::page::{list, page, short, table, with_text};
use crate::words::{ABSOLUTE, CAUTION};

const STYLE: &str = "@page { size: A4; margin: 9mm 10mm; }
* { box-sizing: border-box; }
body { font: 7.1pt/1.1 'Liberation Sans', Arial, Helvetica, 'DejaVu Sans Condensed', sans-serif; color: #000; background: #fff; margin: 0 auto; max-width: 190mm; }
h1 { font-size: 12pt; margin: 0 0 1mm; }
h2 { font-size: 9.5pt; margin: 1.4mm 0 0.5mm; border-bottom: 0.3mm solid #000; }
h3 { font-size: 7.4pt; margin: 0.6mm 0 0.1mm; }
p { margin: 0.3mm 0; }
.advice { font-size: 11pt; font-weight: bold; border: 0.5mm solid #000; padding: 0.7mm 2mm; margin: 0.7mm 0; }
ul, ol { margin: 0.4mm 0; padding-left: 4.5mm; }
table { border-collapse: collapse; width: 100%; margin-top: 0.4mm; }
th, td { border-bottom: 0.15mm solid #777; padding: 0.15mm 1mm 0.15mm 0; text-align: left; vertical-align: top; }
th { font-weight: bold; }
.small { font-size: 6.9pt; margin-top: 1mm; }
";

/// Letters that the page shows of who travels, of a reason, of a cell, of a pair's name and of what to measure.
const WHO: usize = 84;
const REASON: usize = 320;
const CELL: usize = 80;
const NAME: usize = 24;
const MEASURE: usize = 140;
/// Lines of what to measure, and rows of tests.
const MOST_LINES: usize = 4;

/// A row of the table of pairs as the page has room for it.
fn pair_row(row: &[String]) -> Vec<String> {
    let cell = |(i, text): (usize, &String)| match i {
        0 => short(text, NAME),
        // where a median should stand is why there is none; the screen and travel.json tell it
        i if i >= PAIRS.len() && text.chars().count() > NAME => "no ride".into(),
        _ => short(text, CELL),
    };
    row.iter().enumerate().map(cell).collect()
}

fn athlete(a: &AthleteTold) -> String {
    let mut html = with_text("h2", &short(&a.name, WHO));
    html += &with_text("div", &a.advice).replacen("<div>", "<div class=\"advice\">", 1);
    let why: Vec<String> = a.why.iter().map(|w| short(w, REASON)).collect();
    html += &list("ul", why.iter().map(String::as_str));
    let header: Vec<&str> = PAIRS.iter().copied().chain(a.ices.iter().map(String::as_str)).collect();
    html += &table(&header, &a.pairs.iter().map(|r| pair_row(r)).collect::<Vec<_>>());
    if !a.tests.is_empty() {
        let cut = |row: &Vec<String>| -> Vec<String> { row.iter().map(|c| short(c, CELL)).collect() };
        html += &with_text("h3", "What training runs would settle");
        html += &table(&TESTS, &a.tests.iter().take(MOST_LINES).map(cut).collect::<Vec<_>>());
    }
    if !a.measure.is_empty() {
        html += &with_text("h3", "Measure before leaving");
        let lines: Vec<String> = a.measure.iter().map(|m| short(m, MEASURE)).collect();
        // the last two, of bow and mass, are said of every pair
        let (pairs, all) = lines.split_at(lines.len().saturating_sub(2));
        let shown = pairs.iter().take(MOST_LINES).chain(all);
        html += &list("ol", shown.map(String::as_str));
    }
    html + &with_text("p", &a.rules.join("; "))
}

/// The one page.
pub fn sheet(told: &Told) -> String {
    let mut body = with_text("h1", &told.title) + &with_text("p", &told.with);
    for a in &told.athletes {
        body += &athlete(a);
    }
    let end: String = told.notes.iter().map(|n| with_text("p", n)).collect();
    body += &format!(
        "<div class=\"small\">\n{end}{}</div>\n",
        with_text("p", &[DECIDE, CAUTION, ABSOLUTE].join(" "))
    );
    page(&told.title, STYLE, &body)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_the_page_of_a_journey_shows_no_more_than_it_has_room_for() {
        let a = AthleteTold {
            name: "name <b>".repeat(100),
            advice: "Take A & B".into(),
            why: vec!["why ".repeat(200)],
            measure: (0..9).map(|i| format!("measure {i}")).collect(),
            tests: vec![vec!["test".into(); 5]; 9],
            pairs: vec![vec!["no ride could be planned: ".repeat(20); 8]; 4],
            ..AthleteTold::default()
        };
        let html = sheet(&Told { athletes: vec![a], ..Told::default() });
        assert!(html.contains("Take A &amp; B") && !html.contains("<b>"));
        // four of seven lines of pairs, and the two that are said of all; four of nine tests
        assert_eq!((html.matches("<li>measure").count(), html.matches("<tr><td>test").count()), (6, 4));
        assert!(html.contains("<li>measure 8"));
        // a name of 24 letters, cells of 80, and why there is no ride in two words
        let cell = format!("<td>{}no ...</td>", "no ride could be planned: ".repeat(3));
        assert!(html.contains("<tr><td>no ride could be planned ...</td>") && html.contains(&cell), "{html}");
        assert_eq!(html.matches("<td>no ride</td>").count(), 4 * 3);
        assert!(html.lines().all(|l| l.len() < 500)); // the caution is the longest line
    }
}
