//! `sagitta trial pool`: what set-ups do for each athlete of a team, with what the runs of the others say.

use super::Done;
use super::trial_analyse::good_rows;
use crate::number::within;
use crate::words::{CAUTION, numbers, say};
use evidence::decision::{BAND_95, Belief};
use evidence::pooling::{BETWEEN_SD_S, Between, Effect, Team, pool};
use std::path::PathBuf;

/// Options of `trial pool`.
#[derive(clap::Args)]
#[command(after_help = "Example: sagitta trial pool examples/team-sheet.csv")]
pub struct Options {
    /// Timing sheet as for `trial analyse`, with a column `athlete`, and `date` where there is more than one day
    #[arg(value_name = "SHEET.csv")]
    sheet: PathBuf,
    /// Set-ups to compare, separated by commas; differences are from the first [default: those of the sheet]
    #[arg(long, value_name = "A,B,...", value_delimiter = ',')]
    setups: Vec<String>,
    /// Spread of the finish time from run to run, one athlete, one set-up (s) [default: from the sheet, or 0.165 where it
    /// has too few runs]
    #[arg(long, value_name = "S", allow_hyphen_values = true, value_parser = within(0.005, 5.0, "s"))]
    spread: Option<f64>,
    /// Use the good rows of a sheet that has faulty ones
    #[arg(long)]
    keep_good_rows: bool,
}

/// Spread of a run where neither sheet nor user says (s): as in `trial plan`.
const USUAL_SPREAD_S: f64 = 0.165;

/// Reads, pools and prints.
pub fn pool_sheet(o: &Options) -> Done {
    let file = o.sheet.display().to_string();
    let sheet = good_rows(&o.sheet, o.keep_good_rows)?;
    let there = sheet.set_ups();
    let set_ups = if o.setups.is_empty() { there.clone() } else { o.setups.clone() };
    if let Some(name) = set_ups.iter().find(|s| !there.contains(s)) {
        return Err(format!("--setups {name}: not on the sheet; allowed are {}", there.join(", ")));
    }
    if let Some((i, name)) = set_ups.iter().enumerate().find(|(i, s)| set_ups[..*i].contains(s)) {
        return Err(format!(
            "--setups: got {name} twice, the second as number {}; allowed: each once",
            i + 1
        ));
    }
    if sheet.athletes().is_empty() {
        return Err(format!(
            "{file} (athlete): got no such column; allowed: a column `athlete` with the name of who rode"
        ));
    }
    let nobody: Vec<String> =
        sheet.runs.iter().filter(|r| r.athlete.is_none()).map(|r| r.line.to_string()).collect();
    if !nobody.is_empty() {
        tell!("without an athlete, left out: line {}", nobody.join(", "));
    }
    let team =
        pool(&sheet.runs, &set_ups, o.spread, USUAL_SPREAD_S).map_err(|why| format!("{file}: {why}"))?;
    say(&told(&team))?;
    Ok(0)
}

fn pair(name: &str, runs: String, raw: Option<Belief>, e: &Effect) -> Vec<String> {
    let band = |b: Belief| {
        format!(
            "{:+.3} ({:+.3} to {:+.3})",
            b.mean_s,
            b.mean_s - BAND_95 * b.sd_s,
            b.mean_s + BAND_95 * b.sd_s
        )
    };
    vec![
        name.into(),
        runs,
        raw.map_or("-".into(), band),
        format!("{:+.3} ({:+.3} to {:+.3})", e.belief.mean_s, e.band_s.0, e.band_s.1),
    ]
}

fn told(team: &Team) -> String {
    let first = &team.set_ups[0];
    let mut text = String::new();
    let all: usize = team.athletes.iter().map(|a| a.runs).sum();
    text += &format!("{} athletes, {} weeks, {all} runs\n", team.athletes.len(), team.weeks);
    text += &match team.spread_s {
        (s, Some(freedom)) => {
            format!("a run spreads by {s:.3} s, from these runs ({freedom} degrees of freedom)\n")
        }
        (s, None) => {
            format!("a run spreads by {s:.3} s, given or assumed: the sheet has too few runs to tell\n")
        }
    };
    for (k, set_up) in team.set_ups.iter().enumerate().skip(1) {
        text += &format!("\n{set_up} less {first}, s (95 %)\n");
        let mut rows: Vec<Vec<String>> =
            team.athletes.iter().map(|a| pair(&a.name, a.runs.to_string(), a.raw[k], &a.pooled[k])).collect();
        rows.push(pair("team", all.to_string(), None, &team.team[k]));
        text += &format!(
            "{}\n",
            numbers(&["athlete", "runs", "by own runs alone", "with the team's runs"], rows)
        );
    }
    let mut header = vec!["chance to be the fastest %"];
    header.extend(team.set_ups.iter().map(String::as_str));
    let row = |name: &str, effects: &[Effect]| {
        let mut row = vec![name.to_string()];
        row.extend(effects.iter().map(|e| format!("{:.0}", 1e2 * e.best)));
        row
    };
    let mut rows: Vec<Vec<String>> = team.athletes.iter().map(|a| row(&a.name, &a.pooled)).collect();
    rows.push(row("team", &team.team));
    text += &format!("\n{}\n\n", numbers(&header, rows));
    let between = |what: &str, b: Option<Between>, one: &str| match b {
        Some(b) => format!(
            "from {what} to {what} a difference varies by {:.3} s (95 % below {:.3} s)\n",
            b.mean_s, b.below_s
        ),
        None => format!("{one}\n"),
    };
    text += &between("athlete", team.between_athletes, "one athlete: there is no team to learn from");
    text +=
        &between("week", team.between_weeks, "one week: what another week would change is not in the bands");
    if team.between_athletes.is_some() && team.weight_of_team.0.is_finite() {
        let (least, most) = team.weight_of_team;
        text += &format!(
            "The runs of an athlete count for {:.0} to {:.0} % of the athlete's own line, those of the team for the rest: the fewer \
             runs of one's own, the more the team's.\n",
            1e2 * (1.0 - most),
            1e2 * (1.0 - least)
        );
    }
    text += &format!(
        "believed before: differences vary by some {BETWEEN_SD_S} s or less between athletes, and between weeks (assumed)\n"
    );
    text + CAUTION + "\n"
}
