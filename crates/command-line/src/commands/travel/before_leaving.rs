//! What training runs would settle, and what to measure before anybody leaves.

use super::asked::{Asked, AskedAthlete};
use evidence::decision::Belief;
use evidence::questions::simulated_sd_s;
use evidence::trial_plan::{WORTH_ON_THE_LINE_S, advice, prospect};
use sweep_runner::evening::travel::Travel;
use sweep_runner::rides::paired::paired;

/// Unknown numbers of a pair that are named.
const NAMED: usize = 2;

/// What a number is, without what explains it.
pub fn short(doc: &str) -> &str {
    doc.split([',', ';']).next().unwrap_or(doc)
}

/// What training runs would settle: each other pair against the first, the one worth most first.
pub fn settled(asked: &Asked, a: &AskedAthlete, found: &Travel) -> Vec<Vec<String>> {
    let t = &a.traveller;
    let Some(&first) = found.take.first() else { return vec![] };
    let mut rows: Vec<(f64, Vec<String>)> = vec![];
    for i in found.order.iter().copied().filter(|i| *i != first) {
        let rides = |i: usize| found.pairs[i].ridden[t.forecast].rides();
        let Some((b, a_rides)) = rides(i).zip(rides(first)) else { continue };
        let name = |i: usize| &t.pairs[found.pairs[i].pair].name;
        let test = format!("{} for {}", name(i), name(first));
        let lost = b.figures().lost.value;
        if lost > asked.plan.most_lost {
            // nothing is learned on the ice that is worth such rides
            let said =
                format!("Do not ride this test: it loses control in {:.0} % of the rides.", 100.0 * lost);
            rows.push((f64::NEG_INFINITY, vec![test, "-".into(), "-".into(), "-".into(), said]));
            continue;
        }
        let Some(mean_s) = paired(b, a_rides).median_s.filter(|m| m.is_finite()) else { continue };
        let swing = |i: usize| a.swings.get(found.pairs[i].pair).and_then(Option::as_ref);
        let open_s: Option<f64> = [i, first]
            .into_iter()
            .map(|i| swing(i).map_or(Some(0.0), |s| s.half_s).map(|h| (h / 1.96).powi(2)))
            .sum();
        let Some(open_s) = open_s.map(f64::sqrt) else {
            let said = "Measure first: what is unknown cannot be put into numbers.";
            rows.push((
                f64::INFINITY,
                vec![test, format!("{mean_s:+.2}"), "-".into(), "-".into(), said.into()],
            ));
            continue;
        };
        let belief = Belief { mean_s, sd_s: simulated_sd_s(mean_s).hypot(open_s) };
        let p = prospect(belief, asked.plan.runs / 2, asked.plan.spread_s);
        let said = if open_s > simulated_sd_s(mean_s) {
            "Measure first, then ask again."
        } else {
            advice(&p, belief, WORTH_ON_THE_LINE_S).words()
        };
        rows.push((
            p.value_s,
            vec![
                test,
                format!("{mean_s:+.2} ±{:.2}", belief.sd_s),
                format!("{:.0}", 100.0 * p.chance_to_tell),
                format!("{:.0}", 1e3 * p.value_s),
                said.into(),
            ],
        ));
    }
    rows.sort_by(|x, y| y.0.total_cmp(&x.0));
    rows.into_iter().map(|r| r.1).collect()
}

/// What to measure before leaving, pair by pair in their order, then what is said of all.
pub fn measure(a: &AskedAthlete, found: &Travel) -> Vec<String> {
    let mut all = vec![];
    for i in &found.order {
        let pair = found.pairs[*i].pair;
        let Some(swing) = a.swings.get(pair).and_then(Option::as_ref) else { continue };
        if swing.numbers.is_empty() {
            continue;
        }
        let named: Vec<String> = swing
            .numbers
            .iter()
            .take(NAMED)
            .map(|(doc, moved)| match moved {
                Some(s) => format!("{} (moves the guided time by {s:.2} s)", short(doc)),
                None => format!("{} (no contact is found at an end of its band)", short(doc)),
            })
            .collect();
        let more = swing.numbers.len().saturating_sub(NAMED);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        all.push(format!("pair {}: {}{more}", a.traveller.pairs[pair].name, named.join(", ")));
    }
    all.push("bow without and with the screws, both runners of every pair that travels: `bow read`".into());
    all.push("sled and athlete on the scale as they start, wet suit and snow among it".into());
    all
}

#[cfg(test)]
mod tests {
    use super::short;

    #[test]
    fn exact_a_number_is_named_without_its_explanation() {
        assert_eq!(short("where the groove begins, ahead of the middle; it runs"), "where the groove begins");
        assert_eq!(short("depth"), "depth");
    }
}
