//! The folder that a contract's job files are written into: what is to be written there, what somebody has changed, and
//! what no longer belongs.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, DirEntry};
use std::io;
use std::path::{Path, PathBuf};

use super::failure::{Failure, valid};
use crate::contract::{Contract, ExpandedJob, Mark, Past, planned_start};
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
    /// The contract's file as it is named from the folder.
    pub named: String,
    /// Job files, in the order of the visits; behind them those of visits that were made and that the contract no longer has.
    pub jobs: Vec<JobFile>,
    /// Job files of this contract that no visit of it has any more.
    stale: Vec<StaleJob>,
    /// Job files of this contract that no visit of it has any more and of which a certificate was issued: they stay.
    pub kept: Vec<PathBuf>,
    /// Job files of another file of this contract's number.
    pub others: Vec<PathBuf>,
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
    pub fn of(mut contract: Contract, folder: &Path) -> Result<JobFolder, Failure> {
        let cannot = |path: &Path, e: io::Error| Failure::error(format_args!("cannot read {}: {e}", path.display()));
        let (own_file, mut theirs) = (contract.named_from(folder), Vec::new());
        let mut jobs = Vec::new();
        let made = |number: &str| {
            let path = folder.join(format!("{number}.yaml"));
            let is_made = contract.logs.of_job(number).is_some() || was_issued(&path, number);
            is_made.then(|| planned_before(&path)).flatten()
        };
        for job in contract.expand(folder, &made) {
            let path = folder.join(format!("{}.yaml", job.name));
            let there = match input::read(&path, LARGEST_FILE) {
                Ok(bytes) if bytes == job.yaml.as_bytes() => There::Same,
                Ok(bytes) => match mark(&bytes) {
                    Some(mark) if mark.file != own_file && folder.join(&mark.file).is_file() => {
                        theirs.push(format!("  {} is of {}", path.display(), folder.join(&mark.file).display()));
                        There::ByHand
                    }
                    Some(mark) if mark.unchanged => There::Earlier,
                    _ => There::ByHand,
                },
                Err(e) if e.is_not_found() => There::Nothing,
                Err(e) => return Err(cannot(&path, e.into())),
            };
            jobs.push(JobFile { path, job, there });
        }
        if !theirs.is_empty() {
            let why = "another contract has visits of the same numbers; nothing was made";
            let hint =
                "give their sites other keys, or let `job_number` begin with `{contract}`, or take another folder";
            return Err(Failure::error(why).lines(theirs).hint(hint));
        }
        let entries = match fs::read_dir(folder) {
            Ok(entries) => entries.collect::<Result<Vec<_>, _>>().map_err(|e| cannot(folder, e))?,
            Err(e) if e.kind() == io::ErrorKind::NotFound => Vec::new(),
            Err(e) => return Err(cannot(folder, e)),
        };
        let mut paths: Vec<PathBuf> = entries.iter().map(DirEntry::path).collect();
        paths.sort();
        let belong: BTreeSet<PathBuf> = jobs.iter().map(|file| file.path.clone()).collect();
        let (mut stale, mut kept, mut others) = (Vec::new(), Vec::new(), Vec::new());
        for path in paths {
            if path.extension().is_none_or(|e| e != "yaml") || belong.contains(&path) || !path.is_file() {
                continue;
            }
            let Some((mark, bytes)) =
                input::read(&path, LARGEST_FILE).ok().and_then(|bytes| Some((mark(&bytes)?, bytes)))
            else {
                continue;
            };
            let number = stem(&path);
            if mark.file != own_file {
                if mark.contract == contract.number {
                    others.push(path);
                }
                continue;
            }
            let text = String::from_utf8(bytes).ok().filter(|_| mark.unchanged);
            let log = contract.logs.take(&number);
            let made = log.clone().zip(text).and_then(|(log, text)| {
                Some((contract.made_before(text.clone(), folder, &log).filter(|job| job.name == number)?, text))
            });
            if let Some((job, text)) = made {
                // it was made, and may yet have its certificate or a correction
                let there = if job.yaml == text { There::Same } else { There::Earlier };
                jobs.push(JobFile { path, job, there });
            } else if log.is_some() || was_issued(&path, &number) {
                kept.push(path);
            } else {
                stale.push(StaleJob { path, unchanged: mark.unchanged });
            }
        }
        Ok(JobFolder { contract, named: own_file, jobs, stale, kept, others })
    }

    /// Visits that have a log or a certificate and of which the contract says something else now: what to say of them.
    pub fn differing(&self) -> Option<String> {
        let differing: Vec<&str> =
            self.jobs.iter().filter(|file| file.job.differs).map(|file| file.job.name.as_str()).collect();
        let (most, all) = (differing.len().min(10), differing.len());
        let more = if all > most { format!(" and {} more", all - most) } else { String::new() };
        (all > 0).then(|| {
            format!(
                "{}{more}: made, and left as planned, though the contract says something else now",
                differing[..most].join(", ")
            )
        })
    }

    /// Logs of the contract's folder that no visit takes: the problems to show, and a line of each for a manifest.
    pub fn unused_logs(&self) -> (Vec<String>, Vec<String>) {
        let logs =
            self.contract.logs.clone().without(&self.kept.iter().chain(&self.others).map(|path| stem(path)).collect());
        let problems = logs.problems().iter().map(ToString::to_string).collect();
        let lines = logs.unused.into_iter().map(|unused| format!("{}: {}", unused.file.display(), unused.reason));
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

/// The text of a job file as it was expanded; `None` for one that somebody changed.
fn planned_before(path: &Path) -> Option<String> {
    let bytes = input::read(path, LARGEST_FILE).ok()?;
    mark(&bytes).filter(|mark| mark.unchanged)?;
    String::from_utf8(bytes).ok()
}

/// What is past in a folder of job files, for contracts that are expanded into it: visits of which something was issued.
pub fn past(folder: &Path) -> Past<'_> {
    let files = fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path());
    let made = files.filter(|file| file.extension().is_some_and(|e| e == "yaml") && was_issued(file, &stem(file)));
    let issued = made.filter_map(|file| Some((stem(&file), planned_start(&file)?))).collect();
    Past { issued, planned: Some(folder) }
}

fn mark(bytes: &[u8]) -> Option<Mark> {
    Mark::of(std::str::from_utf8(bytes).ok()?)
}

/// The number of a contract's job is the name of its file.
pub fn stem(path: &Path) -> String {
    path.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

/// Reads and plans the first job of every site, and reports what is wrong at its place in the contract or its table. A job is
/// sound when it can be planned and its record has a link that can be printed. How long each takes, in minutes, by its number.
pub fn check_jobs(contract: &Contract, report: &mut Diagnostics) -> BTreeMap<String, i64> {
    let mut lasts = BTreeMap::new();
    contract.check(report, |job, report| {
        let link = &job.company.record_link;
        let origin = job.company.source.root().origin().key("record_link");
        let Some(plan) = plan(job, report) else { return };
        // somebody wets again what dries too soon
        let ends = plan.sprayed_by.max(plan.wet_until);
        lasts.insert(plan.job.clone(), ends.duration_since(plan.start).as_mins());
        if let Err(problem) = Record::of(&plan, link, &origin) {
            report.push(*problem);
        }
    });
    lasts
}

/// What nobody must find out at night. Whatever keeps a job from being planned is said elsewhere.
pub fn warnings(contract: &Contract) -> Diagnostics {
    let lasts = check_jobs(contract, &mut Diagnostics::new());
    let mut report = Diagnostics::new();
    contract.clashes(&lasts).into_iter().for_each(|problem| report.push_alike(problem));
    report
}

/// Reads a contract and checks its jobs; the report may hold warnings.
pub fn read_checked(file: &Path, past: &Past<'_>, report: &mut Diagnostics) -> Result<Contract, Failure> {
    let contract = Contract::read(file, past, report);
    if let Some(contract) = &contract {
        let lasts = check_jobs(contract, report);
        contract.clashes(&lasts).into_iter().for_each(|problem| report.push_alike(problem));
    }
    valid(contract, report)
}
