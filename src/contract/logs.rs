//! Service logs of a contract's visits: each named as its job in one folder, or one table for several visits, which says of each row
//! which visit it is of.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use crate::diagnostic::{Diagnostic, Diagnostics, Severity};
use crate::job::visits_of;
use crate::yaml::Origin;

/// Endings of a log, in small letters: a table, or YAML, of which JSON is a part.
const ENDINGS: &[&str] = &["csv", "json", "tsv", "xlsx", "yaml", "yml"];

/// Endings of what is no log and often lies beside them: photographs and films.
const PICTURES: &[&str] = &["avif", "gif", "heic", "heif", "jpeg", "jpg", "mov", "mp4", "png", "tif", "tiff", "webp"];

/// A file of a folder of logs.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct LogFile {
    path: PathBuf,
    /// Its name without the ending, which is the number of its visit unless its rows say of which they are.
    stem: String,
    ending: String,
    /// Whether it ends as a log may.
    pub is_log: bool,
    is_folder: bool,
    /// The visits that the rows of a table name.
    rows_of: BTreeSet<String>,
    /// Why it cannot be read, where that was tried.
    trouble: Option<String>,
}

impl LogFile {
    /// The visits that it is a log of.
    pub fn visits(&self) -> impl Iterator<Item = &String> {
        let by_name = self.is_log && self.rows_of.is_empty();
        self.rows_of.iter().chain(Some(&self.stem).filter(|_| by_name))
    }
}

fn is_log(ending: &str) -> bool {
    ENDINGS.contains(&ending.to_ascii_lowercase().as_str())
}

fn holds_logs(folder: &Path) -> bool {
    let mut files = fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path());
    files.any(|file| file.extension().is_some_and(|ending| is_log(&ending.to_string_lossy())))
}

/// The files of a folder of logs by name, and the folders in it that hold logs too; or the one table that is named.
pub(super) fn files_in(named: &Path, origin: &Origin, report: &mut Diagnostics) -> Vec<LogFile> {
    let entries: Vec<PathBuf> = match fs::read_dir(named) {
        Ok(entries) => entries.flatten().map(|entry| entry.path()).collect(),
        Err(_) if named.is_file() => vec![named.to_owned()],
        Err(e) => {
            report.push(origin.error("no-log-folder", format!("cannot read {}: {e}", named.display())));
            return Vec::new();
        }
    };
    let mut files = Vec::new();
    for path in entries {
        let part = |part: Option<&std::ffi::OsStr>| part.map(|part| part.to_string_lossy().into_owned());
        let (stem, ending) = (part(path.file_stem()).unwrap_or_default(), part(path.extension()).unwrap_or_default());
        if !stem.starts_with('.') {
            let is_folder = path.is_dir();
            // photographs may be in one
            if !is_folder || holds_logs(&path) {
                let is_log = !is_folder && is_log(&ending);
                let mut problems = Diagnostics::new();
                let rows_of = if is_log { visits_of(&path, &mut problems) } else { BTreeSet::new() };
                let trouble = problems.problems().first().map(|problem| problem.message.clone());
                files.push(LogFile { path, stem, ending, is_log, is_folder, rows_of, trouble });
            }
        }
    }
    files.sort();
    files
}

/// Which visit each log of a folder is of.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Logs {
    by_job: BTreeMap<String, PathBuf>,
    /// Files, or rows of them, that are of no visit, or of one that has several.
    pub unused: Vec<Unused>,
}

/// What no visit takes.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Unused {
    pub file: PathBuf,
    pub reason: String,
    /// The visit that it would be of.
    visit: String,
    /// Whether it is a log of that visit.
    is_log: bool,
}

impl Logs {
    /// The logs of jobs of these numbers. A log is named as its job and ends as any log may. Photographs may lie beside them, but
    /// not under a job's name.
    pub(super) fn of(files: Vec<LogFile>, numbers: &BTreeSet<String>) -> Logs {
        let folded: BTreeMap<String, &String> = numbers.iter().map(|n| (n.to_ascii_lowercase(), n)).collect();
        let mut found: BTreeMap<String, Vec<PathBuf>> = BTreeMap::new();
        let mut logs = Logs::default();
        for file in files {
            let mut unused = |visit: &str, is_log, reason: String| {
                logs.unused.push(Unused { file: file.path.clone(), visit: visit.to_owned(), is_log, reason });
            };
            if file.is_folder {
                unused("", false, "it is a folder, and logs in it are not read".to_owned());
                continue;
            }
            let (known, strange): (Vec<&String>, Vec<&String>) = file.visits().partition(|v| numbers.contains(*v));
            for visit in &known {
                found.entry((*visit).clone()).or_default().push(file.path.clone());
            }
            for visit in strange.into_iter().filter(|_| !file.rows_of.is_empty()) {
                unused(visit, true, format!("it has rows of `{visit}`, which is no visit of the contract"));
            }
            if !known.is_empty() || !file.rows_of.is_empty() {
                continue;
            }
            let LogFile { stem, ending, is_log, trouble, .. } = &file;
            // `gull-20260413.yaml.txt`, `Gull-20260413 (2).yaml`
            let name = stem.to_ascii_lowercase();
            let near =
                folded.range(..=name.clone()).next_back().filter(|(number, _)| name.starts_with(number.as_str()));
            let reason = match (*is_log, near) {
                (false, Some((number, _))) if *number == name => {
                    format!("a log ends in .{}, not in .{ending}", ENDINGS.join(", ."))
                }
                (_, Some((_, number))) => format!("it seems to be the log of {number} and is not named as that"),
                (true, None) => match trouble {
                    Some(why) => format!("it cannot be read: {why}"),
                    None => "it is named as no visit of the contract".to_owned(),
                },
                (false, None) if PICTURES.contains(&ending.to_ascii_lowercase().as_str()) => continue,
                (false, None) => "it is no log, and no photograph".to_owned(),
            };
            unused(stem, *is_log, reason);
        }
        for (number, mut files) in found {
            if let [one] = files.as_slice() {
                logs.by_job.insert(number, one.clone());
                continue;
            }
            // which of them is meant nobody can tell
            files.sort();
            for file in files {
                let reason = format!("the visit {number} has several logs, so that none of them is taken");
                logs.unused.push(Unused { file, reason, visit: number.clone(), is_log: true });
            }
        }
        logs.unused.sort();
        logs
    }

    /// The log of a job.
    pub fn of_job(&self, number: &str) -> Option<&PathBuf> {
        self.by_job.get(number)
    }

    /// The log of a visit that was made and that the contract no longer has; it counts as used then.
    pub fn take(&mut self, number: &str) -> Option<PathBuf> {
        let is_its = |unused: &Unused| unused.is_log && unused.visit == number;
        let mut its = self.unused.iter().enumerate().filter(|(_, unused)| is_its(unused)).map(|(at, _)| at);
        let (Some(at), None) = (its.next(), its.next()) else { return None };
        let file = self.unused.remove(at).file;
        self.by_job.insert(number.to_owned(), file.clone());
        Some(file)
    }

    /// Leaves out those that are named as these jobs, which the contract no longer has.
    pub fn without(mut self, numbers: &BTreeSet<String>) -> Logs {
        self.unused.retain(|unused| !numbers.contains(&unused.visit));
        self
    }

    /// What is to be said of each file that no visit takes.
    pub fn problems(&self) -> Vec<Diagnostic> {
        let problem = |Unused { file, reason, .. }: &Unused| {
            let problem = Diagnostic::error("log-unused", format!("{}: {reason}", file.display()));
            Diagnostic { severity: Severity::Warning, ..problem }.hint(
                "name it as its job, such as `gull-20260413.yaml`, or write the job's number under `job` in a table; or take it out",
            )
        };
        self.unused.iter().map(problem).collect()
    }
}
