//! The pages behind the printed codes, for any static host.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::certify::certify;
use super::context::Context;
use super::failure::{Failure, valid};
use super::page_index::{FILE, Index, Line};
use super::planned::{JobWords, Planned, job_words, output_folder, plan_file};
use crate::diagnostic::Diagnostics;
use crate::digest::sha256;
use crate::document::{Download, IndexRow, Known, index_page, page};
use crate::engine::attached;
use crate::html::{Page, html};
use crate::record::issued::{Names, issued, revisions};
use crate::record::{RecordFile, place, revision_mark};
use crate::verify::read_bounded;

/// States of a record in the index: visits to come, and work that is done and has no certificate yet.
const PLANNED: &str = "planned";
const PENDING: &str = "pending";

/// What is to be published, and where.
pub struct Publishing<'a> {
    pub jobs: &'a [PathBuf],
    /// The folder of the pages.
    pub folder: &'a Path,
    /// The folder of the certificates; by default `out` beside each job file.
    pub documents: Option<&'a Path>,
}

/// Pages that are ready to be written.
pub struct Publication {
    pub files: Vec<(PathBuf, Vec<u8>)>,
    /// Files that are no longer published, to be removed.
    pub withdrawn: Vec<PathBuf>,
    /// Whether the index lists nothing, so that the list behind it is not kept.
    pub without_list: Option<PathBuf>,
}

/// A job that may be published.
struct Ready<'a> {
    file: &'a Path,
    planned: Planned,
    words: JobWords,
    record: RecordFile,
    place: String,
}

impl Publishing<'_> {
    /// Makes everything. `notes` say which certificates are pending or cannot be downloaded, and which logs cannot be read.
    pub fn make(&self, context: &Context, notes: &mut Vec<String>) -> Result<Publication, Failure> {
        let ready = self.jobs.iter().map(|file| Ready::of(file, context));
        let ready = ready.collect::<Result<Vec<_>, Failure>>()?;
        ready.iter().try_for_each(|job| self.check_log(job))?;
        let mut made = Publication { files: Vec::new(), withdrawn: Vec::new(), without_list: None };
        let Some(first) = ready.first() else { return Ok(made) };
        let link = &first.planned.company().record_link;
        if let Some(other) = ready.iter().find(|job| job.planned.company().record_link != *link) {
            return Err(Failure::error(format_args!(
                "{} and {} have different record links; a folder of pages belongs to one",
                first.file.display(),
                other.file.display()
            )));
        }
        let mut index = Index::read(self.folder).map_err(Failure::error)?;
        for job in &ready {
            let download = self.certificate(job, notes).map(|(path, bytes, download)| {
                made.files.push((path, bytes));
                download
            });
            let is_issued = self.issued_in(job).join(job.names().certificate).is_file();
            let (text, line) = job.page(download.as_ref(), is_issued)?;
            if line.as_ref().is_some_and(|line| line.state == PENDING) {
                let why = match &job.planned.job.log_trouble {
                    Some(trouble) => {
                        trouble.problems().iter().map(|problem| format!(": {}", problem.message)).collect()
                    }
                    None => String::new(),
                };
                notes.push(format!("note: {}: its certificate is pending{why}", job.planned.record.number));
            }
            made.files.push((self.folder.join(&job.place), text.into_bytes()));
            index.set(&job.planned.record.number, line);
        }
        let planned = first.planned.company().publish.planned;
        index.records.retain(|line| {
            (planned || line.state != PLANNED)
                && place(link, &line.number).is_ok_and(|path| {
                    let path = self.folder.join(path);
                    path.is_file() || made.files.iter().any(|(new, _)| *new == path)
                })
        });
        let lines = index.newest_first().into_iter();
        let listed: Vec<IndexRow> = lines.filter_map(|line| Some(line.row(&place(link, &line.number).ok()?))).collect();
        let is_closed = listed.is_empty();
        let mut view = index_page(&first.words.certificate, &first.planned.plan.company, listed)?;
        view.frame.accent = accent(&first.planned);
        let text = html(Page::Index, &view).map_err(Failure::internal)?;
        made.files.push((self.folder.join("index.html"), text.into_bytes()));
        let list = self.folder.join(FILE);
        if is_closed {
            made.without_list = Some(list).filter(|list| list.exists());
        } else {
            made.files.push((list, index.json().map_err(Failure::internal)?));
        }
        for (path, _) in &made.files {
            check_links(self.folder, path)
                .map_err(|e| Failure::error(format_args!("cannot write {}: {e}", path.display())))?;
        }
        for job in &ready {
            made.withdrawn.extend(self.withdrawn(job, &made.files));
        }
        Ok(made)
    }

    /// Certificates that earlier runs put beside this page: what the firm no longer publishes, or has replaced by a later revision,
    /// does not stay. Only what carries a record of this number is taken for one.
    fn withdrawn(&self, job: &Ready<'_>, written: &[(PathBuf, Vec<u8>)]) -> Vec<PathBuf> {
        let page = self.folder.join(&job.place);
        let number = job.planned.record.number.as_bytes();
        let starts = [&job.planned.plan.job, &job.planned.record.number].map(|name| format!("{name}-certificate"));
        let carries =
            |bytes: Vec<u8>| attached(&bytes).iter().any(|file| file.windows(number.len()).any(|w| w == number));
        let entries = page.parent().and_then(|folder| fs::read_dir(folder).ok());
        let old = entries.into_iter().flatten().flatten().filter(|entry| {
            let name = entry.file_name().to_string_lossy().into_owned();
            starts.iter().any(|start| name.starts_with(start))
                && name.ends_with(".pdf")
                && entry.file_type().is_ok_and(|kind| kind.is_file())
                && !written.iter().any(|(path, _)| *path == entry.path())
                && read_bounded(&entry.path()).is_ok_and(carries)
        });
        old.map(|entry| entry.path()).collect()
    }

    /// The certificate as `decant render` made it: its path beside the page, its bytes, and what the page says of it. Only one
    /// that carries this very record is taken.
    fn certificate(&self, job: &Ready<'_>, notes: &mut Vec<String>) -> Option<(PathBuf, Vec<u8>, Download)> {
        let planned = &job.planned;
        if !planned.company().publish.certificate || !planned.log.certifies() {
            return None;
        }
        let name = job.names().certificate;
        let from = self.issued_in(job).join(&name);
        let number = &planned.record.number;
        let mut none = |why: String| {
            notes.push(format!("note: {number}: no certificate to download: {}{why}", from.display()));
            None
        };
        let bytes = match read_bounded(&from) {
            Ok(bytes) => bytes,
            Err(e) => return none(format!(": {e}")),
        };
        if !attached(&bytes).contains(&job.record.json) {
            return none(" carries another record than the job gives now; what was issued stays as it is".to_owned());
        }
        let digest = sha256(&bytes);
        // beside a file of its own name, two records of one job would share the certificate
        let name = match job.place.split_once('/') {
            Some(_) => name,
            None => format!("{number}-certificate{}.pdf", revision_mark(job.record.revision)),
        };
        let path = self.folder.join(&job.place).with_file_name(&name);
        Some((path, bytes, Download { name, digest }))
    }

    /// A log that cannot be read leaves the certificate pending. Of a certificate that was issued a page must not say so.
    fn check_log(&self, job: &Ready<'_>) -> Result<(), Failure> {
        let number = &job.planned.plan.job;
        let folder = self.issued_in(job);
        let was_issued = || revisions(&folder, number).into_iter().any(|r| issued(&folder, number, r).is_some());
        match job.planned.need_log() {
            Err(failure) if was_issued() => Err(failure),
            _ => Ok(()),
        }
    }

    /// The folder that a job's certificate lies in, if it is made.
    fn issued_in(&self, job: &Ready<'_>) -> PathBuf {
        let folder = output_folder(self.documents, job.file);
        // `decant batch` has a folder for each job
        let in_batch = folder.join(&job.planned.plan.job);
        if in_batch.join(job.names().certificate).is_file() { in_batch } else { folder }
    }
}

impl<'a> Ready<'a> {
    fn of(file: &'a Path, context: &Context) -> Result<Ready<'a>, Failure> {
        let planned = plan_file(file, context)?;
        let words = job_words(&planned.job, context)?;
        let mut report = Diagnostics::new();
        planned.check_characters(&words, &mut report);
        let company = planned.company();
        let place = place(&company.record_link, &planned.record.number).map_err(|problem| {
            let origin = company.source.root().origin().key("record_link");
            let problem = origin.error("link-not-static", problem.to_string());
            report.push(problem.hint("write it like `https://records.example/{record}`"));
        });
        let place = valid(place.ok(), &report)?;
        // the page gives the digest of the record as `decant render` makes it by default
        let record = certify(&planned, false, &words, context)?.record;
        Ok(Ready { file, planned, words, record, place })
    }

    fn names(&self) -> Names {
        Names::of(&self.planned.plan.job, self.record.revision)
    }

    /// The page, and its line in the index where the firm wants one.
    fn page(&self, download: Option<&Download>, is_issued: bool) -> Result<(String, Option<Line>), Failure> {
        let planned = &self.planned;
        let publish = planned.company().publish;
        let known = Known {
            service_log: planned.job.service_log.as_ref(),
            bad_log: planned.job.log_trouble.is_some(),
            conformity: &planned.log,
            digest: &self.record.digest,
            revision: self.record.revision,
        };
        let mut view = page(&planned.voice(&self.words.certificate), &known, publish, download)?;
        view.frame.accent = accent(planned);
        let line = publish.index.then(|| Line {
            date: view.date.clone(),
            day: planned.plan.start.date(),
            lang: self.words.certificate.language.clone(),
            number: planned.record.number.clone(),
            site: publish.site.then(|| planned.plan.site.name.clone()),
            // what is done has no certificate before it is made
            state: if planned.log.certifies() && !is_issued { PENDING } else { view.state }.to_owned(),
        });
        let line = line.filter(|line| publish.planned || line.state != PLANNED);
        Ok((html(Page::Record, &view).map_err(Failure::internal)?, line))
    }
}

/// The company's color.
fn accent(planned: &Planned) -> Option<String> {
    planned.company().style.accent.map(|accent| accent.hex())
}

/// A link among the folders between `folder` and a file of it would carry the file somewhere else.
fn check_links(folder: &Path, path: &Path) -> io::Result<()> {
    for above in path.ancestors().skip(1).take_while(|above| *above != folder) {
        if fs::symlink_metadata(above).is_ok_and(|it| it.file_type().is_symlink()) {
            let why = format!("{} is a symbolic link to another place", above.display());
            return Err(io::Error::other(why));
        }
    }
    Ok(())
}
