//! `sagitta trial`: what runs on the ice can tell, before they are spent.

pub mod for_page;

use super::compare::skill;
use super::trial_drawn::power;
use super::{Done, Stored, planned_at, trial_analyse, trial_next, trial_pool};
use crate::files::{self, ReadTrack, key_value, read_table, read_text};
use crate::number::within;
use crate::words::{Lay, as_text, every_fault, say, table};
use evidence::decision::{Belief, THRESHOLDS, words_of_chance};
use evidence::orders::orders_beside;
use evidence::paired_power::{FALSE_ALARM, USUAL_POWER};
use evidence::questions::{Prior, Question, read_questions, simulated_sd_s};
use evidence::sheet::read::read_sheet;
use evidence::stopping::{false_alarms, impatient, looks};
use evidence::trial_plan::{PUBLISHED_SPREAD, Prospect, advice, prospect};
use std::path::{Path, PathBuf};
use sweep_runner::rides::ensemble::{Ensemble, RIDES, rides};
use sweep_runner::rides::paired::paired;

/// Trials.
#[derive(clap::Subcommand)]
pub enum TrialCommand {
    /// What a number of runs can tell: pairs needed, least difference shown, order, when to stop, or not to run it
    Plan(Box<Options>),
    /// What A/B runs of a timing sheet say: difference with its band, raw and adjusted, and how sure it is
    Analyse(trial_analyse::Options),
    /// Which run next: the one that helps the choice most, and each set-up's chance to be the fastest
    Next(trial_next::Options),
    /// What set-ups do for each athlete of a team, by own runs and by those of the others
    Pool(trial_pool::Options),
}

/// Options of `trial plan`.
#[derive(clap::Args)]
pub struct Options {
    /// Questions to rank, each a `[[question]]`; without a file there is one question, from --difference
    #[arg(value_name = "QUESTIONS.toml")]
    questions: Option<PathBuf>,
    /// Runs that can be spent; two make a pair
    #[arg(long, default_value_t = 6, allow_hyphen_values = true, value_parser = within(2_u32, 400, ""))]
    runs: u32,
    /// Spread of the finish time from run to run, one athlete, one set-up: standard deviation (s)
    #[arg(long, value_name = "S", default_value_t = 0.165, allow_hyphen_values = true, value_parser = within(0.005, 5.0, "s"))]
    spread: f64,
    /// Take that spread from a timing sheet: runs of one set-up on one day, spread of the push included
    #[arg(long, value_name = "SHEET.csv", conflicts_with = "spread")]
    spread_of: Option<PathBuf>,
    /// What is believed before: time with B less time with A (s)
    #[arg(long, value_name = "S", default_value_t = 0.0, allow_hyphen_values = true, conflicts_with = "questions", value_parser = within(-10.0, 10.0, "s"))]
    difference: f64,
    /// How sure that is: standard deviation (s)
    #[arg(long, value_name = "S", default_value_t = 0.05, allow_hyphen_values = true, conflicts_with = "questions", value_parser = within(0.0, 10.0, "s"))]
    difference_sd: f64,
    /// What the same runs are worth when they are spent on the line (s); assumed
    #[arg(long, value_name = "S", default_value_t = evidence::trial_plan::WORTH_ON_THE_LINE_S, allow_hyphen_values = true, value_parser = within(0.0, 1.0, "s"))]
    worth: f64,
    /// Folder of the track, for questions to the simulator [default: the invented track Oskerdale, built in]
    #[arg(long, value_name = "DIR")]
    track: Option<PathBuf>,
    /// File of set-up A, where a question names none [default: the invented club's woman, built in]
    #[arg(long, value_name = "FILE")]
    setup: Option<PathBuf>,
    /// Skill of the athlete whom the simulator rides
    #[arg(long, default_value = "national")]
    skill: String,
    /// Simulated rides of each set-up
    #[arg(long, default_value_t = 40, allow_hyphen_values = true, value_parser = within(6_u32, 10_000, ""))]
    rides: u32,
    /// Seed of their mistakes
    #[arg(long, default_value_t = 1, allow_hyphen_values = true, value_parser = within(0, u64::MAX, ""))]
    seed: u64,
    /// Write the picture of what that number of runs can tell into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    stored: Stored,
}

impl Options {
    /// The spread of a run (s), and where it is from.
    fn spread(&self) -> Result<(f64, String), String> {
        let Some(path) = &self.spread_of else {
            let (low, high) = PUBLISHED_SPREAD;
            let published = format!(
                "(published: {:.1} to {:.1} %\nof the finish time, 0.11 to 0.50 s on 55 s; give your own by --spread \
                 or --spread-of SHEET.csv)",
                1e2 * low,
                1e2 * high
            );
            return Ok((self.spread, published));
        };
        let file = path.display().to_string();
        let sheet = read_sheet(&file, &read_table(path)?).map_err(every_fault)?;
        if !sheet.faults.is_empty() {
            tell!("rows left out:\n{}", every_fault(sheet.faults.clone()));
        }
        let none = || format!("--spread-of {file}: no set-up has two runs on one day: no spread to take");
        let (spread_s, freedom) = sheet.spread_s().ok_or_else(none)?;
        if !(0.005..=5.0).contains(&spread_s) {
            return Err(format!(
                "--spread-of {file}: its runs spread by {spread_s:.3} s; allowed are 0.005 to 5 s"
            ));
        }
        let few =
            if freedom < FEW { ": few, so the true one may be half of it or more than twice" } else { "" };
        Ok((
            spread_s,
            format!(
                "(from {file}: one set-up on one day,\npushes among it, {freedom} degrees of freedom{few})"
            ),
        ))
    }
}

/// Degrees of freedom below which a spread is known to a factor of two at best (8 leave 0.68 to 1.92 times it, by chi-square).
const FEW: usize = 8;

/// Trials of the sample that tells how often looking again and again gives a false alarm.
const SAMPLED_TRIALS: usize = 20_000;

/// Plans trials.
pub fn trial(command: &TrialCommand) -> Done {
    let o = match command {
        TrialCommand::Plan(o) => o,
        TrialCommand::Analyse(o) => return trial_analyse::analyse_sheet(o),
        TrialCommand::Next(o) => return trial_next::next_run(o),
        TrialCommand::Pool(o) => return trial_pool::pool_sheet(o),
    };
    let questions = questions(o)?;
    let (budget, answers) = answers(o, &questions)?;
    if let Some(out) = &o.out {
        let beliefs: Vec<_> = answers.iter().map(|(q, belief, _)| (q.name.as_str(), *belief)).collect();
        files::write_all(out, &power(budget.pairs, budget.spread_s, &beliefs)?)?;
        tell!("written to {}", out.display());
    }
    say(&told(o, &budget, &answers, [&as_text, &|header, rows| table(header, rows)]))?;
    Ok(0)
}

/// The questions: those of the list, or the one that is asked by --difference.
fn questions(o: &Options) -> Result<Vec<Question>, String> {
    Ok(match &o.questions {
        None => {
            let belief = Belief { mean_s: o.difference, sd_s: o.difference_sd };
            let name = "B against A".into();
            vec![Question { name, prior: Prior::Given(belief), source: "as given".into() }]
        }
        Some(file) if file.extension().is_some_and(|e| e.eq_ignore_ascii_case("csv")) => {
            let shown = file.display();
            return Err(format!(
                "{shown}: a list of questions is a TOML file, as examples/questions.toml; a timing sheet goes with --spread-of {shown}"
            ));
        }
        Some(file) => read_questions(&file.display().to_string(), &read_text(file)?).map_err(every_fault)?,
    })
}

/// A question, what is believed of it, and what the runs do for it.
type Answer<'q> = (&'q Question, Belief, Prospect);

/// What the runs of a trial are.
struct Budget {
    pairs: usize,
    /// Spread of one run (s), and where it is from.
    spread_s: f64,
    from: String,
}

/// What the runs are, and the questions by what they are worth.
fn answers<'q>(o: &Options, questions: &'q [Question]) -> Result<(Budget, Vec<Answer<'q>>), String> {
    let pairs = o.runs as usize / 2;
    let (spread_s, from) = o.spread()?;
    let asked = Asked::new(o, questions)?;
    let mut answers = Vec::with_capacity(questions.len());
    for question in questions {
        let belief = asked.belief(question)?;
        answers.push((question, belief, prospect(belief, pairs, spread_s)));
    }
    // the greatest worth first; of equal ones in the order of the file
    answers.sort_by(|a, b| b.2.value_s.total_cmp(&a.2.value_s));
    Ok((Budget { pairs, spread_s, from }, answers))
}

/// What the simulator is asked with.
struct Asked<'a> {
    o: &'a Options,
    track: Option<ReadTrack>,
}

impl<'a> Asked<'a> {
    fn new(o: &'a Options, questions: &[Question]) -> Result<Asked<'a>, String> {
        let simulated = questions.iter().any(|q| matches!(q.prior, Prior::Simulated { .. }));
        let track = simulated.then(|| files::track(o.track.as_deref())).transpose()?;
        Ok(Asked { o, track })
    }

    /// What is believed of a question: as it says, or by rides of both set-ups with the same mistakes.
    fn belief(&self, question: &Question) -> Result<Belief, String> {
        let (a, b, b_sets, sd_s) = match (&question.prior, &self.track) {
            (Prior::Given(belief), _) => return Ok(*belief),
            (Prior::Simulated { a, b, b_sets, sd_s }, _) => (a, b, b_sets, sd_s),
        };
        let Some(track) = &self.track else { return Err("no track".into()) };
        let level = skill(&self.o.skill)?;
        // files are named from where the list of questions stands
        let beside = self.o.questions.as_deref().and_then(Path::parent).unwrap_or(Path::new(""));
        let file_a = a.as_ref().map(|f| beside.join(f)).or_else(|| self.o.setup.clone());
        let file_b = b.as_ref().map(|f| beside.join(f)).or_else(|| file_a.clone());
        let sets = b_sets.iter().map(|s| key_value(s)).collect::<Result<Vec<_>, _>>()?;
        let setups = [files::setup(file_a.as_deref(), &[])?, files::setup(file_b.as_deref(), &sets)?];
        let mut ridden = Vec::with_capacity(2);
        for read in &setups {
            let prepared = planned_at(track, &read.setup, level.lag_s, &self.o.stored.store())
                .map_err(|why| format!("question \"{}\": {why}", question.name))?;
            let rides = rides(&prepared, &level, self.o.seed, 0..self.o.rides as usize, RIDES);
            ridden.push(Ensemble { planned_time_s: None, rides });
        }
        let median_s = paired(&ridden[1], &ridden[0]).median_s.filter(|m| m.is_finite());
        let mean_s = median_s.ok_or_else(|| {
            format!(
                "question \"{}\": one of the two set-ups loses control in half of the rides",
                question.name
            )
        })?;
        Ok(Belief { mean_s, sd_s: sd_s.unwrap_or_else(|| simulated_sd_s(mean_s)) })
    }
}

fn told(o: &Options, budget: &Budget, answers: &[Answer<'_>], [lay, lay_orders]: [Lay<'_>; 2]) -> String {
    let Budget { pairs, spread_s, ref from } = *budget;
    let spread = if o.spread_of.is_some() { format!("{spread_s:.3}") } else { spread_s.to_string() };
    let mut text = format!(
        "{} runs make {pairs} pairs of A and B. One athlete's finish time spreads by {spread} s from run to run \
         {from}.\n",
        o.runs
    );
    if let Some(least_s) = answers.first().and_then(|a| a.2.least_shown_s) {
        text += &format!(
            "They show a difference of {least_s:.2} s or more (power {:.0} %, two-sided {:.0} %).\n",
            1e2 * USUAL_POWER,
            1e2 * FALSE_ALARM
        );
    } else {
        text += "One pair shows nothing: it has no spread.\n";
    }
    let row = |(question, belief, p): &Answer<'_>| {
        vec![
            question.name.clone(),
            format!("{:+.3}", belief.mean_s),
            format!("{:.3}", belief.sd_s),
            format!("{:.0}", 1e2 * belief.below_zero()),
            p.pairs_needed.map_or("-".into(), |n| format!("{:.0}", n.ceil())),
            format!("{:.0}", 1e2 * p.chance_to_tell),
            format!("{:.1}", 1e3 * p.value_s),
            format!("{:.1}", 1e3 * p.value_of_knowing_s),
        ]
    };
    let header = [
        "question",
        "B less A s",
        "sd s",
        "B faster %",
        "pairs needed",
        "chance to tell %",
        "worth ms",
        "if known ms",
    ];
    text += &format!("\n{}\n\n", lay(&header, answers.iter().map(row).collect()));
    text += "B less A, sd, B faster: what is believed before the trial. Pairs needed: to show just that difference. \
             Worth: what the\ntrial saves on average because the faster one is chosen more often; if known: what \
             certain knowledge would save.\n\n";
    for (question, belief, p) in answers {
        let now = words_of_chance(belief.below_zero());
        let source = &question.source;
        text += &format!(
            "{}: {} Before the trial: {now} ({source}).\n",
            question.name,
            advice(p, *belief, o.worth).words()
        );
    }
    text += &format!("{THRESHOLDS}\n");
    if pairs >= 2 {
        text += &order_and_stop(pairs, 2 * pairs < o.runs as usize, lay_orders);
    }
    text
}

fn order_and_stop(pairs: usize, one_left: bool, lay: Lay<'_>) -> String {
    let orders = orders_beside(pairs);
    let row = |o: &evidence::orders::Order| {
        vec![
            o.letters(),
            o.changes.to_string(),
            format!("{:.2}", o.linear_bias),
            format!("{:.2}", o.quadratic_bias),
        ]
    };
    let mut text = format!(
        "\norder of the runs, the safest first\n{}\n\nA drift of 1 ms a run passes for so many ms between B and A; a \
         drift that grows with the square of the run, likewise.\n",
        lay(&["order", "changes", "linear", "quadratic"], orders.iter().map(row).collect())
    );
    if one_left {
        text += "One run is left over: ride it first, to warm up, and leave it out.\n";
    }
    let at = looks(pairs);
    if at.len() > 1 {
        let each: Vec<String> =
            at.iter().map(|l| format!("after {} pairs at {:.2}", l.pairs, l.limit_t)).collect();
        let eager = false_alarms(&impatient(pairs), SAMPLED_TRIALS, 1);
        text += &format!(
            "Stop early only where the mean difference is so many of its standard errors from zero: {}.\nWho looks \
             after every pair with the plain limit finds a difference that is not there in {:.0} % of trials.\n",
            each.join(", "),
            1e2 * eager
        );
    } else {
        text += "Do not stop early: look once, at the end.\n";
    }
    text
}
