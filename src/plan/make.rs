//! From a job to its plan.

use jiff::civil::DateTime;

use super::Plan;
use super::flammable::flammables;
use super::meetings::meetings;
use super::shared_air::Airs;
use super::tanks::tanks;
use super::treatment::{self, Start};
use crate::job::Job;
use crate::report::Report;

/// The form of the plan's JSON; it changes when a field changes its meaning or goes.
const FORM: &str = "decant plan 3";

/// Works out the plan of a job. Whatever cannot be worked out is told to `report`, all of it at once.
pub fn plan(job: &Job, report: &mut Report) -> Option<Plan> {
    let mut treatments = Vec::new();
    let mut cautions = meetings(job);
    cautions.extend(tanks(job, report));
    let mut begins: DateTime = job.visit.start;
    let mut airs = Airs::default();
    for (i, written) in job.treatments.iter().enumerate() {
        let entry = airs.enter(written, job, begins);
        let start = Start { number: i + 1, at: entry.at, in_mist: entry.in_mist() };
        if let Some(treatment) = treatment::work_out(written, job, &start, report) {
            begins = treatment.loads.iter().map(|l| l.empty_at).max().unwrap_or(entry.at);
            airs.leave(&treatment);
            cautions.extend(entry.cautions(&treatment));
            cautions.extend(super::cautions::cautions(written, &treatment, job));
            treatments.push(treatment);
        }
    }
    cautions.extend(flammables(job, &treatments, report));
    if report.has_errors() || treatments.len() < job.treatments.len() {
        return None;
    }
    cautions.extend(super::returns::returns(&treatments));
    let latest = |of: &dyn Fn(&super::TreatmentPlan) -> DateTime| treatments.iter().map(of).max();
    let sprayed_by = begins;
    if !super::long::fits(job, sprayed_by, report) {
        return None;
    }
    let wet_until = latest(&|t| t.wet_until).unwrap_or(begins);
    // One time for the whole site, and never before the end of the work.
    let reentry = latest(&|t| t.reentry).unwrap_or(begins).max(wet_until).max(sprayed_by);
    treatments.iter_mut().for_each(|treatment| treatment.reentry = reentry);
    let mut equipment: Vec<_> = treatments.iter().flat_map(|t| t.equipment.iter().map(|w| w.item)).collect();
    equipment.sort_unstable();
    equipment.dedup();
    cautions.sort();
    cautions.dedup();
    let catalog = &job.catalog;
    // An e-mail address is delivery's business and nobody else's: the record that a printed code leads to has none.
    let mut client = job.client.clone();
    client.email = None;
    Some(Plan {
        form: FORM,
        job: job.number.clone(),
        company: catalog.company.clone(),
        client,
        site: job.site.clone(),
        start: job.visit.start,
        crew: job.visit.crew.clone(),
        notes: job.notes.clone(),
        page: catalog.page,
        regime: catalog.regime,
        treatments,
        equipment,
        sprayed_by,
        wet_until,
        reentry,
        cautions,
    })
}
