//! What became of a job: one small file each, written after the job's own files.

use serde::{Deserialize, Serialize};

use super::settled::{Settled, Watched};

/// The form of a state file; one of another form counts as none, and its job is made again.
pub(super) const FORM: &str = "decant state 1";

/// A file that a job was made into.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Output {
    /// Its name, in the job's folder.
    pub name: String,
    /// SHA-256 in hexadecimal.
    pub sha256: String,
    /// Bytes.
    pub size: u64,
}

/// How far a job is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Stage {
    /// Its files are being written; a run that ends here was killed.
    Writing,
    /// All of them are there.
    Done,
    /// It was not made.
    Failed,
}

/// The state of a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct JobState {
    pub form: String,
    pub job: String,
    /// The job file, as it was named.
    pub file: String,
    pub stage: Stage,
    /// The digest of everything the files depend on.
    pub inputs: Option<String>,
    pub outputs: Vec<Output>,
    /// What earlier runs wrote and this one did not: it may still be there, and does not belong.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub earlier: Vec<Output>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
    #[serde(default)]
    pub withheld: bool,
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
    pub fn new(job: &str, file: &str, stage: Stage) -> JobState {
        JobState {
            form: FORM.to_owned(),
            job: job.to_owned(),
            file: file.to_owned(),
            stage,
            inputs: None,
            outputs: Vec::new(),
            earlier: Vec::new(),
            notes: Vec::new(),
            withheld: false,
            settled: None,
            watched: Vec::new(),
            asked: String::new(),
            trouble: None,
            error: None,
            rows: Vec::new(),
        }
    }

    /// Everything it says may be in the job's folder.
    pub fn known(&self) -> impl Iterator<Item = &Output> {
        self.outputs.iter().chain(&self.earlier)
    }
}

/// What of `before` is not among `now`. A file that is about to be written anew is: until then the old one is there.
pub(super) fn left_over(before: &JobState, now: &[Output]) -> Vec<Output> {
    let mut left: Vec<Output> = before.known().filter(|old| !now.contains(old)).cloned().collect();
    left.sort();
    left.dedup();
    left
}
