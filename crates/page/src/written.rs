//! A finished comparison as one file that needs no program and asks nobody: to send to an athlete's phone.

use crate::asked::Asked;
use crate::assets::{library, own};
use crate::desk::Desk;
use crate::markup::{answer, beside, charts, lost_time};
use crate::track_told::track_told;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use serde_json::{Value, json};

/// The file may run and look as it is written, and fetch nothing at all.
const POLICY: &str =
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data: blob:";
/// Own scripts that it needs, in order.
const SCRIPTS: [&str; 5] = ["/charts.js", "/plan.js", "/lost.js", "/answer.js", "/written.js"];

/// Answers a question in full and writes the answer as a page of its own. With the report of an evening the set-up
/// asked about is the advised one, and the pinned one that of now.
pub fn written(desk: &Desk, asked: &Asked, evening: Option<&str>) -> Result<String, String> {
    let told = desk.finished(asked)?;
    let pinned = desk.sled(&asked.pinned)?.setup.name;
    let named = told["name"].as_str().unwrap_or_default().to_string();
    let sets =
        |s: &[(String, String)]| s.iter().map(|(k, v)| format!("{k} {v}")).collect::<Vec<_>>().join(", ");
    let name = |name: String, s: &[(String, String)]| {
        if s.is_empty() { name } else { format!("{name} with {}", sets(s)) }
    };
    let named_so = |name: String, how: &str| if evening.is_some() { format!("{name}, {how}") } else { name };
    let (named, pinned) = (named_so(named, "as advised"), named_so(pinned, "as it is now"));
    let names = [name(named, &asked.here.sets), name(pinned, &asked.pinned.sets)];
    let data = json!({ "track": track_told(&desk.given.track), "told": told });
    Ok(page(desk, asked, &names, &data, evening).into_string())
}

/// Text inside a script ends at its end tag only; in JSON a smaller-than sign can be written another way.
fn inside_script(data: &Value) -> String {
    data.to_string().replace('<', "\\u003c")
}

fn page(desk: &Desk, asked: &Asked, names: &[String; 2], data: &Value, evening: Option<&str>) -> Markup {
    let given = &desk.given;
    let who = format!(
        "{}, {} rides of each with the same mistakes, seed {}",
        asked.here.skill, asked.rides, asked.seed
    );
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (names[0]) " against " (names[1]) }
                style { (PreEscaped(own("/page.css"))) }
            }
            body.written data-view="bench" {
                header {
                    h1 { "Sled bench" }
                    p { strong { (names[0]) } " against " strong { (names[1]) } " (pinned) on " (given.track.data.name) "; " (who) }
                }
                main #bench {
                    @if let Some(report) = evening {
                        section #written-evening aria-label="The evening before" {
                            h2 { "The evening before: what to set, and why" }
                            // tables keep their columns, sentences are broken where the page ends
                            pre { @for line in report.lines() {
                                span.row.prose[!line.trim_start().contains("  ")] { (line) "\n" }
                            } }
                        }
                    }
                    (answer())
                    (charts())
                    (beside(given))
                    (lost_time())
                }
                footer {
                    @for caution in &given.cautions { p { (caution) } }
                    p.version { "Sagitta " (given.version) }
                }
                script type="application/json" id="written-data" { (PreEscaped(inside_script(data))) }
                script { (PreEscaped(library())) }
                @for path in SCRIPTS { script { (PreEscaped(own(path))) } }
            }
        }
    }
}
