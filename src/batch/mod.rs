//! Many jobs: done side by side, safe to interrupt, never done twice.
//!
//! This module knows nothing of labels or certificates. A [`Maker`] reads a job and makes its files; the batch decides
//! which jobs are to be made, keeps what became of each, and joins it into a manifest.
//!
//! ```text
//!  DIR/2026-0413/…                 the files of a job
//!  DIR/.decant/2026-0413.json      its state, written at once, after its files
//!  DIR/.decant/2026-0413.lock      held while it is made
//!  DIR/manifest.json, summary.csv  joined from the states when a run ends
//! ```
//!
//! Nothing but the states is kept from run to run, and no file holds more than one job until the end. So a run may be
//! killed at any moment: a job whose state does not fit its inputs and its files to the last byte is made again.

mod jobs;
mod manifest;
mod merge;
mod one;
mod run;
mod stale;
mod state;
mod store;
#[cfg(test)]
mod tests;

pub use jobs::Shard;
pub use manifest::Totals;
pub use merge::merge;
pub use one::Ended;
pub use run::{Report, Run, Watch, run};
pub use stale::Stale;
pub use state::{Document, Output, Settled, SettledJob, Watched, settled_jobs};
pub use store::Store;

use std::collections::BTreeSet;
use std::path::Path;

use crate::digest::sha256;
use crate::input::why;
use crate::shown::shown;

/// The kind of a job that is one, as the manifest names it.
pub const VISIT: &str = "visit";

/// What reads jobs and makes their files. Shared by all workers.
pub trait Maker: Sync {
    /// A job that was read.
    type Job;

    /// The number of a job file; `None` if it has none that can be read.
    fn number(&self, file: &Path) -> Option<String>;

    /// What kind of thing a file stands for, as the manifest names it.
    fn kind(&self, _file: &Path) -> &'static str {
        VISIT
    }

    /// Where a file comes from, such as a contract: what earlier runs wrote is compared with a run of the same origin alone.
    fn origin(&self, _file: &Path) -> Option<String> {
        None
    }

    /// Reads a job.
    fn read(&self, file: &Path) -> Result<Known<Self::Job>, Failed>;

    /// What was asked for, in a word that changes with it: what was issued under one may lack files under another.
    fn asked(&self) -> String {
        String::new()
    }

    /// SHA-256, in hexadecimal, of a file that a job was read from; `None` if it cannot be read.
    fn digest(&self, watched: &Watched) -> Option<String> {
        std::fs::read(&watched.file).ok().map(|bytes| sha256(&bytes))
    }

    /// Whether something was issued of a job in `folder`, and whether the job still gives it.
    fn settled(&self, job: Self::Job, _folder: &Path) -> Result<(Self::Job, Option<Settled>), Failed> {
        Ok((job, None))
    }

    /// Names of the files in a job's folder that were issued, found without the job.
    fn issued(&self, _number: &str, _folder: &Path) -> BTreeSet<String> {
        BTreeSet::new()
    }

    /// Makes its files, all of them or none. They go into `folder`, which may not be there yet and is only looked at. The documents
    /// of `before` are there as they were written.
    fn make(&self, job: Self::Job, folder: &Path, before: &[Document]) -> Result<Made, Failed>;
}

/// A job that was read.
#[derive(Clone, Debug)]
pub struct Known<J> {
    /// Its number.
    pub number: String,
    /// SHA-256, in hexadecimal, of everything that its files depend on.
    pub inputs: String,
    /// The files that it was read from.
    pub watched: Vec<Watched>,
    /// Whether what was made of it before stays, whatever has changed: its time is over.
    pub stays: bool,
    /// The job.
    pub job: J,
}

impl<J> Known<J> {
    /// A job of which no file is watched.
    pub fn of(number: String, inputs: String, job: J) -> Known<J> {
        Known { number, inputs, watched: Vec::new(), stays: false, job }
    }
}

/// Whether a note is a loss of safety, which is also said where notes are not.
pub fn is_caution(note: &str) -> bool {
    note.starts_with("caution: ")
}

/// What was made of a job.
#[derive(Clone, Debug, Default)]
pub struct Made {
    /// Names and content; a name is that of a file, without a folder.
    pub files: Vec<(String, Vec<u8>)>,
    /// The documents among the files, and those that are there already and are not written again.
    pub documents: Vec<Document>,
    /// Messages about them, one thing each.
    pub notes: Vec<String>,
    /// Whether something that was asked for was rightly not made.
    pub withheld: bool,
    /// Files of earlier runs that belong still, though these do not take their place: earlier revisions.
    pub keeps: Vec<String>,
    /// What was issued, in these files or before; with no files, nothing is any more.
    pub settled: Option<Settled>,
    /// Files that are taken away before the first of these is written, so that none stands beside what it does not belong to.
    pub first_gone: Vec<String>,
    /// Something in the input that cannot be used and kept a part from being made, in whole lines.
    pub trouble: Option<String>,
    /// How far the visit is, in a word.
    pub visit: Option<String>,
    /// Its rows of the summary.
    pub rows: Vec<Vec<String>>,
}

/// Why a job was not made.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Failed {
    /// The message, ready for a terminal.
    pub message: String,
    /// Whether the fault is the program's.
    pub own_fault: bool,
    /// Whether a file could not be written: the disk's fault or the system's.
    pub unwritten: bool,
}

impl Failed {
    /// By what the user wrote or the file system said, in one sentence: no value in it begins a line.
    pub fn new(message: impl AsRef<str>) -> Failed {
        Failed { message: shown(message.as_ref()).into_owned(), ..Failed::default() }
    }

    /// By a file or folder that could not be written.
    pub fn unwritten(file: &Path, error: &std::io::Error) -> Failed {
        Failed { unwritten: true, ..Failed::new(format!("cannot write {}: {}", file.display(), why(error))) }
    }
}
