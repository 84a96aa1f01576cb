//! From a job file's name to plan and record: what every command begins with.

use std::path::Path;

use super::Exit;
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

/// Reads and plans a job; problems go to stderr.
pub(super) fn prepare(file: &Path) -> Result<Prepared, Exit> {
    let mut report = Report::new();
    let prepared = Job::read(file, &mut report).and_then(|job| {
        // A job with a problem is not planned: half a plan would be taken for a whole one.
        if report.has_errors() {
            return None;
        }
        let plan = plan(&job, &mut report)?;
        let origin = job.catalog.source.root().origin().key("record_link");
        match Record::of(&plan, &job.catalog.record_link, &origin) {
            Ok(record) => Some(Prepared { job, plan, record }),
            Err(problem) => {
                report.push(*problem);
                None
            }
        }
    });
    match prepared {
        Some(prepared) if !report.has_errors() => Ok(prepared),
        _ => {
            tell(&report);
            Err(Exit::BadInput)
        }
    }
}

/// Speaks a report to the user.
pub(super) fn tell(report: &Report) {
    eprint!("{report}");
}
