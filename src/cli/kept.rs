//! What of a job's files stays as it is when `render` or `batch` makes them.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use serde_json::Value;

use super::Refusal;
use super::prepare::Prepared;
use super::proving::record_names;
use super::settled::{
    Standing, carries_record, may_replace, refusal, revision_of, settled_files, standing, told_difference,
};
use super::shelf::Shelf;
use super::views::Views;
use crate::batch::Settled;
use crate::document::View;
use crate::record::{RecordFile, revision_mark};
use crate::typeset::Template;

/// What of a job's files stays as it is, for a command that makes them.
#[derive(Debug, Default)]
pub(super) struct Kept {
    /// Files that are there and are never written over.
    names: BTreeSet<String>,
    job: String,
    /// The revision whose record is another, byte for byte, than what would be made: nothing of it is filled in, since the parts
    /// would not fit one another.
    revision: Option<u32>,
    /// Whether labels and sheets would carry another record's number than the certificate that was issued.
    other_number: bool,
    /// Whether what was issued has its page in another language or ink than what was asked for.
    other_page: bool,
    /// Whether the log cannot be used, so that there is no record to write beside what was issued.
    without_log: bool,
    /// Whether a draft was asked for, which is never written beside what was issued.
    draft: bool,
    /// Whether what was issued is made anew.
    pub replaces: bool,
    /// What is to be said of it.
    pub note: Option<String>,
}

impl Kept {
    /// Whether a file is left as it is, there or not.
    pub fn stays(&self, name: &str) -> bool {
        let of = revision_of(name, &self.job);
        self.names.contains(name)
            || (self.revision.is_some() && of == self.revision)
            || (self.without_log && of.is_some())
    }

    /// Whether a document is not made at all.
    pub fn leaves_out(&self, view: &View) -> bool {
        match view.template {
            Template::Certificate => self.draft || self.revision.is_some(),
            _ => self.other_number,
        }
    }

    /// Whether what is there is what was asked for, though it is not made again.
    pub fn serves(&self, view: &View, folder: &Path) -> bool {
        let is_certificate = view.template == Template::Certificate;
        self.is_beside(view, folder) && !(is_certificate && (self.draft || self.other_page))
    }

    /// Whether a document that is not made is there.
    pub fn is_beside(&self, view: &View, folder: &Path) -> bool {
        let start = format!("{}.", view.stem);
        let page = format!("{}-1.", view.stem);
        let mut entries = fs::read_dir(folder).into_iter().flatten().flatten();
        entries.any(|entry| {
            let name = entry.file_name();
            let name = name.to_string_lossy();
            name.starts_with(&start) || name.starts_with(&page)
        })
    }

    /// Before a certificate or its record is written: takes away the seal of what was there before, so that a run that is killed
    /// leaves a record without a seal, which is not finished, and never one beside the seal of another, which would read as
    /// altered.
    ///
    /// # Errors
    /// What the file system says.
    pub fn before_record(&self, folder: &Path, record: &RecordFile, seal: &[u8]) -> Result<(), String> {
        let (_, name) = record_names(&self.job, record.revision);
        let path = folder.join(&name);
        if self.stays(&name) || fs::read(&path).is_ok_and(|there| there == seal) {
            return Ok(());
        }
        match fs::remove_file(&path) {
            Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(format!("cannot write {}: {e}", path.display())),
            _ => Ok(()),
        }
    }
}

/// What is settled of a job when these files are in its folder beside those that were issued before. `record` is the record
/// among them, if it holds a certificate.
pub(super) fn settled_with(folder: &Path, job: &str, record: &RecordFile, made: &[(String, Vec<u8>)]) -> Settled {
    let mut files = settled_files(folder, job);
    let now: Option<Value> = serde_json::from_slice(&record.json).ok();
    let certifies = now.as_ref().is_some_and(|now| !now["certificate"].is_null());
    let of_this = |name: &str| revision_of(name, job) == Some(record.revision);
    if certifies {
        files.extend(made.iter().map(|(name, _)| name.clone()).filter(|name| of_this(name)));
    } else if made.iter().any(|(name, _)| *name == record_names(job, record.revision).0) {
        // it takes the place of what was issued
        files.retain(|name| !of_this(name));
    }
    let start = now.and_then(|now| now["plan"]["start"].as_str().map(str::to_owned));
    Settled { start: start.filter(|_| !files.is_empty()), files: files.into_iter().collect(), differs: None }
}

/// Files of a revision that is made anew and that will not be among these: they go, since they are of what it replaces.
pub(super) fn replaced(folder: &Path, job: &str, revision: u32, made: &[(String, Vec<u8>)]) -> Vec<String> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    entries
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter(|name| revision_of(name, job) == Some(revision) && made.iter().all(|(new, _)| new != name))
        .collect()
}

/// Leaves out of the names of what stays what is not of the issued record: a run that was cut short left an older record or seal
/// beside the certificate, or a draft lies under the certificate's name. They are written now.
fn finish(names: &mut BTreeSet<String>, made: &Views, job: &str, folder: &Path) {
    let (record, seal) = record_names(job, made.record.revision);
    for (name, bytes) in [(record, &made.record.json), (seal, &made.seal)] {
        if !fs::read(folder.join(&name)).is_ok_and(|there| there == *bytes) {
            names.remove(&name);
        }
    }
    let pdf = format!("{job}-certificate{}.pdf", revision_mark(made.record.revision));
    if names.contains(&pdf) && !carries_record(&folder.join(&pdf)) {
        names.remove(&pdf);
    }
}

/// Compares what is about to be written with what was issued.
///
/// # Errors
/// If it is another certificate, or would be a draft in the place of one, unless `replace` is asked for and it never went out.
pub(super) fn kept(
    made: &Views,
    prepared: &Prepared,
    folder: &Path,
    replace: bool,
    shelf: &Shelf,
) -> Result<Kept, Refusal> {
    let job = &prepared.plan.job;
    let mut kept = Kept { job: job.clone(), ..Kept::default() };
    let now: Value = serde_json::from_slice(&made.record.json).map_err(Refusal::own_fault)?;
    let issued = match standing(&now, prepared, folder)? {
        Standing::Free => return Ok(kept),
        Standing::Settled(issued) => {
            let is_same = issued.digest == made.record.digest;
            if replace && !is_same && may_replace(job, &issued, &prepared.job.catalog, shelf).is_ok() {
                kept.replaces = true;
                return Ok(kept);
            }
            issued
        }
        Standing::Differs(issued, _) if replace => {
            may_replace(job, &issued, &prepared.job.catalog, shelf)?;
            kept.replaces = true;
            return Ok(kept);
        }
        Standing::Differs(issued, difference) => {
            return Err(refusal(format!("error: {}", told_difference(job, &issued, &difference))));
        }
    };
    kept.names = settled_files(folder, job);
    if issued.digest == made.record.digest {
        finish(&mut kept.names, made, job, folder);
    }
    kept.without_log = prepared.job.log_trouble.is_some();
    if issued.digest != made.record.digest {
        kept.revision = Some(issued.revision);
        kept.other_number = issued.record["number"] != now["number"];
        let page =
            |record: &Value| (record["certificate"]["data"]["lang"].clone(), record["certificate"]["ink"].clone());
        kept.other_page = !now["certificate"].is_null() && page(&issued.record) != page(&now);
        kept.note =
            Some(format!("the certificate of job {job}, revision {}, is issued and stays as it is", issued.revision));
    }
    kept.draft = made.views.iter().any(|view| view.data["draft"] == true);
    Ok(kept)
}
