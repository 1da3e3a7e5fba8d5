//! One rule for choosing among set-ups that were ridden with the same mistakes: used wherever a set-up is advised.
//!
//! ```text
//!   1. out:    more rides lost than `most_lost` of all, whatever the time
//!   2. front:  of the rest, the least median of all rides, lost ones last; equal medians: the least P90
//!   3. alike:  the paired difference to the front is not told slower, or its median is below 0.01 s; what loses
//!              control less often than the front is told slower by its time all the same;
//!              bands hold for all comparisons with the front together, since it is the best of many,
//!              and are widened by the errors of both computations
//!   4. range:  the run of neighbours around the front that are alike (set-ups in an order, such as bow)
//!   5. advice: what is on the sled now, where it lies in the range; else the least change from it of those in the
//!              range whose P90 is not told from the least one there (two standard errors of both); where nothing is
//!              on the sled, the least P90, then the least mean of the slowest tenth
//! ```
//!
//! *Valid for* six rides and more of each. *Assumes* that a change which cannot be told from none is not worth its
//! risk. *Source*: rules 1, 3 and 5 are common practice, no source; 5 % and 0.01 s (the step of a timing sheet) are
//! assumed. *Checked by* `exact_out_whatever_the_time`, `exact_range_is_a_run_of_neighbours`,
//! `exact_what_is_on_the_sled_stays`, `exact_least_change_of_those_alike`, `exact_all_out_is_no_choice`.

use crate::rides::beside_steps::TABLES_AND_PLANS_S;
use crate::rides::ensemble::Ensemble;
use crate::rides::figures::Figure;
use crate::rides::paired::{Paired, Verdict, paired_among};

/// Medians closer than this are alike (s): the step of a timing sheet.
pub(crate) const STEP_S: f64 = 0.01;
/// Slow rides further apart than this many standard errors are told apart.
const TOLD_AT: f64 = 2.0;

/// A set-up that was ridden.
#[derive(Clone, Copy, Debug)]
pub struct Candidate<'a> {
    /// Its rides, with the same seeds as those of the others; none where no ride could be planned.
    pub rides: Option<&'a Ensemble>,
    /// Numerical error of its planned time (s).
    pub numerical_s: f64,
    /// What its plan may move the median of its rides by (s), see [`crate::rides::beside_steps::of_rides_s`].
    pub by_plan_s: f64,
}

/// How one of them stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Standing {
    /// No ride could be planned.
    NoRide,
    /// Loses control in too many rides.
    Out {
        /// Share of rides lost `[-]`.
        lost: f64,
    },
    /// The least median of those that are left.
    Front,
    /// Cannot be told from the front.
    Alike {
        /// Median of the paired differences (s).
        behind_s: f64,
    },
    /// Told slower than the front.
    Slower {
        /// Median of the paired differences (s); infinite where it falls among lost rides.
        behind_s: f64,
    },
    /// Not told slower, yet told to lose control more often than the front.
    LosesMore {
        /// Median of the paired differences (s).
        behind_s: f64,
    },
}

/// What the rule says.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// One by one, in the order given.
    pub standings: Vec<Standing>,
    /// The front; none where all are out.
    pub front: Option<usize>,
    /// First and last of the run of neighbours around the front that are alike.
    pub range: Option<[usize; 2]>,
    /// What is advised.
    pub advised: Option<usize>,
    /// True where what is on the sled stays.
    pub stays: bool,
}

/// A figure as a number to order by; what is missing comes last.
fn order_s(figure: Option<Figure>) -> f64 {
    figure.map_or(f64::INFINITY, |f| f.value)
}

/// Chooses; `now` is the place of what is on the sled, where it is one of them. `most_lost` is usually [`crate::rides::paired::ALLOWED_LOST`].
pub fn choose(candidates: &[Candidate<'_>], now: Option<usize>, most_lost: f64) -> Choice {
    let figures: Vec<_> = candidates.iter().map(|c| c.rides.map(Ensemble::figures)).collect();
    let fits = |i: &usize| figures[*i].as_ref().is_some_and(|f| f.lost.value <= most_lost);
    let keys = |i: usize| {
        figures[i]
            .as_ref()
            .map_or([f64::INFINITY; 3], |f| [f.median_s, f.p90_s, f.worst_tenth_s].map(order_s))
    };
    let before = |a: usize, b: usize, from: usize| {
        let (a, b) = (keys(a), keys(b));
        (from..3).map(|k| a[k].total_cmp(&b[k])).find(|o| o.is_ne()).unwrap_or(std::cmp::Ordering::Equal)
    };
    let front = (0..candidates.len()).filter(fits).min_by(|a, b| before(*a, *b, 0));
    let others = candidates.iter().filter(|c| c.rides.is_some()).count().saturating_sub(1);
    let against = |i: usize, front: usize| -> Option<(Paired, bool)> {
        let (mine, other) = (candidates[i], candidates[front]);
        let pair = paired_among(mine.rides?, other.rides?, others);
        // steps whose error was not looked at leave tables and plans
        let steps_s = [mine, other].map(|c| if c.numerical_s.is_finite() { c.numerical_s } else { 0.0 });
        let by_plans_s = mine.by_plan_s.hypot(other.by_plan_s);
        let error_s = steps_s[0] + steps_s[1] + TABLES_AND_PLANS_S + by_plans_s;
        let verdict = pair.verdict(error_s);
        // by its time, whether or not it loses control less often than the front
        let slower = matches!(verdict, Verdict::Slower | Verdict::LosesMore)
            || verdict == Verdict::LosesLess && pair.times_apart(error_s)[1];
        Some((pair, slower))
    };
    let standing = |i: usize| match (&figures[i], front) {
        (None, _) => Standing::NoRide,
        (Some(f), _) if f.lost.value > most_lost => Standing::Out { lost: f.lost.value },
        (Some(_), Some(front)) if front != i => match against(i, front) {
            None => Standing::NoRide,
            Some((pair, worse)) => {
                let behind_s = pair.median_s.unwrap_or(f64::INFINITY);
                if worse && behind_s >= STEP_S {
                    Standing::Slower { behind_s }
                } else if pair.loses_more(0) {
                    Standing::LosesMore { behind_s }
                } else {
                    Standing::Alike { behind_s }
                }
            }
        },
        (Some(_), _) => Standing::Front,
    };
    let standings: Vec<Standing> = (0..candidates.len()).map(standing).collect();
    let alike = |i: &usize| matches!(standings[*i], Standing::Front | Standing::Alike { .. });
    let range = front.map(|f| {
        let low = (0..f).rev().take_while(|i| alike(i)).last().unwrap_or(f);
        let high = (f + 1..candidates.len()).take_while(|i| alike(i)).last().unwrap_or(f);
        [low, high]
    });
    let stays = now.zip(range).is_some_and(|(now, [low, high])| (low..=high).contains(&now));
    let far = |i: usize| now.map_or(0, |n| n.abs_diff(i));
    let advised = if stays {
        now
    } else {
        range.and_then(|[low, high]| {
            let safest = (low..=high).min_by(|a, b| before(*a, *b, 1))?;
            let p90 = |i: usize| figures[i].as_ref().and_then(|f| f.p90_s);
            let as_safe = |i: &usize| match (p90(*i), p90(safest)) {
                (Some(a), Some(b)) => {
                    // an error that reaches in among lost rides tells nothing
                    let error = a.error.hypot(b.error);
                    error.is_finite() && a.value - b.value <= TOLD_AT * error
                }
                _ => *i == safest,
            };
            let nearer = |a: &usize, b: &usize| far(*a).cmp(&far(*b)).then_with(|| before(*a, *b, 1));
            (low..=high).filter(|i| *i == safest || as_safe(i)).min_by(nearer)
        })
    };
    Choice { standings, front, range, advised, stays }
}

impl Choice {
    /// What the rule says, in a few sentences; `names` in the order of the set-ups.
    pub fn words(&self, names: &[String], most_lost: f64) -> String {
        self.said(names, most_lost, true)
    }

    fn said(&self, names: &[String], most_lost: f64, advises: bool) -> String {
        let named = |of: &dyn Fn(&Standing) -> Option<String>| -> Vec<String> {
            let each = names.iter().zip(&self.standings);
            each.filter_map(|(name, s)| of(s).map(|more| format!("{name}{more}"))).collect()
        };
        let out = named(&|s| match s {
            Standing::Out { lost } => Some(format!(" ({:.0} %)", 100.0 * lost)),
            _ => None,
        });
        let slower = named(&|s| match s {
            Standing::Slower { behind_s } if behind_s.is_finite() => Some(format!(" ({behind_s:+.2} s)")),
            Standing::Slower { .. } => Some(" (lost)".into()),
            _ => None,
        });
        let loses_more = named(&|s| matches!(s, Standing::LosesMore { .. }).then(String::new));
        let none = named(&|s| matches!(s, Standing::NoRide).then(String::new));
        let percent = 100.0 * most_lost;
        let Some((front, [low, high])) = self.front.zip(self.range) else {
            return format!(
                "no advice: every one loses control in more than {percent:.0} % of its rides, or has none: {}\n",
                [out, none].concat().join(", ")
            );
        };
        let mut text = format!("fastest in the median: {}", names[front]);
        if low < high {
            text += &format!("; cannot be told from it: {} to {}", names[low], names[high]);
        }
        for (what, list) in [
            ("slower".to_string(), slower),
            ("loses control more often".to_string(), loses_more),
            (format!("out, control lost in more than {percent:.0} % of the rides"), out),
            ("no ride".to_string(), none),
        ] {
            if !list.is_empty() {
                text += &format!("\n  {what}: {}", list.join(", "));
            }
        }
        match self.advised {
            Some(i) if self.stays => text += &format!("\n  leave it as it is, {}", names[i]),
            Some(i) if advises => text += &format!("\n  advised of these: {}", names[i]),
            _ => {}
        }
        text + "\n"
    }

    /// The same of set-ups in the order of one number: it also says where the fastest is the first or the last of them,
    /// so that nothing was ridden on one side of it, and then advises nothing.
    pub fn words_in_order(&self, names: &[String], most_lost: f64) -> String {
        let last = names.len().saturating_sub(1);
        match self.front {
            Some(i) if names.len() > FEWEST_IN_ORDER && (i == 0 || i == last) => {
                let text = self.said(names, most_lost, false);
                let which = if i == 0 { "first" } else { "last" };
                let end = "of those that were ridden: that is no best, since what lies beyond is not known";
                // what is on the sled stays whatever lies beyond
                let advice = if self.stays { "" } else { "no advice: " };
                text + &format!("  {advice}{} is the {which} {end}\n", names[i])
            }
            _ => self.words(names, most_lost),
        }
    }
}

/// Fewer set-ups than these and one more are hardly a row in which a best could lie inside.
const FEWEST_IN_ORDER: usize = 3;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rides::ensemble::RideRow;
    use crate::rides::paired::ALLOWED_LOST;
    use sled_dynamics::motion::descent::Loss;

    #[test]
    fn exact_the_end_of_a_row_is_no_best() {
        let names: Vec<String> = (1..=5).map(|i| format!("{i} mm")).collect();
        let said = |times_s: [f64; 5]| {
            let all = times_s.map(|t| rides(t, 0));
            let candidates: Vec<Candidate<'_>> =
                all.iter().map(|e| Candidate { rides: Some(e), numerical_s: 0.0, by_plan_s: 0.0 }).collect();
            choose(&candidates, None, ALLOWED_LOST).words_in_order(&names, ALLOWED_LOST)
        };
        assert!(said([56.4, 56.3, 56.2, 56.1, 56.0]).contains("5 mm is the last of those that were ridden"));
        assert!(said([56.0, 56.1, 56.2, 56.3, 56.4]).contains("1 mm is the first of those that were ridden"));
        assert!(said([56.0, 56.1, 56.2, 56.3, 56.4]).contains("no advice: 1 mm is the first"));
        assert!(!said([56.0, 56.1, 56.2, 56.3, 56.4]).contains("advised"));
        // the first of them is on the sled: one sentence, not two that contradict each other
        let all = [56.0, 56.1, 56.2, 56.3, 56.4].map(|t| rides(t, 0));
        let stays = chosen(&all, Some(0)).words_in_order(&names, ALLOWED_LOST);
        assert!(stays.contains("leave it as it is, 1 mm") && !stays.contains("no advice"), "{stays}");
        assert!(said([56.4, 56.3, 56.0, 56.1, 56.2]).contains("advised of these: 3 mm"));
        assert!(!said([56.4, 56.3, 56.0, 56.1, 56.2]).contains("of those that were ridden"));
    }

    /// Twenty rides around a time, the first `lost` of them lost; the same pattern for all.
    fn rides(time_s: f64, lost: usize) -> Ensemble {
        let row = |i: usize| RideRow {
            finish_time_s: (i >= lost).then_some(time_s + 0.01 * (i % 5) as f64),
            touches: 0,
            lip_touches: 0,
            lost: (i < lost).then_some((500.0, Loss::Halted)),
        };
        Ensemble { planned_time_s: Some(time_s), rides: (0..20).map(row).collect() }
    }

    #[test]
    fn exact_tables_and_plans_widen_a_choice_whether_steps_are_known_or_not() {
        // 15 ms apart in every ride, which tables and plans may do by themselves (20 ms); 25 ms, which they do not
        for (apart_s, alike) in [(0.015, true), (0.025, false)] {
            let all = [rides(56.0, 0), rides(56.0 + apart_s, 0)];
            for numerical_s in [0.0, 1e-5, f64::NAN] {
                let candidates =
                    all.each_ref().map(|e| Candidate { rides: Some(e), numerical_s, by_plan_s: 0.0 });
                let standing = choose(&candidates, None, ALLOWED_LOST).standings[1];
                assert_eq!(
                    matches!(standing, Standing::Alike { .. }),
                    alike,
                    "{apart_s} {numerical_s}: {standing:?}"
                );
            }
        }
    }

    #[test]
    fn exact_slower_and_safer_is_slower() {
        // three of twenty lost with the front, which is allowed here, none with what is a second slower: told apart
        // by neither in twenty rides, by both in a hundred
        let many = |e: Ensemble| {
            let rides = (0..5).flat_map(|_| e.rides.clone()).collect();
            Ensemble { rides, ..e }
        };
        let all = [many(rides(56.0, 3)), many(rides(57.0, 0))];
        let candidates =
            all.each_ref().map(|e| Candidate { rides: Some(e), numerical_s: 0.0, by_plan_s: 0.0 });
        let choice = choose(&candidates, None, 0.2);
        assert_eq!((choice.front, choice.range), (Some(0), Some([0, 0])));
        assert!(matches!(choice.standings[1], Standing::Slower { behind_s } if behind_s > 0.9), "{choice:?}");
    }

    #[test]
    fn exact_what_a_plan_may_do_is_not_told_slower() {
        let all = [rides(56.0, 0), rides(56.08, 0)];
        // two plans together 0.0707 s and the tables' 0.02 s; one of them 0.05 s and the tables
        for (by_plan_s, alike) in [([0.0, 0.0], false), ([0.05, 0.05], true), ([0.05, 0.0], false)] {
            let candidates =
                [0, 1].map(|i| Candidate { rides: Some(&all[i]), numerical_s: 0.0, by_plan_s: by_plan_s[i] });
            let standing = choose(&candidates, None, ALLOWED_LOST).standings[1];
            assert_eq!(matches!(standing, Standing::Alike { .. }), alike, "{by_plan_s:?}: {standing:?}");
        }
    }

    fn chosen(all: &[Ensemble], now: Option<usize>) -> Choice {
        let candidates: Vec<_> =
            all.iter().map(|e| Candidate { rides: Some(e), numerical_s: 0.0, by_plan_s: 0.0 }).collect();
        choose(&candidates, now, ALLOWED_LOST)
    }

    #[test]
    fn exact_out_whatever_the_time() {
        // a second faster, and lost in three of twenty
        let c = chosen(&[rides(55.0, 3), rides(56.0, 0)], None);
        assert_eq!(c.standings[0], Standing::Out { lost: 0.15 });
        assert_eq!((c.front, c.advised), (Some(1), Some(1)));
    }

    #[test]
    fn exact_range_is_a_run_of_neighbours() {
        // 0.015 s behind is within what tables and plans move; 0.1 s is not; beyond that one the last is alike again, and
        // no neighbour of the front
        let c = chosen(
            &[rides(56.015, 0), rides(56.0, 0), rides(56.005, 0), rides(56.1, 0), rides(56.001, 0)],
            None,
        );
        assert_eq!((c.front, c.range), (Some(1), Some([0, 2])));
        assert!(matches!(c.standings[3], Standing::Slower { behind_s } if (behind_s - 0.1).abs() < 1e-9));
        assert!(matches!(c.standings[4], Standing::Alike { .. }));
    }

    #[test]
    fn exact_what_is_on_the_sled_stays() {
        let all = [rides(56.015, 0), rides(56.0, 0), rides(56.1, 0)];
        let c = chosen(&all, Some(0));
        assert!(c.stays && c.advised == Some(0));
        let c = chosen(&all, Some(2));
        assert!(!c.stays && c.advised == Some(1));
    }

    #[test]
    fn exact_least_change_of_those_alike() {
        let mut all = [rides(56.2, 0), rides(56.005, 0), rides(56.0, 0), rides(56.005, 0)];
        let advised = |all: &[Ensemble], now| chosen(all, now).advised;
        assert_eq!((advised(&all, Some(0)), advised(&all, Some(3))), (Some(1), Some(3)));
        // nothing on the sled: the least slow rides
        assert_eq!(advised(&all, None), Some(2));
        // three rides of twenty three seconds slower: its slow rides are told worse
        for row in &mut all[1].rides[..3] {
            row.finish_time_s = Some(59.0);
        }
        assert_eq!(advised(&all, Some(0)), Some(2));
        // one ride of twenty lost is allowed, but then nobody knows how slow its slow rides are
        all[1] = rides(56.005, 1);
        assert_eq!(advised(&all, Some(0)), Some(2));
    }

    #[test]
    fn exact_all_out_is_no_choice() {
        let c = chosen(&[rides(55.0, 5), rides(56.0, 2)], Some(0));
        assert_eq!((c.front, c.range, c.advised, c.stays), (None, None, None, false));
    }
}
