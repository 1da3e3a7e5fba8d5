//! One `[[axis]]` of a study file.

use super::*;

const ON_A_GRID: &str = "list = [...], or from, to and steps";
const AS_POINTS: &str = "list = [...], from and to, mean and sd, or from, mode and to";
const AS_A_STEP: &str = "step = ..., in the unit of the key";

/// Least step of a slope, as a share of what the limits of its key leave `[-]`. Assumed.
const LEAST_STEP: f64 = 1e-6;

/// Reads an axis; none if its key or its values are wrong.
pub(super) fn read_axis(
    keys: &mut Keys<'_, '_>,
    design: Option<Design>,
    reading: &mut Faults,
    faults: &mut StudyFaults,
) -> Option<Axis> {
    let place = keys.place("values");
    let named = keys.required("key", reading, Keys::text);
    let list = keys.list("list", reading);
    let [from, to, mean, sd, mode, step] =
        ["from", "to", "mean", "sd", "mode", "step"].map(|key| keys.number(key, reading).map(|n| n.value));
    let steps = whole(keys, "steps", 2, MOST_CASES, reading, faults).map(|n| n as usize);
    let named = named?;
    let quantity = match quantity(&named.value) {
        Ok(quantity) => quantity,
        Err(why) => {
            faults.add(named.place, StudyProblem::NoAxis { read: named.value, why });
            return None;
        }
    };
    if let Some(list) = list {
        let values = values(&quantity, &list.value, reading, faults)?;
        if values.is_empty()
            || [from, to, mean, sd, mode, step].iter().any(Option::is_some)
            || steps.is_some()
        {
            let allowed = "one or more values in the list, and no other keys beside it";
            faults.add(list.place, StudyProblem::Impossible { allowed });
            return None;
        }
        if design == Some(Design::Slopes) {
            faults.add(list.place, StudyProblem::NoLevels { allowed: AS_A_STEP });
            return None;
        }
        return Some(Axis { quantity, levels: Levels::List(values) });
    }
    let allowed = match design {
        Some(Design::Grid) => ON_A_GRID,
        Some(Design::Slopes) => AS_A_STEP,
        _ => AS_POINTS,
    };
    let grid = design == Some(Design::Grid);
    let levels = match (from, to, mean, sd, mode, step) {
        (None, None, None, None, None, Some(step)) if design == Some(Design::Slopes) => Levels::Step(step),
        (Some(from), Some(to), None, None, None, None) if grid && steps.is_some() => {
            Levels::Range { from, to, steps }
        }
        (Some(from), Some(to), None, None, None, None) if !grid && steps.is_none() => {
            Levels::Range { from, to, steps }
        }
        (None, None, Some(mean), Some(sd), None, None) if !grid => Levels::Normal { mean, sd },
        (Some(from), Some(to), None, None, Some(mode), None) if !grid => {
            Levels::Triangular { from, mode, to }
        }
        _ => {
            faults.add(place, StudyProblem::NoLevels { allowed });
            return None;
        }
    };
    let Some(limits) = quantity.limits() else {
        faults.add(place, StudyProblem::NoLevels { allowed: "list = [...] of levels of skill" });
        return None;
    };
    let problem = match levels {
        Levels::Range { from, to, .. } if from >= to => Some("from must be less than to"),
        Levels::Normal { sd, .. } if sd <= 0.0 => Some("sd must be greater than 0"),
        Levels::Triangular { from, mode, to } if !(from < to && (from..=to).contains(&mode)) => {
            Some("from must be less than to, and mode between them")
        }
        // half a step to either side must still be told apart by what a time is computed to
        Levels::Step(step) if !(step >= LEAST_STEP * (limits.1 - limits.0)) => {
            Some("step must be at least a millionth of the way between the limits of the key")
        }
        _ => None,
    };
    if let Some(allowed) = problem {
        faults.add(place, StudyProblem::Impossible { allowed });
        return None;
    }
    if let Some(ends) = levels.ends() {
        in_limits(&quantity, ends, &place, faults);
    }
    Some(Axis { quantity, levels })
}

fn values(
    quantity: &Quantity,
    list: &[Placed<Scalar>],
    reading: &mut Faults,
    faults: &mut StudyFaults,
) -> Option<Vec<Value>> {
    let mut values = Vec::new();
    for item in list {
        match (quantity.limits(), &item.value) {
            (Some(_), Scalar::Number(v)) => {
                in_limits(quantity, (*v, *v), &item.place, faults);
                values.push(Value::Number(*v));
            }
            (None, Scalar::Text(name)) => match level(name) {
                Ok(i) => values.push(Value::Level(i)),
                Err(problem) => faults.add(item.place.clone(), problem),
            },
            (limits, got) => {
                let allowed = if limits.is_some() { "a number" } else { "a level of skill in quotes" };
                let got = match got {
                    Scalar::Number(v) => format!("the number {v}"),
                    Scalar::Text(t) => format!("the text \"{t}\""),
                };
                reading.add(item.place.clone(), FaultKind::WrongType { got, allowed: allowed.into() });
            }
        }
    }
    (values.len() == list.len()).then_some(values)
}
