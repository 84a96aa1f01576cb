//! One job, from its file to its state.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};

use super::jobs::Item;
use super::stale::issued;
use super::state::{Document, JobState, Output, Settled, Stage, Watched};
use super::store::{is_plain_name, or_as_it_is};
use super::{Failed, Known, Made, Maker, Store};
use crate::whole::{sweep, write_whole_unsynced};

/// How it went with a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ended {
    /// It was made; `withheld`: something that was asked for was rightly not.
    Done { withheld: bool },
    /// Nothing has changed since it was made.
    UpToDate { withheld: bool },
    /// It was issued, and stays; `differs`: what the job gives now that is not what was issued, in full lines.
    Settled { differs: Option<String> },
    /// It was not made.
    Failed(Failed),
}

impl Ended {
    /// As the manifest has it.
    pub(super) fn word(&self) -> &'static str {
        match self {
            Ended::Done { .. } => "done",
            Ended::UpToDate { .. } => "up-to-date",
            Ended::Settled { .. } => "settled",
            Ended::Failed(_) => "failed",
        }
    }
}

/// What a job's worker needs.
pub(super) struct Worker<'a, M> {
    pub store: &'a Store,
    pub maker: &'a M,
}

impl<M: Maker> Worker<'_, M> {
    /// Does a job; `None` if another run has it in hand and `wait` is not set.
    pub fn job(&self, item: &Item, wait: bool) -> Option<Ended> {
        let _lock = match self.store.lock(&item.number, wait) {
            Ok(Some(lock)) => lock,
            Ok(None) => return None,
            Err(failed) => return Some(Ended::Failed(failed)),
        };
        // one job that brings the program down must not take the others along
        let ended = catch_unwind(AssertUnwindSafe(|| self.locked(item))).unwrap_or_else(|panic| {
            let reason = panic.downcast_ref::<String>().map(String::as_str);
            let reason = reason.or_else(|| panic.downcast_ref::<&str>().copied()).unwrap_or("no reason given");
            Err(Failed { own_fault: true, ..Failed::new(format!("a fault of the program: {reason}")) })
        });
        Some(ended.unwrap_or_else(|failed| {
            self.keep_failed(item, &failed);
            Ended::Failed(failed)
        }))
    }

    /// Does a job whose lock is held.
    fn locked(&self, item: &Item) -> Result<Ended, Failed> {
        let before = self.store.state(&item.number);
        if let Some(ended) = before.as_ref().and_then(|state| self.unchanged(item, state)) {
            return Ok(ended);
        }
        let Known { number, inputs, watched, stays, job } = self.maker.read(&item.file)?;
        if number != item.number {
            return Err(Failed::new("the file was changed while the run was going on"));
        }
        let as_asked = |state: &&JobState| self.is_made(state) && state.asked == self.maker.asked();
        let is_made = |state: &&JobState| match stays {
            true => as_asked(state),
            false => self.is_made(state) && state.inputs.as_ref() == Some(&inputs),
        };
        if let Some(state) = before.as_ref().filter(is_made) {
            let Some(settled) = &state.settled else {
                return Ok(Ended::UpToDate { withheld: state.withheld });
            };
            // the very inputs that it was made of
            let settled = Settled { differs: None, ..settled.clone() };
            return self.settle(item, settled, watched, before.as_ref());
        }
        let (job, settled) = self.maker.settled(job, &self.store.shown(&item.number))?;
        if let Some(mut settled) = settled {
            let altered = before.as_ref().map(|state| self.altered(state)).unwrap_or_default();
            if !altered.is_empty() {
                settled.differs = Some(format!(
                    "what was issued of {} is not as it was written: {}\n  = put it back from a copy, or take it away to have \
                     it made again\n",
                    item.number,
                    altered.join(", ")
                ));
                // looked at again until it is put back
                return self.settle(item, settled, Vec::new(), before.as_ref());
            }
            if settled.differs.is_some() || before.as_ref().filter(as_asked).is_some() {
                return self.settle(item, settled, watched, before.as_ref());
            }
        }
        let documents = before.as_ref().map(|state| self.intact(state)).unwrap_or_default();
        let made = self.maker.make(job, &self.store.shown(&item.number), &documents)?;
        let withheld = made.withheld;
        let was_issued = made.settled.as_ref().is_some_and(|settled| {
            let new: BTreeSet<&String> = made.files.iter().map(|(name, _)| name).collect();
            !settled.files.is_empty() && !settled.files.iter().any(|name| new.contains(name))
        });
        self.write(item, inputs, watched, made, before)?;
        Ok(if was_issued { Ended::Settled { differs: None } } else { Ended::Done { withheld } })
    }

    /// How a settled job ends of which nothing was changed: what was asked for is there, to the last byte, and the files that it
    /// was compared with are as they were. Nothing of the job is read then. Files that were named otherwise may be those of a copy.
    fn unchanged(&self, item: &Item, state: &JobState) -> Option<Ended> {
        let settled = state.settled.as_ref()?;
        let is_named_so = state.file == item.file.display().to_string();
        let same =
            |w: &Watched| (w.from_output || is_named_so) && self.maker.digest(w).as_deref() == Some(w.sha256.as_str());
        let is_settled = state.asked == self.maker.asked()
            && !state.watched.is_empty()
            && state.watched.iter().all(same)
            && self.is_made(state);
        is_settled.then(|| Ended::Settled { differs: settled.differs.clone() })
    }

    /// Issued files that are there and are not as they were written. A blank one was never written to its end and counts as gone.
    fn altered(&self, state: &JobState) -> Vec<String> {
        let issued: BTreeSet<&String> = state.issued().collect();
        let (store, job) = (self.store, &state.job);
        let altered = |o: &&Output| store.is_there(job, o) && !store.is_intact(job, o) && !store.is_blank(job, o);
        let outputs = state.outputs.iter().filter(|o| issued.contains(&o.name));
        outputs.filter(altered).map(|o| o.name.clone()).collect()
    }

    /// The documents of an earlier run that are there as they were written.
    fn intact(&self, state: &JobState) -> Vec<Document> {
        let is_there = |d: &&Document| d.files.iter().all(|o| self.store.is_intact(&state.job, o));
        state.documents.iter().filter(|_| state.stage == Stage::Done).filter(is_there).cloned().collect()
    }

    /// Whether all that was made is there as it was written.
    fn is_made(&self, state: &JobState) -> bool {
        state.stage == Stage::Done && state.outputs.iter().all(|o| self.store.is_intact(&state.job, o))
    }

    /// Leaves what was issued as it is, and remembers what it was compared with. Files that a state does not know are taken as
    /// they are.
    fn settle(
        &self,
        item: &Item,
        settled: Settled,
        watched: Vec<Watched>,
        before: Option<&JobState>,
    ) -> Result<Ended, Failed> {
        let mut state = before.cloned().unwrap_or_else(|| JobState::new(item, Stage::Done));
        let known: BTreeSet<String> = state.outputs.iter().map(|o| o.name.clone()).collect();
        let new = settled.files.iter().filter(|name| !known.contains(*name));
        state.outputs.extend(new.filter_map(|name| self.store.found(&item.number, name)));
        state.earlier.retain(|old| !settled.files.contains(&old.name));
        state.file = item.file.display().to_string();
        state.origin.clone_from(&item.origin);
        state.stage = Stage::Done;
        state.error = None;
        state.watched = watched;
        if state.asked.is_empty() {
            state.asked = self.maker.asked();
        }
        let differs = settled.differs.clone();
        state.settled = Some(settled);
        self.store.keep(&state)?;
        Ok(Ended::Settled { differs })
    }

    /// Says what it is about to write, writes it, and says that it is done. Whatever happens between, the state names
    /// every file of the job that may be there. What is there to the last byte is not written again.
    fn write(
        &self,
        item: &Item,
        inputs: String,
        watched: Vec<Watched>,
        made: Made,
        before: Option<JobState>,
    ) -> Result<(), Failed> {
        let folder = self.store.folder(&item.number)?;
        let mut state = JobState::new(item, Stage::Writing);
        state.outputs = made.files.iter().map(|(name, bytes)| Output::of(name, bytes)).collect();
        let written: BTreeSet<&String> = made.files.iter().map(|(name, _)| name).collect();
        let there = made.documents.iter().flat_map(|document| &document.files);
        state.outputs.extend(there.filter(|output| !written.contains(&output.name)).cloned());
        if let Some(bad) = state.outputs.iter().find(|o| !is_plain_name(&o.name)) {
            return Err(Failed::new(format!("`{}` cannot be the name of a file", bad.name)));
        }
        let issued = issued(self.store, self.maker, &item.number, before.as_ref());
        let new: BTreeSet<String> = state.outputs.iter().map(|o| o.name.clone()).collect();
        let kept = issued.iter().filter(|name| !new.contains(*name));
        // what was issued stays, and belongs
        state.outputs.extend(kept.filter_map(|name| self.store.found(&item.number, name)));
        state.settled = before.as_ref().and_then(|before| before.settled.clone());
        state.earlier = before.map_or_else(Vec::new, |before| before.left_over(&state.outputs));
        state.earlier.retain(|old| {
            self.store.is_there(&item.number, old) && !made.keeps.contains(&old.name) && !issued.contains(&old.name)
        });
        self.store.keep(&state)?;
        let shown = |name: &str| self.store.shown(&item.number).join(name);
        let cannot = |name: &str, e: io::Error| Failed::unwritten(&shown(name), &e);
        sweep(&folder).map_err(|e| cannot("", e))?;
        for name in made.first_gone.iter().filter(|name| is_plain_name(name)) {
            let gone = or_as_it_is(fs::remove_file(folder.join(name)), io::ErrorKind::NotFound);
            gone.map_err(|e| cannot(name, e))?;
        }
        for ((name, bytes), output) in made.files.iter().zip(&state.outputs) {
            if self.store.is_intact(&item.number, output) {
                continue;
            }
            // all are synced when the run ends; until then their digest in the state tells what a power cut took
            write_whole_unsynced(&folder.join(name), bytes).map_err(|e| cannot(name, e))?;
        }
        state.stage = Stage::Done;
        let outputs = &state.outputs;
        state.earlier.retain(|old| outputs.iter().all(|new| new.name != old.name));
        state.inputs = Some(inputs);
        state.documents = made.documents;
        state.notes = made.notes;
        state.withheld = made.withheld;
        state.visit = made.visit;
        state.trouble = made.trouble;
        state.rows = made.rows;
        if made.settled.is_some() {
            state.settled = made.settled.filter(|settled| !settled.files.is_empty());
        }
        state.watched = watched;
        state.asked = self.maker.asked();
        self.store.keep(&state)
    }

    /// What an earlier run made of it is of other inputs: it does not belong any more, but for what was issued.
    fn keep_failed(&self, item: &Item, failed: &Failed) {
        let mut state = JobState::new(item, Stage::Failed);
        if let Some(before) = self.store.state(&item.number) {
            let issued = issued(self.store, self.maker, &item.number, Some(&before));
            let known: BTreeSet<String> = before.known().map(|o| o.name.clone()).collect();
            state.outputs = before.known().filter(|o| issued.contains(&o.name)).cloned().collect();
            state.outputs.sort();
            state.outputs.dedup_by(|a, b| a.name == b.name);
            let unknown = issued.iter().filter(|name| !known.contains(*name));
            state.outputs.extend(unknown.filter_map(|name| self.store.found(&item.number, name)));
            state.earlier = before.left_over(&state.outputs);
            state.earlier.retain(|old| self.store.is_there(&item.number, old) && !issued.contains(&old.name));
            state.settled = before.settled;
        }
        state.error = Some(failed.message.clone());
        // on a full disk this fails too; then the old state stays, whose inputs or files do not fit, and the manifest has it
        // from the run itself
        let _ = self.store.keep(&state);
    }
}
