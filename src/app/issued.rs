//! What was issued is settled: a certificate that exists keeps its record, its seal and its page, whatever the job's files say
//! later. A change of it is a later revision.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use serde_json::{Value, json};

use super::certify::Names;
use super::context::Context;
use super::failure::{Cause, Failure};
use super::planned::Planned;
use crate::catalog::CompanyFile;
use crate::delivery::went_out;
use crate::digest::sha256;
use crate::input;
use crate::record::verify::PROGRAM;
use crate::record::{Difference, FORM, issued_difference};
use crate::typeset::attached;

/// The send log of a firm whose company file names none, beside it.
pub const MAIL_LOG: &str = "mail-log.jsonl";

/// What is read of a record or certificate, at most, in bytes: what cannot be one of ours is not read.
const LARGEST: u64 = 64 << 20;

/// A record that holds a certificate, as it lies in a folder.
#[derive(Clone, Debug)]
pub struct Issued {
    pub revision: u32,
    pub record: Value,
    /// SHA-256 of the record's file.
    pub digest: String,
}

/// Which revision of a job's certificate lies in a folder, by its record or, where that is gone, by the record that the PDF
/// carries. `None` if neither does: a draft and a record without a certificate are not issued.
pub fn issued(folder: &Path, job: &str, revision: u32) -> Option<Issued> {
    let of = |bytes: &[u8]| {
        let record = record(bytes).filter(|record| !record["certificate"].is_null())?;
        Some(Issued { revision, digest: sha256(bytes), record })
    };
    let names = Names::of(job, revision);
    let by_record = read(&folder.join(names.record)).and_then(|bytes| of(&bytes));
    by_record.or_else(|| attached(&read(&folder.join(names.certificate))?).iter().find_map(|bytes| of(bytes)))
}

/// Whether a PDF carries a record: a draft does not.
pub fn carries_record(pdf: &Path) -> bool {
    read(pdf).is_some_and(|bytes| attached(&bytes).iter().any(|file| record(file).is_some()))
}

fn record(bytes: &[u8]) -> Option<Value> {
    serde_json::from_slice(bytes).ok().filter(|record: &Value| record["form"] == FORM)
}

/// Reads an ordinary file, and never what a link leads to.
fn read(file: &Path) -> Option<Vec<u8>> {
    let is_file = fs::symlink_metadata(file).is_ok_and(|meta| meta.is_file());
    is_file.then(|| input::read(file, LARGEST).ok()).flatten()
}

/// The files of a job's records, seals and certificates in a folder, each with its revision; found by their names.
fn files_of(folder: &Path, job: &str) -> Vec<(String, u32)> {
    let names = fs::read_dir(folder).into_iter().flatten().flatten();
    let names = names.filter_map(|entry| entry.file_name().into_string().ok());
    names.filter_map(|name| revision_of(&name, job).map(|revision| (name, revision))).collect()
}

/// Every revision of a job of which a file lies in a folder.
pub fn revisions(folder: &Path, job: &str) -> BTreeSet<u32> {
    files_of(folder, job).into_iter().map(|(_, revision)| revision).collect()
}

/// The revision of a record, seal or certificate of a job, by its name: `7-record-r2.json` is of revision 2 of job 7.
pub fn revision_of(name: &str, job: &str) -> Option<u32> {
    let rest = name.strip_prefix(job)?.strip_prefix('-')?;
    let rest = ["certificate", "record", "seal"].iter().find_map(|kind| rest.strip_prefix(kind))?;
    let (mark, _) = rest.rsplit_once('.')?;
    // the page of a picture stands behind the mark: `-r2-1`
    let mark = mark.strip_prefix("-r").map(|m| m.split('-').next().unwrap_or_default());
    mark.map_or(Some(1), |digits| digits.parse().ok().filter(|revision| *revision > 1))
}

/// The files in a folder that issued certificates of a job consist of: never written over, never stale.
pub fn issued_files(folder: &Path, job: &str) -> BTreeSet<String> {
    let files = files_of(folder, job);
    let revisions: BTreeSet<u32> = files.iter().map(|(_, revision)| *revision).collect();
    let issued: BTreeSet<u32> = revisions.into_iter().filter(|r| issued(folder, job, *r).is_some()).collect();
    files.into_iter().filter(|(_, revision)| issued.contains(revision)).map(|(name, _)| name).collect()
}

/// Files of a revision that will not be among these, which replace it: they go.
pub fn replaced(folder: &Path, job: &str, revision: u32, made: &[(String, Vec<u8>)]) -> Vec<String> {
    let files = files_of(folder, job).into_iter();
    let gone = files.filter(|(name, of)| *of == revision && made.iter().all(|(new, _)| new != name));
    gone.map(|(name, _)| name).collect()
}

/// Whether something was issued of the job of a job file, in the folders that `render` and `batch` write into by
/// default: `out` beside it, and the output folder that it was expanded into.
pub fn was_issued(job_file: &Path, number: &str) -> bool {
    let beside = job_file.parent().unwrap_or(Path::new(""));
    let above = if beside.as_os_str().is_empty() { Path::new("..").to_owned() } else { beside.join("..") };
    let folders = [beside.join("out"), beside.join("out").join(number), above.join(number)];
    folders.iter().any(|folder| !issued_files(folder, number).is_empty())
}

/// How a job stands to what was issued of it.
#[derive(Debug)]
pub enum Standing {
    /// Nothing was issued of this revision.
    Free,
    /// It was issued, and says what the job says now.
    Same(Issued),
    /// It was issued, and the job says something else now.
    Differs(Issued, Difference),
}

/// Compares what a job gives now with what was issued of it in a folder. `now` is a record as [`RecordFile`] writes it, or
/// [`now`].
///
/// [`RecordFile`]: crate::record::RecordFile
///
/// # Errors
/// If a later revision was issued than the log gives.
pub fn standing(now: &Value, planned: &Planned, folder: &Path) -> Result<Standing, Failure> {
    let job = &planned.plan.job;
    let no_log = planned.job.log_trouble.is_some();
    let mut revision = planned.job.applied.as_ref().map_or(1, |log| log.revision);
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
    let Some(issued) = issued(folder, job, revision) else { return Ok(Standing::Free) };
    let mut now = now.clone();
    if no_log {
        // what the log says cannot be known: the plan alone is compared
        for key in ["applied", "revision", "replaces"] {
            now[key] = issued.record[key].clone();
        }
    }
    Ok(match issued_difference(&issued.record, &now) {
        None => Standing::Same(issued),
        Some(difference) => Standing::Differs(issued, difference),
    })
}

/// The record that a job gives, as far as it is compared with what was issued.
pub fn now(planned: &Planned) -> Result<Value, Failure> {
    let log = planned.job.applied.as_ref();
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
    pub fn differs(&self, job: &str, difference: &Difference) -> Failure {
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
    let named = company.mail.as_ref().and_then(|mail| mail.log.clone());
    let file = named.unwrap_or_else(|| company_file(company).with_file_name(MAIL_LOG));
    went_out(&file).map_err(|e| e.to_string())
}

/// Where a company file lies; it may be a link.
pub fn company_file(company: &CompanyFile) -> PathBuf {
    let file = company.source.file();
    fs::canonicalize(file).unwrap_or_else(|_| file.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_revision_is_known_by_the_names_of_its_files() {
        for (name, revision) in [
            ("7-record.json", Some(1)),
            ("7-record-r2.json", Some(2)),
            ("7-seal-r12.json", Some(12)),
            ("7-certificate.pdf", Some(1)),
            // pictures of its pages
            ("7-certificate-1.png", Some(1)),
            ("7-certificate-r3-2.svg", Some(3)),
            ("7-mix-sheet.pdf", None),
            ("71-record.json", None),
            ("7-record-r1.json", None),
            ("7-record-rx.json", None),
            ("7", None),
        ] {
            assert_eq!(revision_of(name, "7"), revision, "{name}");
        }
    }
}
