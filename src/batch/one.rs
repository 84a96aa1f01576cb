//! One job, from its file to its state.

use std::fs::remove_file;
use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};

use super::state::{JobState, Output, Stage, left_over};
use super::store::{Lock, is_plain_name};
use super::{Failed, Item, Known, Made, Maker, Store};
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
            let told = told
                .or_else(|| panic.downcast_ref::<&str>().copied())
                .unwrap_or("no reason given");
            Err(Failed {
                own_fault: true,
                ..Failed::new(format!("a fault of the program: {told}"))
            })
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
        let known = self.maker.read(&item.file)?;
        if known.number != item.number {
            return Err(Failed::new("the file was changed while the run was going on"));
        }
        let before = self.store.state(&item.number);
        if let Some(state) = before.as_ref().filter(|state| self.is_up_to_date(state, &known)) {
            return Ok(Ended::UpToDate {
                withheld: state.withheld,
            });
        }
        let made = self.maker.make(known.job, &self.store.shown(&item.number))?;
        let withheld = made.withheld;
        self.write(item, known.inputs, made, before)?;
        Ok(Ended::Done { withheld })
    }

    fn is_up_to_date<J>(&self, state: &JobState, known: &Known<J>) -> bool {
        state.stage == Stage::Done
            && state.inputs.as_deref() == Some(known.inputs.as_str())
            && state.outputs.iter().all(|o| self.store.is_intact(&state.job, o))
    }

    /// Says what it is about to write, writes it, and says that it is done. Whatever happens between, the state names
    /// every file of the job that may be there.
    fn write(&self, item: &Item, inputs: String, made: Made, before: Option<JobState>) -> Result<(), Failed> {
        let folder = self.store.job_folder(&item.number)?;
        let mut state = JobState::new(&item.number, &item.file.display().to_string(), Stage::Writing);
        state.outputs = made.files.iter().map(|(name, bytes)| output(name, bytes)).collect();
        if let Some(bad) = state.outputs.iter().find(|o| !is_plain_name(&o.name)) {
            return Err(Failed::new(format!("`{}` cannot be the name of a file", bad.name)));
        }
        state.earlier = before.map_or_else(Vec::new, |before| left_over(&before, &state.outputs));
        state
            .earlier
            .retain(|old| self.store.is_there(&item.number, old) && !made.keeps.contains(&old.name));
        self.store.keep(&state)?;
        let shown = |name: &str| self.store.shown(&item.number).join(name);
        let cannot = |name: &str, e: io::Error| Failed::unwritten(&shown(name), &e);
        sweep(&folder).map_err(|e| cannot("", e))?;
        // what speaks of each other is never there half old and half new, wherever a kill comes
        for new in state.outputs.iter().filter(|new| made.together.contains(&new.name)) {
            if self.store.is_there(&item.number, new) && !self.store.is_intact(&item.number, new) {
                remove_file(folder.join(&new.name)).map_err(|e| cannot(&new.name, e))?;
            }
        }
        for (name, bytes) in &made.files {
            // all are synced when the run ends; until then their digest in the state tells what a power cut took
            write_whole_unsynced(&folder.join(name), bytes).map_err(|e| cannot(name, e))?;
        }
        state.stage = Stage::Done;
        let outputs = &state.outputs;
        state
            .earlier
            .retain(|old| outputs.iter().all(|new| new.name != old.name));
        state.inputs = Some(inputs);
        state.notes = made.notes;
        state.withheld = made.withheld;
        state.rows = made.rows;
        self.store.keep(&state)
    }

    /// What an earlier run made of it is of other inputs: it does not belong any more.
    fn keep_failed(&self, item: &Item, failed: &Failed) {
        let mut state = JobState::new(&item.number, &item.file.display().to_string(), Stage::Failed);
        state.earlier = self
            .store
            .state(&item.number)
            .map_or_else(Vec::new, |before| left_over(&before, &[]));
        state.earlier.retain(|old| self.store.is_there(&item.number, old));
        state.error = Some(failed.told.clone());
        // on a full disk this fails too; then the old state stays, whose inputs or files do not fit, and the manifest is
        // told by the run itself
        let _ = self.store.keep(&state);
    }
}

fn output(name: &str, bytes: &[u8]) -> Output {
    Output {
        name: name.to_owned(),
        sha256: sha256(bytes),
        size: bytes.len() as u64,
    }
}
