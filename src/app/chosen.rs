//! Which visits a command is for: job files as they are named, those of a folder, those that a batch planned of a contract; of some
//! days only, where that is asked for.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::context::Context;
use super::failure::{Failure, valid};
use super::inputs::{JOBS, in_folder, kind_of};
use super::job_folder::{JobFolder, There, past, stem};
use super::planned::plan_file;
use crate::company::CompanyFile;
use crate::contract::{Contract, planned_start};
use crate::diagnostic::Diagnostics;
use crate::yaml::FileKind;

/// From a day to a day, both included; all days by default.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Dates {
    pub from: Option<Date>,
    pub to: Option<Date>,
}

impl Dates {
    pub fn hold(self, day: Date) -> bool {
        self.from.is_none_or(|from| from <= day) && self.to.is_none_or(|to| day <= to)
    }

    /// Whether a job file is of a visit on one of them. One that cannot be read is, so that what is wrong with it is said.
    pub fn hold_of(self, job: &Path) -> bool {
        self == Dates::default() || planned_start(job).is_none_or(|start| self.hold(start.date()))
    }
}

/// Visits that are chosen.
#[derive(Debug, Default)]
pub struct Chosen {
    /// Their job files, in the order they were named.
    pub jobs: Vec<PathBuf>,
    /// The folder of their documents, where it is named or known by a contract.
    pub documents: Option<PathBuf>,
}

/// Finds the job files that are named. Of a contract they are those that `decant batch` wrote into `jobs` of the folder of documents,
/// which is `out` beside the contract where nothing else is named.
pub fn chosen(named: &[PathBuf], documents: Option<&Path>, dates: Dates) -> Result<Chosen, Failure> {
    let mut found = Chosen { jobs: Vec::new(), documents: documents.map(Path::to_owned) };
    for path in named {
        if path.is_dir() {
            found.jobs.extend(in_folder(path)?.into_iter().filter(|job| dates.hold_of(job)));
        } else if kind_of(path) == FileKind::Contract {
            let folder = documents.map_or_else(|| path.with_file_name("out"), Path::to_owned);
            found.jobs.extend(of_contract(path, &folder, dates)?);
            found.documents = Some(folder);
        } else if dates.hold_of(path) {
            found.jobs.push(path.clone());
        }
    }
    if found.jobs.is_empty() && dates != Dates::default() {
        return Err(Failure::error("no visit is on these days"));
    }
    Ok(found)
}

/// The contract, and its job files as a batch wrote them.
pub fn planned_of(file: &Path, documents: &Path) -> Result<JobFolder, Failure> {
    let folder = documents.join(JOBS);
    let mut report = Diagnostics::new();
    let contract = valid(Contract::read(file, &past(&folder), &mut report), &report)?;
    JobFolder::of(contract, &folder)
}

/// The visits of a contract as a calendar has them; those that were made stay where they were made, and those that their logs say were
/// not made are called off.
pub fn calendar(
    file: &Path,
    documents: &Path,
    wanted: &dyn Fn(Date, &str, &[String]) -> bool,
) -> Result<String, Failure> {
    let folder = documents.join(JOBS);
    let mut report = Diagnostics::new();
    let contract = valid(Contract::read(file, &past(&folder), &mut report), &report)?;
    let company = CompanyFile::read(contract.company(), &mut report);
    let company = valid(company, &report)?;
    let context = Context::default();
    let not_made = |number: &str| {
        contract.logs.of_job(number).is_some()
            && plan_file(&folder.join(format!("{number}.yaml")), &context).is_ok_and(|planned| planned.was_not_made())
    };
    Ok(contract.calendar(&host_of(&company.record_link), wanted, &not_made))
}

/// The host of a link: what is the firm's own in it.
fn host_of(link: &str) -> String {
    let behind = link.split_once("://").map_or(link, |(_, rest)| rest);
    let host = behind.split(['/', '?', '#', ':']).next().unwrap_or_default();
    host.chars().filter(|c| c.is_ascii_alphanumeric() || matches!(c, '.' | '-')).collect()
}

fn of_contract(file: &Path, documents: &Path, dates: Dates) -> Result<Vec<PathBuf>, Failure> {
    let folder = planned_of(file, documents)?;
    let jobs: Vec<_> = folder.jobs.iter().filter(|file| dates.hold(file.job.day)).collect();
    let missing = jobs.iter().filter(|file| file.there == There::Nothing);
    let missing: Vec<String> = missing.take(10).map(|file| format!("  {}", file.path.display())).collect();
    if !missing.is_empty() {
        let why = "these visits are not planned yet, or not in this folder; nothing was done";
        let hint = format!("`decant batch {} -o {}` plans them", file.display(), documents.display());
        return Err(Failure::error(why).lines(missing).hint(hint));
    }
    let gone = folder.kept.iter().filter(|job| dates.hold_of(job)).cloned();
    Ok(jobs.into_iter().map(|file| file.path.clone()).chain(gone).collect())
}

/// The numbers of chosen visits, by which their records are known.
pub fn numbers(jobs: &[PathBuf]) -> BTreeSet<String> {
    jobs.iter().map(|job| stem(job)).collect()
}
