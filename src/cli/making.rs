//! How a batch makes a job: the same documents as `decant render`, in memory; and how it makes a round of a contract.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::label_run::{Failure, left_off, set_view};
use super::languages::spoken;
use super::prepare::{Prepared, read, work_out};
use super::render::{Format, Kind, files};
use super::round::{Wanted, round_views};
use super::service::{Served, gather};
use super::settled::settled_files;
use super::shelf::Shelf;
use super::{Exit, Refusal};
use crate::batch::{Failed, Known, Made, Maker, Settled, SettledJob, Watched};
use crate::catalog::Tongue;
use crate::contract::Round;
use crate::digest::{hex, sha256};
use crate::document::View;
use crate::job::Job;
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
    /// The folder of the output.
    pub output: &'a Path,
    /// Numbers of job files that are known without reading them.
    pub numbers: &'a BTreeMap<PathBuf, String>,
    /// What was settled when the run began, by the jobs' numbers.
    pub settled: &'a BTreeMap<String, SettledJob>,
    /// Whether what was issued and never went out is made anew.
    pub replace: bool,
}

/// What a batch makes documents of.
pub(super) enum Work {
    /// A visit.
    Visit(Box<Job>),
    /// The same, planned.
    Planned(Box<Prepared>),
    /// A round, with its jobs in order, or their files where they were not read.
    Round(Round, Result<Vec<Job>, Vec<PathBuf>>),
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
        part("options", self.options().as_bytes());
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
        if let Some(trouble) = &job.log_trouble {
            part("log that cannot be used", trouble.to_string().as_bytes());
        }
        if let Some(key) = self.shelf.signing_key(&job.catalog)? {
            part("key", key.public().to_string().as_bytes());
        }
        Ok(hex(&hash.finalize()))
    }
}

impl Making<'_> {
    fn options(&self) -> String {
        let dpi = (self.format == Format::Png).then_some(self.dpi);
        format!("{:?} {:?} {dpi:?} {:?} {}", self.kinds, self.format, self.ink, self.draft)
    }

    /// A round whose visits were all made and certified stays as it is: what was on the van that day is history.
    fn read_round(&self, round: &Round, files: &[PathBuf]) -> Result<Known<Work>, Failed> {
        if round.jobs.iter().all(|number| self.settled.contains_key(number)) {
            return Ok(Known {
                number: round.name.clone(),
                inputs: String::new(),
                watched: Vec::new(),
                stays: true,
                job: Work::Round(round.clone(), Err(files.to_vec())),
            });
        }
        let mut hash = Sha256::new();
        hash.update(format!("{} {} {} {:?}", round.name, round.van, round.day, self.of_rounds));
        let mut jobs = Vec::new();
        for file in files {
            let job = read(file, self.shelf).map_err(failed)?;
            hash.update(self.inputs(&job).map_err(failed)?);
            jobs.push(job);
        }
        Ok(Known {
            number: round.name.clone(),
            inputs: hex(&hash.finalize()),
            watched: Vec::new(),
            stays: false,
            job: Work::Round(round.clone(), Ok(jobs)),
        })
    }

    /// A job that cannot be read stands in the report as such, so that what is wrong with it counts as well. A visit that was
    /// issued counts by its own files: what it says does not change with the company file.
    fn read_report(&self, number: &str, files: &[PathBuf]) -> Result<Known<Work>, Failed> {
        let mut hash = Sha256::new();
        let mut leading = None;
        for file in files {
            if let Some(known) = self.number(file).and_then(|number| self.settled.get(&number)) {
                for watched in known.watched.iter().filter(|watched| !watched.shared) {
                    hash.update(self.digest(watched).unwrap_or_default());
                }
                continue;
            }
            match read(file, self.shelf) {
                Ok(job) => {
                    let own = [Some(&job.source), job.applied.as_ref().map(|log| &log.source)];
                    own.into_iter().flatten().for_each(|source| hash.update(hex(&source.digest())));
                    if let Some(trouble) = &job.log_trouble {
                        hash.update(trouble.to_string());
                    }
                    if leading.is_none() {
                        leading = Some(self.inputs(&job).map_err(failed)?);
                    }
                }
                Err(refusal) => hash.update(refusal.told()),
            }
        }
        hash.update(leading.unwrap_or_default());
        Ok(Known {
            number: report_name(number),
            inputs: hex(&hash.finalize()),
            watched: Vec::new(),
            stays: false,
            job: Work::Report(number.to_owned(), files.to_vec()),
        })
    }

    fn make_report(&self, number: &str, files: &[PathBuf]) -> Result<Made, Failed> {
        let name = report_name(number);
        let issued = |file: &Path| self.issued_of(file);
        let served = Served { files, issued: &issued };
        let gathered = gather(&served, Some(number), &name, self.ink, self.language, self.shelf).map_err(failed)?;
        let mut made = Made::default();
        self.set(&[gathered.view], &gathered.leading, &name, &mut made)?;
        made.files.extend(gathered.tables);
        Ok(made)
    }

    /// All visits or none: a load-out that lacks a visit would be taken for a whole one.
    fn make_round(&self, round: &Round, jobs: Result<Vec<Job>, Vec<PathBuf>>) -> Result<Made, Failed> {
        let jobs = match jobs {
            Ok(jobs) => jobs,
            Err(files) => {
                let read: Result<Vec<Job>, Refusal> = files.iter().map(|file| read(file, self.shelf)).collect();
                read.map_err(failed)?
            }
        };
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
    pub(super) fn set(&self, views: &[View], leading: &Prepared, of: &str, made: &mut Made) -> Result<(), Failed> {
        let equipped = self.shelf.press(&leading.job, self.ink).map_err(failed)?;
        for view in views {
            let ident = format!("{of}/{}", view.stem);
            let pages =
                set_view(&equipped.press, view, &ident, leading.plan.start, &leading.job.catalog).and_then(|typeset| {
                    made.notes.extend(left_off(view, &typeset));
                    files(view, &typeset, self.format, self.ink, self.dpi)
                });
            made.files.extend(pages.map_err(|failure| fault_of(&view.stem, failure))?);
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
            _ => self.numbers.get(file).cloned().or_else(|| Job::number_in(file)),
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
            watched: Self::watched(&job),
            stays: false,
            job: Work::Visit(Box::new(job)),
        })
    }

    /// What is made is what was asked for; what was issued may be replaced or not.
    fn asked(&self) -> String {
        let language = self.language.map(|language| format!("{language:?}"));
        format!("{} {} {}", self.options(), language.unwrap_or_default(), self.replace)
    }

    /// The company file is read once for all jobs.
    fn digest(&self, watched: &Watched) -> Option<String> {
        let read = || fs::read(&watched.file).ok().map(|bytes| sha256(&bytes));
        if watched.shared { self.shelf.digest(Path::new(&watched.file), read) } else { read() }
    }

    fn settled(&self, work: Work, folder: &Path) -> Result<(Work, Option<Settled>), Failed> {
        self.settled_work(work, folder)
    }

    fn issued(&self, number: &str, folder: &Path) -> BTreeSet<String> {
        settled_files(folder, number)
    }

    fn make(&self, work: Work, folder: &Path) -> Result<Made, Failed> {
        match work {
            Work::Visit(job) => self.make_visit(&work_out(*job).map_err(failed)?, folder),
            Work::Planned(prepared) => self.make_visit(&prepared, folder),
            Work::Round(round, jobs) => self.make_round(&round, jobs),
            Work::Report(number, files) => self.make_report(&number, &files),
        }
    }
}

pub(super) fn failed(refusal: Refusal) -> Failed {
    Failed { told: refusal.told().trim_end().to_owned(), own_fault: refusal.exit == Exit::OwnFault, unwritten: false }
}

fn fault_of(stem: &str, failure: Failure) -> Failed {
    match failure {
        Failure::User(told) | Failure::Unwritten(told) => Failed::new(format!("{stem}: {told}")),
        Failure::Problem(problem) => Failed {
            told: format!("{} was not made:\n{problem}", Shown(stem)).trim_end().to_owned(),
            ..Failed::default()
        },
        Failure::Own(told) => {
            Failed { own_fault: true, ..Failed::new(format!("{stem}: a fault of the program: {told}")) }
        }
    }
}
