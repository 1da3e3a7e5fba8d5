//! Is a trial worth its runs? What a budget can show, what it cannot, and what to do instead.

use crate::decision::{Belief, value_of_knowing_s, value_of_pairs_s};
use crate::paired_power::{
    FALSE_ALARM, USUAL_POWER, least_effect, pair_spread_s, paired_power, pairs_needed,
};

/// Published spread of the finish time of one athlete from run to run, as shares of the time `[-]`: *Bullock 2009*.
pub const PUBLISHED_SPREAD: (f64, f64) = (0.002, 0.009);
/// A trial whose chance to tell is below this hardly tells `[-]`, assumed.
pub(crate) const HARDLY: f64 = 0.20;
/// A trial whose chance to tell is from here on is likely to tell `[-]`, common practice.
pub(crate) const LIKELY: f64 = 0.80;
/// What the runs are worth where they are spent on the line instead (s), assumed: a user can say otherwise.
pub const WORTH_ON_THE_LINE_S: f64 = 0.010;

/// What a budget of pairs does for one question.
#[derive(Clone, Debug, PartialEq)]
pub struct Prospect {
    /// Pairs that are ridden.
    pub pairs: usize,
    /// Spread of one run (s).
    pub(crate) spread_s: f64,
    /// Least difference that these pairs show with a power of 80 % (s); none below two pairs.
    pub least_shown_s: Option<f64>,
    /// Pairs that the expected difference would need for 80 %; none where it is zero.
    pub pairs_needed: Option<f64>,
    /// Chance that the trial tells the two apart, over the whole prior `[-]`.
    pub chance_to_tell: f64,
    /// What the trial is worth on average for the choice (s).
    pub value_s: f64,
    /// What knowing the difference for certain would be worth (s).
    pub value_of_knowing_s: f64,
}

/// What to do with a question.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Advice {
    /// It is likely to tell.
    Run,
    /// It may tell, or is worth its runs for the choice alone.
    MayTell,
    /// It cannot tell, and the runs are worth more on the line.
    DoNotRun,
    /// There is nothing to choose: the prior already says which is faster.
    AlreadyKnown,
}

impl Advice {
    /// The sentence that a coach reads.
    pub fn words(self) -> &'static str {
        match self {
            Advice::Run => "Run this test: it is likely to tell you.",
            Advice::MayTell => "This test may tell you. Do not count on it.",
            Advice::DoNotRun => "Do not run this test, it cannot tell you; spend the runs on the line.",
            Advice::AlreadyKnown => "Do not run this test: the faster one is already known.",
        }
    }
}

/// Prospect of a trial.
///
/// The chance to tell is the power of [`paired_power`], averaged over the prior at 41 of its quantiles.
///
/// *Source*: power averaged over a prior, *Spiegelhalter 1986*. *Checked by* `exact_chance_of_a_certain_difference`,
/// `exact_six_runs_cannot_tell_a_tenth`.
pub fn prospect(difference: Belief, pairs: usize, spread_s: f64) -> Prospect {
    let sd_s = pair_spread_s(spread_s);
    let power = |d: f64| paired_power(pairs as f64, d / sd_s, FALSE_ALARM);
    let chance_to_tell = if difference.sd_s == 0.0 {
        power(difference.mean_s)
    } else {
        let points = 41;
        let normal = |k: usize| {
            let share = (k as f64 + 0.5) / points as f64;
            difference.mean_s + difference.sd_s * quantile(share)
        };
        (0..points).map(|k| power(normal(k))).sum::<f64>() / points as f64
    };
    let expected = difference.mean_s.abs() / sd_s;
    Prospect {
        pairs,
        spread_s,
        least_shown_s: least_effect(pairs, USUAL_POWER, FALSE_ALARM).map(|d| d * sd_s),
        pairs_needed: (expected > 0.0).then(|| pairs_needed(expected, USUAL_POWER, FALSE_ALARM)).flatten(),
        chance_to_tell,
        value_s: value_of_pairs_s(difference, pairs, spread_s),
        value_of_knowing_s: value_of_knowing_s(difference),
    }
}

fn quantile(share: f64) -> f64 {
    use statrs::distribution::{ContinuousCDF, Normal};
    Normal::standard().inverse_cdf(share)
}

/// What a prospect means; `worth_s` is what the same runs are worth on the line.
///
/// 1. The prior leaves less than 1 % for the other side: already known.
/// 2. Chance to tell 80 % or more: run it.
/// 3. Chance to tell below 20 %, and the value for the choice below what the runs are worth: do not run it.
/// 4. Else it may tell.
///
/// *Source*: thresholds assumed. *Checked by* `exact_six_runs_cannot_tell_a_tenth`.
pub fn advice(prospect: &Prospect, difference: Belief, worth_s: f64) -> Advice {
    let faster = difference.below_zero();
    if difference.sd_s > 0.0 && !(0.01..=0.99).contains(&faster) {
        Advice::AlreadyKnown
    } else if prospect.chance_to_tell >= LIKELY {
        Advice::Run
    } else if prospect.chance_to_tell < HARDLY && prospect.value_s < worth_s {
        Advice::DoNotRun
    } else {
        Advice::MayTell
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_chance_of_a_certain_difference() {
        let certain = Belief { mean_s: 0.2, sd_s: 0.0 };
        let found = prospect(certain, 13, 0.165);
        assert_eq!(found.chance_to_tell, paired_power(13.0, 0.2 / pair_spread_s(0.165), FALSE_ALARM));
        assert_eq!(found.value_s, 0.0); // nothing to learn
        // a nearly certain one is nearly the same: slope of the power times 1e-4
        let nearly = prospect(Belief { sd_s: 1e-5, ..certain }, 13, 0.165);
        approx::assert_abs_diff_eq!(nearly.chance_to_tell, found.chance_to_tell, epsilon = 1e-4);
    }

    #[test]
    fn exact_six_runs_cannot_tell_a_tenth() {
        // facts of the trade: at 0.165 s from run to run three pairs show 0.76 s, 45 pairs 0.10 s
        let believed = Belief { mean_s: -0.02, sd_s: 0.05 };
        let few = prospect(believed, 3, 0.165);
        assert_eq!(advice(&few, believed, WORTH_ON_THE_LINE_S), Advice::DoNotRun);
        assert!(few.chance_to_tell < 0.10, "{few:?}");
        let tenth = Belief { mean_s: -0.5, sd_s: 0.3 };
        assert_eq!(advice(&prospect(tenth, 40, 0.165), tenth, WORTH_ON_THE_LINE_S), Advice::Run);
        let known = Belief { mean_s: -0.5, sd_s: 0.1 };
        assert_eq!(advice(&prospect(known, 3, 0.165), known, WORTH_ON_THE_LINE_S), Advice::AlreadyKnown);
    }
}
