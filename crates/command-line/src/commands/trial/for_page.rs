//! A trial for the page: the words and cells of the report, and the chance to tell over the number of runs.

use super::{Options, answers, questions, told};
use crate::commands::page_evidence::{parsed, parts_of};
use evidence::questions::{Prior, Question as Asked};
use evidence::trial_plan::{Advice, advice, prospect};
use page::evidence::{Question, TrialTold};

/// Pairs at which the chance to tell is drawn; half of the runs.
const PAIRS: [usize; 15] = [1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 26, 34, 45, 60];

/// Plans the trial of a command line.
pub fn planned(line: &[String]) -> Result<TrialTold, String> {
    let o: Options = parsed(line)?;
    let asked = questions(&o)?;
    if let Some(question) = asked.iter().find(|q| names_files(q)) {
        return Err(format!(
            "question \"{}\": the page reads no files: b_set = [\"KEY=VALUE\"] asks for a change of the set-up on the \
             controls; `sagitta trial plan` takes files",
            question.name
        ));
    }
    let (budget, answers) = answers(&o, &asked)?;
    let report = parts_of(|lay| told(&o, &budget, &answers, [lay, lay]));
    let questions = answers
        .iter()
        .map(|(question, belief, p)| {
            let what = advice(p, *belief, o.worth);
            let at = |pairs: &usize| {
                [2.0 * *pairs as f64, prospect(*belief, *pairs, budget.spread_s).chance_to_tell]
            };
            Question {
                name: question.name.clone(),
                advice: what.words().into(),
                do_not_run: matches!(what, Advice::DoNotRun | Advice::AlreadyKnown),
                chance: PAIRS.iter().map(at).collect(),
            }
        })
        .collect();
    Ok(TrialTold { report, questions, runs: o.runs })
}

fn names_files(question: &Asked) -> bool {
    matches!(&question.prior, Prior::Simulated { a, b, .. } if a.is_some() || b.is_some())
}
