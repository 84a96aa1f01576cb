//! How a batch makes a job: the same documents as `decant render`, in memory; and how it makes a round of a contract.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::label_run::{Failure, left_off, set_view};
use super::languages::spoken;
use super::prepare::{Prepared, read, work_out};
use super::proving::{attach, earlier_names, follows_on, record_names, written_over};
use super::render::{Format, Kind, files};
use super::round::{Wanted, round_views};
use super::service::gather;
use super::shelf::Shelf;
use super::views::{Asked, views};
use super::{Exit, Refusal};
use crate::batch::{Failed, Known, Made, Maker};
use crate::catalog::Tongue;
use crate::contract::Round;
use crate::digest::hex;
use crate::document::View;
use crate::job::Job;
use crate::record::rows;
use crate::shown::Shown;
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
    /// What is made of rounds.
    pub of_rounds: Wanted,
    /// Rounds, by what stands for a file of theirs, each with its job files in order.
    pub rounds: &'a BTreeMap<PathBuf, (Round, Vec<PathBuf>)>,
    /// Service reports, by what stands for a file of theirs: the contract's number, and its job files.
    pub reports: &'a BTreeMap<PathBuf, (String, Vec<PathBuf>)>,
}

/// What a batch makes documents of.
pub(super) enum Work {
    /// A visit.
    Visit(Box<Job>),
    /// A round, with its jobs in order.
    Round(Round, Vec<Job>),
    /// A service report: the contract's number and its job files, which are read one by one.
    Report(String, Vec<PathBuf>),
}

/// What a service report is called, and the folder it is in.
fn report_name(contract: &str) -> String {
    format!("{contract}-service-report")
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
        Ok(hex(&hash.finalize()))
    }
}

impl Making<'_> {
    fn read_round(&self, round: &Round, files: &[PathBuf]) -> Result<Known<Work>, Failed> {
        let mut hash = Sha256::new();
        hash.update(format!(
            "{} {} {} {:?}",
            round.name, round.van, round.day, self.of_rounds
        ));
        let mut jobs = Vec::new();
        for file in files {
            let job = read(file, self.shelf).map_err(failed)?;
            hash.update(self.inputs(&job).map_err(failed)?);
            jobs.push(job);
        }
        Ok(Known {
            number: round.name.clone(),
            inputs: hex(&hash.finalize()),
            job: Work::Round(round.clone(), jobs),
        })
    }

    /// A job that cannot be read stands in the report as such, so that what is wrong with it counts as well.
    fn read_report(&self, number: &str, files: &[PathBuf]) -> Result<Known<Work>, Failed> {
        let mut hash = Sha256::new();
        for file in files {
            match read(file, self.shelf) {
                Ok(job) => hash.update(self.inputs(&job).map_err(failed)?),
                Err(refusal) => hash.update(refusal.told()),
            }
        }
        Ok(Known {
            number: report_name(number),
            inputs: hex(&hash.finalize()),
            job: Work::Report(number.to_owned(), files.to_vec()),
        })
    }

    fn make_report(&self, number: &str, files: &[PathBuf]) -> Result<Made, Failed> {
        let name = report_name(number);
        let gathered = gather(files, Some(number), &name, self.ink, self.language, self.shelf).map_err(failed)?;
        let mut made = Made::default();
        self.set(&[gathered.view], &gathered.leading, &name, &mut made)?;
        made.files.extend(gathered.tables);
        Ok(made)
    }

    fn make_visit(&self, job: Job, folder: &Path) -> Result<Made, Failed> {
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
        let mut made = Made {
            rows: rows(&prepared.plan, &prepared.job, &prepared.record.number),
            withheld: !put.withheld.is_empty(),
            ..Made::default()
        };
        made.notes.extend(written_over(&put.record, &prepared.plan.job, folder));
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
        self.set(&put.views, &prepared, &prepared.record.number, &mut made)?;
        if !made.files.is_empty() {
            let (record, seal) = record_names(&prepared.plan.job, put.record.revision);
            made.together = vec![record.clone(), seal.clone()];
            made.files.push((record, put.record.json));
            made.files.push((seal, put.seal));
            made.keeps = earlier_names(&prepared.plan.job, put.record.revision);
        }
        Ok(made)
    }

    /// All visits or none: a load-out that lacks a visit would be taken for a whole one.
    fn make_round(&self, round: &Round, jobs: Vec<Job>) -> Result<Made, Failed> {
        let prepared: Result<Vec<Prepared>, Refusal> = jobs.into_iter().map(work_out).collect();
        let prepared = prepared.map_err(failed)?;
        let views =
            round_views(round, &prepared, self.of_rounds, self.ink, self.language, self.shelf).map_err(failed)?;
        let mut made = Made::default();
        if let Some(leading) = prepared.first() {
            let numbers: Vec<&str> = prepared.iter().map(|p| p.record.number.as_str()).collect();
            self.set(&views, leading, &numbers.join("+"), &mut made)?;
        }
        Ok(made)
    }

    /// Lays views out into files; `of` tells their identifiers apart.
    fn set(&self, views: &[View], leading: &Prepared, of: &str, made: &mut Made) -> Result<(), Failed> {
        let equipped = self.shelf.press(&leading.job, self.ink).map_err(failed)?;
        for view in views {
            let ident = format!("{of}/{}", view.stem);
            let pages =
                set_view(&equipped.press, view, &ident, leading.plan.start, &leading.job.catalog).and_then(|typeset| {
                    made.notes.extend(left_off(view, &typeset));
                    files(view, &typeset, self.format, self.ink, self.dpi)
                });
            made.files
                .extend(pages.map_err(|failure| fault_of(&view.stem, failure))?);
        }
        Ok(())
    }
}

impl Maker for Making<'_> {
    type Job = Work;

    fn number(&self, file: &Path) -> Option<String> {
        match (self.rounds.get(file), self.reports.get(file)) {
            (Some((round, _)), _) => Some(round.name.clone()),
            (_, Some((number, _))) => Some(report_name(number)),
            _ => Job::number_in(file),
        }
    }

    fn kind(&self, file: &Path) -> &'static str {
        match (self.rounds.contains_key(file), self.reports.contains_key(file)) {
            (true, _) => "round",
            (_, true) => "report",
            _ => "visit",
        }
    }

    fn read(&self, file: &Path) -> Result<Known<Work>, Failed> {
        if let Some((round, files)) = self.rounds.get(file) {
            return self.read_round(round, files);
        }
        if let Some((number, files)) = self.reports.get(file) {
            return self.read_report(number, files);
        }
        let job = read(file, self.shelf).map_err(failed)?;
        Ok(Known {
            number: job.number.clone(),
            inputs: self.inputs(&job).map_err(failed)?,
            job: Work::Visit(Box::new(job)),
        })
    }

    fn make(&self, work: Work, folder: &Path) -> Result<Made, Failed> {
        match work {
            Work::Visit(job) => self.make_visit(*job, folder),
            Work::Round(round, jobs) => self.make_round(&round, jobs),
            Work::Report(number, files) => self.make_report(&number, &files),
        }
    }
}

fn failed(refusal: Refusal) -> Failed {
    Failed {
        told: refusal.told().trim_end().to_owned(),
        own_fault: refusal.exit == Exit::OwnFault,
        unwritten: false,
    }
}

fn fault_of(stem: &str, failure: Failure) -> Failed {
    match failure {
        Failure::User(told) | Failure::Unwritten(told) => Failed::new(format!("{stem}: {told}")),
        Failure::Problem(problem) => Failed {
            told: format!("{} was not made:\n{problem}", Shown(stem))
                .trim_end()
                .to_owned(),
            ..Failed::default()
        },
        Failure::Own(told) => Failed {
            own_fault: true,
            ..Failed::new(format!("{stem}: a fault of the program: {told}"))
        },
    }
}
