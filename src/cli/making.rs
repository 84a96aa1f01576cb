//! How a batch makes a job: the same documents as `decant render`, in memory.

use std::path::Path;

use sha2::{Digest, Sha256};

use super::label_run::{Failure, left_off, set_view};
use super::languages::spoken;
use super::prepare::{read, work_out};
use super::proving::{attach, earlier_names, follows_on, record_names};
use super::render::{Format, Kind, files};
use super::shelf::Shelf;
use super::views::{Asked, views};
use super::{Exit, Refusal};
use crate::batch::{Failed, Known, Made, Maker};
use crate::catalog::Tongue;
use crate::job::Job;
use crate::record::rows;
use crate::typeset::{Ink, fonts};

/// Which documents, and how.
pub(super) struct Making<'a> {
    pub kinds: &'a [Kind],
    pub format: Format,
    pub dpi: u32,
    pub ink: Ink,
    pub draft: bool,
    pub language: Option<&'a Tongue>,
    pub shelf: &'a Shelf,
}

impl Making<'_> {
    /// SHA-256 of everything the documents of a job depend on: program, options, fonts, templates with the logo, words,
    /// company file, job file and log, all of them as they were read.
    fn inputs(&self, job: &Job) -> Result<String, Refusal> {
        let mut hash = Sha256::new();
        let mut part = |name: &str, digest: &[u8]| {
            hash.update(name);
            hash.update(digest.len().to_le_bytes());
            hash.update(digest);
        };
        part("program", env!("CARGO_PKG_VERSION").as_bytes());
        let dpi = (self.format == Format::Png).then_some(self.dpi);
        let options = format!(
            "{:?} {:?} {dpi:?} {:?} {}",
            self.kinds, self.format, self.ink, self.draft
        );
        part("options", options.as_bytes());
        part("fonts", &fonts::digest());
        part("templates", &self.shelf.press(job, self.ink)?.digest);
        let spoken = spoken(job, self.language, self.shelf)?;
        for words in spoken.each() {
            part("words", &words.digest());
        }
        part("languages", &[u8::from(spoken.labels_second.is_some())]);
        part("company", &job.catalog.source.digest());
        part("job", &job.source.digest());
        if let Some(log) = &job.applied {
            part("log", &log.source.digest());
        }
        if let Some(key) = self.shelf.signing_key(&job.catalog)? {
            part("key", key.public().to_string().as_bytes());
        }
        Ok(hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect())
    }
}

impl Maker for Making<'_> {
    type Job = Job;

    fn number(&self, file: &Path) -> Option<String> {
        Job::number_in(file)
    }

    fn read(&self, file: &Path) -> Result<Known<Job>, Failed> {
        let job = read(file, self.shelf).map_err(failed)?;
        Ok(Known {
            number: job.number.clone(),
            inputs: self.inputs(&job).map_err(failed)?,
            job,
        })
    }

    fn make(&self, job: Job, folder: &Path) -> Result<Made, Failed> {
        let prepared = work_out(job).map_err(failed)?;
        let asked = Asked {
            kinds: self.kinds,
            draft: self.draft,
            ink: self.ink,
            language: self.language,
            first: None,
            copies: None,
            printer: None,
        };
        let mut put = views(&prepared, &asked, self.shelf).map_err(failed)?;
        follows_on(&put.record, &prepared.plan.job, folder).map_err(failed)?;
        attach(&mut put);
        let equipped = self.shelf.press(&prepared.job, self.ink).map_err(failed)?;
        let mut made = Made {
            rows: rows(&prepared.plan, &prepared.job, &prepared.record.number),
            withheld: !put.withheld.is_empty(),
            ..Made::default()
        };
        if made.withheld {
            made.notes
                .push(format!("the certificate is withheld: {}", put.withheld.join("; ")));
        }
        if !put.broken.is_empty() {
            made.notes.push(format!(
                "the certificate says what was not kept: {}",
                put.broken.join("; ")
            ));
        }
        for view in &put.views {
            let ident = format!("{}/{}", prepared.record.number, view.stem);
            let pages = set_view(
                &equipped.press,
                view,
                &ident,
                prepared.plan.start,
                &prepared.job.catalog,
            )
            .and_then(|typeset| {
                made.notes.extend(left_off(view, &typeset));
                files(view, &typeset, self.format, self.ink, self.dpi)
            });
            made.files
                .extend(pages.map_err(|failure| fault_of(&view.stem, failure))?);
        }
        if !made.files.is_empty() {
            let (record, seal) = record_names(&prepared.plan.job, put.record.revision);
            made.files.push((record, put.record.json));
            made.files.push((seal, put.seal));
            made.keeps = earlier_names(&prepared.plan.job, put.record.revision);
        }
        Ok(made)
    }
}

fn failed(refusal: Refusal) -> Failed {
    Failed {
        told: refusal.told.trim_end().to_owned(),
        own_fault: refusal.exit == Exit::OwnFault,
    }
}

fn fault_of(stem: &str, failure: Failure) -> Failed {
    match failure {
        Failure::User(told) => Failed::new(format!("{stem}: {told}")),
        Failure::Problem(problem) => Failed::new(format!("{stem} was not made:\n{problem}").trim_end()),
        Failure::Own(told) => Failed {
            told: format!("{stem}: a fault of the program: {told}"),
            own_fault: true,
        },
    }
}
