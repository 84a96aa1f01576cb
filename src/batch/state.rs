//! What became of a job: one small file each, written after the job's own files.

use std::collections::BTreeMap;
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::Store;
use super::jobs::Item;
use crate::digest::sha256;

/// The form of a state file; one of another form counts as none, and its job is made again.
pub(super) const FORM: &str = "decant state 1";

/// A file that a job was made into.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Output {
    /// Its name, in the job's folder.
    pub name: String,
    /// In hexadecimal.
    pub sha256: String,
    /// Bytes.
    pub size: u64,
}

impl Output {
    pub fn of(name: &str, bytes: &[u8]) -> Output {
        Output { name: name.to_owned(), sha256: sha256(bytes), size: bytes.len() as u64 }
    }
}

/// A document of a job: what it was laid out from and the files that it became. While neither changes it is not laid out again,
/// whatever else the job's files depend on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Document {
    /// The stem of its files' names.
    pub name: String,
    /// SHA-256 of all that its bytes depend on, in hexadecimal.
    pub sha256: String,
    pub files: Vec<Output>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}

/// What was issued of a job: files that no later run writes over, removes or calls stale.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settled {
    /// Names of its files, in the job's folder.
    pub files: Vec<String>,
    /// When the visit was planned to begin, as the record has it: the rest of a day goes by it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub start: Option<String>,
    /// What the job gives now that is not what was issued, and what to do about it, in full lines; `None` if it is the same.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub differs: Option<String>,
}

/// A file that was read for a job: while none of these has changed, the job need not be read again to know that what was issued
/// is what it gives.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Watched {
    /// The file, as it was named, or from the output folder.
    pub file: String,
    /// Whether it is named from the output folder: it is found there wherever that was copied or moved to.
    #[serde(default)]
    pub from_output: bool,
    /// In hexadecimal.
    pub sha256: String,
    /// Whether other jobs are read from it too.
    #[serde(default)]
    pub shared: bool,
}

/// How far a job is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Stage {
    /// Its files are being written; a run that ends here was killed.
    #[default]
    Writing,
    /// All of them are there.
    Done,
    /// It was not made.
    Failed,
}

/// The state of a job.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct JobState {
    pub form: String,
    pub job: String,
    /// The job file, as it was named.
    pub file: String,
    /// Where it comes from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub origin: Option<String>,
    pub stage: Stage,
    /// The digest of everything the files depend on.
    pub inputs: Option<String>,
    pub outputs: Vec<Output>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub documents: Vec<Document>,
    /// What earlier runs wrote and this one did not: it may still be there, and does not belong.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub earlier: Vec<Output>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
    #[serde(default)]
    pub withheld: bool,
    /// How far the visit is, in a word.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub visit: Option<String>,
    /// What was issued: kept from state to state.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub settled: Option<Settled>,
    /// The files that what was issued was compared with.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub watched: Vec<Watched>,
    /// What was asked for.
    #[serde(default)]
    pub asked: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trouble: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub error: Option<String>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub rows: Vec<Vec<String>>,
}

impl JobState {
    pub fn new(item: &Item, stage: Stage) -> JobState {
        JobState {
            form: FORM.to_owned(),
            job: item.number.clone(),
            file: item.file.display().to_string(),
            origin: item.origin.clone(),
            stage,
            ..JobState::default()
        }
    }

    /// Everything it says may be in the job's folder.
    pub fn known(&self) -> impl Iterator<Item = &Output> {
        self.outputs.iter().chain(&self.earlier)
    }

    /// Names of the files that were issued.
    pub fn issued(&self) -> impl Iterator<Item = &String> {
        self.settled.iter().flat_map(|settled| &settled.files)
    }

    /// What of it is not among `now`. A file that is about to be written again is: until then the old one is there.
    pub fn left_over(&self, now: &[Output]) -> Vec<Output> {
        let mut left: Vec<Output> = self.known().filter(|old| !now.contains(old)).cloned().collect();
        left.sort();
        left.dedup();
        left
    }
}

/// A settled job, as a run finds it when it begins.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SettledJob {
    /// What was issued.
    pub settled: Settled,
    /// The files that it was compared with.
    pub watched: Vec<Watched>,
}

/// The settled jobs of an output folder by their numbers, from the states of earlier runs; none if it is not there.
pub fn settled_jobs(folder: &Path) -> BTreeMap<String, SettledJob> {
    let Some(store) = Store::look(folder) else {
        return BTreeMap::new();
    };
    let settled = |number: String| {
        let state = store.state(&number)?;
        Some((number, SettledJob { settled: state.settled?, watched: state.watched }))
    };
    store.numbers().unwrap_or_default().into_iter().filter_map(settled).collect()
}
