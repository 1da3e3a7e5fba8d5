//! The text of the view in which a track is checked, and a corner list edited.

use maud::{Markup, html};

/// Heads of the table of a checked track, as in `track check`.
const TRACK_CORNERS: [&str; 6] = ["corner", "hand", "entry m", "exit m", "angle deg", "least radius m"];

/// Heads of the corner list as a table, each with what it means.
const GRID: [(&str, &str); 10] = [
    ("element", "name of a corner, or a straight"),
    ("hand", "which way the corner turns, seen by the athlete"),
    ("m", "length of a straight, tightest radius of a corner"),
    ("deg", "angle that the corner turns in plan, with its transitions"),
    ("in m", "way over which the corner tightens"),
    ("out m", "way over which it opens again"),
    ("km/h in", "design speed at the entry: no steering is needed there at that speed"),
    ("km/h out", "design speed at the exit"),
    ("drop %", "drop on a hundred metres of track"),
    ("", "add or remove"),
];

/// The view.
pub(crate) fn track_view() -> Markup {
    html! {
        section #track-view aria-label="Your own track" {
            div.title {
                h2 { "A track of your own: " span #track-from { "drop files here, or type" } }
                label.button title="A corner list (TOML), or track.toml and stations.csv together" {
                    "Open files" input #track-open type="file" accept=".toml,.csv" multiple;
                }
                p.small { "to ride it: sagitta page --track FOLDER" }
            }
            div.track-sides {
                div.list-side {
                    div.parts role="group" aria-label="How the corner list is edited" {
                        button type="button" data-edit="table" aria-pressed="true" { "Edit as a table" }
                        button type="button" data-edit="text" aria-pressed="false" { "Edit as text" }
                        button #track-save type="button" title="The corner list as a file, for sagitta track build" { "Save list" }
                    }
                    div #track-grid { table { thead { tr { @for (h, doc) in GRID { th title=(doc) { (h) } } } } tbody {} } }
                    textarea #track-text hidden spellcheck="false" aria-label="Corner list" placeholder="A corner list as in tracks/README.md; the drawing follows what you type" {}
                }
                div {
                    div #track-none {
                        p { "Open a corner list (TOML), or track.toml with stations.csv. Faults are listed with line and column; \
                            else plan, profile and corners are drawn here and follow every change." }
                        button #track-begin type="button" { "Begin a list of my own" }
                    }
                    p #track-head role="status" { "" }
                    ul #track-faults {}
                    div #track-drawn hidden {
                        div #track-plan {}
                        div #track-profile {}
                        p.small { span.line.left {} "left " span.line.right {} "right, seen by the athlete" }
                        div #track-alone hidden {
                            h2 { "Warnings: timing eyes in corners, and a sled that nobody steers (built-in set-up)" }
                            p #track-alone-doing role="status" { "" }
                            ul #track-warnings {}
                        }
                        div #track-speeds hidden {
                            h2 { "Design speeds beside those that the guided estimate rides, built-in set-up, km/h" }
                            div #track-speed-table {}
                            button #track-take type="button" title="Writes the speeds ridden at entry and exit into the list" { "Take all proposed speeds" }
                            ul #track-far {}
                        }
                        table #track-corners {
                            thead { tr { @for h in TRACK_CORNERS { th { (h) } } } } tbody {}
                        }
                    }
                    ul #track-doubts {}
                }
            }
        }
    }
}
