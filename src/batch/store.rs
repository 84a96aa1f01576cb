//! The folder a batch writes into: where things lie in it, and that nothing leads out of it.

use std::fs::{self, File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};

use super::Failed;
use super::state::{FORM, JobState, Output};
use crate::digest::sha256;
use crate::input;
use crate::whole::{step, sync, write_all, write_whole};

/// Where the states lie.
const STATES: &str = ".decant";

/// The largest state that is read, in bytes: far more than that of the largest job.
const LARGEST_STATE: u64 = 64 << 20;

/// An output folder. Its own path may hold links, as the user likes; below it no link may lead out.
#[derive(Clone, Debug)]
pub struct Store {
    root: PathBuf,
    /// As the user named it, to be printed.
    named: PathBuf,
}

/// A job's lock; whoever holds it may write the job's folder and state. Let go when dropped, or when the process ends in
/// whatever way.
pub(super) struct Lock(#[expect(dead_code)] File);

impl Store {
    /// Opens the folder, and makes it if need be.
    pub fn open(folder: &Path) -> Result<Store, Failed> {
        let cannot = |e: io::Error| Failed::unwritten(folder, &e);
        fs::create_dir_all(folder).map_err(cannot)?;
        let store = Store { root: fs::canonicalize(folder).map_err(cannot)?, named: folder.to_owned() };
        store.folder(STATES)?;
        Ok(store)
    }

    /// The folder, if it is there and holds states; nothing is made.
    pub(super) fn look(folder: &Path) -> Option<Store> {
        let root = fs::canonicalize(folder).ok()?;
        root.join(STATES).is_dir().then(|| Store { root, named: folder.to_owned() })
    }

    /// A folder right inside, such as that of a job's files, made if need be; a link that leads out is refused.
    pub(super) fn folder(&self, name: &str) -> Result<PathBuf, Failed> {
        let path = self.root.join(name);
        let shown = self.named.join(name);
        let cannot = |e: io::Error| Failed::unwritten(&shown, &e);
        or_as_it_is(fs::create_dir(&path), io::ErrorKind::AlreadyExists).map_err(cannot)?;
        if !fs::canonicalize(&path).map_err(cannot)?.starts_with(&self.root) {
            return Err(Failed::new(format!("{} is a link that leads out of the folder", shown.display())));
        }
        Ok(path)
    }

    /// A path of the folder, as the user would write it.
    pub fn shown(&self, path: &str) -> PathBuf {
        self.named.join(path)
    }

    /// A file right inside the folder.
    pub(super) fn file(&self, name: &str) -> PathBuf {
        self.root.join(name)
    }

    /// Writes a file right inside the folder.
    pub fn write(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, Failed> {
        let shown = self.shown(name);
        write_whole(&self.file(name), bytes).map_err(|e| Failed::unwritten(&shown, &e))?;
        Ok(shown)
    }

    fn state_file(&self, number: &str, ending: &str) -> PathBuf {
        self.root.join(STATES).join(format!("{number}.{ending}"))
    }

    /// Takes a job's lock; `None` if it is held and `wait` is not set.
    pub(super) fn lock(&self, number: &str, wait: bool) -> Result<Option<Lock>, Failed> {
        let path = self.state_file(number, "lock");
        let cannot = |e: io::Error| Failed::new(format!("cannot lock {}: {e}", path.display()));
        refuse_link(&path).map_err(cannot)?;
        let file = File::options().create(true).append(true).open(&path).map_err(cannot)?;
        if wait {
            file.lock().map_err(cannot)?;
            return Ok(Some(Lock(file)));
        }
        match file.try_lock() {
            Ok(()) => Ok(Some(Lock(file))),
            Err(TryLockError::WouldBlock) => Ok(None),
            Err(TryLockError::Error(e)) => Err(cannot(e)),
        }
    }

    /// What became of a job; `None` if nothing is known, or nothing that can be read.
    pub(super) fn state(&self, number: &str) -> Option<JobState> {
        let path = self.state_file(number, "json");
        refuse_link(&path).ok()?;
        let state: JobState = serde_json::from_slice(&input::read(&path, LARGEST_STATE).ok()?).ok()?;
        let plain = |output: &Output| is_plain_name(&output.name);
        (state.form == FORM && state.job == number && state.known().all(plain)).then_some(state)
    }

    /// Keeps what became of a job, for whoever holds its lock. Not synced: a state that a power cut leaves empty counts
    /// as none.
    pub(super) fn keep(&self, state: &JobState) -> Result<(), Failed> {
        let (path, new) = (self.state_file(&state.job, "json"), self.state_file(&state.job, "json.new"));
        let write = || {
            // one that a killed run left is in the way, and may be a link
            or_as_it_is(fs::remove_file(&new), io::ErrorKind::NotFound)?;
            step()?;
            let mut file = File::options().write(true).create_new(true).open(&new)?;
            write_all(&mut file, &serde_json::to_vec(state)?)?;
            drop(file);
            step()?;
            fs::rename(&new, &path)?;
            step()
        };
        write().map_err(|e| {
            // a half-written one must not stay; if it cannot be removed, the next run does
            let _ = fs::remove_file(&new);
            Failed::unwritten(&path, &e)
        })
    }

    /// Forgets a job.
    pub(super) fn forget(&self, number: &str) -> io::Result<()> {
        fs::remove_file(self.state_file(number, "json"))
    }

    /// The numbers of all jobs that have a state.
    pub(super) fn numbers(&self) -> io::Result<Vec<String>> {
        let mut numbers = Vec::new();
        for entry in fs::read_dir(self.root.join(STATES))? {
            let name = entry?.file_name();
            if let Some(number) = name.to_str().and_then(|name| name.strip_suffix(".json")) {
                numbers.push(number.to_owned());
            }
        }
        numbers.sort_unstable();
        Ok(numbers)
    }

    /// Whether a job's file is there as it was written, to the last byte.
    pub(super) fn is_intact(&self, number: &str, output: &Output) -> bool {
        let path = self.root.join(number).join(&output.name);
        let there = fs::symlink_metadata(&path).is_ok_and(|meta| meta.is_file() && meta.len() == output.size);
        there && fs::read(&path).is_ok_and(|bytes| sha256(&bytes) == output.sha256)
    }

    /// A job's file as it is there.
    pub(super) fn found(&self, number: &str, name: &str) -> Option<Output> {
        let path = self.root.join(number).join(name);
        let is_file = fs::symlink_metadata(&path).is_ok_and(|meta| meta.is_file());
        let bytes = is_file.then(|| fs::read(&path).ok()).flatten()?;
        Some(Output::of(name, &bytes))
    }

    /// Waits until everything is on the disk.
    pub(super) fn sync(&self) -> io::Result<()> {
        sync(&self.root)
    }

    /// Whether a job's file is empty, or all zeros: renamed into its place, and never come to the disk before a power cut.
    pub(super) fn is_blank(&self, number: &str, output: &Output) -> bool {
        let file = self.root.join(number).join(&output.name);
        fs::read(file).is_ok_and(|bytes| bytes.iter().all(|byte| *byte == 0))
    }

    /// Whether anything is there under a job's file's name.
    pub(super) fn is_there(&self, number: &str, output: &Output) -> bool {
        fs::symlink_metadata(self.root.join(number).join(&output.name)).is_ok()
    }
}

/// A name without a folder, which no state that somebody changed may lead out with.
pub(super) fn is_plain_name(name: &str) -> bool {
    !name.is_empty() && name != "." && name != ".." && !name.contains(['/', '\\', '\0'])
}

/// What was asked for, where this fault says that it is so already.
pub(super) fn or_as_it_is(done: io::Result<()>, already: io::ErrorKind) -> io::Result<()> {
    match done {
        Err(e) if e.kind() != already => Err(e),
        _ => Ok(()),
    }
}

fn refuse_link(path: &Path) -> io::Result<()> {
    match fs::symlink_metadata(path) {
        Ok(meta) if meta.is_symlink() => Err(io::Error::other("it is a link")),
        _ => Ok(()),
    }
}
