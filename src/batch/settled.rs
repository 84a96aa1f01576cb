//! What is settled: files that were issued, which no later run writes over, removes or calls stale.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::state::{JobState, Stage};
use super::{Ended, Maker, Store};

/// What was issued of a job.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settled {
    /// Names of its files, in the job's folder.
    pub files: Vec<String>,
    /// When the visit was planned to begin, as the record has it: the rest of a day goes by it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub start: Option<String>,
    /// What the job gives now that is not what was issued, and what to do about it, in whole lines; `None` if it is the same.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub differs: Option<String>,
}

/// A file that was read for a job: while none of these has changed, the job need not be read again to know that what was issued
/// is what it gives.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Watched {
    /// The file, as it was named.
    pub file: String,
    /// SHA-256 in hexadecimal.
    pub sha256: String,
    /// Whether other jobs are read from it too.
    #[serde(default)]
    pub shared: bool,
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
    let numbers = store.numbers().unwrap_or_default().into_iter();
    numbers
        .filter_map(|number| {
            let state = store.state(&number)?;
            let settled = state.settled?;
            let job = SettledJob { settled, watched: state.watched };
            Some((number, job))
        })
        .collect()
}

/// How a settled job ends of which nothing was changed: what was asked for is there, to the last byte, and the files that it was
/// compared with are as they were. Nothing of the job is read then.
pub(super) fn unchanged<M: Maker>(store: &Store, maker: &M, state: &JobState) -> Option<Ended> {
    let settled = state.settled.as_ref()?;
    let same_files = || {
        let same = |w: &Watched| maker.digest(w).as_deref() == Some(w.sha256.as_str());
        !state.watched.is_empty() && state.watched.iter().all(same)
    };
    let is_settled = state.stage == Stage::Done
        && state.asked == maker.asked()
        && same_files()
        && state.outputs.iter().all(|o| store.is_intact(&state.job, o));
    is_settled.then(|| Ended::Settled { differs: settled.differs.clone() })
}

/// Issued files that are there and are not as they were written. A blank one was never written whole and counts as gone.
pub(super) fn altered(store: &Store, state: &JobState) -> Vec<String> {
    let issued: BTreeSet<&String> = state.settled.iter().flat_map(|settled| &settled.files).collect();
    let outputs = state.outputs.iter().filter(|o| issued.contains(&o.name));
    outputs
        .filter(|o| store.is_there(&state.job, o) && !store.is_intact(&state.job, o) && !store.is_blank(&state.job, o))
        .map(|o| o.name.clone())
        .collect()
}
