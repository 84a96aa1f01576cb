//! Treatments side by side: only where the job says so, and only where that can be done. One after another is what protects.
//!
//! A mist keeps its rule: who is in its air waits, or wears a respirator, whoever made it.

use std::collections::BTreeSet;

use jiff::civil::DateTime;

use super::TreatmentPlan;
use super::incompatible::Incompatible;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::job::{Job, Treatment};

/// Reports treatments that are to be done at the same time and cannot be.
pub(super) fn check(job: &Job, report: &mut Diagnostics) {
    for (at, treatment) in job.treatments.iter().enumerate().filter(|(_, treatment)| treatment.beside) {
        let mut refuse = |message: String, hint: &str| {
            let problem: Diagnostic = treatment.origin.key("beside").error("cannot-be-beside", message);
            report.push(problem.hint(hint));
        };
        if at == 0 {
            refuse("no treatment is before the first".to_owned(), "take `beside` out");
            continue;
        }
        let first = job.treatments[..at].iter().rposition(|other| !other.beside).unwrap_or(0);
        let group = &job.treatments[first..at];
        let (hands, crew) = (group.len() + 1, job.visit.crew.len());
        if crew < hands {
            let message = format!("{hands} treatments at the same time take a crew of {hands}, and {crew} are named");
            refuse(message, "name the others in `visit.crew`, or take `beside` out");
        }
        for other in group {
            if let Some(key) = vessels(treatment).intersection(&vessels(other)).next() {
                let message = format!("`{key}` cannot be used in two treatments at the same time");
                refuse(message, "give this treatment a sprayer and a vessel of its own, or take `beside` out");
            }
            if let Some(area) = treatment.areas.iter().find(|area| other.areas.contains(area)) {
                let area = job.areas.get(*area).map_or("", |area| area.name.as_str());
                let message = format!("the area `{area}` cannot have two treatments at the same time");
                refuse(message, "treat it once, or take `beside` out");
            }
            if Incompatible::pair(&treatment.product, &other.product).is_some() {
                let message = format!("{} and {} must not meet", treatment.product.name, other.product.name);
                refuse(message, "do one after the other: take `beside` out");
            }
        }
    }
}

/// Names to each treatment those that are done while it is. One that a mist keeps waiting is done after the others, and no two that
/// follow one another meet.
pub(super) fn name_each_other(treatments: &mut [TreatmentPlan]) {
    let ends = |t: &TreatmentPlan| t.loads.iter().map(|load| load.empty_at).max().unwrap_or(t.begins);
    let times: Vec<_> = treatments.iter().map(|t| (t.number, t.begins, ends(t))).collect();
    for treatment in treatments {
        let (begins, ended) = (treatment.begins, ends(treatment));
        let meets = |(number, from, to): &(usize, DateTime, DateTime)| {
            (*number != treatment.number && *from < ended && begins < *to).then_some(*number)
        };
        treatment.beside = times.iter().filter_map(meets).collect();
    }
}

fn vessels(treatment: &Treatment) -> BTreeSet<&str> {
    let pour = treatment.pour.iter().flat_map(|pour| [pour.mixed_in_key.as_str(), pour.into_key.as_str()]);
    pour.chain([treatment.sprayer_key.as_str()]).collect()
}
