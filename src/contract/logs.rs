//! Service logs of a contract's visits, found by their names in one folder.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use crate::diagnostic::{Diagnostic, Diagnostics, Severity};
use crate::yaml::Origin;

/// Endings of a log, in small letters: a table, or YAML, of which JSON is a part.
const ENDINGS: &[&str] = &["csv", "json", "yaml", "yml"];

/// Which visit each log of a folder is of.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Logs {
    by_job: BTreeMap<String, PathBuf>,
    /// Files that are of no visit, or of one that has several: each with the reason.
    pub unused: Vec<(PathBuf, String)>,
}

impl Logs {
    /// Looks through a folder for the logs of jobs of these numbers. A log is named as its job and ends as any log may. Other
    /// files, such as photographs, may lie beside them, but not under a job's name.
    pub(super) fn of(folder: &Path, numbers: &BTreeSet<String>, report: &mut Diagnostics, origin: &Origin) -> Logs {
        let mut found: BTreeMap<String, Vec<PathBuf>> = BTreeMap::new();
        let mut logs = Logs::default();
        let entries = match fs::read_dir(folder) {
            Ok(entries) => entries,
            Err(e) => {
                report.push(origin.error("no-log-folder", format!("cannot read {}: {e}", folder.display())));
                return logs;
            }
        };
        for path in entries.flatten().map(|entry| entry.path()).filter(|path| path.is_file()) {
            let (Some(stem), Some(ending)) = (text(path.file_stem()), text(path.extension())) else {
                continue;
            };
            if stem.starts_with('.') {
                continue;
            }
            let is_log = ENDINGS.contains(&ending.to_ascii_lowercase().as_str());
            match (is_log, numbers.contains(stem)) {
                (true, true) => found.entry(stem.to_owned()).or_default().push(path),
                (true, false) => logs.unused.push((path, "it is named as no visit of the contract".to_owned())),
                (false, true) => {
                    let reason = format!("a log ends in .{}, not in .{ending}", ENDINGS.join(", ."));
                    logs.unused.push((path, reason));
                }
                // what a log names, such as a photograph
                (false, false) => {}
            }
        }
        for (number, mut files) in found {
            files.sort();
            if let [one] = files.as_slice() {
                logs.by_job.insert(number, one.clone());
                continue;
            }
            // which of them is meant nobody can tell
            for file in files {
                let reason = format!("the visit {number} has several logs, so that none of them is taken");
                logs.unused.push((file, reason));
            }
        }
        logs.unused.sort();
        logs
    }

    /// The log of a job.
    pub(super) fn of_job(&self, number: &str) -> Option<&PathBuf> {
        self.by_job.get(number)
    }

    /// Leaves out those that are named as these jobs, which the contract no longer has.
    pub fn without(mut self, numbers: &BTreeSet<String>) -> Logs {
        self.unused.retain(|(file, _)| {
            let stem = text(file.file_stem()).unwrap_or_default();
            !numbers.contains(stem)
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

fn text(part: Option<&std::ffi::OsStr>) -> Option<&str> {
    part?.to_str()
}
