//! What a batch is given: job files, folders of them, and contracts, which are expanded first.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use super::Refusal;
use super::job_folder::{JobFolder, There};
use super::prepare::tell;
use crate::batch::{SettledJob, settled_jobs};
use crate::contract::{Contract, Pins, Round};
use crate::input;
use crate::report::Report;
use crate::yaml::LARGEST_FILE;

/// The folder of a batch's output that a contract's job files are written into. They are what the batch works on: what a
/// job's digest is of can be read there, and its paths lead from there.
const JOBS: &str = "jobs";

/// The jobs of a batch.
pub(super) struct Input {
    /// Job files, in the order they were named; a contract's by day, route and place in the route.
    pub files: Vec<PathBuf>,
    pub contracts: Vec<Expanded>,
    /// Rounds of the contracts, by what stands for a file of theirs, each with its job files in order.
    pub rounds: BTreeMap<PathBuf, (Round, Vec<PathBuf>)>,
    /// Service reports of the contracts, by what stands for a file of theirs: the contract's number, and its job files.
    pub reports: BTreeMap<PathBuf, (String, Vec<PathBuf>)>,
    /// Numbers of job files that are known without reading them.
    pub numbers: BTreeMap<PathBuf, String>,
    /// What was issued in the output folder by earlier runs, by the jobs' numbers.
    pub settled: BTreeMap<String, SettledJob>,
    /// Logs that no visit takes, and why.
    pub unused: Vec<String>,
}

/// A contract that was named, and its job files, which are written.
pub(super) struct Expanded {
    pub contract: Contract,
    pub folder: JobFolder,
}

/// Finds the jobs that are named: files as they are, of a folder its job files by name, of a contract its visits. A file
/// that is named twice counts once.
///
/// `with_rounds` asks for the rounds of contracts too.
pub(super) fn read_input(named: &[PathBuf], output: &Path, with_rounds: bool) -> Result<Input, Refusal> {
    let mut input = Input {
        files: Vec::new(),
        contracts: Vec::new(),
        rounds: BTreeMap::new(),
        reports: BTreeMap::new(),
        numbers: BTreeMap::new(),
        settled: settled_jobs(output),
        unused: Vec::new(),
    };
    let pins = pins(&input.settled);
    for path in named {
        if path.is_dir() {
            input.files.append(&mut in_folder(path)?);
        } else if of_what(path) == What::Contract {
            let expanded = expand(path, &output.join(JOBS), &pins)?;
            input.unused.extend(expanded.folder.tell_unused(&expanded.contract));
            let numbers = expanded.numbers();
            let of_visits = expanded.folder.jobs.iter().map(|file| file.path.clone());
            input.files.extend(of_visits);
            // a visit that was made and is no longer in the contract is in its report; shards need not know of it
            let jobs: Vec<PathBuf> = numbers.iter().map(|(file, _)| file.clone()).collect();
            input.numbers.extend(numbers);
            if with_rounds {
                // a round has no file of its own: the contract's, with its name
                input.rounds.extend(expanded.rounds().map(|(round, files)| {
                    let name = format!("{} ({})", path.display(), round.name);
                    (PathBuf::from(name), (round, files))
                }));
            }
            let name = PathBuf::from(format!("{} (service report)", path.display()));
            input.reports.insert(name, (expanded.contract.number.clone(), jobs));
            input.contracts.push(expanded);
        } else {
            input.files.push(path.clone());
        }
    }
    let mut seen = BTreeSet::new();
    input.files.retain(|file| seen.insert(file.clone()));
    Ok(input)
}

impl Input {
    /// Everything that is made: visits, rounds, reports.
    pub fn all(&self) -> Vec<PathBuf> {
        let gathered = self.rounds.keys().chain(self.reports.keys());
        self.files.iter().chain(gathered).cloned().collect()
    }
}

/// When the visits began that were made.
fn pins(settled: &BTreeMap<String, SettledJob>) -> Pins {
    let made = settled.iter();
    made.filter_map(|(number, job)| Some((number.clone(), job.settled.start.as_ref()?.parse().ok()?))).collect()
}

impl Expanded {
    /// Job files with their numbers: of the visits, in their order, and then of those that were made and are gone.
    fn numbers(&self) -> Vec<(PathBuf, String)> {
        let jobs = self.folder.jobs.iter();
        let stem = |path: &PathBuf| path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let kept = self.folder.kept.iter().map(|path| (path.clone(), stem(path)));
        jobs.map(|file| (file.path.clone(), file.job.name.clone())).chain(kept).collect()
    }

    fn rounds(&self) -> impl Iterator<Item = (Round, Vec<PathBuf>)> {
        let path: BTreeMap<&str, &PathBuf> = self.folder.jobs.iter().map(|f| (f.job.name.as_str(), &f.path)).collect();
        self.contract.rounds().into_iter().map(move |round| {
            let files = round.jobs.iter().filter_map(|job| path.get(job.as_str()).map(|file| (*file).clone()));
            let files = files.collect();
            (round, files)
        })
    }
}

fn in_folder(folder: &Path) -> Result<Vec<PathBuf>, Refusal> {
    let cannot = |e| Refusal::error(format!("cannot read the folder {}: {e}", folder.display()));
    let (mut inside, mut contract) = (Vec::new(), None);
    for entry in fs::read_dir(folder).map_err(cannot)? {
        let file = entry.map_err(cannot)?.path();
        let is_yaml = file.extension().is_some_and(|e| e == "yaml" || e == "yml");
        let hidden = file.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
        if !is_yaml || hidden {
            continue;
        }
        match of_what(&file) {
            What::Job => inside.push(file),
            What::Contract => contract = Some(file),
            What::Other => {}
        }
    }
    if inside.is_empty() {
        let told = Refusal::error(format!("no job files are in the folder {}", folder.display()));
        return Err(match contract {
            Some(file) => told.hint(format_args!("for the visits of a contract, name it: {}", file.display())),
            None => told,
        });
    }
    inside.sort();
    Ok(inside)
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum What {
    Job,
    Contract,
    Other,
}

/// What a file is, by its keys. Company files, logs and language files may lie beside jobs, and so may the contract that
/// the jobs came from. A file that is none of these, or that cannot be read, is taken for a job, so that a job with a
/// slip in it is told and not passed over.
fn of_what(file: &Path) -> What {
    let Ok(bytes) = input::read(file, LARGEST_FILE) else {
        return What::Job;
    };
    let text = String::from_utf8_lossy(&bytes);
    let has = |key: &str| text.lines().any(|line| line.strip_prefix(key).is_some_and(|rest| rest.starts_with(':')));
    let is_company = has("record_link") || has("products");
    let is_log = has("loads") || has("deviations");
    let is_language = has("statements");
    if has("job") {
        What::Job
    } else if has("contract") {
        What::Contract
    } else if has("treatments") || !(is_company || is_log || is_language) {
        What::Job
    } else {
        What::Other
    }
}

/// Writes the contract's job files. One that differs and is as it was expanded is written anew; one that somebody changed
/// stops the run, since the change would be lost or the contract not followed.
///
/// Whether a job can be planned is not looked into: one that cannot fails as any job does, and takes no other along.
fn expand(file: &Path, folder: &Path, pins: &Pins) -> Result<Expanded, Refusal> {
    let mut report = Report::new();
    let contract = match Contract::read_with(file, pins, &mut report) {
        Some(contract) if !report.has_errors() => contract,
        _ => return Err(Refusal::bad_input(report)),
    };
    tell(&report);
    let folder = JobFolder::of(&contract, folder).map_err(Refusal::error)?;
    let by_hand: Vec<String> = folder
        .jobs
        .iter()
        .filter(|file| file.there == There::ByHand)
        .map(|file| format!("  {}", file.path.display()))
        .collect();
    if !by_hand.is_empty() {
        return Err(Refusal::error(
            "these job files differ from the contract and were changed by hand; nothing was made",
        )
        .lines(by_hand)
        .hint(
            "write the change into the contract and remove them, or give the batch the job files in the \
                     contract's place",
        ));
    }
    for file in &folder.jobs {
        file.write()?;
    }
    Ok(Expanded { contract, folder })
}
