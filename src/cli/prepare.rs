//! From a job file's name to plan and record: what every command begins with.

use std::path::Path;

use super::shelf::Shelf;
use super::{Exit, Refusal};
use crate::job::Job;
use crate::plan::{Plan, plan};
use crate::record::Record;
use crate::report::Report;

/// A job with its plan and record.
pub(super) struct Prepared {
    pub job: Job,
    pub plan: Plan,
    pub record: Record,
}

/// Reads and plans a job.
pub(super) fn prepare(file: &Path, shelf: &Shelf) -> Result<Prepared, Refusal> {
    work_out(read(file, shelf)?)
}

/// Reads a job, with the company file from the shelf.
pub(super) fn read(file: &Path, shelf: &Shelf) -> Result<Job, Refusal> {
    let mut report = Report::new();
    match Job::read_with(file, &mut report, |company, report| shelf.company(company, report)) {
        // A job with a problem is not planned: half a plan would be taken for a whole one.
        Some(job) if !report.has_errors() => Ok(job),
        _ => Err(Refusal::bad_input(report)),
    }
}

/// Plans a job.
pub(super) fn work_out(job: Job) -> Result<Prepared, Refusal> {
    let mut report = Report::new();
    let Some(plan) = plan(&job, &mut report).filter(|_| !report.has_errors()) else {
        return Err(Refusal::bad_input(report));
    };
    let origin = job.catalog.source.root().origin().key("record_link");
    match Record::of(&plan, &job.catalog.record_link, &origin) {
        Ok(record) => Ok(Prepared { job, plan, record }),
        Err(problem) => {
            report.push(*problem);
            Err(Refusal::bad_input(report))
        }
    }
}

/// Speaks a report to the user.
pub(super) fn tell(report: &Report) -> Exit {
    Refusal::bad_input(report).tell()
}
