//! How a batch works: to read a job, a route or a service report, and how to make its files.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;
use sha2::{Digest, Sha256};

use super::context::Context;
use super::documents::{Format, Options};
use super::failure::{Cause, Failure};
use super::inputs::{Gathered, Inputs};
use super::issued::{Standing, standing};
use super::layout::{files, label_notes};
use super::planned::{Planned, job_words, plan_file, plan_job, read_job};
use super::route::{RouteKinds, route_views};
use super::service_report::gather;
use super::visit::{Visit, is_there};
use crate::batch::{Document, Failed, Known, Made, Maker, Output, Settled, Watched};
use crate::contract::VanDay;
use crate::digest::{hex, sha256};
use crate::document::View;
use crate::engine::{Template, fonts};
use crate::job::Job;
use crate::record::issued::{Names, issued, issued_files, replaced, revision_of, revisions};
use crate::record::{RecordFile, rows};
use crate::register::Visited;

/// Makes the same documents as `decant render`, in memory.
pub struct Production<'a> {
    pub options: &'a Options,
    pub of_routes: RouteKinds,
    pub inputs: &'a Inputs,
    /// The folder of the output.
    pub output: &'a Path,
    pub context: &'a Context,
}

/// What a batch makes documents of.
pub enum Work {
    Visit(Box<Job>),
    /// A visit that was planned to compare it with what was issued.
    Planned(Box<Planned>),
    /// A route, with its jobs in order, or their files where they were not read.
    Route(VanDay, Result<Vec<Job>, Vec<PathBuf>>),
    /// A service report: the contract's number and its job files, which are read one by one.
    Report(String, Vec<PathBuf>),
}

/// What a service report is called, and the folder it is in.
fn report_name(contract: &str) -> String {
    format!("{contract}-service-report")
}

impl Maker for Production<'_> {
    type Job = Work;

    fn number(&self, file: &Path) -> Option<String> {
        match self.inputs.gathered.get(file) {
            Some(Gathered::Route(route, _)) => Some(route.name.clone()),
            Some(Gathered::Report(number, _)) => Some(report_name(number)),
            None => self.inputs.numbers.get(file).cloned().or_else(|| Job::number_in(file)),
        }
    }

    fn kind(&self, file: &Path) -> &'static str {
        match self.inputs.gathered.get(file) {
            Some(Gathered::Route(..)) => "route",
            Some(Gathered::Report(..)) => "report",
            None => "visit",
        }
    }

    fn origin(&self, file: &Path) -> Option<String> {
        self.inputs.origins.get(file).cloned()
    }

    fn read(&self, file: &Path) -> Result<Known<Work>, Failed> {
        Ok(match self.inputs.gathered.get(file) {
            Some(Gathered::Route(route, files)) => self.read_route(route, files)?,
            Some(Gathered::Report(number, files)) => self.read_report(number, files)?,
            None => {
                let job = read_job(file, self.context)?;
                let (number, inputs, watched) = (job.number.clone(), self.digest_of(&job)?, watched(&job, self.output));
                Known { watched, ..Known::of(number, inputs, Work::Visit(Box::new(job))) }
            }
        })
    }

    /// What is made is what was asked for; what was issued may be replaced or not.
    fn asked(&self) -> String {
        let language = self.context.language.as_ref().map(|language| format!("{language:?}"));
        format!("{} {} {}", self.options_text(), language.unwrap_or_default(), self.options.replace_draft)
    }

    /// The company file is read once for all jobs.
    fn digest(&self, watched: &Watched) -> Option<String> {
        let from = if watched.from_output { self.output } else { Path::new("") };
        let file = from.join(&watched.file);
        let read = || fs::read(&file).ok().map(|bytes| sha256(&bytes));
        if watched.shared { self.context.digest(&file, read) } else { read() }
    }

    fn settled(&self, work: Work, folder: &Path) -> Result<(Work, Option<Settled>), Failed> {
        match work {
            Work::Visit(job) if !revisions(folder, &job.number).is_empty() => {
                let planned = plan_job(*job)?;
                let settled = self.settled_visit(&planned, folder)?;
                Ok((Work::Planned(Box::new(planned)), settled))
            }
            other => Ok((other, None)),
        }
    }

    fn issued(&self, number: &str, folder: &Path) -> BTreeSet<String> {
        issued_files(folder, number)
    }

    fn make(&self, work: Work, folder: &Path, before: &[Document]) -> Result<Made, Failed> {
        match work {
            Work::Visit(job) => self.make_visit(&plan_job(*job)?, folder, before),
            Work::Planned(planned) => self.make_visit(&planned, folder, before),
            Work::Route(route, jobs) => self.make_route(&route, jobs, before),
            Work::Report(number, files) => self.make_report(&number, &files, before),
        }
    }
}

impl Production<'_> {
    /// SHA-256 of everything the documents of a job depend on: program, options, fonts, templates with the logo, words,
    /// company file, job file and log, all of them as they were read.
    fn digest_of(&self, job: &Job) -> Result<String, Failure> {
        let words = job_words(job, self.context)?;
        let mut hash = Sha256::new();
        let mut part = |name: &str, digest: &[u8]| {
            hash.update(name);
            hash.update(digest.len().to_le_bytes());
            hash.update(digest);
        };
        part("program", env!("CARGO_PKG_VERSION").as_bytes());
        part("options", self.options_text().as_bytes());
        part("fonts", &fonts::digest());
        part("templates", &self.context.engine(job)?.digest);
        words.each().for_each(|words| part("words", &words.digest()));
        part("languages", &[u8::from(words.labels_second.is_some())]);
        part("company", &job.company.source.digest());
        part("job", &job.source.digest());
        if let Some(log) = &job.service_log {
            part("log", &log.source.digest());
        }
        if let Some(trouble) = &job.log_trouble {
            part("log that cannot be used", trouble.to_string().as_bytes());
        }
        if let Some(key) = self.context.signing_key(&job.company)? {
            part("key", key.public().to_string().as_bytes());
        }
        Ok(hex(&hash.finalize()))
    }

    fn options_text(&self) -> String {
        let Options { kinds, format, dpi, draft, .. } = self.options;
        let dpi = (*format == Format::Png).then_some(dpi);
        format!("{kinds:?} {format:?} {dpi:?} {:?} {draft}", self.context.ink)
    }

    /// A route whose visits were all made stays as it is: what was on the van that day is history.
    fn read_route(&self, route: &VanDay, files: &[PathBuf]) -> Result<Known<Work>, Failure> {
        let is_made = |number| self.inputs.settled.contains_key(number) || self.inputs.logged.contains(number);
        let stays = route.jobs.iter().all(is_made);
        let mut inputs = String::new();
        let mut jobs = Err(files.to_vec());
        if !stays {
            let mut hash = Sha256::new();
            let kinds = self.of_routes;
            hash.update(format!("{} {} {} {kinds:?}", route.name, route.van, route.day));
            let read: Result<Vec<Job>, Failure> = files.iter().map(|file| read_job(file, self.context)).collect();
            let read = read?;
            for job in &read {
                hash.update(self.digest_of(job)?);
            }
            inputs = hex(&hash.finalize());
            jobs = Ok(read);
        }
        Ok(Known { stays, ..Known::of(route.name.clone(), inputs, Work::Route(route.clone(), jobs)) })
    }

    /// A job that cannot be read stands in the report as such, so that what is wrong with it counts as well. A visit that was
    /// issued counts by its own files: what it says does not change with the company file.
    fn read_report(&self, number: &str, files: &[PathBuf]) -> Result<Known<Work>, Failure> {
        let mut hash = Sha256::new();
        let mut leading = None;
        for file in files {
            if let Some(known) = self.number(file).and_then(|number| self.inputs.settled.get(&number)) {
                let own = known.watched.iter().filter(|watched| !watched.shared);
                own.for_each(|watched| hash.update(self.digest(watched).unwrap_or_default()));
                continue;
            }
            match read_job(file, self.context) {
                Ok(job) => {
                    let own = [Some(&job.source), job.service_log.as_ref().map(|log| &log.source)];
                    own.into_iter().flatten().for_each(|source| hash.update(hex(&source.digest())));
                    if let Some(trouble) = &job.log_trouble {
                        hash.update(trouble.to_string());
                    }
                    if leading.is_none() {
                        leading = Some(self.digest_of(&job)?);
                    }
                }
                Err(failure) => hash.update(failure.text(false)),
            }
        }
        hash.update(leading.unwrap_or_default());
        let work = Work::Report(number.to_owned(), files.to_vec());
        Ok(Known::of(report_name(number), hex(&hash.finalize()), work))
    }

    /// Whether something was issued of a visit, and whether its job still gives it.
    fn settled_visit(&self, planned: &Planned, folder: &Path) -> Result<Option<Settled>, Failure> {
        let number = &planned.plan.job;
        let (issued, mut differs) = match standing(planned, folder) {
            Err(failure) if failure.cause == Cause::Issued => (None, Some(failure.text(false))),
            Err(failure) => return Err(failure),
            Ok(Standing::Free) => return Ok(None),
            // whoever is writing the next revision must hear of a slip in it
            Ok(Standing::Same(issued)) => (Some(issued), planned.log_trouble()),
            Ok(Standing::Differs(issued, failure)) => (Some(issued), Some(failure.text(false))),
        };
        if let Some(issued) = issued.as_ref().filter(|_| self.options.replace_draft) {
            match issued.may_be_replaced(number, planned.company(), self.context) {
                Ok(()) => return Ok(None),
                Err(failure) => differs = differs.map(|_| failure.text(false)),
            }
        }
        let start = issued.as_ref().and_then(|issued| issued.record["plan"]["start"].as_str());
        let files = issued_files(folder, number).into_iter().collect();
        Ok(Some(Settled { files, start: start.map(str::to_owned), differs }))
    }

    /// The record that was issued of a job file, if it was when the run began and the job still gives it: it is what happened,
    /// whatever the company file says by now.
    fn issued_of(&self, file: &Path) -> Option<Value> {
        let number = self.number(file)?;
        let known = self.inputs.settled.get(&number)?;
        let folder = self.output.join(&number);
        let newest = *revisions(&folder, &number).last()?;
        let found = issued(&folder, &number, newest)?;
        let is_same = |w: &Watched| self.digest(w).as_deref() == Some(w.sha256.as_str());
        if !known.watched.iter().all(is_same) {
            // a later revision may be made in this run
            let planned = plan_file(file, self.context).ok()?;
            if let Ok(Standing::Free) = standing(&planned, &folder) {
                return None;
            }
        }
        Some(found.record)
    }

    /// All documents of a visit, but for what was issued.
    fn make_visit(&self, planned: &Planned, folder: &Path, before: &[Document]) -> Result<Made, Failed> {
        let number = &planned.plan.job;
        let visit = Visit::of(planned, self.options, folder, self.context)?;
        let (documents, kept) = (&visit.documents, &visit.kept);
        let mut made = Made {
            rows: rows(&planned.plan, &planned.job, &planned.record.number),
            withheld: !documents.withheld.is_empty(),
            visit: Some(Visited::of(&planned.job, &planned.log).word().to_owned()),
            // before the work nobody looks at a log
            trouble: planned.log_trouble(),
            ..Made::default()
        };
        made.notes.extend(kept.note.clone());
        if planned.was_not_made() {
            made.notes.push("the visit was not made".to_owned());
        } else if made.withheld {
            made.notes.push(format!("the certificate is withheld: {}", documents.withheld.join("; ")));
        }
        if !documents.broken.is_empty() {
            made.notes.push(format!("the certificate says what was not kept: {}", documents.broken.join("; ")));
        }
        let (left_out, views): (Vec<&View>, Vec<&View>) =
            documents.views.iter().partition(|view| kept.leaves_out(view));
        for view in left_out.iter().filter(|view| !is_there(view, folder)) {
            made.notes.push(format!("{} was not made: the certificate of this job is issued already", view.stem));
        }
        self.produce(&views, planned, &planned.record.number, before, &mut made)?;
        let revision = documents.record.revision;
        if !made.documents.is_empty() {
            made.first_gone.extend(visit.outdated_seal(folder));
            made.files.extend(visit.record_files());
            made.files.retain(|(name, _)| !kept.stays(name));
            made.keeps = Names::earlier(number, revision);
            if kept.replaces {
                made.first_gone.extend(replaced(folder, number, revision, &made.files));
            }
        }
        made.settled = Some(settled_with(folder, number, &documents.record, &made.files));
        Ok(made)
    }

    /// All visits or none: a load-out that lacks a visit would be taken for a complete one.
    fn make_route(
        &self,
        route: &VanDay,
        jobs: Result<Vec<Job>, Vec<PathBuf>>,
        before: &[Document],
    ) -> Result<Made, Failed> {
        let planned: Result<Vec<Planned>, Failure> = match jobs {
            Ok(jobs) => jobs.into_iter().map(plan_job).collect(),
            Err(files) => files.iter().map(|file| plan_file(file, self.context)).collect(),
        };
        let planned = planned?;
        let views = route_views(route, &planned, self.of_routes, self.context)?;
        let mut made = Made::default();
        if let Some(leading) = planned.first() {
            let numbers: Vec<&str> = planned.iter().map(|p| p.record.number.as_str()).collect();
            self.produce(&views.iter().collect::<Vec<_>>(), leading, &numbers.join("+"), before, &mut made)?;
        }
        Ok(made)
    }

    fn make_report(&self, number: &str, files: &[PathBuf], before: &[Document]) -> Result<Made, Failed> {
        let name = report_name(number);
        let issued = |file: &Path| self.issued_of(file);
        let report = gather(files, &issued, Some(number), &name, self.context)?;
        let mut made = Made::default();
        self.produce(&[&report.view], &report.leading, &name, before, &mut made)?;
        made.files.extend(report.tables);
        Ok(made)
    }

    /// Lays views out into files; `of` tells their identifiers apart. A document that is there and would be the same is left as it
    /// is, but for certificates: what is issued is compared byte for byte.
    fn produce(
        &self,
        views: &[&View],
        leading: &Planned,
        of: &str,
        before: &[Document],
        made: &mut Made,
    ) -> Result<(), Failed> {
        for view in views {
            let ident = format!("{of}/{}", view.stem);
            let sha256 = self.digest_of_view(view, leading, &ident)?;
            let same = |d: &&Document| d.sha256 == sha256 && view.template != Template::Certificate;
            if let Some(document) = before.iter().find(same) {
                made.notes.extend(document.notes.clone());
                made.documents.push(document.clone());
                continue;
            }
            let mut notes = Vec::new();
            let pages = leading.lay_out(view, &ident, self.context).and_then(|typeset| {
                notes = label_notes(view, &typeset);
                files(view, &typeset, self.options, self.context.ink)
            });
            let pages = pages.map_err(|failure| {
                let failed = Failed::from(failure);
                let message = failed.message.strip_prefix("error: ").unwrap_or(&failed.message).to_owned();
                Failed { message, ..failed }
            })?;
            made.notes.extend(notes.clone());
            let files = pages.iter().map(|(name, bytes)| Output::of(name, bytes)).collect();
            made.documents.push(Document { name: view.stem.clone(), sha256, files, notes });
            made.files.extend(pages);
        }
        Ok(())
    }

    /// SHA-256 of all that the bytes of a document depend on.
    fn digest_of_view(&self, view: &View, leading: &Planned, ident: &str) -> Result<String, Failure> {
        let mut hash = Sha256::new();
        hash.update(format!(
            "{} {} {:?} {} {ident}\n",
            env!("CARGO_PKG_VERSION"),
            self.options_text(),
            view.template,
            leading.plan.start
        ));
        hash.update(fonts::digest());
        hash.update(self.context.engine(&leading.job)?.digest);
        hash.update(view.data.to_string());
        Ok(hex(&hash.finalize()))
    }
}

/// The files that a job was read from; none where its log cannot be used, so that it is read again when that may be mended.
fn watched(job: &Job, output: &Path) -> Vec<Watched> {
    if job.log_trouble.is_some() {
        return Vec::new();
    }
    let log = job.service_log.as_ref().map(|log| (&log.source, false));
    let sources = [(&job.source, false), (&job.company.source, true)].into_iter().chain(log);
    sources
        .map(|(source, shared)| {
            let inside = source.file().strip_prefix(output).ok();
            Watched {
                file: inside.unwrap_or(source.file()).display().to_string(),
                from_output: inside.is_some(),
                sha256: hex(&source.digest()),
                shared,
            }
        })
        .collect()
}

/// What is settled of a job when these files are in its folder beside those that were issued before. `record` is the record
/// among them, if it holds a certificate.
fn settled_with(folder: &Path, job: &str, record: &RecordFile, made: &[(String, Vec<u8>)]) -> Settled {
    let mut files = issued_files(folder, job);
    let now: Value = serde_json::from_slice(&record.json).unwrap_or_default();
    let of_this = |name: &str| revision_of(name, job) == Some(record.revision);
    if !now["certificate"].is_null() {
        files.extend(made.iter().map(|(name, _)| name.clone()).filter(|name| of_this(name)));
    } else if made.iter().any(|(name, _)| *name == Names::of(job, record.revision).record) {
        // it takes the place of what was issued
        files.retain(|name| !of_this(name));
    }
    let start = now["plan"]["start"].as_str().filter(|_| !files.is_empty());
    Settled { start: start.map(str::to_owned), files: files.into_iter().collect(), differs: None }
}

impl From<Failure> for Failed {
    fn from(failure: Failure) -> Failed {
        let message = failure.text(false).trim_end().to_owned();
        Failed { message, own_fault: failure.cause == Cause::Internal, unwritten: false }
    }
}
