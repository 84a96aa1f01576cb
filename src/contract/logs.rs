//! Service logs of a contract's visits, found by their names in one folder.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use crate::diagnostic::{Diagnostic, Diagnostics, Severity};
use crate::yaml::Origin;

/// Endings of a log, in small letters: a table, or YAML, of which JSON is a part.
const ENDINGS: &[&str] = &["csv", "json", "yaml", "yml"];

/// Endings of what is no log and often lies beside them: photographs and films.
const PICTURES: &[&str] = &["avif", "gif", "heic", "heif", "jpeg", "jpg", "mov", "mp4", "png", "tif", "tiff", "webp"];

/// A file of a folder of logs.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct LogFile {
    path: PathBuf,
    /// Its name without the ending, which is the number of its visit.
    pub stem: String,
    ending: String,
    /// Whether it ends as a log may.
    pub is_log: bool,
    is_folder: bool,
}

fn is_log(ending: &str) -> bool {
    ENDINGS.contains(&ending.to_ascii_lowercase().as_str())
}

fn holds_logs(folder: &Path) -> bool {
    let mut files = fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path());
    files.any(|file| file.extension().is_some_and(|ending| is_log(&ending.to_string_lossy())))
}

/// The files of a folder of logs by name, and the folders in it that hold logs too.
pub(super) fn files_in(folder: &Path, origin: &Origin, report: &mut Diagnostics) -> Vec<LogFile> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(e) => {
            report.push(origin.error("no-log-folder", format!("cannot read {}: {e}", folder.display())));
            return Vec::new();
        }
    };
    let mut files = Vec::new();
    for path in entries.flatten().map(|entry| entry.path()) {
        let part = |part: Option<&std::ffi::OsStr>| part.map(|part| part.to_string_lossy().into_owned());
        let (stem, ending) = (part(path.file_stem()).unwrap_or_default(), part(path.extension()).unwrap_or_default());
        if !stem.starts_with('.') {
            let is_folder = path.is_dir();
            // photographs may be in one
            if !is_folder || holds_logs(&path) {
                let is_log = !is_folder && is_log(&ending);
                files.push(LogFile { path, stem, ending, is_log, is_folder });
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
    /// Files that are of no visit, or of one that has several: each with the reason.
    pub unused: Vec<(PathBuf, String)>,
}

impl Logs {
    /// The logs of jobs of these numbers. A log is named as its job and ends as any log may. Photographs may lie beside them, but
    /// not under a job's name.
    pub(super) fn of(files: Vec<LogFile>, numbers: &BTreeSet<String>) -> Logs {
        let folded: BTreeMap<String, &String> = numbers.iter().map(|n| (n.to_ascii_lowercase(), n)).collect();
        let mut found: BTreeMap<String, Vec<PathBuf>> = BTreeMap::new();
        let mut logs = Logs::default();
        for LogFile { path, stem, ending, is_log, is_folder } in files {
            if is_folder {
                logs.unused.push((path, "it is a folder, and logs in it are not read".to_owned()));
                continue;
            }
            if is_log && numbers.contains(&stem) {
                found.entry(stem).or_default().push(path);
                continue;
            }
            // `gull-20260413.yaml.txt`, `Gull-20260413 (2).yaml`
            let name = stem.to_ascii_lowercase();
            let near =
                folded.range(..=name.clone()).next_back().filter(|(number, _)| name.starts_with(number.as_str()));
            let reason = match (is_log, near) {
                (false, Some((number, _))) if *number == name => {
                    format!("a log ends in .{}, not in .{ending}", ENDINGS.join(", ."))
                }
                (_, Some((_, number))) => format!("it seems to be the log of {number} and is not named as that"),
                (true, None) => "it is named as no visit of the contract".to_owned(),
                (false, None) if PICTURES.contains(&ending.to_ascii_lowercase().as_str()) => continue,
                (false, None) => "it is no log, and no photograph".to_owned(),
            };
            logs.unused.push((path, reason));
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
                logs.unused.push((file, reason));
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
        let is_its = |file: &Path| {
            let ending = file.extension().unwrap_or_default().to_string_lossy();
            file.file_stem().is_some_and(|stem| stem == number) && is_log(&ending) && file.is_file()
        };
        let mut its = self.unused.iter().enumerate().filter(|(_, (file, _))| is_its(file)).map(|(at, _)| at);
        let (Some(at), None) = (its.next(), its.next()) else { return None };
        let (file, _) = self.unused.remove(at);
        self.by_job.insert(number.to_owned(), file.clone());
        Some(file)
    }

    /// Leaves out those that are named as these jobs, which the contract no longer has.
    pub fn without(mut self, numbers: &BTreeSet<String>) -> Logs {
        self.unused.retain(|(file, _)| {
            let stem = file.file_stem().unwrap_or_default().to_string_lossy();
            !numbers.contains(stem.as_ref())
        });
        self
    }

    /// What is to be said of each file that no visit takes.
    pub fn problems(&self) -> Vec<Diagnostic> {
        let problem = |(file, reason): &(PathBuf, String)| {
            let problem = Diagnostic::error("log-unused", format!("{}: {reason}", file.display()));
            Diagnostic { severity: Severity::Warning, ..problem }
                .hint("name it as its job, such as `gull-20260413.yaml`, or take it out of the folder")
        };
        self.unused.iter().map(problem).collect()
    }
}
