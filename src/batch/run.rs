//! The run: workers side by side over all jobs, then the manifest.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use super::jobs::{Placed, place};
use super::manifest::{Jobs, Totals, manifest, rows, summary, to_json};
use super::one::{Ended, Worker};
use super::stale::{Stale, stale};
use super::{Failed, Maker, Shard, Store, VISIT};
use crate::input::why;

/// Stack of a worker, in bytes: laying out deeply nested content needs more than a thread is given by default.
const STACK: usize = 16 << 20;

/// What a run is to do.
pub struct Run<'a> {
    /// The job files, in order.
    pub files: &'a [PathBuf],
    /// Jobs made at the same time, at least 1.
    pub workers: usize,
    /// Which part of them.
    pub shard: Shard,
    /// Whether what no longer belongs is removed.
    pub remove_stale: bool,
    /// The columns of the summary.
    pub header: &'a [&'a str],
    /// Files of the input that no job takes, and why, as the manifest is to name them.
    pub unused: &'a [String],
    /// What else is to be looked at, as the manifest is to name it.
    pub warnings: &'a [String],
}

/// Receives progress. Called by all workers.
pub trait Watch: Sync {
    /// So many jobs of each kind are to be done, by so many workers.
    fn begins(&self, kinds: &BTreeMap<&'static str, usize>, workers: usize);
    /// A job has ended, after a worker's time.
    fn ended(&self, file: &Path, kind: &'static str, took: Duration, ended: &Ended);
}

/// How a run went.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Report {
    /// How many jobs ended how.
    pub totals: Totals,
    /// Whether any of them failed by a fault of the program.
    pub own_fault: bool,
    /// Whether any of them failed because a file could not be written.
    pub disk_fault: bool,
    /// What no longer belongs.
    pub stale: Stale,
    /// Manifest and summary, as they were written.
    pub written: Vec<PathBuf>,
    /// Why either of them could not be.
    pub unwritten: Vec<Failed>,
    /// The files of jobs that are there, made now or before, in the order they were named.
    pub there: Vec<PathBuf>,
    /// Jobs that give something else now than was issued of them, each with what is to be said, in whole lines.
    pub differs: Vec<(String, String)>,
    /// Jobs of which a part was not made, for something in the input that cannot be used, in whole lines.
    pub troubles: Vec<(String, String)>,
    /// The cautions among the notes of all jobs, each once.
    pub cautions: Vec<String>,
}

/// What is kept of a job until the end: a few bytes, so that a run of a million does not grow with them.
#[derive(Clone, Debug)]
pub(super) struct Kept {
    /// How it ended, as the manifest has it.
    pub word: &'static str,
    /// Why it failed, where the job's state does not say.
    pub error: Option<String>,
}

impl Kept {
    fn not_made(error: String) -> Kept {
        Kept { word: "failed", error: Some(error) }
    }

    pub fn failed(&self) -> bool {
        self.word == "failed"
    }
}

/// Does a run. A job that another run has in hand is come back to when all others are done, and then waited for.
pub fn run<M: Maker>(run: &Run<'_>, store: &Store, maker: &M, watch: &dyn Watch) -> Result<Report, Failed> {
    let placed = place(run.files, maker, run.shard, run.workers);
    let mut kinds = BTreeMap::new();
    let all = placed.items.iter().map(|item| item.kind).chain(placed.unplaced.iter().map(|_| VISIT));
    all.for_each(|kind| *kinds.entry(kind).or_default() += 1);
    watch.begins(&kinds, run.workers);
    let tally = Mutex::new(Tally::default());
    let mut kept = work(&placed, run.workers, &Worker { store, maker }, watch, &tally)?;
    let mut tally = tally.into_inner().unwrap_or_else(PoisonError::into_inner);
    for unplaced in &placed.unplaced {
        let failed = match (&unplaced.number, &unplaced.other) {
            (Some(number), Some(other)) => {
                Failed::new(format!("the job `{number}` is in {} too: neither was made", other.display()))
            }
            // reading it says what is wrong
            _ => match maker.read(&unplaced.file) {
                Err(failed) => failed,
                Ok(_) => Failed::new("the file was changed while the run was going on"),
            },
        };
        kept.push(Kept::not_made(failed.message.clone()));
        tally.add(&unplaced.file, VISIT, Duration::ZERO, &Ended::Failed(failed), watch);
    }
    let mut unwritten = Vec::new();
    if tally.totals.done > 0
        && let Err(e) = store.sync()
    {
        unwritten.push(Failed::new(format!("what was written may not be on the disk: {}", why(&e))));
    }
    let stale = stale(store, maker, &placed, run.shard, run.remove_stale).unwrap_or_else(|failed| {
        unwritten.push(failed);
        Stale::default()
    });
    let jobs = Jobs { store, placed: &placed, kept: &kept, reported: RefCell::default(), cautions: RefCell::default() };
    let manifest = manifest(jobs, &placed, tally.totals, stale.clone(), run);
    let json = to_json(&manifest);
    let cautions = manifest.jobs.cautions.into_inner().into_iter().collect();
    let [differs, troubles] = manifest.jobs.reported.into_inner();
    let mut written = Vec::new();
    let mut keep = |name: String, bytes: Result<Vec<u8>, Failed>| match bytes.and_then(|b| store.write(&name, &b)) {
        Ok(path) => written.push(path),
        Err(failed) => unwritten.push(failed),
    };
    let rows = rows(store, &placed, &kept);
    keep(run.shard.file_name("summary", "csv"), summary(run.header, rows));
    keep(run.shard.file_name("manifest", "json"), json);
    let there = placed.items.iter().zip(&kept).filter(|(_, kept)| !kept.failed());
    Ok(Report {
        totals: tally.totals,
        own_fault: tally.own_fault,
        disk_fault: tally.disk_fault,
        stale,
        written,
        unwritten,
        differs,
        troubles,
        cautions,
        there: there.map(|(item, _)| item.file.clone()).collect(),
    })
}

#[derive(Default)]
struct Tally {
    totals: Totals,
    own_fault: bool,
    disk_fault: bool,
}

impl Tally {
    fn add(&mut self, file: &Path, kind: &'static str, took: Duration, ended: &Ended, watch: &dyn Watch) {
        self.totals.count(ended);
        self.own_fault |= matches!(ended, Ended::Failed(failed) if failed.own_fault);
        self.disk_fault |= matches!(ended, Ended::Failed(failed) if failed.unwritten);
        watch.ended(file, kind, took, ended);
    }
}

/// Jobs to do, taken one by one: first all in their order, then those that another run had in hand.
struct Queue {
    next: AtomicUsize,
    all: usize,
    busy: Mutex<Vec<usize>>,
}

impl Queue {
    /// A job, and whether to wait for it.
    fn take(&self) -> Option<(usize, bool)> {
        let i = self.next.fetch_add(1, Ordering::Relaxed);
        if i < self.all {
            return Some((i, false));
        }
        held(&self.busy).pop().map(|i| (i, true))
    }
}

/// What a lock guards; a job's panic is caught before it can leave anything half changed.
fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

fn work<M: Maker>(
    placed: &Placed,
    workers: usize,
    worker: &Worker<'_, M>,
    watch: &dyn Watch,
    tally: &Mutex<Tally>,
) -> Result<Vec<Kept>, Failed> {
    let jobs = placed.items.len();
    let queue = Queue { next: AtomicUsize::new(0), all: jobs, busy: Mutex::default() };
    // a worker ends only when there is nothing left to take
    let all = Mutex::new(vec![Kept::not_made("not begun".to_owned()); jobs]);
    let work = || {
        while let Some((i, wait)) = queue.take() {
            let (item, began) = (&placed.items[i], Instant::now());
            let Some(ended) = worker.job(item, wait) else {
                held(&queue.busy).push(i);
                continue;
            };
            let error = match &ended {
                Ended::Failed(failed) => {
                    let in_state = worker.store.state(&item.number).and_then(|state| state.error);
                    (in_state.as_ref() != Some(&failed.message)).then(|| failed.message.clone())
                }
                _ => None,
            };
            held(&all)[i] = Kept { word: ended.word(), error };
            held(tally).add(&item.file, item.kind, began.elapsed(), &ended, watch);
        }
    };
    // Typst hands parts of a document to rayon. A pool of one thread for each worker, with the worker itself on it, keeps
    // them from waiting for one another, and from taking up a second document in the middle of the first.
    let pools = (0..workers.clamp(1, jobs.max(1))).map(|_| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(1).stack_size(STACK);
        pool.build().map_err(|e| Failed::new(format!("the workers cannot be started: {e}")))
    });
    let pools: Vec<rayon::ThreadPool> = pools.collect::<Result<_, _>>()?;
    thread::scope(|scope| {
        for pool in &pools {
            scope.spawn(|| pool.install(work));
        }
    });
    Ok(all.into_inner().unwrap_or_else(PoisonError::into_inner))
}
