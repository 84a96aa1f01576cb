//! What a log is to hold of a plan before a certificate can rest on it: a line for each load and each area, with its keys.

use crate::company::Product;
use crate::job::Job;
use crate::plan::{AreaPlan, LoadPlan, Plan, TreatmentPlan};

/// A line that the log is to have.
#[derive(Clone, Debug)]
pub struct Wanted<'p> {
    pub treatment: &'p TreatmentPlan,
    pub of: Of<'p>,
    /// The keys that it needs, as the log names them.
    pub keys: Vec<&'static str>,
}

#[derive(Clone, Copy, Debug)]
pub enum Of<'p> {
    Load(&'p LoadPlan),
    Area(&'p AreaPlan),
}

/// The lines of a plan, treatment by treatment: its loads, then its areas.
pub fn wanted<'p>(plan: &'p Plan, job: &Job) -> Vec<Wanted<'p>> {
    let mut lines = Vec::new();
    for (treatment, written) in plan.treatments.iter().zip(&job.treatments) {
        let (of_load, of_area) = (load_keys(treatment, &written.product), area_keys(treatment));
        let loads = treatment.loads.iter().map(|load| (Of::Load(load), of_load.clone()));
        let areas = treatment.areas.iter().map(|area| (Of::Area(area), of_area.clone()));
        lines.extend(loads.chain(areas).map(|(of, keys)| Wanted { treatment, of, keys }));
    }
    lines
}

/// What is to be written down of each load.
pub(super) fn load_keys(treatment: &TreatmentPlan, product: &Product) -> Vec<&'static str> {
    let strip_lots = product.strip.as_ref().is_some_and(|strip| !strip.lots.is_empty());
    let keys =
        [("mixed", true), ("lot", true), ("reading", treatment.strip.is_some()), ("strip_lot", strip_lots)].into_iter();
    keys.filter(|(_, wanted)| *wanted).map(|(key, _)| key).collect()
}

/// What is to be written down of each area.
pub(super) fn area_keys(treatment: &TreatmentPlan) -> Vec<&'static str> {
    let keys = [
        ("started", true),
        ("finished", true),
        ("wet_until", true),
        ("rewets", rewets(treatment) > 0),
        ("rinsed", treatment.rinse.is_some()),
    ];
    keys.into_iter().filter(|(_, wanted)| *wanted).map(|(key, _)| key).collect()
}

/// How often the plan asks to wet again: the first application is the work itself.
pub fn rewets(treatment: &TreatmentPlan) -> u32 {
    treatment.wetness.as_ref().map_or(0, |wetness| wetness.applications.saturating_sub(1))
}
