//! The folder that a contract's job files are written into: what is to be written there, what somebody has changed, and
//! what no longer belongs.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::settled::was_issued;
use super::{Refusal, output};
use crate::contract::{Contract, ExpandedJob, Mark};
use crate::input;
use crate::whole::write_whole;
use crate::yaml::LARGEST_FILE;

/// A contract's job files, held against what is in their folder.
pub(super) struct JobFolder {
    /// Job files, in the order of the visits.
    pub jobs: Vec<JobFile>,
    /// Job files of this contract that no visit of it has any more.
    pub stale: Vec<StaleJob>,
    /// Job files of this contract that no visit of it has any more and of which a certificate was issued: they stay.
    pub kept: Vec<PathBuf>,
}

/// A job file of the contract.
pub(super) struct JobFile {
    pub path: PathBuf,
    pub job: ExpandedJob,
    pub there: There,
}

/// What is there under a job file's name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum There {
    Nothing,
    /// The same.
    Same,
    /// What an earlier expansion wrote.
    Earlier,
    /// What somebody wrote or changed.
    ByHand,
}

/// A job file that no longer belongs.
pub(super) struct StaleJob {
    pub path: PathBuf,
    /// Whether it is as it was expanded.
    pub unchanged: bool,
}

impl JobFolder {
    /// Looks at a folder, which need not be there.
    ///
    /// # Errors
    /// What cannot be read, and why.
    pub fn of(contract: &Contract, folder: &Path) -> Result<JobFolder, String> {
        let cannot = |path: &Path, e: io::Error| format!("cannot read {}: {e}", path.display());
        let mut jobs = Vec::new();
        for job in contract.expand(folder) {
            let path = folder.join(format!("{}.yaml", job.name));
            let there = match input::read(&path, LARGEST_FILE) {
                Ok(bytes) if bytes == job.yaml.as_bytes() => There::Same,
                Ok(bytes) => match mark(&bytes) {
                    Some(mark) if mark.unchanged => There::Earlier,
                    _ => There::ByHand,
                },
                Err(e) if e.is_not_found() => There::Nothing,
                Err(e) => return Err(cannot(&path, e.into())),
            };
            jobs.push(JobFile { path, job, there });
        }
        let belong: BTreeSet<&Path> = jobs.iter().map(|file| file.path.as_path()).collect();
        let (mut stale, mut kept) = (Vec::new(), Vec::new());
        let entries = match fs::read_dir(folder) {
            Ok(entries) => entries,
            Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(JobFolder { jobs, stale, kept }),
            Err(e) => return Err(cannot(folder, e)),
        };
        for entry in entries {
            let path = entry.map_err(|e| cannot(folder, e))?.path();
            if path.extension().is_none_or(|e| e != "yaml") || belong.contains(path.as_path()) || !path.is_file() {
                continue;
            }
            let mark = input::read(&path, LARGEST_FILE).ok().and_then(|bytes| mark(&bytes));
            if let Some(mark) = mark.filter(|mark| mark.contract == contract.number) {
                let number = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
                if was_issued(&path, &number) {
                    kept.push(path);
                    continue;
                }
                let unchanged = mark.unchanged;
                stale.push(StaleJob { path, unchanged });
            }
        }
        stale.sort_by(|a, b| a.path.cmp(&b.path));
        kept.sort();
        Ok(JobFolder { jobs, stale, kept })
    }

    /// Says which logs of the contract's folder no visit takes; each in a line for a manifest.
    pub fn tell_unused(&self, contract: &Contract) -> Vec<String> {
        let made = |path: &PathBuf| path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let logs = contract.logs().clone().without(&self.kept.iter().map(made).collect());
        logs.problems().iter().for_each(|problem| output::block(&problem.to_string()));
        let unused = logs.unused.into_iter();
        unused.map(|(file, told)| format!("{}: {told}", file.display())).collect()
    }

    /// Says what no longer belongs, and removes what nobody has changed if that is asked for.
    pub fn settle_stale(&self, remove: bool) {
        let (mut removed, mut left) = (Vec::new(), Vec::new());
        for stale in &self.stale {
            let gone = remove && stale.unchanged && fs::remove_file(&stale.path).is_ok();
            if gone { &mut removed } else { &mut left }.push(stale.path.display().to_string());
        }
        tell_names("Job files removed, since no visit of the contract has them any more:", &removed);
        tell_names(
            "Job files that no visit of the contract has any more; `--remove-stale` removes those that nobody changed:",
            &left,
        );
    }
}

impl JobFile {
    /// Writes it, unless it is there.
    pub fn write(&self) -> Result<(), Refusal> {
        if self.there == There::Same {
            return Ok(());
        }
        write_whole(&self.path, self.job.yaml.as_bytes()).map_err(|e| Refusal::unwritten(&self.path, &e))
    }
}

fn mark(bytes: &[u8]) -> Option<Mark> {
    Mark::of(std::str::from_utf8(bytes).ok()?)
}

/// Files that are named on the terminal, at most.
const MOST_NAMED: usize = 10;

/// A list of names under a heading on stderr; nothing for no name.
pub(super) fn tell_names(heading: &str, names: &[String]) {
    if names.is_empty() {
        return;
    }
    output::say(heading);
    for name in names.iter().take(MOST_NAMED) {
        output::say(format_args!("  {name}"));
    }
    if names.len() > MOST_NAMED {
        output::say(format_args!("  … and {} more", names.len() - MOST_NAMED));
    }
}
