//! The files of a visit: what is made, and what of an earlier run stays as it is because it was issued.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::Path;

use serde_json::{Value, json};

use super::certify::check_replaced;
use super::context::Context;
use super::documents::{Documents, Options, documents};
use super::failure::Failure;
use super::issued::{Standing, standing};
use super::planned::Planned;
use crate::document::View;
use crate::engine::Template;
use crate::record::issued::{Names, carries_record, issued_files, revision_of};

/// A visit's documents, its record and seal, and which of their files are written.
pub struct Visit {
    pub documents: Documents,
    pub kept: Kept,
}

impl Visit {
    /// Makes what the templates are given and compares it with what was issued in the folder.
    ///
    /// # Errors
    /// If another certificate was issued, or a draft would take the place of one, unless it may be replaced and that is asked for.
    pub fn of(planned: &Planned, options: &Options, folder: &Path, context: &Context) -> Result<Visit, Failure> {
        let mut documents = documents(planned, options, context)?;
        check_replaced(&documents.record, &planned.plan.job, folder)?;
        let kept = Kept::of(&documents, planned, options, folder, context)?;
        documents.attach();
        Ok(Visit { documents, kept })
    }

    /// The files of record and seal, the seal last: a record without one is not finished.
    pub fn record_files(&self) -> [(String, Vec<u8>); 2] {
        let Names { record, seal, .. } = Names::of(&self.kept.job, self.documents.record.revision);
        [(record, self.documents.record.json.clone()), (seal, self.documents.seal.clone())]
    }

    /// The seal of what was there before, to be removed before a certificate or its record is written: a run that is killed then
    /// leaves a record without a seal, which is not finished, and never one beside the seal of another, which would read as altered.
    pub fn outdated_seal(&self, folder: &Path) -> Option<String> {
        let name = Names::of(&self.kept.job, self.documents.record.revision).seal;
        let differs = match fs::read(folder.join(&name)) {
            Ok(there) => there != self.documents.seal,
            Err(e) => e.kind() != io::ErrorKind::NotFound,
        };
        (differs && !self.kept.stays(&name)).then_some(name)
    }
}

impl Documents {
    /// Puts record and seal into the certificate. A draft carries neither.
    fn attach(&mut self) {
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        let attached = json!({ "record": text(&self.record.json), "seal": text(&self.seal) });
        let is_issued = |view: &&mut View| view.template == Template::Certificate && view.data["draft"] == false;
        self.views.iter_mut().filter(is_issued).for_each(|view| view.data["attached"] = attached.clone());
    }
}

/// What of a visit's files stays as it is.
#[derive(Debug, Default)]
pub struct Kept {
    job: String,
    /// Files that are there and are never written over.
    names: BTreeSet<String>,
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
    /// Whether what was issued is replaced.
    pub replaces: bool,
    pub note: Option<String>,
}

impl Kept {
    fn of(
        made: &Documents,
        planned: &Planned,
        options: &Options,
        folder: &Path,
        context: &Context,
    ) -> Result<Kept, Failure> {
        let job = &planned.plan.job;
        let kept = Kept { job: job.clone(), ..Kept::default() };
        let replace = options.replace_draft;
        let issued = match standing(planned, folder)? {
            Standing::Free => return Ok(kept),
            Standing::Differs(_, failure) if !replace => return Err(failure),
            Standing::Differs(issued, _) => {
                issued.may_be_replaced(job, planned.company(), context)?;
                return Ok(Kept { replaces: true, ..kept });
            }
            Standing::Same(issued) => issued,
        };
        let mut names = issued_files(folder, job);
        let draft = made.views.iter().any(|view| view.template == Template::Certificate && view.data["draft"] == true);
        let without_log = planned.job.log_trouble.is_some();
        if issued.digest == made.record.digest {
            unfinished(made, job, folder).iter().for_each(|name| {
                names.remove(name);
            });
            return Ok(Kept { names, draft, without_log, ..kept });
        }
        if replace && issued.may_be_replaced(job, planned.company(), context).is_ok() {
            return Ok(Kept { replaces: true, ..kept });
        }
        let now: Value = serde_json::from_slice(&made.record.json).map_err(Failure::internal)?;
        let page =
            |record: &Value| (record["certificate"]["data"]["lang"].clone(), record["certificate"]["ink"].clone());
        let revision = issued.revision;
        Ok(Kept {
            names,
            draft,
            without_log,
            revision: Some(revision),
            other_number: issued.record["number"] != now["number"],
            other_page: !now["certificate"].is_null() && page(&issued.record) != page(&now),
            note: Some(format!("the certificate of job {job}, revision {revision}, is issued and stays as it is")),
            ..kept
        })
    }

    /// Whether nothing is issued yet, or what is issued is replaced.
    pub fn is_free(&self) -> bool {
        self.names.is_empty() && self.revision.is_none()
    }

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
        is_there(view, folder) && !(is_certificate && (self.draft || self.other_page))
    }
}

/// Whether a document is in a folder, in whatever form.
pub fn is_there(view: &View, folder: &Path) -> bool {
    let (file, page) = (format!("{}.", view.stem), format!("{}-1.", view.stem));
    let mut entries = fs::read_dir(folder).into_iter().flatten().flatten();
    entries.any(|entry| {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        name.starts_with(&file) || name.starts_with(&page)
    })
}

/// Which files of what was issued are not of it: a run that was cut short left an older record or seal beside the certificate, or a
/// draft lies under the certificate's name. They are written now.
fn unfinished(made: &Documents, job: &str, folder: &Path) -> Vec<String> {
    let Names { record, seal, certificate } = Names::of(job, made.record.revision);
    let written = [(record, &made.record.json), (seal, &made.seal)].into_iter();
    let differs = |(name, bytes): &(String, &Vec<u8>)| fs::read(folder.join(name)).ok().as_ref() != Some(*bytes);
    let mut names: Vec<String> = written.filter(differs).map(|(name, _)| name).collect();
    if !carries_record(&folder.join(&certificate)) {
        names.push(certificate);
    }
    names
}
