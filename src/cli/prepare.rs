//! From a job file's name to plan and record: what every command begins with.

use std::path::Path;

use super::output;
use super::shelf::Shelf;
use super::views::unprintable_in;
use super::{Exit, Refusal};
use crate::job::Job;
use crate::plan::{Plan, plan};
use crate::record::{Record, conformity};
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

/// Plans a job. A log that cannot be of this plan is left out, with the reason, as one that cannot be read is.
pub(super) fn work_out(mut job: Job) -> Result<Prepared, Refusal> {
    let mut report = Report::new();
    let Some(plan) = plan(&job, &mut report).filter(|_| !report.has_errors()) else {
        return Err(Refusal::bad_input(report));
    };
    let origin = job.catalog.source.root().origin().key("record_link");
    match Record::of(&plan, &job.catalog.record_link, &origin) {
        Ok(record) => {
            let mut trouble = Report::new();
            if let Some(applied) = &job.applied {
                unprintable_in(&applied.source, &mut trouble);
                conformity(&plan, &job, &mut trouble);
            }
            if trouble.has_errors() {
                job.applied = None;
                job.log_trouble = Some(trouble);
            }
            Ok(Prepared { job, plan, record })
        }
        Err(problem) => {
            report.push(*problem);
            Err(Refusal::bad_input(report))
        }
    }
}

/// Says on stderr why the log of a job cannot be used, for a command that does not need it.
pub(super) fn caution_of_log(prepared: &Prepared) {
    if let Some(trouble) = log_trouble(prepared) {
        output::block(&trouble);
    }
}

/// Why the log of a job cannot be used, in whole lines.
pub(super) fn log_trouble(prepared: &Prepared) -> Option<String> {
    let trouble = prepared.job.log_trouble.as_ref()?;
    let job = &prepared.job.number;
    let mut told = format!("caution: the log of job {job} cannot be used, and no certificate is made until it can:\n");
    trouble.problems().iter().for_each(|problem| told += &problem.to_string());
    Some(told)
}

/// For a command that says what was done: a log that cannot be used is an error.
///
/// # Errors
/// What is wrong with the log.
pub(super) fn need_log(prepared: &Prepared) -> Result<(), Refusal> {
    match &prepared.job.log_trouble {
        Some(trouble) => Err(Refusal::bad_input(trouble)),
        None => Ok(()),
    }
}

/// Speaks a report to the user.
pub(super) fn tell(report: &Report) -> Exit {
    Refusal::bad_input(report).tell()
}
