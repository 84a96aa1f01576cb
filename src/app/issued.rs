//! What was issued is settled: a certificate that exists keeps its record, its seal and its page, whatever the job's files say
//! later. A change of it is a later revision.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use serde_json::{Value, json};

use super::context::Context;
use super::failure::{Cause, Failure};
use super::planned::Planned;
use crate::company::CompanyFile;
use crate::mail::went_out;
use crate::record::issued::{Issued, Names, given_out, issued, revisions};
use crate::record::{Difference, PROGRAM, issued_difference, plan_difference};

/// The send log of a firm whose company file names none, beside it.
pub const MAIL_LOG: &str = "mail-log.jsonl";

/// How a job stands to what was issued of it.
#[derive(Debug)]
pub enum Standing {
    /// Nothing was issued of this revision.
    Free,
    /// It was issued, and says what the job says now.
    Same(Issued),
    /// It was issued, and the job says something else now, as the failure says.
    Differs(Issued, Failure),
}

/// Compares what a job gives now with what was issued of it in a folder.
///
/// # Errors
/// If a later revision was issued than the log gives.
pub fn standing(planned: &Planned, folder: &Path) -> Result<Standing, Failure> {
    let job = &planned.plan.job;
    let no_log = planned.job.log_trouble.is_some();
    let mut revision = planned.job.service_log.as_ref().map_or(1, |log| log.revision);
    let mut later = revisions(folder, job).into_iter().rev().filter(|r| *r > revision);
    if let Some(later) = later.find(|later| issued(folder, job, *later).is_some()) {
        // a log that cannot be read says nothing of its revision
        if !no_log {
            let failure = Failure::error(format_args!(
                "revision {later} of the certificate of job {job} is issued, and the log gives revision {revision}; \
                 nothing was written"
            ));
            let hint = format!("write `revision: {later}` into the log, or the next one for a correction");
            return Err(failure.hint(hint).because(Cause::Issued));
        }
        revision = later;
    }
    let mut now = now(planned)?;
    let Some(issued) = issued(folder, job, revision) else {
        let given_out = given_out(folder, job, revision).filter(|_| planned.has_log());
        return given_out
            .map_or(Ok(Standing::Free), |record| check_given_out(planned, &record, &now, folder, revision));
    };
    if no_log {
        // what the log says cannot be known: the plan alone is compared
        for key in ["applied", "revision", "replaces"] {
            now[key] = issued.record[key].clone();
        }
    }
    Ok(match issued_difference(&issued.record, &now) {
        None => Standing::Same(issued),
        Some(difference) => {
            let failure = issued.differs(job, &difference);
            Standing::Differs(issued, failure)
        }
    })
}

/// A visit that has a log was made with labels and a sheet that carry the number of the record there: the certificate is of that record
/// or of none. No published rule; chosen because it protects.
fn check_given_out(
    planned: &Planned,
    record: &Value,
    now: &Value,
    folder: &Path,
    revision: u32,
) -> Result<Standing, Failure> {
    let (job, number) = (&planned.plan.job, &planned.record.number);
    let before = record["number"].as_str().unwrap_or_default();
    if before == number {
        return Ok(Standing::Free);
    }
    let failure = Failure::error(format_args!(
        "job {job} has a log, and what the crew was given carries the record {before}; its files give the record {number} \
         now; nothing was written"
    ));
    let file = folder.join(Names::of(job, revision).record);
    let difference = plan_difference(record, now).into_iter();
    let failure = difference.fold(failure, |failure, difference| failure.line(format_args!("  --> {difference}")));
    Err(failure
        .hint("put it back in the company file or the job until the certificate is made")
        .hint(format_args!("if the crew was given nothing, take {} away, and all is made anew", file.display()))
        .because(Cause::Issued))
}

/// The record that a job gives, as far as it is compared with what was issued.
fn now(planned: &Planned) -> Result<Value, Failure> {
    let log = planned.job.service_log.as_ref();
    let revision = log.map_or(1, |log| log.revision);
    let replaces = log.and_then(|log| log.replaces.as_ref());
    let record = json!({
        "plan": planned.plan,
        "applied": log,
        "revision": revision,
        "replaces": replaces.map(|sha256| json!({ "revision": revision - 1, "sha256": sha256 })),
        "made_by": { "program": PROGRAM },
    });
    // a whole figure is written without its point, and read back so
    let canonical = serde_json_canonicalizer::to_vec(&record).map_err(Failure::internal)?;
    serde_json::from_slice(&canonical).map_err(Failure::internal)
}

impl Issued {
    fn how_to_correct(&self) -> String {
        format!("for a correction write `revision: {}` and `replaces: {}` into the log", self.revision + 1, self.digest)
    }

    /// The job gives something else than was issued.
    fn differs(&self, job: &str, difference: &Difference) -> Failure {
        let revision = self.revision;
        Failure::error(format_args!(
            "the certificate of job {job}, revision {revision}, is issued, and the job gives another one now; nothing was written"
        ))
        .line(format_args!("  --> {difference}"))
        .hint(self.how_to_correct())
        .hint("if it never went out to anybody, --replace-draft makes it anew")
        .because(Cause::Issued)
    }

    /// Whether `--replace-draft` may take its place: only if the send log does not hold it. One that cannot be read holds it, for
    /// all that can be known.
    ///
    /// # Errors
    /// That it went out, or that nobody can tell.
    pub fn may_be_replaced(&self, job: &str, company: &CompanyFile, context: &Context) -> Result<(), Failure> {
        let revision = self.revision;
        let why = match context.mailed(company).as_ref() {
            Err(why) => format!("whether revision {revision} of job {job} was mailed cannot be known: {why}"),
            Ok(out) => match out.get(&(job.to_owned(), revision)) {
                None => return Ok(()),
                Some(at) => format!(
                    "revision {revision} of the certificate of job {job} went out by mail at {at}, so that it is never replaced"
                ),
            },
        };
        let failure = Failure::error(format_args!("{why}; nothing was written"));
        Err(failure.hint(self.how_to_correct()).because(Cause::Issued))
    }
}

/// When revisions of a firm's jobs were mailed, by the send log.
pub type Mailed = Result<BTreeMap<(String, u32), Timestamp>, String>;

/// Reads the send log of a firm: the one that its company file names, or the one beside it.
pub fn mailed(company: &CompanyFile) -> Mailed {
    went_out(&send_log(company)).map_err(|e| e.to_string())
}

/// The send log of a firm.
pub fn send_log(company: &CompanyFile) -> PathBuf {
    let named = company.mail.as_ref().and_then(|mail| mail.log.clone());
    named.unwrap_or_else(|| company_file(company).with_file_name(MAIL_LOG))
}

/// Where a company file lies; it may be a link.
pub fn company_file(company: &CompanyFile) -> PathBuf {
    let file = company.source.file();
    fs::canonicalize(file).unwrap_or_else(|_| file.to_owned())
}
