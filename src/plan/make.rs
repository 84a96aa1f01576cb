//! From a job to its plan.

use jiff::civil::DateTime;

use super::flammable::flammables;
use super::incompatible::{incompatible_pairs, tanks};
use super::shared_air::Airs;
use super::treatment::{self, Start};
use super::{Plan, Reentry, beside, cautions, reentry};
use crate::calc::CalcError;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::job::Job;
use crate::quantity::{Number, Time};
use crate::yaml::Origin;

/// The form of the plan's JSON; it changes when a field changes its meaning or goes.
const FORM: &str = "decant plan 3";

/// Works out the plan of a job. Whatever cannot be worked out is put into `report`, all of it at once.
pub fn plan(job: &Job, report: &mut Diagnostics) -> Option<Plan> {
    let mut treatments = Vec::new();
    let mut all = incompatible_pairs(job);
    all.extend(tanks(job, report));
    if job.company.link_is_invented() {
        all.push(super::Caution::new("link-invented", None));
    }
    beside::check(job, report);
    let mut sprayed_by: DateTime = job.visit.start;
    // when the treatments began that are done at the same time
    let mut group_began = sprayed_by;
    let mut airs = Airs::default();
    for (i, written) in job.treatments.iter().enumerate() {
        let entry = airs.enter(written, job, if written.beside { group_began } else { sprayed_by });
        let start = Start { number: i + 1, at: entry.at, in_mist: entry.in_mist() };
        if let Some(treatment) = treatment::work_out(written, job, &start, report) {
            let empty = treatment.loads.iter().map(|l| l.empty_at).max().unwrap_or(entry.at);
            if !written.beside {
                group_began = entry.at;
            }
            sprayed_by = sprayed_by.max(empty);
            airs.leave(&treatment);
            all.extend(entry.cautions(&treatment));
            all.extend(cautions::of_treatment(written, &treatment, job));
            treatments.push(treatment);
        }
    }
    beside::name_each_other(&mut treatments);
    all.extend(flammables(job, &treatments, report));
    if report.has_errors() || treatments.len() < job.treatments.len() || !fits(job, sprayed_by, report) {
        return None;
    }
    all.extend(reentry::back_for_another(&treatments));
    let wet_until = treatments.iter().map(|t| t.wet_until).max().unwrap_or(sprayed_by);
    // One time for the whole site, and never before the end of the work.
    let ends = Reentry::At(wet_until.max(sprayed_by));
    let reentry = treatments.iter().map(|t| t.reentry).fold(ends, Reentry::max);
    if reentry == Reentry::NotKnown {
        // it speaks of the time that is printed, and none is
        all.retain(|caution| caution.code != "reentry-unknown");
    }
    treatments.iter_mut().for_each(|treatment| treatment.reentry = reentry);
    let mut equipment: Vec<_> = treatments.iter().flat_map(|t| t.equipment.iter().map(|w| w.item)).collect();
    equipment.sort_unstable();
    equipment.dedup();
    all.sort();
    all.dedup();
    let company = &job.company;
    // An e-mail address is delivery's business and nobody else's: the record that a printed code leads to has none.
    let mut client = job.client.clone();
    client.email = None;
    Some(Plan {
        form: FORM,
        job: job.number.clone(),
        company: company.company.clone(),
        client,
        site: job.site.clone(),
        start: job.visit.start,
        crew: job.visit.crew.clone(),
        notes: job.notes.clone(),
        page: company.page,
        regime: company.regime,
        treatments,
        equipment,
        sprayed_by,
        wet_until,
        reentry,
        cautions: all,
    })
}

/// Whether the last load is sprayed within the visit's longest time, a day by default; reported where not. No published rule;
/// chosen because it protects: a crew does not work round the clock, and such a plan comes of a slip in an area, a coverage or
/// a flow.
fn fits(job: &Job, sprayed_by: DateTime, report: &mut Diagnostics) -> bool {
    // Times are carried up to whole seconds.
    let takes = Time::seconds(Number::int(sprayed_by.duration_since(job.visit.start).as_secs()));
    if takes <= job.visit.longest {
        return true;
    }
    let hours = |time: &Time| (time.as_minutes() / Number::int(60)).ceil_to(&Number::one()).decimal(0);
    let message = format!(
        "the last load would be sprayed {} h after the start; a visit takes at most {} h",
        hours(&takes),
        hours(&job.visit.longest)
    );
    report.push(
        job.source
            .root()
            .origin()
            .key("visit")
            .error("visit-too-long", message)
            .hint("look at the sizes of the areas, the coverage, the sprayer's `flow` and `pace`, and `mixing`; or add `sprayers`")
            .hint("if it is right, say how long the visit may be: `visit: { longest: 30 h }`"),
    );
    false
}

/// A calculation's result; its refusal is reported at the place whose value it is about.
pub(super) fn reported<T>(result: Result<T, CalcError>, origin: &Origin, report: &mut Diagnostics) -> Option<T> {
    match result {
        Ok(value) => Some(value),
        Err(refusal) => report.fail(explain(&refusal, origin)),
    }
}

fn explain(refusal: &CalcError, origin: &Origin) -> Diagnostic {
    let problem = origin.error("cannot-work-out", refusal.to_string());
    let hint = match refusal {
        CalcError::MissingDensity => {
            "add the product's density, such as `density: 0.99 kg/L`, from its safety data sheet"
        }
        CalcError::MissingActiveDensity => {
            "add `density` to the ingredient: ethanol 0.789 kg/L, propan-2-ol 0.785 kg/L"
        }
        CalcError::MissingContent => "give every active's `content` in the same way, or `available_chlorine`",
        CalcError::TargetTooStrong => {
            "compare the figure with the product's label, and `content` with its safety data sheet"
        }
        CalcError::TooManyApplications { .. } => {
            "wiping will not do: lay a thicker film, or choose directions with a shorter contact time"
        }
        CalcError::TooManyLoads { .. } => "check the sizes of the areas, the coverage and the tank",
        _ => "look at the figures that the message names",
    };
    problem.hint(hint)
}
