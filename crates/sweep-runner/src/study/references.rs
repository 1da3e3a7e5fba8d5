//! What the rides of a case are compared with: the base set-up, ridden with the same mistakes.
//!
//! Nobody chooses the ice, the air, the track or who rides. Where a study varies such conditions beside what can be
//! chosen, each case is compared with the base set-up in the conditions of that case; so the same bow at another
//! temperature is no reference. The reference is computed as a case is, so that a case that changes nothing differs
//! by nothing.

use crate::rides::beside_steps::{PLANS_S, TABLES_AND_PLANS_S, of_rides_s};
use crate::rides::paired::{Paired, Verdict, paired};
use crate::study::Study;
use crate::study::against::{Against, MOST_REFERENCES, Reason, Reference};
use crate::study::axes::Quantity;
use crate::study::case::{Base, Made};
use crate::study::file::{Design, PlanFor, StudyModel};
use crate::study::levels::Value;
use crate::study::quantity_values::put_setup;

impl Study {
    /// Plans the base set-up once for each lag of the study, and rides it where these cases are compared with it; says
    /// in words what it is about to do, and counts.
    pub fn base(&self, cases: &[usize], tell: &dyn Fn(&str)) -> Base {
        if self.file.model != StudyModel::Planned || cases.is_empty() {
            return Base::NONE;
        }
        let mut base = Base { plans: self.base_plans(tell), against: self.against(), ..Base::NONE };
        base.references = self.references(cases, &base, tell);
        base
    }

    /// What a case gives, or why it gives nothing.
    pub fn made(&self, case: usize, base: &Base) -> Result<Made, Reason> {
        let values = self.values(case);
        let mut made = self.ridden_with(&values, |_| true, base)?;
        made.told_apart = self.told_apart(&values, &made, base);
        Ok(made)
    }

    /// What the cases are compared with.
    pub fn against(&self) -> Against {
        let axes = &self.file.axes;
        let conditions = axes.iter().filter(|a| a.quantity.is_condition()).count();
        if self.file.rides.per_case == 0 {
            return Against::Nothing;
        }
        // a step of a condition has the base as its other side
        let steps = matches!(self.file.design, Design::Slopes | Design::Indices { .. });
        if steps || conditions == 0 || conditions == axes.len() {
            return Against::Base;
        }
        let mut seen: Vec<Vec<u64>> = Vec::new();
        for case in 0..self.cases() {
            let here = self.conditions(&self.values(case));
            if !seen.contains(&here) {
                seen.push(here);
            }
            if seen.len() > MOST_REFERENCES {
                return Against::BaseBeyondConditions;
            }
        }
        Against::BaseInConditions
    }

    /// The values of those axes that nobody chooses, bit for bit.
    pub(crate) fn conditions(&self, values: &[Value]) -> Vec<u64> {
        let axes = self.file.axes.iter().zip(values).filter(|(a, _)| a.quantity.is_condition());
        axes.map(|(_, v)| v.number().to_bits()).collect()
    }

    /// The references that these cases need.
    pub(crate) fn references(&self, cases: &[usize], base: &Base, tell: &dyn Fn(&str)) -> Vec<Reference> {
        let mut needed: Vec<(Vec<u64>, Vec<Value>)> = Vec::new();
        match base.against {
            Against::Nothing => {}
            Against::Base | Against::BaseBeyondConditions => needed.push((vec![], vec![])),
            Against::BaseInConditions => {
                for case in cases {
                    let values = self.values(*case);
                    let conditions = self.conditions(&values);
                    if !needed.iter().any(|n| n.0 == conditions) {
                        needed.push((conditions, values));
                    }
                }
            }
        }
        let many = needed.len();
        let references = needed.into_iter().enumerate().map(|(i, (conditions, values))| {
            tell(&format!("riding the base set-up, {} of {many} conditions", i + 1));
            let made = self.ridden_with(&values, Quantity::is_condition, base).and_then(|made| {
                let none = || "the base set-up was not ridden".to_string();
                Ok((made.ensemble.ok_or_else(none)?, made.descent.numerical_error_s))
            });
            Reference { conditions, made }
        });
        references.collect()
    }

    /// What tables and plans may move a difference from the reference by (s).
    fn beside_steps_s(&self, against: Against) -> f64 {
        let own_ice = against == Against::BaseInConditions;
        let other_tables =
            |path: &str| path.starts_with("runners.") || (path.starts_with("ice.") && !own_ice);
        if self.file.axes.iter().any(|a| other_tables(a.quantity.path())) {
            TABLES_AND_PLANS_S
        } else if self.file.rides.plan == PlanFor::EachCase {
            PLANS_S
        } else {
            0.0
        }
    }

    /// What a plan of its own may move the median of the rides by (s), of the base set-up with the values of those axes
    /// that are taken; nothing where all are ridden by the plan of the base set-up.
    pub(crate) fn by_plan_s(&self, values: &[Value], taken: impl Fn(&Quantity) -> bool) -> f64 {
        if self.file.rides.plan == PlanFor::Base {
            return 0.0;
        }
        let mut setup = self.setup.clone();
        for (axis, value) in self.file.axes.iter().zip(values).filter(|(axis, _)| taken(&axis.quantity)) {
            // a value that cannot be put makes no ride either
            let _ = put_setup(&axis.quantity, *value, &mut setup);
        }
        of_rides_s(&setup)
    }

    /// What the rides of a case say against its reference.
    pub(crate) fn told_apart(&self, values: &[Value], made: &Made, base: &Base) -> Option<(Paired, Verdict)> {
        let conditions = match base.against {
            Against::Nothing => return None,
            Against::Base | Against::BaseBeyondConditions => vec![],
            Against::BaseInConditions => self.conditions(values),
        };
        let reference = base.references.iter().find(|r| r.conditions == conditions)?;
        let (rides, numerical_s) = reference.made.as_ref().ok()?;
        let pair = paired(made.ensemble.as_ref()?, rides);
        let numerical_s = made.descent.numerical_error_s + numerical_s;
        let of_reference = |q: &Quantity| base.against == Against::BaseInConditions && q.is_condition();
        let by_plans_s = self.by_plan_s(values, |_| true).hypot(self.by_plan_s(values, of_reference));
        Some((pair, pair.verdict(numerical_s + self.beside_steps_s(base.against) + by_plans_s)))
    }
}
