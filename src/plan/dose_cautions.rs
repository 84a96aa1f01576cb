//! Cautions of doses and loads: what lies above or below the label's dose, what is left over, what must be mixed small.

use super::dose::DoseTop;
use super::{Caution, Fact, TreatmentPlan};
use crate::calc::loads::is_far;
use crate::quantity::{Number, Share};

/// More than this share of what is wanted, mixed in vain, is worth a word to the crew. No published rule.
const LEFT_OVER: (i64, i64) = (1, 10);

pub(super) fn cautions(plan: &TreatmentPlan) -> Vec<Caution> {
    let about = |code| Caution::new(code, Some(plan.number));
    let mut found = Vec::new();
    let factors = || plan.loads.iter().map(|load| &load.factor);
    let off = |factor: &Number| Fact::Share(Share::of_one((factor - &Number::one()).abs()));
    let least = factors().min().filter(|factor| **factor < Number::one());
    if let Some(least) = least {
        found.push(about("dose-under-label").with("percent", off(least)));
    }
    // Within the label's own range there is nothing to say.
    let most = factors().max().filter(|factor| **factor > Number::one() && is_far(factor));
    if let Some(most) = most.filter(|_| plan.dose.set_by != DoseTop::LabelRange) {
        found.push(about("dose-above-label").with("percent", off(most)));
    }
    let need = &plan.need;
    if need.mixed > need.total.times(&(Number::one() + Number::ratio(LEFT_OVER.0, LEFT_OVER.1))) {
        let left = &need.mixed - &need.total;
        found.push(about("left-over").with("left", Fact::Solution(left)));
    }
    if let (true, Some(keeps)) = (plan.cut_for_keeps, &plan.product.keeps) {
        found.push(about("loads-kept-small").with("keeps", Fact::Time(keeps.clone())));
    }
    found
}
