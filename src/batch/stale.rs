//! Files of earlier runs that no longer belong: reported, and removed only when asked.

use std::collections::BTreeSet;
use std::fs;

use super::jobs::Placed;
use super::state::{JobState, Stage};
use super::{Failed, Maker, Shard, Store};

/// What is in the folder and does not belong.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Stale {
    /// Files that are still there, as `JOB/NAME`.
    pub left: Vec<String>,
    pub removed: Vec<String>,
    /// Numbers of jobs that are not among the run's and of which something was issued: all of theirs stays.
    pub kept: Vec<String>,
}

/// Looks through the states of all jobs of the shard; a state that is not of the run's jobs has nothing that belongs.
/// Only files that a batch wrote and nobody has changed are removed.
///
/// What was issued belongs, whatever becomes of its job.
pub(super) fn stale<M: Maker>(
    store: &Store,
    maker: &M,
    placed: &Placed,
    shard: Shard,
    remove: bool,
) -> Result<Stale, Failed> {
    let ours: BTreeSet<&str> = placed.items.iter().map(|item| item.number.as_str()).collect();
    let numbers = store.numbers().map_err(|e| Failed::new(format!("cannot list the states of jobs: {e}")))?;
    let mut found = Stale::default();
    for number in numbers.iter().filter(|number| shard.holds(number)) {
        let belongs = ours.contains(number.as_str());
        let Some(mut state) = store.state(number) else { continue };
        // of what comes from elsewhere this run knows nothing
        let is_elsewhere = !belongs && !placed.origins.contains(&state.origin);
        if is_elsewhere || belongs && state.earlier.is_empty() {
            continue;
        }
        let issued = issued(store, maker, number, Some(&state));
        if !belongs && !issued.is_empty() {
            found.kept.push(number.clone());
            continue;
        }
        state.earlier.retain(|file| !issued.contains(&file.name));
        // whoever holds the lock is about to change what is there
        if let Ok(Some(_lock)) = store.lock(number, false) {
            of_job(store, state, belongs, remove, &mut found);
        }
    }
    Ok(found)
}

/// Names of a job's files that were issued, by its state and by what lies in its folder.
pub(super) fn issued<M: Maker>(store: &Store, maker: &M, number: &str, state: Option<&JobState>) -> BTreeSet<String> {
    let mut issued = maker.issued(number, &store.shown(number));
    issued.extend(state.iter().flat_map(|state| state.issued()).cloned());
    issued
}

fn of_job(store: &Store, mut state: JobState, belongs: bool, remove: bool, found: &mut Stale) {
    let number = state.job.clone();
    let mut gone = state.earlier.clone();
    if !belongs {
        gone.append(&mut state.outputs);
        state.stage = Stage::Failed;
    }
    gone.retain(|file| store.is_there(&number, file));
    let names: BTreeSet<&String> = gone.iter().map(|file| &file.name).collect();
    let mut left = Vec::new();
    for name in names {
        let shown = format!("{number}/{name}");
        let ours = gone.iter().any(|file| file.name == *name && store.is_intact(&number, file));
        let inside = store.folder(&number).ok().filter(|_| remove && ours);
        if inside.is_some_and(|folder| fs::remove_file(folder.join(name)).is_ok()) {
            found.removed.push(shown);
        } else {
            found.left.push(shown);
            left.extend(gone.iter().filter(|file| file.name == *name).cloned());
        }
    }
    if !remove {
        return;
    }
    if !belongs && left.is_empty() {
        // an empty folder goes too; one that holds something of the user's stays, and says so by failing
        let _ = fs::remove_dir(store.file(&number));
        let _ = store.forget(&number);
    } else {
        state.earlier = left;
        // if this cannot be kept, the same is found again the next time
        let _ = store.keep(&state);
    }
}
