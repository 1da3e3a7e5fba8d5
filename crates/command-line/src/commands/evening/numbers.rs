//! The numbers of an evening for other programs.

use super::asked::Asked;
use super::over::Over;
use serde_json::{Value, json};
use sweep_runner::evening::air::together_s;
use sweep_runner::evening::ridden::{Ridden, mean_mm};
use sweep_runner::evening::{Evening, Question};
use sweep_runner::plausible::points::Band;
use sweep_runner::rides::figures::Figure;

fn figure(f: Option<Figure>) -> Value {
    // a time among lost rides is no number: null
    f.map_or(Value::Null, |f| json!({"value": f.value, "error": f.error}))
}

/// One set-up that was ridden.
pub fn of(r: &Ridden) -> Value {
    match &r.rode {
        Err(why) => json!({"name": r.name, "no_ride": why}),
        Ok(rode) => {
            let f = rode.rides.figures();
            json!({
                "name": r.name,
                "planned_time_s": rode.rides.planned_time_s,
                "p10_s": figure(f.p10_s),
                "median_s": figure(f.median_s),
                "p90_s": figure(f.p90_s),
                "worst_tenth_s": figure(f.worst_tenth_s),
                "lost_share": figure(Some(f.lost)),
            })
        }
    }
}

fn place(q: &Question, found: &Evening) -> Value {
    found.advised.map_or(
        Value::Null,
        |p| json!({"pair": q.pairs[p.pair].name, "bow_mm": mean_mm(&q.bows[p.bow]), "stays": found.stays(q)}),
    )
}

/// As JSON text.
pub fn numbers(asked: &Asked, found: &Evening, over: Option<&Over>) -> String {
    let (plan, q) = (&asked.plan, &asked.question);
    let all = |rows: &[Ridden]| rows.iter().map(of).collect::<Vec<_>>();
    let others = found.others.iter().map(|o| {
        json!({"pair": q.pairs[o.pair].name, "measured": q.pairs[o.pair].measured, "bows": all(&o.ridden)})
    });
    let ices = found.ices.iter().map(|i| {
        json!({"temperature_c": i.temperature_c, "stays": i.choice.stays, "advised": i.choice.advised, "bows": all(&i.ridden)})
    });
    let air = found.air.iter().map(|a| {
        let ends = a.ends.each_ref().map(|e| {
            e.as_ref()
                .map(|c| json!({"value": c.value, "less_expected_s": c.less_base_s, "error_s": c.error_s}))
        });
        json!({"key": a.key, "ends": ends})
    });
    let hours = found.hours.iter().map(|w| {
        json!({
            "change": w.change.what,
            "class": w.change.class,
            "hours": w.change.hours,
            "gain_s": w.gain_s(),
            "told": w.told,
            "lost_share": w.lost,
            "refused": w.refused,
        })
    });
    let presses = found.presses.iter().map(|p| {
        json!({
            "section": p.section,
            "from_m": p.press.from_m,
            "to_m": p.press.to_m,
            "steering": p.press.strongest,
            "cost_s": p.cost_s,
        })
    });
    let band =
        |b: &Band| json!({"middle_s": b.middle, "half_95_s": Some(b.half()).filter(|h| h.is_finite())});
    let calibration = asked.used.as_ref().map(|used| {
        json!({
            "set": used.sets(),
            "expected": over.map(|o| band(&o.expected)),
            "change": over.and_then(|o| o.change.as_ref()).map(band),
        })
    });
    let value = json!({
        "calibration": calibration,
        "track": asked.track.track.data.name,
        "setup": q.pairs[0].setup.name,
        "skill": plan.skill.name,
        "rides": plan.rides,
        "seed": plan.seed,
        "most_lost_share": plan.most_lost,
        "whole": found.whole,
        "bow_now_mm": mean_mm(&q.bows[q.now]),
        "advised": place(q, found),
        "best_share": figure(found.best),
        "bows": all(&found.bows),
        "pairs": others.collect::<Vec<_>>(),
        "ices": ices.collect::<Vec<_>>(),
        "air": air.collect::<Vec<_>>(),
        "air_together_s": together_s(&found.air).filter(|_| !found.air.is_empty()),
        "hours": hours.collect::<Vec<_>>(),
        "presses": presses.collect::<Vec<_>>(),
    });
    format!("{value:#}\n")
}
