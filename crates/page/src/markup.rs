//! The text of the page. Every value is escaped by the macro.

use crate::assets::{LIBRARY, OWN, WRITTEN};
use crate::controls::{Control, EVEN_BOW, GROUPS, RUNNERS, SCREWS, values};
use crate::desk::Given;
use crate::evidence_markup::evidence_view;
use crate::line_markup::line_view;
use crate::track_markup::track_view;
use crate::track_told::quality;
use maud::{DOCTYPE, Markup, html};
use sled_dynamics::riding::errors_of_ride::SKILLS;
use sled_dynamics::setup::Setup;

/// Skill that the page begins with.
const FIRST_SKILL: &str = "club";
/// The views: name in the page, words, what each is for.
const VIEWS: [(&str, &str, &str); 7] = [
    ("bench", "Curves", "Curves along the track, splits, rides with mistakes, corners"),
    ("lost", "Lost time", "What the set-up gains and loses against the pinned one, by cause and corner"),
    ("line", "Try a line", "Drag the line in a corner, and see what that ride costs or gains"),
    ("ice", "Ice in 3-D", "A corner of the track in space, with both lines on it"),
    ("evidence", "Timed runs", "A timing sheet fitted, and whether a test is worth its runs"),
    ("evening", "Evening before", "Caliper readings in, one sheet out: pair, bow, turns of the key"),
    ("track", "Your own track", "A track of your own: faults by line and column, plan, profile, corners"),
];
/// Heads of the table of splits.
const SPLITS: [&str; 5] = ["eye", "at m", "time s", "gap ms", "km/h"];
/// Heads of the table of corners, each with what it means.
const CORNERS: [(&str, &str); 11] = [
    ("corner", "number or name of the corner"),
    ("in km/h", "speed at the entry"),
    ("out km/h", "speed at the exit"),
    ("entry m", "height on the bank at the entry"),
    ("top m", "greatest height on the bank"),
    ("exit m", "height on the bank at the exit"),
    ("g", "greatest load over weight"),
    ("press.", "pressures: maxima of the load"),
    ("swing m", "amplitude: half the mean swing of the height; comes with the planned ride"),
    ("bridges", "more than half of a runner's load outside the bow screws"),
    ("touch", "a wall or a lip was touched"),
];
/// Heads of the table of loads over rides with mistakes, each with what it means.
const LOADS: [(&str, &str); 5] = [
    ("corner", "number or name of the corner"),
    ("greatest g", "greatest load over weight in the corner"),
    ("pinned", "the same with the pinned set-up"),
    ("pressures", "number of pressures: maxima of the load"),
    ("pinned", "the same with the pinned set-up"),
];
/// Rows of the table of rides, each with what it means.
const RIDES: [(&str, &str); 6] = [
    ("planned s", "the planned ride without a mistake"),
    ("median s", "half of all rides stay below"),
    ("nine in ten s", "nine rides in ten stay below"),
    ("worst tenth s", "mean of the slowest tenth"),
    ("control lost %", "share of rides that lose control, P(control lost)"),
    ("touches a ride", "walls and lips touched"),
];

/// The whole page.
pub(crate) fn page(given: &Given, setup: &Setup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Sagitta: the sled bench" }
                link rel="icon" href="data:,";
                link rel="stylesheet" href=(OWN[0].path);
                script src=(LIBRARY) defer {}
                @for asset in OWN.iter().skip(2).filter(|a| a.path != WRITTEN) { script src=(asset.path) defer {} }
                script src=(OWN[1].path) defer {}
            }
            body data-track=(given.track.data.name) data-name=(setup.name) data-values=(values(setup).to_string())
                 data-sets=(serde_json::json!(given.sets).to_string()) {
                (head())
                main #bench {
                    (controls(given, setup))
                    (answer())
                    (charts())
                    (beside(given))
                    (lost_time())
                    (ice_view())
                    (line_view())
                    (evidence_view(&given.track))
                    (evening_view(given))
                    (track_view())
                }
                footer {
                    @for caution in &given.cautions { p { (caution) } }
                    p.version { "Sagitta " (given.version) ", on this machine alone" }
                }
            }
        }
    }
}

fn head() -> Markup {
    html! {
        header {
            h1 { "Sled bench" }
            nav aria-label="Views" {
                @for (view, name, doc) in VIEWS {
                    button type="button" data-view=(view) title=(doc) aria-pressed=(view == "bench") { (name) }
                }
            }
            div.files {
                label.button title="A set-up as TOML, as the command line reads it" {
                    "Open set-up" input #open type="file" accept=".toml,text/plain";
                }
                button #save type="button" title="This set-up as TOML, for this page and the command line" { "Save" }
                button #png type="button" title="The charts as a picture" { "PNG" }
                button #csv type="button" title="Every row of the planned ride" { "CSV" }
            }
        }
    }
}

fn slider(c: &Control) -> Markup {
    let Some((unit, least, most, doc)) = c.limits() else { return html! {} };
    let [from, to, step] = c.slider;
    let limits = format!("{doc}. Allowed: {least} to {most} {unit}");
    html! {
        div.control data-key=(c.key) title=(limits) {
            label for={ "f-" (c.key) } { (c.label) }
            input type="range" min=(from) max=(to) step=(step) aria-label=(c.label);
            input id={ "f-" (c.key) } type="number" min=(least) max=(most) step="any";
            span.unit { (unit) }
        }
    }
}

/// A pair of a library in the place of the one that the set-up has.
fn pair() -> Markup {
    html! {
        div.choice.wide { label for="pair" { "Pair" }
            select #pair { option value="" { "as the set-up has it" } }
        }
        label.button title="The pairs of a runner library (TOML or CSV), as sagitta runners reads it" {
            "Open runner library" input #pair-open type="file" accept=".toml,.csv,text/plain";
        }
        p.small #pair-words { "" }
    }
}

fn controls(given: &Given, setup: &Setup) -> Markup {
    html! {
        section #controls aria-label="Controls of the set-up" {
            p.what { strong #setup-name { (setup.name) } " on " strong { (given.track.data.name) } }
            fieldset {
                legend { "Bow" }
                label.tick { input #even type="checkbox"; "all four screws alike" }
                div #even-bow { (slider(&EVEN_BOW)) }
                div #four-bows hidden { @for c in &SCREWS { (slider(c)) } }
            }
            @for g in &GROUPS {
                fieldset { legend { (g.title) } @if g.title == RUNNERS { (pair()) } @for c in g.controls { (slider(c)) } }
            }
            fieldset {
                legend { "Who rides" }
                div.choice.wide { label for="skill" { "Skill (assumed numbers)" }
                    select #skill {
                        @for s in SKILLS {
                            option value=(s.name) selected[s.name == FIRST_SKILL] { (s.name) ", lag " (s.lag_s) " s" }
                        }
                    }
                }
                div.choice { label for="rides" { "Rides with mistakes" }
                    input #rides type="number" min="6" max="2000" step="1" value="60"; }
                div.choice { label for="seed" { "Seed of the mistakes" }
                    input #seed type="number" min="0" step="1" value="1"; }
            }
            button #back type="button" title="Every control as it was opened" { "Back to the set-up as opened" }
        }
    }
}

/// The figures above.
pub(crate) fn answer() -> Markup {
    html! {
        section #answer aria-label="Answer" {
            div.figure {
                h2 { "Finish time, ride as planned" }
                p.large { output #finish { "–" } span.unit { "s" } span #rough.mark hidden { "rough" } }
                p.small #how { "reading the track" }
            }
            div.figure {
                h2 { "Against the pinned set-up" }
                p.large { output #difference { "–" } span.unit { "ms" } }
                p.small #causes { "" }
            }
            div.figure {
                h2 { "Same mistakes, ride by ride" }
                p.verdict { output #verdict { "–" } }
                p.small #band { "" }
            }
            div.figure {
                h2 { "Control lost" }
                p.large { output #lost { "–" } span.unit { "% of rides" } }
                p.small #lost-pinned { "" }
            }
            div.pin {
                button #pin type="button" title="Compare with this set-up from now on" { "Pin this set-up" }
                p.small { "pinned: " span #pinned-name { "as opened" } }
                progress #progress max="1" value="0" aria-label="progress of the full answer" {}
                p.small #doing role="status" { "" }
            }
            p #trouble role="alert" hidden {}
        }
    }
}

/// Curves along the track.
pub(crate) fn charts() -> Markup {
    html! {
        section #charts aria-label="Charts along the track" {
            div.title {
                h2 { "Along the track" }
                p.key { span.line.here {} "this set-up" span.line.pin {} "pinned" }
                p.small { "drag zooms, double click shows all" }
            }
            div #curves tabindex="0" aria-label="Charts over the station; arrows move the cursor" {}
            p #at.cursor { "" }
        }
    }
}

/// Plan, splits, runners on the ice, rides, corners.
pub(crate) fn beside(given: &Given) -> Markup {
    html! {
        section #beside {
            div.panel.plan {
                h2 { "Plan: " (quality(&given.track)) }
                div #plan {}
            }
            div.panel.splits {
                h2 { "Splits" }
                table #splits { thead { tr { @for h in SPLITS { th { (h) } } } } tbody {} }
            }
            div.panel.wide.ink-panel {
                h2 { "Runners on the ice at the cursor" span.small #ink-words { "" } }
                div #ink {}
            }
            div.panel.wide {
                h2 { "Rides with mistakes" span.small { "± one standard error of the sampling; a lost ride is slower than any" } }
                table #ensemble {
                    thead { tr { th { "" } @for (name, doc) in RIDES { th title=(doc) { (name) } } } }
                    tbody {
                        @for name in ["this", "pinned"] { tr { th { (name) } @for _ in RIDES { td { "–" } } } }
                    }
                }
            }
            div.panel.wide {
                h2 { "Corners" }
                div.scroll {
                    table #corners {
                        thead { tr { @for (h, doc) in CORNERS { th title=(doc) { (h) } } } } tbody {}
                    }
                }
                ul #events {}
                h2 #loads-title { "Corners in rides with mistakes" span.small { "the middle ride (eight rides in ten lie between)" } }
                table #loads {
                    thead { tr { @for (h, doc) in LOADS { th title=(doc) { (h) } } } } tbody {}
                }
            }
        }
    }
}

/// Losses by cause and corner.
pub(crate) fn lost_time() -> Markup {
    html! {
        section #lost-view aria-label="Where the time goes" {
            div.title {
                h2 { "Where the time goes: planned rides, this set-up against the pinned one" }
                p.small { "milliseconds at the finish, + lost, − gained" }
            }
            p #lost-none { "Move a control and wait for the full answer: there is nothing to compare yet." }
            div.scroll {
                table #sections { thead {} tbody {} tfoot {} }
            }
            p.small #lost-note { "all: booked where it was made, with all it costs until the finish; showed: on the clock, \
                section by section. Time that is lost high on the track shows low on it. Click a row to send the cursor there." }
        }
    }
}

fn ice_view() -> Markup {
    html! {
        section #ice-view aria-label="Ice and line" {
            div.title {
                h2 { "Ice and line, to scale" }
                label { "Corner " select #ice-corner {} }
                label { "Line coloured by " select #ice-colour {
                    option value="gap" { "gap to the pinned set-up" }
                    option value="grows" { "time lost on each metre" }
                } }
                p.key { span.line.here {} "this set-up, in colours" span.line.pin {} "pinned" }
                p.small { "drag: turn; wheel: nearer; the ball is the cursor" }
            }
            div #ice {}
            p.small #ice-note { "" }
        }
    }
}

/// A line of heads that begins a file of readings.
const READINGS: &str = "runner,point,position_mm,distance_mm,error_mm";

fn evening_view(given: &Given) -> Markup {
    html! {
        section #evening-view aria-label="The evening before" {
            div.title {
                h2 { "Tonight: readings in, one sheet out" }
                p.small { "the set-up is that of the controls; the sheet takes one to five minutes" }
            }
            div.track-sides {
                div.texts {
                    label for="evening-readings" { "Caliper readings, runner to guide (empty: the bow of the controls)" }
                    textarea #evening-readings spellcheck="false" placeholder=(READINGS) {}
                    label for="evening-without" { "The same points with the screws backed off: the zero" }
                    textarea #evening-without spellcheck="false" placeholder=(READINGS) {}
                    label for="evening-plan" { "The plan" }
                    textarea #evening-plan spellcheck="false" { (given.evening_plan) }
                    div.buttons {
                        button #evening-ask type="button" { "Ask for the sheet" }
                        button #evening-stop type="button" disabled { "Stop" }
                        button #evening-print type="button" disabled { "Open the sheet to print" }
                    }
                    progress #evening-progress max="1" value="0" aria-label="set-ups ridden" {}
                    p.small #evening-doing role="status" { "" }
                }
                div {
                    img #evening-bow alt="The bow that was read, drawn with its readings" hidden;
                    pre #evening-told { "The bow that was read stands here as you type; the answer of the evening once it is there." }
                }
            }
        }
    }
}
