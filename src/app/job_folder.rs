//! The folder that a contract's job files are written into: what is to be written there, what somebody has changed, and
//! what no longer belongs.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::failure::{Failure, valid};
use crate::contract::{Contract, ExpandedJob, Mark};
use crate::diagnostic::Diagnostics;
use crate::input;
use crate::plan::plan;
use crate::record::Record;
use crate::record::issued::was_issued;
use crate::whole::write_whole;
use crate::yaml::LARGEST_FILE;

/// A contract and its job files, compared with what is in their folder.
pub struct JobFolder {
    pub contract: Contract,
    /// Job files, in the order of the visits.
    pub jobs: Vec<JobFile>,
    /// Job files of this contract that no visit of it has any more.
    stale: Vec<StaleJob>,
    /// Job files of this contract that no visit of it has any more and of which a certificate was issued: they stay.
    pub kept: Vec<PathBuf>,
}

/// A job file of the contract.
pub struct JobFile {
    pub path: PathBuf,
    pub job: ExpandedJob,
    pub there: There,
}

/// What is there under a job file's name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum There {
    Nothing,
    /// The same.
    Same,
    /// What an earlier expansion wrote.
    Earlier,
    /// What somebody wrote or changed.
    ByHand,
}

struct StaleJob {
    path: PathBuf,
    /// Whether it is as it was expanded.
    unchanged: bool,
}

impl JobFolder {
    /// Looks at a folder, which need not be there.
    pub fn of(contract: Contract, folder: &Path) -> Result<JobFolder, Failure> {
        let cannot = |path: &Path, e: io::Error| Failure::error(format_args!("cannot read {}: {e}", path.display()));
        let mut jobs = Vec::new();
        for job in contract.expand(folder) {
            let path = folder.join(format!("{}.yaml", job.name));
            let there = match input::read(&path, LARGEST_FILE) {
                Ok(bytes) if bytes == job.yaml.as_bytes() => There::Same,
                Ok(bytes) if mark(&bytes).is_some_and(|mark| mark.unchanged) => There::Earlier,
                Ok(_) => There::ByHand,
                Err(e) if e.is_not_found() => There::Nothing,
                Err(e) => return Err(cannot(&path, e.into())),
            };
            jobs.push(JobFile { path, job, there });
        }
        let mut found = JobFolder { contract, jobs, stale: Vec::new(), kept: Vec::new() };
        let entries = match fs::read_dir(folder) {
            Ok(entries) => entries,
            Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(found),
            Err(e) => return Err(cannot(folder, e)),
        };
        let belong: BTreeSet<&Path> = found.jobs.iter().map(|file| file.path.as_path()).collect();
        for entry in entries {
            let path = entry.map_err(|e| cannot(folder, e))?.path();
            if path.extension().is_none_or(|e| e != "yaml") || belong.contains(path.as_path()) || !path.is_file() {
                continue;
            }
            let mark = input::read(&path, LARGEST_FILE).ok().and_then(|bytes| mark(&bytes));
            let Some(mark) = mark.filter(|mark| mark.contract == found.contract.number) else { continue };
            if was_issued(&path, &stem(&path)) {
                found.kept.push(path);
            } else {
                found.stale.push(StaleJob { path, unchanged: mark.unchanged });
            }
        }
        found.stale.sort_by(|a, b| a.path.cmp(&b.path));
        found.kept.sort();
        Ok(found)
    }

    /// Logs of the contract's folder that no visit takes: the problems to show, and a line of each for a manifest.
    pub fn unused_logs(&self) -> (Vec<String>, Vec<String>) {
        let logs = self.contract.logs.clone().without(&self.kept.iter().map(|path| stem(path)).collect());
        let problems = logs.problems().iter().map(ToString::to_string).collect();
        let lines = logs.unused.into_iter().map(|(file, why)| format!("{}: {why}", file.display()));
        (problems, lines.collect())
    }

    /// Removes what no longer belongs and nobody has changed, if that is asked for: what was removed, and what is left.
    pub fn remove_stale(&self, remove: bool) -> (Vec<String>, Vec<String>) {
        let (mut removed, mut left) = (Vec::new(), Vec::new());
        for stale in &self.stale {
            let is_gone = remove && stale.unchanged && fs::remove_file(&stale.path).is_ok();
            if is_gone { &mut removed } else { &mut left }.push(stale.path.display().to_string());
        }
        (removed, left)
    }
}

impl JobFile {
    /// Writes it, unless it is there.
    pub fn write(&self) -> Result<(), Failure> {
        if self.there == There::Same {
            return Ok(());
        }
        write_whole(&self.path, self.job.yaml.as_bytes()).map_err(|e| Failure::unwritten(&self.path, &e))
    }
}

fn mark(bytes: &[u8]) -> Option<Mark> {
    Mark::of(std::str::from_utf8(bytes).ok()?)
}

/// The number of a contract's job is the name of its file.
pub fn stem(path: &Path) -> String {
    path.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

/// Reads and plans the first job of every site, and reports what is wrong at its place in the contract or its table. A job is
/// sound when it can be planned and its record has a link that can be printed.
pub fn check_jobs(contract: &Contract, report: &mut Diagnostics) {
    contract.check(report, |job, report| {
        let link = &job.company.record_link;
        let origin = job.company.source.root().origin().key("record_link");
        if let Some(Err(problem)) = plan(job, report).map(|plan| Record::of(&plan, link, &origin)) {
            report.push(*problem);
        }
    });
}

/// Reads a contract and checks its jobs; the report may hold warnings.
pub fn read_checked(file: &Path, report: &mut Diagnostics) -> Result<Contract, Failure> {
    let contract = Contract::read(file, report);
    if let Some(contract) = &contract {
        check_jobs(contract, report);
    }
    valid(contract, report)
}
