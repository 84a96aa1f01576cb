//! One job, from its file to its state.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};

use super::settled::{Settled, altered, unchanged};
use super::state::{JobState, Output, Stage, left_over};
use super::store::{Lock, is_plain_name};
use super::{Failed, Item, Known, Made, Maker, Store, Watched};
use crate::digest::sha256;
use crate::whole::{sweep, write_whole_unsynced};

/// How it went with a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ended {
    /// It was made.
    Done {
        /// Whether something that was asked for was rightly not made.
        withheld: bool,
    },
    /// Nothing has changed since it was made.
    UpToDate {
        /// Whether something that was asked for was rightly not made, then.
        withheld: bool,
    },
    /// It was issued, and stays.
    Settled {
        /// What the job gives now that is not what was issued, in whole lines.
        differs: Option<String>,
    },
    /// It was not made.
    Failed(Failed),
}

/// What a job's worker needs.
pub(super) struct Shop<'a, M> {
    pub store: &'a Store,
    pub maker: &'a M,
}

impl<M: Maker> Shop<'_, M> {
    /// Does a job; `None` if another run has it in hand and `wait` is not set.
    pub fn job(&self, item: &Item, wait: bool) -> Option<Ended> {
        let lock = match self.store.lock(&item.number, wait) {
            Ok(Some(lock)) => lock,
            Ok(None) => return None,
            Err(failed) => return Some(Ended::Failed(failed)),
        };
        // one job that brings the program down must not take the others along
        let ended = catch_unwind(AssertUnwindSafe(|| self.locked(item, &lock))).unwrap_or_else(|panic| {
            let told = panic.downcast_ref::<String>().map(String::as_str);
            let told = told.or_else(|| panic.downcast_ref::<&str>().copied()).unwrap_or("no reason given");
            Err(Failed { own_fault: true, ..Failed::new(format!("a fault of the program: {told}")) })
        });
        Some(match ended {
            Ok(ended) => ended,
            Err(failed) => {
                self.keep_failed(item, &failed);
                Ended::Failed(failed)
            }
        })
    }

    fn locked(&self, item: &Item, _: &Lock) -> Result<Ended, Failed> {
        let before = self.store.state(&item.number);
        if let Some(ended) = before.as_ref().and_then(|state| unchanged(self.store, self.maker, state)) {
            return Ok(ended);
        }
        let Known { number, inputs, watched, stays, job } = self.maker.read(&item.file)?;
        if number != item.number {
            return Err(Failed::new("the file was changed while the run was going on"));
        }
        let is_made = |state: &&JobState| match stays {
            true => self.is_made(state, None) && state.asked == self.maker.asked(),
            false => self.is_made(state, Some(&inputs)),
        };
        if let Some(state) = before.as_ref().filter(is_made) {
            if let Some(settled) = &state.settled {
                // the very inputs that it was made of
                let settled = Settled { differs: None, ..settled.clone() };
                return self.settle(item, settled, watched, before.as_ref());
            }
            return Ok(Ended::UpToDate { withheld: state.withheld });
        }
        let (job, settled) = self.maker.settled(job, &self.store.shown(&item.number))?;
        if let Some(mut settled) = settled {
            let altered = before.as_ref().map(|state| altered(self.store, state)).unwrap_or_default();
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
            let all_there = |state: &&JobState| self.is_made(state, None) && state.asked == self.maker.asked();
            if settled.differs.is_some() || before.as_ref().is_some_and(|state| all_there(&state)) {
                return self.settle(item, settled, watched, before.as_ref());
            }
        }
        let made = self.maker.make(job, &self.store.shown(&item.number))?;
        let withheld = made.withheld;
        let was_issued = made.settled.as_ref().is_some_and(|settled| {
            let new: BTreeSet<&String> = made.files.iter().map(|(name, _)| name).collect();
            !settled.files.is_empty() && !settled.files.iter().any(|name| new.contains(name))
        });
        self.write(item, inputs, watched, made, before)?;
        Ok(match was_issued {
            true => Ended::Settled { differs: None },
            false => Ended::Done { withheld },
        })
    }

    /// Whether all that was made is there as it was written, of these inputs if any are given.
    fn is_made(&self, state: &JobState, inputs: Option<&str>) -> bool {
        state.stage == Stage::Done
            && inputs.is_none_or(|inputs| state.inputs.as_deref() == Some(inputs))
            && state.outputs.iter().all(|o| self.store.is_intact(&state.job, o))
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
        let mut state = match before {
            Some(state) => state.clone(),
            None => JobState::new(&item.number, &item.file.display().to_string(), Stage::Done),
        };
        let known: BTreeSet<String> = state.outputs.iter().map(|o| o.name.clone()).collect();
        let new = settled.files.iter().filter(|name| !known.contains(*name));
        state.outputs.extend(new.filter_map(|name| self.store.found(&item.number, name)));
        state.earlier.retain(|old| !settled.files.contains(&old.name));
        state.file = item.file.display().to_string();
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
    /// every file of the job that may be there.
    fn write(
        &self,
        item: &Item,
        inputs: String,
        watched: Vec<Watched>,
        made: Made,
        before: Option<JobState>,
    ) -> Result<(), Failed> {
        let folder = self.store.job_folder(&item.number)?;
        let mut state = JobState::new(&item.number, &item.file.display().to_string(), Stage::Writing);
        state.outputs = made.files.iter().map(|(name, bytes)| output(name, bytes)).collect();
        if let Some(bad) = state.outputs.iter().find(|o| !is_plain_name(&o.name)) {
            return Err(Failed::new(format!("`{}` cannot be the name of a file", bad.name)));
        }
        let issued = self.issued(&item.number, before.as_ref());
        let new: BTreeSet<String> = state.outputs.iter().map(|o| o.name.clone()).collect();
        let kept = issued.iter().filter(|name| !new.contains(*name));
        // what was issued stays, and belongs
        state.outputs.extend(kept.filter_map(|name| self.store.found(&item.number, name)));
        state.settled = before.as_ref().and_then(|before| before.settled.clone());
        state.earlier = before.map_or_else(Vec::new, |before| left_over(&before, &state.outputs));
        state.earlier.retain(|old| {
            self.store.is_there(&item.number, old) && !made.keeps.contains(&old.name) && !issued.contains(&old.name)
        });
        self.store.keep(&state)?;
        let shown = |name: &str| self.store.shown(&item.number).join(name);
        let cannot = |name: &str, e: io::Error| Failed::unwritten(&shown(name), &e);
        sweep(&folder).map_err(|e| cannot("", e))?;
        for name in made.first_gone.iter().filter(|name| is_plain_name(name)) {
            match fs::remove_file(folder.join(name)) {
                Err(e) if e.kind() != io::ErrorKind::NotFound => return Err(cannot(name, e)),
                _ => {}
            }
        }
        for (name, bytes) in &made.files {
            // all are synced when the run ends; until then their digest in the state tells what a power cut took
            write_whole_unsynced(&folder.join(name), bytes).map_err(|e| cannot(name, e))?;
        }
        state.stage = Stage::Done;
        let outputs = &state.outputs;
        state.earlier.retain(|old| outputs.iter().all(|new| new.name != old.name));
        state.inputs = Some(inputs);
        state.notes = made.notes;
        state.withheld = made.withheld;
        state.trouble = made.trouble;
        state.rows = made.rows;
        if made.settled.is_some() {
            state.settled = made.settled.filter(|settled| !settled.files.is_empty());
        }
        state.watched = watched;
        state.asked = self.maker.asked();
        self.store.keep(&state)
    }

    /// Names of the files that were issued, by the state of the job and by what lies in its folder.
    fn issued(&self, number: &str, before: Option<&JobState>) -> BTreeSet<String> {
        let mut issued = self.maker.issued(number, &self.store.shown(number));
        issued
            .extend(before.iter().filter_map(|state| state.settled.as_ref()).flat_map(|settled| settled.files.clone()));
        issued
    }

    /// What an earlier run made of it is of other inputs: it does not belong any more, but for what was issued.
    fn keep_failed(&self, item: &Item, failed: &Failed) {
        let mut state = JobState::new(&item.number, &item.file.display().to_string(), Stage::Failed);
        if let Some(before) = self.store.state(&item.number) {
            let issued = self.issued(&item.number, Some(&before));
            let known: BTreeSet<String> = before.known().map(|o| o.name.clone()).collect();
            state.outputs = before.known().filter(|o| issued.contains(&o.name)).cloned().collect();
            state.outputs.sort();
            state.outputs.dedup_by(|a, b| a.name == b.name);
            let unknown = issued.iter().filter(|name| !known.contains(*name));
            state.outputs.extend(unknown.filter_map(|name| self.store.found(&item.number, name)));
            state.earlier = left_over(&before, &state.outputs);
            state.earlier.retain(|old| self.store.is_there(&item.number, old) && !issued.contains(&old.name));
            state.settled = before.settled;
        }
        state.error = Some(failed.told.clone());
        // on a full disk this fails too; then the old state stays, whose inputs or files do not fit, and the manifest is
        // told by the run itself
        let _ = self.store.keep(&state);
    }
}

fn output(name: &str, bytes: &[u8]) -> Output {
    Output { name: name.to_owned(), sha256: sha256(bytes), size: bytes.len() as u64 }
}
