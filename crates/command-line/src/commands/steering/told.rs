//! What `sagitta steering` prints.

use crate::words::{CAUTION, numbers};
use evidence::sheet::TimedRun;
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::riding::errors_of_ride::Skill;
use sweep_runner::rides::inferred::{
    At, Inferred, LEAST_EFFECTIVE, MOST_WIDENED, OfSection, Seen, Spread, agreed, effective, one_more,
};
use track_geometry::track::Track;

/// Share of the rides from which they agree `[-]`: assumed.
const AGREE: f64 = 0.8;
/// A loss below this is not worth a word (s): assumed.
const WORTH_A_WORD_S: f64 = 0.005;
/// What was asked.
pub struct Question<'a> {
    /// The track.
    pub track: &'a Track,
    /// The row of the sheet.
    pub row: &'a TimedRun,
    /// The planned ride.
    pub planned: &'a Descent,
    /// Who rides.
    pub skill: &'a Skill,
    /// What was measured.
    pub seen: &'a Seen,
}

fn head(q: &Question<'_>, found: &Inferred) -> String {
    let mut text = format!(
        "run {} on {}, ridden by the mistakes of a {} athlete: {} rides\n",
        q.row.name, q.track.data.name, q.skill.name, found.ridden
    );
    let rows = q.seen.at.iter().zip(&q.seen.values).filter_map(|(at, value)| {
        let At::Time(eye) = *at else { return None };
        let planned = q.planned.splits.get(eye)?.split_time_s;
        let mean: f64 = found
            .after
            .last()?
            .rides
            .iter()
            .filter_map(|(r, w)| Some(w * r.descent.splits.get(eye)?.split_time_s))
            .sum();
        Some(vec![
            q.track.data.eyes[eye].name.clone(),
            format!("{value:.2}"),
            format!("{planned:.2}"),
            format!("{:+.2}", value - planned),
            format!("{mean:.2}"),
        ])
    });
    text += &format!(
        "\n{}\n",
        numbers(&["eye", "timed s", "planned s", "timed less planned s", "rides that fit s"], rows)
    );
    if !q.row.notes.is_empty() {
        text += &format!("noted on the sheet: {}\n", q.row.notes);
    }
    text
}

/// What to do where few rides or none come near.
pub const WHAT_NEXT: &str = "a video of the corners before that eye shows whether the run lost more there than such mistakes cost. \
     Then ride more with --rides, allow larger mistakes by a lower --skill, or allow the model more by --noise";

/// Too few rides: nothing is told.
pub fn too_few(q: &Question<'_>, found: &Inferred) -> String {
    let (widened, scarcest) = found.widened();
    let why = if widened > MOST_WIDENED {
        format!(
            "at {} times would have to be off by {widened:.1} times --noise; allowed: {MOST_WIDENED:.0}",
            q.track.data.eyes[q.seen.at[scarcest].eye()].name
        )
    } else {
        let (least, place) = found.least_effective();
        format!(
            "what is told of the way to {} rests on {least:.1} rides of equal weight; allowed: {LEAST_EFFECTIVE:.0} or more",
            q.track.data.eyes[q.seen.at[place].eye()].name
        )
    };
    format!(
        "{}\nToo few rides come near these times: {why}. The program says nothing about this run.\n\
         What to do: {WHAT_NEXT}.\n{CAUTION}\n",
        head(q, found)
    )
}

fn percent(share: f64) -> String {
    format!("{:.0}", 1e2 * share)
}

/// Table, agreement, costs, and what would tell more.
pub fn told(q: &Question<'_>, found: &Inferred) -> String {
    let mut text = head(q, found);
    let last =
        found.after.last().map_or(0.0, |a| effective(&a.rides.iter().map(|r| r.1).collect::<Vec<_>>()));
    text += &format!(
        "\nrides that could have made these times: as many as {last:.0} of equal weight at the finish (effective sample size), {:.0} or \
         more of any section\n",
        found.least_effective().0
    );
    let (widened, scarcest) = found.widened();
    if widened > 1.05 {
        text += &format!(
            "rides were scarce: at {} times may be off by {widened:.1} times --noise; the bands hold that\n",
            q.track.data.eyes[q.seen.at[scarcest].eye()].name
        );
    }
    let sections = agreed(q.track, found);
    let some = |s: &Option<Spread>| s.as_ref().map_or("-".into(), |s| percent(s.above));
    let row = |s: &OfSection| {
        vec![
            s.section.name.clone(),
            format!("{:.0}", s.effective),
            format!("{:+.3}", s.lost_s.mean),
            format!("{:+.3}", s.lost_s.low),
            format!("{:+.3}", s.lost_s.high),
            some(&s.late_s),
            some(&s.more),
            some(&s.out_m),
            some(&s.height_m),
        ]
    };
    let header = [
        "section",
        "rides",
        "lost s",
        "95 % from s",
        "95 % to s",
        "late %",
        "more %",
        "further out at the entry %",
        "higher %",
    ];
    text += &format!("\n{}\n", numbers(&header, sections.iter().map(row)));
    text += "rides: how many of equal weight tell of the section; lost: time against the planned ride in the section; late, more: share of the rides that steer later, and more, than planned;\n\
             further out, higher: share of the rides beside the planned line at the entry, and above it on the bank. 50 % says nothing.\n";
    text += &format!("\nwhat {} % of the rides or more agree on\n", percent(AGREE));
    let mut any = false;
    for s in sections.iter().filter(|s| s.section.corner.is_some()) {
        let all = said(s);
        if !all.is_empty() {
            any = true;
            text += &format!("  corner {}: {}\n", s.section.name, all.join("; "));
        }
    }
    if !any {
        text += "  nothing: these times do not tell the rides apart\n";
    }
    let more = one_more(q.track, found);
    let eye = more.iter().max_by(|a, b| a.eye.total_cmp(&b.eye));
    let video = more
        .iter()
        .filter(|m| m.video.is_some())
        .max_by(|a, b| a.video.unwrap_or(0.0).total_cmp(&b.video.unwrap_or(0.0)));
    let left = |told: f64| 1e2 * (1.0 - (1.0 - told).sqrt());
    if let (Some(eye), Some(video)) = (eye, video) {
        text += &format!(
            "\nwhat would tell these rides apart\n  one more eye: at {:.0} m, at the end of the section of {}: what is open of where the time \
             was lost shrinks by {:.0} %\n  a video of one corner: {}: by {:.0} %\n",
            eye.section.to_m,
            name(&eye.section.name),
            left(eye.eye),
            name(&video.section.name),
            left(video.video.unwrap_or(0.0))
        );
    }
    text += "\nThese are rides of a model that could have made the times, not what happened. Ask the athlete, and look at a video, before\n\
             you change anything.\n";
    text + CAUTION + "\n"
}

fn name(section: &str) -> String {
    if ["start", "finish"].contains(&section) {
        format!("the {section}")
    } else {
        format!("corner {section}")
    }
}

/// What the rides agree on in a corner, in words.
fn said(s: &OfSection) -> Vec<String> {
    let mut all = vec![];
    let mut say = |spread: &Option<Spread>, [above, below]: [&str; 2], size: &dyn Fn(f64) -> String| {
        let Some(spread) = spread else { return };
        let (share, words) =
            if spread.above >= 0.5 { (spread.above, above) } else { (1.0 - spread.above, below) };
        if share >= AGREE {
            all.push(format!(
                "{words} ({} % of the rides, {} on average)",
                percent(share),
                size(spread.mean.abs())
            ));
        }
    };
    say(&s.late_s, ["late", "early"], &|v| format!("{v:.2} s"));
    say(&s.more, ["more steering than planned", "less steering than planned"], &|v| {
        format!("{:.0} %", 1e2 * v)
    });
    say(&s.out_m, ["further out at the entry", "further in at the entry"], &|v| format!("{v:.2} m"));
    say(&s.height_m, ["higher on the bank", "lower on the bank"], &|v| format!("{v:.2} m"));
    let lost = &s.lost_s;
    let (share, words) = if lost.mean >= 0.0 { (lost.above, "loses") } else { (1.0 - lost.above, "gains") };
    if share >= AGREE && lost.mean.abs() >= WORTH_A_WORD_S {
        all.push(format!("{words} {:.3} s ({:+.3} to {:+.3})", lost.mean.abs(), lost.low, lost.high));
    }
    all
}
