//! The text of the view in which a line is told: by dragging on the ice laid flat, by typing, or in words.

use maud::{Markup, html};

/// Heads of the table that has both descents side by side.
const SIDE_BY_SIDE: [&str; 7] = ["corner", "entry m", "top m", "exit m", "in km/h", "out km/h", "g"];

/// The view.
pub(crate) fn line_view() -> Markup {
    html! {
        section #line-view aria-label="Try a line" {
            div.title {
                h2 { "Try a line: drag a dot, and the ride is planned anew through it" }
                label { "Corner " select #line-corner {} }
                p.key { span.line.here {} "as tried" span.line.pin {} "as planned" span.line.pinned {} "pinned set-up" }
            }
            div.line-sides {
                div {
                    div #line-flat {}
                    p.small #line-hint { "The ice laid flat, downhill to the right, not to scale. Drag a dot, or press an arrow key for 5 cm." }
                    div.aims {
                        table #line-aims {
                            thead { tr { th { "place" } th { "offset m, left +" } th { "height m" } th { "within m" } th { "asked, then ridden" } th {} } }
                            tbody {}
                        }
                    }
                    div.say {
                        label for="line-what-if" { "or say it" }
                        input #line-what-if type="text" placeholder="0.3 m late into corner 6" maxlength="200";
                        button #line-say type="button" title="What this single fault would cost, at half, whole and one and a half times its size" { "What if" }
                        button #line-save type="button" title="The line as a file for sagitta losses --line" { "Save line" }
                        button #line-clear type="button" title="Back to the planned line in every corner" { "Clear" }
                    }
                }
                div.told #line-told {
                    p #line-verdict.advice {}
                    p #line-doing.small role="status" { "Nothing tried yet. Wait for the planned ride, then drag a dot." }
                    div #line-met {}
                    div #line-words {}
                    div #line-tables hidden {
                        h2 { "Both descents side by side: planned | tried" }
                        div.scroll { table #line-corners { thead { tr { @for h in SIDE_BY_SIDE { th { (h) } } } } tbody {} } }
                        h2 { "Milliseconds at the finish by corner and cause, + lost, − gained" }
                        div #line-losses {}
                        div #line-caused {}
                    }
                }
            }
        }
    }
}
