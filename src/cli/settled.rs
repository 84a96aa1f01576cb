//! What was issued is settled: a certificate that exists keeps its record, its seal and its page, whatever the job's files say
//! later. A change of it is a later revision.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use serde_json::Value;

use super::prepare::Prepared;
use super::proving::record_names;
use super::shelf::Shelf;
use super::{Exit, Refusal};
use crate::catalog::CompanyFile;
use crate::delivery::went_out;
use crate::digest::sha256;
use crate::record::{Difference, FORM, issued_difference, revision_mark};
use crate::shown::Shown;
use crate::typeset::attached;

/// The send log of a firm whose company file names none, beside it.
pub(super) const MAIL_LOG: &str = "mail-log.jsonl";

/// What is read of a record or certificate, at most, in bytes: what cannot be one of ours is not read whole.
const LARGEST: u64 = 64 << 20;

/// A record that holds a certificate, as it lies in a folder.
#[derive(Clone, Debug)]
pub(super) struct Issued {
    pub revision: u32,
    /// The record.
    pub record: Value,
    /// SHA-256 of its file.
    pub digest: String,
}

/// Which revision of a job's certificate lies in a folder, by its record or, where that is gone, by the record that the PDF
/// carries. `None` if neither does: a draft and a record without a certificate are not issued.
pub(super) fn issued(folder: &Path, job: &str, revision: u32) -> Option<Issued> {
    let of = |bytes: &[u8]| {
        let record: Value = serde_json::from_slice(bytes).ok()?;
        (record["form"] == FORM && !record["certificate"].is_null()).then(|| Issued {
            revision,
            digest: sha256(bytes),
            record,
        })
    };
    let (name, _) = record_names(job, revision);
    let by_record = read(&folder.join(name)).and_then(|bytes| of(&bytes));
    by_record.or_else(|| {
        let pdf = read(&folder.join(format!("{job}-certificate{}.pdf", revision_mark(revision))))?;
        attached(&pdf).iter().find_map(|bytes| of(bytes))
    })
}

/// Whether a PDF carries a record: a draft does not.
pub(super) fn carries_record(pdf: &Path) -> bool {
    let is_record = |bytes: &Vec<u8>| {
        let value: Option<Value> = serde_json::from_slice(bytes).ok();
        value.is_some_and(|value| value["form"] == FORM)
    };
    read(pdf).is_some_and(|bytes| attached(&bytes).iter().any(is_record))
}

fn read(file: &Path) -> Option<Vec<u8>> {
    let meta = fs::symlink_metadata(file).ok()?;
    (meta.is_file() && meta.len() <= LARGEST).then(|| fs::read(file).ok()).flatten()
}

/// Every revision of a job of which a record or certificate lies in a folder, from their names.
pub(super) fn revisions(folder: &Path, job: &str) -> BTreeSet<u32> {
    let mut found = BTreeSet::new();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        found.extend(entry.file_name().to_str().and_then(|name| revision_of(name, job)));
    }
    found
}

/// The revision of a record, seal or certificate of a job, by its name: `7-record-r2.json` is of revision 2 of job 7.
pub(super) fn revision_of(name: &str, job: &str) -> Option<u32> {
    let rest = name.strip_prefix(job)?.strip_prefix('-')?;
    let rest = ["certificate", "record", "seal"].iter().find_map(|kind| rest.strip_prefix(kind))?;
    let (mark, _) = rest.rsplit_once('.')?;
    // the page of a picture stands behind the mark: `-r2-1`
    let mark = mark.strip_prefix("-r").map(|m| m.split('-').next().unwrap_or_default());
    mark.map_or(Some(1), |digits| digits.parse().ok().filter(|revision| *revision > 1))
}

/// The files in a folder that settled certificates of a job consist of: never written over, never stale.
pub(super) fn settled_files(folder: &Path, job: &str) -> BTreeSet<String> {
    let settled: BTreeSet<u32> =
        revisions(folder, job).into_iter().filter(|revision| issued(folder, job, *revision).is_some()).collect();
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    entries
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter(|name| revision_of(name, job).is_some_and(|revision| settled.contains(&revision)))
        .collect()
}

/// Whether something was issued of the job of a job file, in the folders that `render` and `batch` write into by
/// default: `out` beside it, and the output folder that it was expanded into.
pub(super) fn was_issued(job_file: &Path, number: &str) -> bool {
    let beside = job_file.parent().unwrap_or(Path::new(""));
    let above = if beside.as_os_str().is_empty() { Path::new("..").to_owned() } else { beside.join("..") };
    let folders = [beside.join("out"), beside.join("out").join(number), above.join(number)];
    folders.iter().any(|folder| !settled_files(folder, number).is_empty())
}

/// How a job stands to what was issued of it.
#[derive(Debug)]
pub(super) enum Standing {
    /// Nothing was issued of this revision.
    Free,
    /// It was issued, and says what the job says now.
    Settled(Box<Issued>),
    /// It was issued, and the job says something else now.
    Differs(Box<Issued>, Difference),
}

/// Compares what a job gives now with what was issued of it in a folder. `now` is a record as [`RecordFile`] writes it.
///
/// [`RecordFile`]: crate::record::RecordFile
///
/// # Errors
/// If a later revision was issued than the log gives.
pub(super) fn standing(now: &Value, prepared: &Prepared, folder: &Path) -> Result<Standing, Refusal> {
    let job = &prepared.plan.job;
    let mut revision = prepared.job.applied.as_ref().map_or(1, |log| log.revision);
    let mut later = revisions(folder, job).into_iter().rev().filter(|r| *r > revision);
    if let Some(later) = later.find(|later| issued(folder, job, *later).is_some()) {
        // a log that cannot be read says nothing of its revision
        if prepared.job.log_trouble.is_none() {
            return Err(refusal(format!(
                "error: revision {later} of the certificate of job {job} is issued, and the log gives revision {revision}; \
                 nothing was written\n  = write `revision: {later}` into the log, or the next one for a correction\n"
            )));
        }
        revision = later;
    }
    let Some(issued) = issued(folder, job, revision) else {
        return Ok(Standing::Free);
    };
    let mut now = now.clone();
    if prepared.job.log_trouble.is_some() {
        // what the log says cannot be known: the plan alone is compared
        for key in ["applied", "revision", "replaces"] {
            now[key] = issued.record[key].clone();
        }
    }
    let difference = issued_difference(&issued.record, &now);
    let issued = Box::new(issued);
    Ok(match difference {
        None => Standing::Settled(issued),
        Some(difference) => Standing::Differs(issued, difference),
    })
}

/// In whole lines: nothing was written, for what was issued stays.
pub(super) fn refusal(told: String) -> Refusal {
    let mut lines = told.lines();
    Refusal::headed(lines.next().unwrap_or_default(), Exit::SomeFailed).lines(lines)
}

/// What is said of a job that gives something else than was issued.
pub(super) fn told_difference(job: &str, issued: &Issued, difference: &Difference) -> String {
    let Issued { revision, digest, .. } = issued;
    format!(
        "the certificate of job {job}, revision {revision}, is issued, and the job gives another one now; nothing was written\n  \
         --> {}\n  \
         = for a correction write `revision: {}` and `replaces: {digest}` into the log\n  \
         = if it never went out to anybody, --replace-draft makes it anew\n",
        Shown(difference),
        revision + 1
    )
}

/// When revisions of a firm's jobs were mailed, by the send log.
pub(super) type Mailed = Result<BTreeMap<(String, u32), Timestamp>, String>;

/// Reads the send log of a firm: the one that its company file names, or the one beside it.
pub(super) fn mailed(catalog: &CompanyFile) -> Mailed {
    let named = catalog.mail.as_ref().and_then(|mail| mail.log.clone());
    let file = named.unwrap_or_else(|| mail_log_beside(catalog));
    went_out(&file).map_err(|e| e.to_string())
}

/// The send log beside a company file, which may be a link.
fn mail_log_beside(catalog: &CompanyFile) -> PathBuf {
    let file = catalog.source.file();
    let file = fs::canonicalize(file).unwrap_or_else(|_| file.to_owned());
    file.with_file_name(MAIL_LOG)
}

/// Whether `--replace-draft` may take the place of what was issued: only if the send log does not hold it. One that cannot be
/// read holds it, for all that can be known.
///
/// # Errors
/// That it went out, or that nobody can tell.
pub(super) fn may_replace(job: &str, issued: &Issued, catalog: &CompanyFile, shelf: &Shelf) -> Result<(), Refusal> {
    let refuse = |told: String| {
        refusal(format!(
            "error: {told}; nothing was written\n  = for a correction write `revision: {}` and `replaces: {}` into the log\n",
            issued.revision + 1,
            issued.digest
        ))
    };
    match shelf.mailed(catalog) {
        Err(told) => {
            Err(refuse(format!("whether revision {} of job {job} was mailed cannot be known: {told}", issued.revision)))
        }
        Ok(out) => match out.get(&(job.to_owned(), issued.revision)) {
            Some(at) => Err(refuse(format!(
                "revision {} of the certificate of job {job} went out by mail at {at}, so that it is never replaced",
                issued.revision
            ))),
            None => Ok(()),
        },
    }
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
            ("7-certificate-r2.pdf", Some(2)),
            // pictures of its pages
            ("7-certificate-1.png", Some(1)),
            ("7-certificate-r3-2.svg", Some(3)),
            ("7-mix-sheet.pdf", None),
            ("7-labels-roll.pdf", None),
            ("71-record.json", None),
            ("7-record-r1.json", None),
            ("7-record-rx.json", None),
            ("7", None),
        ] {
            assert_eq!(revision_of(name, "7"), revision, "{name}");
        }
    }
}
