//! Whether a treatment, and the visit, was made at all. What was not made is not said to be done: no amounts, no areas, no re-entry.

use super::conformity::{entries_of, entry_of};
use crate::calc::Amount;
use crate::job::{Applied, AppliedLoad};
use crate::plan::{LoadPlan, Plan, TreatmentPlan};
use crate::quantity::Volume;

/// How much of a treatment or a visit was made, by the log.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Made {
    /// There is no log, or it does not say.
    #[default]
    Unknown,
    /// Nothing: every area was left out.
    Not,
    /// Some of it.
    Partly,
    /// All areas were treated and all loads mixed.
    Whole,
}

/// How much of a treatment was made: not at all where the log says of every area that it was left out.
pub fn treatment_made(treatment: &TreatmentPlan, applied: Option<&Applied>) -> Made {
    let Some(applied) = applied else { return Made::Unknown };
    let entries = || treatment.areas.iter().map(|a| entry_of(applied, treatment.number, &a.name));
    if entries().any(|entry| entry.is_none()) {
        return Made::Unknown;
    }
    let treated = entries().flatten().filter(|entry| entry.skipped.is_none()).count();
    let mixed = |load: &LoadPlan| last_mixed(applied, treatment.number, load.number).is_some();
    match treated {
        0 => Made::Not,
        _ if treated == treatment.areas.len() && treatment.loads.iter().all(mixed) => Made::Whole,
        _ => Made::Partly,
    }
}

/// How much of a visit was made: not at all where none of its treatments was.
pub fn visit_made(plan: &Plan, applied: Option<&Applied>) -> Made {
    let mut each = plan.treatments.iter().map(|t| treatment_made(t, applied));
    let Some(first) = each.next() else { return Made::Unknown };
    each.fold(first, |all, one| match (all, one) {
        (Made::Unknown, _) | (_, Made::Unknown) => Made::Unknown,
        (all, one) if all == one => all,
        _ => Made::Partly,
    })
}

/// The entry of a load that went into the areas: the last one, if it says that it was mixed.
pub fn last_mixed(applied: &Applied, treatment: usize, load: usize) -> Option<&AppliedLoad> {
    entries_of(applied, treatment, load).last().filter(|entry| entry.skipped.is_none())
}

/// What was mixed for a treatment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MixedInAll {
    /// Product.
    pub product: Amount,
    /// Solution.
    pub solution: Volume,
    /// Loads mixed, as often as they were.
    pub loads: usize,
    /// Those of them whose amounts the log holds; of the others the plan's are taken.
    pub measured: usize,
}

/// Every load of a treatment that the log says was mixed: each as often as it was, or with `last_only` the one time that went
/// into areas.
pub fn mixed_in_all(treatment: &TreatmentPlan, applied: &Applied, last_only: bool) -> MixedInAll {
    let mut all = MixedInAll { product: Amount::None, solution: Volume::zero(), loads: 0, measured: 0 };
    for load in &treatment.loads {
        let entries: Vec<&AppliedLoad> = if last_only {
            last_mixed(applied, treatment.number, load.number).into_iter().collect()
        } else {
            let every = entries_of(applied, treatment.number, load.number);
            every.filter(|entry| entry.skipped.is_none()).collect()
        };
        for entry in entries {
            all.loads += 1;
            let ready = treatment.ratio.is_ready_to_use();
            let (product, solution) = match (&entry.water, &entry.product) {
                (Some(water), Some(product)) => {
                    all.measured += 1;
                    (product, water + &product.added_volume())
                }
                // of a product that is ready to use, what is written as water is the product itself
                (Some(water), None) if ready => {
                    all.measured += 1;
                    (&load.product, water.clone())
                }
                _ => (&load.product, load.solution.clone()),
            };
            all.solution = &all.solution + &solution;
            // what is measured in another way than the plan says is an error where the log is read
            all.product = all.product.plus(product).unwrap_or(all.product);
        }
    }
    all
}
