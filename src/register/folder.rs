//! The records of a folder.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::{Recorded, read};
use crate::input::{self, InputError};

/// A record of the largest job stays far below this.
const LARGEST: u64 = 16 << 20;
/// Folders in folders that are looked into.
const DEEPEST: usize = 8;

/// A file that no register can be made with.
pub struct Unusable {
    pub why: String,
    pub hint: Option<&'static str>,
}

/// All records of a folder; every file that is none is reported. A job counts once, by its newest revision: two records of one
/// revision that differ are an error, since nobody here can say which of them was done.
pub fn records(folder: &Path) -> Result<Vec<Recorded>, Vec<Unusable>> {
    let mut paths = Vec::new();
    find(folder, 0, &mut paths)
        .map_err(|e| vec![Unusable { why: format!("{}: {e}", folder.display()), hint: None }])?;
    paths.sort();
    let mut found: BTreeMap<(String, u64), (PathBuf, Recorded)> = BTreeMap::new();
    let mut unusable = Vec::new();
    for path in paths {
        let record = match record(&path) {
            Ok(record) => record,
            Err(problem) => {
                unusable.push(Unusable { why: format!("{}: {problem}", path.display()), hint: None });
                continue;
            }
        };
        let key = (record.job.clone(), record.revision);
        match found.get(&key) {
            Some((other, same)) if *same != record => {
                let (other, path, job) = (other.display(), path.display(), record.job);
                let why = format!("{other} and {path} are different records of job {job}");
                unusable.push(Unusable { why, hint: Some("keep in the folder the one that counts") });
            }
            Some(_) => {}
            None => {
                found.insert(key, (path, record));
            }
        }
    }
    if !unusable.is_empty() {
        return Err(unusable);
    }
    // in order of job and revision: the last of a job stays
    let newest: BTreeMap<String, Recorded> = found.into_iter().map(|((job, _), (_, record))| (job, record)).collect();
    Ok(newest.into_values().collect())
}

fn record(path: &Path) -> Result<Recorded, String> {
    let bytes = input::read(path, LARGEST).map_err(|e| match e {
        InputError::TooLarge(_) => "it is too large for a record".to_owned(),
        e => e.to_string(),
    })?;
    read(&bytes).map_err(|e| e.to_string())
}

/// Every `…-record.json` below a folder. Symbolic links are not followed: they may lead in a circle, or out.
fn find(folder: &Path, depth: usize, paths: &mut Vec<PathBuf>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let kind = entry.file_type()?;
        if kind.is_dir() && depth < DEEPEST {
            find(&entry.path(), depth + 1, paths)?;
        } else if kind.is_file() && is_record(&entry.file_name().to_string_lossy()) {
            paths.push(entry.path());
        }
    }
    Ok(())
}

/// `JOB-record.json`, and `JOB-record-r2.json` of a later revision.
fn is_record(name: &str) -> bool {
    let later = |revision: &str| !revision.is_empty() && revision.bytes().all(|b| b.is_ascii_digit());
    name.strip_suffix(".json").is_some_and(|stem| {
        stem.ends_with("-record")
            || stem.rsplit_once("-r").is_some_and(|(name, revision)| name.ends_with("-record") && later(revision))
    })
}
