//! What a batch is given: job files, folders of them, and contracts, which are expanded first.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::chosen::Dates;
use super::failure::{Failure, valid};
use super::job_folder::{JobFolder, There, stem, warnings};
use crate::batch::{SettledJob, settled_jobs};
use crate::contract::{Contract, Past, Pins, VanDay};
use crate::diagnostic::Diagnostics;
use crate::input;
use crate::yaml::{FileKind, LARGEST_FILE};

/// The folder of a batch's output that a contract's job files are written into. They are what the batch works on: what a
/// job's digest is of can be read there, and its paths lead from there.
pub(super) const JOBS: &str = "jobs";

/// The jobs of a batch.
#[derive(Default)]
pub struct Inputs {
    /// Job files, in the order they were named; a contract's by day, route and place in the route.
    pub files: Vec<PathBuf>,
    /// The contracts that were named; their job files are written.
    pub contracts: Vec<JobFolder>,
    /// What gathers visits of the contracts, by what stands for a file of it.
    pub gathered: BTreeMap<PathBuf, Gathered>,
    /// Numbers of job files that are known without reading them.
    pub numbers: BTreeMap<PathBuf, String>,
    /// What was issued in the output folder by earlier runs, by the jobs' numbers.
    pub settled: BTreeMap<String, SettledJob>,
    /// Visits of contracts that have a log.
    pub logged: BTreeSet<String>,
    /// Logs that no visit takes, and why.
    pub unused: Vec<String>,
    /// What is to be looked at in the contracts.
    pub warnings: Vec<String>,
    /// Which contract a file comes from, as an output folder knows it.
    pub origins: BTreeMap<PathBuf, String>,
}

/// What is made of several visits; their job files are in order.
pub enum Gathered {
    Route(VanDay, Vec<PathBuf>),
    /// The service report of the contract with this number.
    Report(String, Vec<PathBuf>),
}

impl Inputs {
    /// Finds the jobs that are named: files as they are, of a folder its job files by name, of a contract its visits. A file
    /// that is named twice counts once. `with_routes` asks for the routes of contracts too.
    ///
    /// `warnings` are of the contracts that were read, in lines, also where another one cannot be.
    pub fn find(
        named: &[PathBuf],
        output: &Path,
        with_routes: bool,
        warnings: &mut Vec<String>,
    ) -> Result<Inputs, Failure> {
        let mut inputs = Inputs { settled: settled_jobs(output), ..Inputs::default() };
        // when the visits began that were made
        let settled = inputs.settled.iter();
        let begun = |job: &SettledJob| job.settled.start.as_ref()?.parse().ok();
        let issued: Pins = settled.filter_map(|(number, job)| Some((number.clone(), begun(job)?))).collect();
        let jobs = output.join(JOBS);
        let past = Past { issued, planned: Some(&jobs) };
        for path in named {
            if path.is_dir() {
                inputs.files.append(&mut in_folder(path)?);
            } else if kind_of(path) == FileKind::Contract {
                let mut noted = Vec::new();
                let folder = expand(path, &jobs, &past, &mut noted);
                for problem in noted.iter().flat_map(Diagnostics::problems) {
                    inputs.warnings.push(problem.line());
                }
                warnings.extend(noted.iter().map(Diagnostics::to_string));
                let folder = folder?;
                inputs.add_contract(path, folder, with_routes, warnings);
            } else {
                inputs.files.push(path.clone());
            }
        }
        let mut seen = BTreeSet::new();
        inputs.files.retain(|file| seen.insert(file.clone()));
        Ok(inputs)
    }

    fn add_contract(&mut self, file: &Path, folder: JobFolder, with_routes: bool, warnings: &mut Vec<String>) {
        let (problems, unused) = folder.unused_logs();
        warnings.extend(problems);
        self.unused.extend(unused);
        if let Some(line) = folder.differing() {
            warnings.push(format!("warning: {line}\n"));
            self.warnings.push(line);
        }
        let logged = folder.jobs.iter().filter(|file| file.job.has_log);
        self.logged.extend(logged.map(|file| file.job.name.clone()));
        let paths: BTreeMap<&str, &PathBuf> = folder.jobs.iter().map(|f| (f.job.name.as_str(), &f.path)).collect();
        self.files.extend(folder.jobs.iter().map(|file| file.path.clone()));
        // a visit that was made and is no longer in the contract is in its report; shards need not know of it
        let visits = folder.jobs.iter().map(|file| (file.path.clone(), file.job.name.clone()));
        let gone = folder.kept.iter().chain(&folder.others).map(|path| (path.clone(), stem(path)));
        let visits: Vec<_> = visits.chain(gone).collect();
        let number = &folder.contract.number;
        self.origin_of(visits.iter().map(|(path, _)| path), &folder);
        // several files may have one number, and one report
        let name = PathBuf::from(format!("{number} (service report)"));
        let before = self.gathered.remove(&name);
        let mut jobs = match before {
            Some(Gathered::Report(_, jobs)) => jobs,
            _ => Vec::new(),
        };
        let there: BTreeSet<PathBuf> = jobs.iter().cloned().collect();
        jobs.extend(visits.iter().map(|(path, _)| path.clone()).filter(|path| !there.contains(path)));
        self.origin_of([&name], &folder);
        self.gathered.insert(name, Gathered::Report(number.clone(), jobs));
        self.numbers.extend(visits);
        for route in folder.contract.van_days().into_iter().filter(|_| with_routes) {
            // a route has no file of its own: the contract's, with its name
            let name = format!("{} ({})", file.display(), route.name);
            let files = route.jobs.iter().filter_map(|job| paths.get(job.as_str()).map(|path| (*path).clone()));
            let files = files.collect();
            let name = PathBuf::from(name);
            self.origin_of([&name], &folder);
            self.gathered.insert(name, Gathered::Route(route, files));
        }
        self.contracts.push(folder);
    }

    fn origin_of<'a>(&mut self, files: impl IntoIterator<Item = &'a PathBuf>, folder: &JobFolder) {
        self.origins.extend(files.into_iter().map(|file| (file.clone(), folder.named.clone())));
    }

    /// Leaves the visits of some days alone.
    pub fn retain(&mut self, dates: Dates) {
        let jobs = self.contracts.iter().flat_map(|folder| &folder.jobs);
        let days: BTreeMap<&PathBuf, Date> = jobs.map(|file| (&file.path, file.job.day)).collect();
        self.files.retain(|file| days.get(file).map_or_else(|| dates.hold_of(file), |day| dates.hold(*day)));
    }

    /// Everything that is made: visits, each route behind the last of its visits, reports. So the documents of a night are there
    /// together, a route gathers what was made a moment ago, and what is done says how long the rest takes.
    pub fn all(&self) -> Vec<PathBuf> {
        let at: BTreeMap<&PathBuf, usize> = self.files.iter().zip(0..).collect();
        let last = |jobs: &[PathBuf]| jobs.iter().filter_map(|job| at.get(job)).max().copied();
        let place = |gathered: &Gathered| match gathered {
            Gathered::Route(_, jobs) => last(jobs).unwrap_or(usize::MAX),
            Gathered::Report(..) => usize::MAX,
        };
        let visits = self.files.iter().zip(0..).map(|(file, at)| (at, false, file));
        let gathered = self.gathered.iter().map(|(file, gathered)| (place(gathered), true, file));
        let mut all: Vec<_> = visits.chain(gathered).collect();
        all.sort_by_key(|(at, is_gathered, _)| (*at, *is_gathered));
        all.into_iter().map(|(_, _, file)| file.clone()).collect()
    }
}

pub(super) fn in_folder(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let cannot = |e| Failure::error(format_args!("cannot read the folder {}: {e}", folder.display()));
    let (mut inside, mut contract) = (Vec::new(), None);
    for entry in fs::read_dir(folder).map_err(cannot)? {
        let file = entry.map_err(cannot)?.path();
        let is_yaml = file.extension().is_some_and(|e| e == "yaml" || e == "yml");
        let is_hidden = file.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
        if !is_yaml || is_hidden {
            continue;
        }
        match kind_of(&file) {
            FileKind::Job => inside.push(file),
            FileKind::Contract => contract = Some(file),
            _ => {}
        }
    }
    if inside.is_empty() {
        let failure = Failure::error(format_args!("no job files are in the folder {}", folder.display()));
        return Err(match contract {
            Some(file) => failure.hint(format_args!("for the visits of a contract, name it: {}", file.display())),
            None => failure,
        });
    }
    inside.sort();
    Ok(inside)
}

/// What a file is, by its keys. Company files, logs and language files may lie beside jobs, and so may the contract that the jobs
/// came from. A file that is none of these, or that cannot be read, is taken for a job, so that a job with a slip in it is reported
/// and not passed over.
pub(super) fn kind_of(file: &Path) -> FileKind {
    let Ok(bytes) = input::read(file, LARGEST_FILE) else { return FileKind::Job };
    let text = String::from_utf8_lossy(&bytes);
    let has = |key: &str| text.lines().any(|line| line.strip_prefix(key).is_some_and(|rest| rest.starts_with(':')));
    FileKind::of(has).unwrap_or(FileKind::Job)
}

/// Writes the contract's job files. One that differs and is as it was expanded is replaced; one that somebody changed
/// stops the run, since the change would be lost or the contract not followed.
///
/// Whether a job can be planned is not looked into: one that cannot fails as any job does, and takes no other along.
fn expand(file: &Path, folder: &Path, past: &Past<'_>, noted: &mut Vec<Diagnostics>) -> Result<JobFolder, Failure> {
    let mut report = Diagnostics::new();
    let contract = valid(Contract::read(file, past, &mut report), &report)?;
    warnings(&contract).problems().iter().for_each(|problem| report.push_alike(problem.clone()));
    noted.push(report);
    let mut folder = JobFolder::of(contract, folder)?;
    let by_hand = folder.jobs.iter().filter(|file| file.there == There::ByHand);
    let by_hand: Vec<String> = by_hand.map(|file| format!("  {}", file.path.display())).collect();
    if !by_hand.is_empty() {
        let why = "these job files differ from the contract and were changed by hand; nothing was made";
        return Err(Failure::error(why).lines(by_hand).hint(
            "write the change into the contract and remove them, or give the batch the job files in the contract's place",
        ));
    }
    for file in &mut folder.jobs {
        file.write()?;
        // it is read from there: a contract of many visits is not kept in memory
        file.job.yaml = String::new();
    }
    Ok(folder)
}
