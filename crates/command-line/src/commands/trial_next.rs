//! `sagitta trial next`: which run helps the choice of set-up most.

use super::Done;
use super::trial_analyse::good_rows;
use crate::number::within;
use crate::words::{CAUTION, numbers, say};
use evidence::decision::Belief;
use evidence::next_run::{Known, State, USUAL_DRIFT_SD_S};
use evidence::sheet::Sheet;
use evidence::trial_plan::WORTH_ON_THE_LINE_S;
use std::path::PathBuf;

/// Standard deviation of a difference of set-ups of which nothing is known (s): assumed.
const UNKNOWN_SD_S: f64 = 0.15;
/// Most set-ups: with more the runs that are left cannot be planned.
const MOST_SET_UPS: usize = 8;

/// Options of `trial next`.
#[derive(clap::Args)]
#[command(
    after_help = "Example: sagitta trial next examples/timing-sheet.csv --runs-left 4 --belief \"4.5 mm=-0.05,0.10\""
)]
pub struct Options {
    /// Timing sheet with the runs so far, as for `trial analyse`; without one nothing has been ridden
    #[arg(value_name = "SHEET.csv")]
    sheet: Option<PathBuf>,
    /// Set-ups that could be ridden, separated by commas [default: those of the sheet]
    #[arg(long, value_name = "A,B,...", value_delimiter = ',')]
    setups: Vec<String>,
    /// What was believed of a set-up before all runs: the time with it less that with the first set-up, and how sure that
    /// is (standard deviation); may be repeated [default: 0 +- 0.15 s]
    #[arg(long = "belief", value_name = "NAME=S,SD")]
    beliefs: Vec<String>,
    /// Runs that are left, the next among them
    #[arg(long, default_value_t = 4, allow_hyphen_values = true, value_parser = within(1_u32, 100, ""))]
    runs_left: u32,
    /// Spread of the finish time from run to run, one athlete, one set-up: standard deviation (s)
    #[arg(long, value_name = "S", default_value_t = 0.165, allow_hyphen_values = true, value_parser = within(0.005, 5.0, "s"))]
    spread: f64,
    /// How much the ice may drift from run to run: standard deviation (s); assumed
    #[arg(long, value_name = "S", default_value_t = USUAL_DRIFT_SD_S, allow_hyphen_values = true, value_parser = within(0.0001, 1.0, "s"))]
    drift: f64,
    /// The next run is the first of another day
    #[arg(long)]
    new_day: bool,
    /// What the runs that are left are worth when they are spent on the line (s); assumed
    #[arg(long, value_name = "S", default_value_t = WORTH_ON_THE_LINE_S, allow_hyphen_values = true, value_parser = within(0.0, 1.0, "s"))]
    worth: f64,
    /// Use the good rows of a sheet that has faulty ones
    #[arg(long)]
    keep_good_rows: bool,
}

/// Reads, weighs and prints.
pub fn next_run(o: &Options) -> Done {
    let sheet = match &o.sheet {
        Some(path) => good_rows(path, o.keep_good_rows)?,
        None => Sheet::default(),
    };
    if let [one, other, ..] = sheet.athletes().as_slice() {
        return Err(format!(
            "the sheet is of more than one athlete ({one}, {other}): `trial pool` takes those"
        ));
    }
    let known = known(o, &sheet)?;
    let state = State::after(&sheet.runs, &known).ok_or("these runs and beliefs cannot be combined")?;
    say(&told(o, &sheet, &known, &state))?;
    Ok(0)
}

fn known(o: &Options, sheet: &Sheet) -> Result<Known, String> {
    let names: Vec<String> = o.setups.iter().map(|s| s.trim().to_string()).collect();
    let set_ups = if names.is_empty() { sheet.set_ups() } else { names };
    let list = set_ups.join(", ");
    if set_ups.is_empty() {
        return Err("no set-ups: name a timing sheet, or two or more set-ups by --setups A,B".into());
    }
    if set_ups.len() < 2 {
        return Err(format!("set-ups: got {list}; allowed: two or more, on the sheet or by --setups A,B"));
    }
    if set_ups.len() > MOST_SET_UPS {
        return Err(format!("--setups: got {} of them; allowed: up to {MOST_SET_UPS}", set_ups.len()));
    }
    if let Some(name) = set_ups.iter().enumerate().find(|(i, s)| s.is_empty() || set_ups[..*i].contains(s)) {
        return Err(format!("--setups {list}: got \"{}\" twice or empty; allowed: each once", name.1));
    }
    let mut beliefs = vec![Belief { mean_s: 0.0, sd_s: UNKNOWN_SD_S }; set_ups.len()];
    for text in &o.beliefs {
        let fault = |allowed: &str| format!("--belief {text}: allowed {allowed}");
        let form = "NAME=S,SD, for example \"B=-0.05,0.10\": five hundredths faster than the first, give or take ten";
        let (name, numbers) = text.rsplit_once('=').ok_or_else(|| fault(form))?;
        let (mean, sd) = numbers.split_once(',').ok_or_else(|| fault(form))?;
        let number = |t: &str| t.trim().parse::<f64>().ok().filter(|v| v.is_finite());
        let (mean_s, sd_s) = number(mean).zip(number(sd)).ok_or_else(|| fault(form))?;
        if !((-10.0..=10.0).contains(&mean_s) && (0.001..=10.0).contains(&sd_s)) {
            return Err(fault("-10 to 10 s, with a standard deviation of 0.001 to 10 s"));
        }
        match set_ups.iter().position(|s| s == name.trim()) {
            None => return Err(fault(&format!("a set-up of {list}"))),
            Some(0) => {
                let allowed = format!("any but {}, from which the differences count", set_ups[0]);
                return Err(fault(&allowed));
            }
            Some(k) => beliefs[k] = Belief { mean_s, sd_s },
        }
    }
    Ok(Known { set_ups, beliefs, spread_s: o.spread, drift_sd_s: o.drift, new_day: o.new_day })
}

fn told(o: &Options, sheet: &Sheet, known: &Known, state: &State) -> String {
    let names = &known.set_ups;
    let counted = |name: &String| {
        sheet.runs.iter().filter(|r| r.set_up.as_ref() == Some(name) && r.finish_s.is_some()).count()
    };
    let runs: Vec<String> = names.iter().map(|n| format!("{n} {}", counted(n))).collect();
    let mut text = format!(
        "runs so far: {}; left: {}\na run spreads by {} s, the ice drifts by 0 +-{} s a run (--spread, --drift)\n",
        runs.join(", "),
        o.runs_left,
        o.spread,
        o.drift
    );
    if let Some((spread_s, freedom)) = sheet.spread_s() {
        text += &format!(
            "these runs spread by {spread_s:.3} s ({freedom} degrees of freedom), a drift and pushes among it\n"
        );
    }
    let (ranks, plans) = (state.ranks(), state.worth_of_plans_s(o.runs_left as usize));
    let row = |k: usize| {
        let d = state.difference(k, 0);
        let (low, high) = d.band_s();
        let from_first = if k == 0 {
            vec!["0".to_string(), String::new(), String::new()]
        } else {
            vec![format!("{:+.3}", d.mean_s), format!("{low:+.3}"), format!("{high:+.3}")]
        };
        let mut row = vec![names[k].clone()];
        row.extend(from_first);
        row.extend(ranks[k].iter().map(|p| format!("{:.0}", 1e2 * p)));
        row
    };
    let less = format!("slower than {} by s", names[0]);
    let places: Vec<String> = (1..=names.len()).map(|r| format!("place {r} %")).collect();
    let mut header = vec!["set-up", less.as_str(), "95 % from s", "95 % to s"];
    header.extend(places.iter().map(String::as_str));
    text += &format!("\n{}\n", numbers(&header, (0..names.len()).map(row)));
    text +=
        "place: the chance that it is the fastest (1), the second, and so on; beliefs and runs together\n";
    let plan = |k: usize| plans[k].1.iter().map(|j| names[*j].as_str()).collect::<Vec<_>>().join(" ");
    let row = |k: usize| {
        vec![
            names[k].clone(),
            format!("{:.1}", 1e3 * plans[k].0),
            format!("{:.1}", 1e3 * state.worth_of_one_s(k)),
            plan(k),
        ]
    };
    let first =
        (0..names.len()).max_by(|a, b| plans[*a].0.total_cmp(&plans[*b].0).then(b.cmp(a))).unwrap_or(0);
    let header = ["next run", "all runs left worth ms", "this run alone worth ms", "best order with it"];
    text += &format!("\n{}\n", numbers(&header, (0..names.len()).map(row)));
    text += "worth: what the runs save on average, because the faster set-up is chosen more often\n";
    let ahead = plans[first].1.len();
    if ahead < o.runs_left as usize {
        text += &format!("planned for the next {ahead} runs: more orders than can be tried\n");
    }
    let best = &names[state.best()];
    text +=
        &format!("\nIf you had to choose now: {best} ({:.0} % the fastest).\n", 1e2 * ranks[state.best()][0]);
    let worth_ms = 1e3 * plans[first].0;
    if plans[first].0 < o.worth {
        text += &format!(
            "Stop testing: the runs that are left save {worth_ms:.1} ms on average, less than the {:.1} ms that they are worth \
             on the line (assumed; --worth).\n",
            1e3 * o.worth
        );
    } else {
        let equal: Vec<&str> = (0..names.len())
            .filter(|k| *k != first && plans[first].0 - plans[*k].0 < 1e-4)
            .map(|k| names[k].as_str())
            .collect();
        let or =
            if equal.is_empty() { String::new() } else { format!(" (or {}: as good)", equal.join(", ")) };
        text += &format!("Ride {} next{or}, write the time down and ask again.\n", names[first]);
    }
    text + CAUTION + "\n"
}
