//! The text of the view of runs: a timing sheet fitted, and a test planned before it is ridden.

use maud::{Markup, html};
use sled_dynamics::riding::errors_of_ride::SKILLS;
use track_geometry::track::Track;

/// Heads that begin a timing sheet.
const SHEET: &str = "run,date,set-up,ice degC,start s,eye 3 s,finish s,notes";

/// A field of the trial: name, label, unit, least, greatest, step, first value; values as the command line has them.
struct Field {
    id: &'static str,
    label: &'static str,
    unit: &'static str,
    range: [&'static str; 3],
    first: &'static str,
    doc: &'static str,
}

const FIELDS: [Field; 5] = [
    Field {
        id: "trial-difference",
        label: "B less A, as you believe",
        unit: "s",
        range: ["-0.3", "0.3", "0.005"],
        first: "-0.02",
        doc: "Time with B less time with A: below zero B is faster",
    },
    Field {
        id: "trial-difference-sd",
        label: "Give or take (standard deviation)",
        unit: "s",
        range: ["0", "0.3", "0.005"],
        first: "0.05",
        doc: "How sure you are: in two cases of three the truth lies within this",
    },
    Field {
        id: "trial-runs",
        label: "Runs that you can spend",
        unit: "",
        range: ["2", "60", "1"],
        first: "6",
        doc: "Two runs make a pair: one with A, one with B",
    },
    Field {
        id: "trial-spread",
        label: "Spread of one athlete's finish time",
        unit: "s",
        range: ["0.02", "0.6", "0.005"],
        first: "0.165",
        doc: "From run to run with one set-up, standard deviation; take it from your own sheet",
    },
    Field {
        id: "trial-worth",
        label: "Worth of these runs on the line (assumed)",
        unit: "s",
        range: ["0", "0.1", "0.001"],
        first: "0.01",
        doc: "What the same runs gain when they are spent on practising the line",
    },
];

/// The view.
pub(crate) fn evidence_view(track: &Track) -> Markup {
    html! {
        section #evidence-view aria-label="Timed runs" data-part="sheet" {
            div.title {
                h2 { "What timed runs say" }
                div.parts role="group" aria-label="Before or after the runs" {
                    button type="button" data-part="trial" aria-pressed="false" { "Before the runs: is a test worth it?" }
                    button type="button" data-part="tested" aria-pressed="false" { "After a test: was A or B faster?" }
                    button type="button" data-part="sheet" aria-pressed="true" { "After the runs: fit the model to them" }
                }
            }
            (sheet(track))
            (trial())
        }
    }
}

fn sheet(track: &Track) -> Markup {
    html! {
        div.asked-told #sheet-part {
            div.asked {
                label for="sheet-text" { "Timing sheet: " span #sheet-name { "drop a CSV file here, or type" } }
                textarea #sheet-text spellcheck="false" wrap="off" placeholder=(SHEET) {}
                div.buttons {
                    label.button { "Open sheet" input #sheet-open type="file" accept=".csv,text/csv,text/plain"; }
                    button.of-fit #sheet-fit type="button" { "Fit this sheet" }
                    button.of-test #tested-ask type="button" { "Compare A and B" }
                }
                p.small.of-fit #sheet-doing role="status" { "The set-up is that of the controls: put in what was ridden. Eyes are those of the track." }
                p.small.of-test #tested-doing role="status" { "Each run of the sheet names its set-up in the column set-up." }
                label.tick { input #sheet-good type="checkbox"; "use good rows beside faulty ones" }
                (choices_of_test())
                fieldset.of-fit {
                    legend { "How it is fitted" }
                    div.choice.wide { label for="sheet-what" { "Fitted" }
                        select #sheet-what {
                            option value="friction,drag" { "friction and drag" }
                            option value="friction" { "friction alone" }
                            option value="drag" { "drag alone" }
                            option value="friction,drag,edge" { "friction, drag and edge radius" }
                        }
                    }
                    div.choice.wide title="What athletes of a level lose against the plan, by simulated rides" {
                        label for="sheet-skill" { "Who rode" }
                        select #sheet-skill {
                            option value="" { "not said: as planned rides" }
                            @for level in SKILLS { option value=(level.name) { (level.name) } }
                        }
                    }
                    div.choice title="Athlete and ice, no push; empty: 0.2 % of the finish" {
                        label for="sheet-spread" { "Spread of a run, s" }
                        input #sheet-spread type="number" min="0.001" max="5" step="any" placeholder="0.2 %";
                    }
                    label.tick { input #sheet-own type="checkbox"; "take the spread from the sheet" }
                    div.choice { label for="sheet-trap" { "Speed trap stands at" }
                        select #sheet-trap {
                            option value="" { "not used" }
                            @for eye in &track.data.eyes { option value=(eye.name) { (eye.name) } }
                        }
                    }
                    div.choice { label for="sheet-only" { "Runs of set-up" }
                        select #sheet-only { option value="" { "all" } }
                    }
                    p.small { "Runs taken, a click leaves one out:" }
                    div #sheet-runs.runs {}
                }
            }
            div.told.of-fit #sheet-told {
                p #sheet-none { "Drop a timing sheet, or type one, and press Fit: what your runs say of friction and drag of \
                    the model, what they cannot tell apart, and which runs are out of line stands here." }
                div #sheet-result hidden {
                    p #sheet-verdict.advice {}
                    div #sheet-together {}
                    div.charts {
                        figure { figcaption { "Unknowns: before the runs (wide, grey) and with them (narrow, red), 95 %" } div #sheet-unknowns {} }
                        figure { figcaption { "Finish of each run, from the other runs: band of 95 %, and as timed" } div #sheet-predicted {} }
                    }
                    div #sheet-flags {}
                    div #sheet-parts {}
                }
            }
            (told_of_test())
        }
    }
}

fn choices_of_test() -> Markup {
    html! {
        fieldset.of-test {
            legend { "What is compared" }
            @for (id, label, first) in [
                ("tested-a", "Set-up A", "the first"), ("tested-b", "Set-up B", "the second"),
                ("tested-athlete", "Runs of athlete", "all"),
            ] {
                div.choice { label for=(id) { (label) }
                    select id=(id) { option value="" { (first) } }
                }
            }
        }
        fieldset.of-test {
            legend { "Believed before the runs (may be empty)" }
            @for (id, label, least, doc) in [
                ("tested-prior", "B less A, s", "-10", "Below zero: you thought that B is faster"),
                ("tested-prior-sd", "Give or take, s", "0.001", "Standard deviation: in two cases of three the truth lies within this"),
            ] {
                div.choice title=(doc) { label for=(id) { (label) }
                    input id=(id) type="number" min=(least) max="10" step="any" placeholder="none";
                }
            }
        }
    }
}

fn told_of_test() -> Markup {
    html! {
        div.told.of-test #tested-told {
            p #tested-none { "Drop a timing sheet with runs of two set-ups, or type one: how much faster B was than A, how sure \
                that is, and what day, ice and start had to do with it stands here." }
            div #tested-result hidden {
                p #tested-verdict.advice {}
                p #tested-answer {}
                p #tested-names {}
                div.charts {
                    figure { figcaption { "B less A with its band of 95 %" } div #tested-bands {} }
                    figure { figcaption { "The runs as they were timed" } div #tested-runs {} }
                }
                div #tested-parts {}
            }
        }
    }
}

fn trial() -> Markup {
    html! {
        div.asked-told #trial-part {
            div.asked {
                fieldset {
                    legend { "A test of B against A" }
                    @for f in &FIELDS {
                        div.slide title=(f.doc) {
                            label for=(f.id) { (f.label) }
                            input type="range" min=(f.range[0]) max=(f.range[1]) step=(f.range[2]) value=(f.first) aria-label=(f.label);
                            input id=(f.id) type="number" step="any" value=(f.first);
                            span.unit { (f.unit) }
                        }
                    }
                }
                label for="trial-questions" { "Several questions, ranked by worth (TOML; takes the place of the difference above)" }
                textarea #trial-questions spellcheck="false" wrap="off" placeholder="[[question]]\nname = \"pair B\"\ndifference_s = -0.02\ndifference_sd_s = 0.05\nsource = \"coach\"" {}
                p.small { "The belief is yours; the answer depends on it and on the spread. Take the spread from your own sheet." }
            }
            div.told {
                div #trial-advice {}
                p #trial-head {}
                figure { figcaption { "Chance that the test tells you, over the runs you spend" } div #trial-chance {} }
                div #trial-parts {}
            }
        }
    }
}
