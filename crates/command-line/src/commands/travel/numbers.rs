//! The numbers of a journey for other programs.

use super::asked::Asked;
use crate::commands::evening::numbers::of;
use serde_json::{Value, json};
use sweep_runner::evening::ridden::mean_mm;
use sweep_runner::evening::travel::Travel;

/// As JSON text.
pub fn numbers(asked: &Asked, found: &[Travel]) -> String {
    let athletes: Vec<Value> = asked
        .athletes
        .iter()
        .zip(found)
        .map(|(a, f)| {
            let t = &a.traveller;
            let name = |i: &usize| t.pairs[f.pairs[*i].pair].name.clone();
            let pairs: Vec<Value> = f
                .pairs
                .iter()
                .map(|p| {
                    let pair = &t.pairs[p.pair];
                    json!({
                        "pair": pair.name,
                        "measured": pair.measured,
                        "bow_mm": mean_mm(&t.bows[p.bow]),
                        "on_each_ice": p.ridden.iter().map(of).collect::<Vec<_>>(),
                    })
                })
                .collect();
            json!({
                "athlete": a.said.name,
                "skill": a.said.skill.name,
                "setup": a.base.name,
                "ice_temperatures_c": t.ices_c,
                "bow_to_start_from_mm": f.bow().map(|b| mean_mm(&t.bows[b])),
                "bow_range_mm": f.bow_choice.as_ref().and_then(|c| c.range).map(|r| r.map(|b| mean_mm(&t.bows[b]))),
                "bows": f.bows.iter().map(of).collect::<Vec<_>>(),
                "order": f.order.iter().map(name).collect::<Vec<_>>(),
                "take": f.take.iter().map(name).collect::<Vec<_>>(),
                "pairs": pairs,
                "whole": f.whole,
            })
        })
        .collect();
    let value = json!({
        "track": asked.track.track.data.name,
        "rides": asked.plan.rides,
        "seed": asked.plan.seed,
        "most_lost_share": asked.plan.most_lost,
        "athletes": athletes,
    });
    format!("{value:#}\n")
}
