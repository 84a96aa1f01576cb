//! The run: workers side by side over all jobs, then the manifest.

use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};
use std::thread;

use super::item::{Placed, place};
use super::manifest::{ManifestJob, Totals, join, to_json};
use super::one::{Ended, Shop};
use super::stale::{Stale, stale};
use super::{Failed, Maker, Shard, Store};
use crate::spreadsheet::table;
use crate::whole::why;

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
}

/// Who is told how it goes. Called by all workers.
pub trait Watch: Sync {
    /// So many jobs are to be done.
    fn begins(&self, jobs: usize);
    /// A job has ended.
    fn ended(&self, file: &std::path::Path, ended: &Ended);
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
}

/// What is kept of a job until the end: a few bytes, so that a run of a million does not grow with them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Record {
    Done,
    UpToDate,
    /// What was issued stays.
    Settled,
    /// Why, where the job's state does not say.
    Failed(Option<String>),
}

impl Record {
    pub fn word(&self) -> &'static str {
        match self {
            Record::Done => "done",
            Record::UpToDate => "up-to-date",
            Record::Settled => "settled",
            Record::Failed(_) => "failed",
        }
    }
}

/// Does a run. A job that another run has in hand is come back to when all others are done, and then waited for.
///
/// # Errors
/// If the workers cannot be started; nothing was made then.
pub fn run<M: Maker>(run: &Run<'_>, store: &Store, maker: &M, watch: &dyn Watch) -> Result<Report, Failed> {
    let placed = place(run.files, maker, run.shard, run.workers);
    watch.begins(placed.items.len() + placed.unplaced.len());
    let tally = Mutex::new(Tally::default());
    let mut records = work(&placed, run.workers, &Shop { store, maker }, watch, &tally)?;
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
        records.push(Record::Failed(Some(failed.told.clone())));
        tally.add(&unplaced.file, &Ended::Failed(failed), watch);
    }
    let mut unwritten = Vec::new();
    if tally.totals.done > 0
        && let Err(e) = store.sync()
    {
        unwritten.push(Failed::new(format!("what was written may not be on the disk: {}", why(&e))));
    }
    let stale = stale(store, maker, &placed.items, run.shard, run.remove_stale).unwrap_or_else(|failed| {
        unwritten.push(failed);
        Stale::default()
    });
    let (mut manifest, rows) = join(store, run.shard, &placed, &records, tally.totals, stale.clone());
    manifest.unused = run.unused.to_vec();
    let of = |told: fn(&ManifestJob) -> Option<&String>| -> Vec<(String, String)> {
        let jobs = manifest.jobs.iter();
        jobs.filter_map(|job| Some((job.job.clone()?, told(job)?.clone()))).collect()
    };
    let (differs, troubles) = (of(|job| job.differs.as_ref()), of(|job| job.trouble.as_ref()));
    let mut written = Vec::new();
    let mut keep = |name: String, bytes: Result<Vec<u8>, Failed>| match bytes.and_then(|b| store.write(&name, &b)) {
        Ok(path) => written.push(path),
        Err(failed) => unwritten.push(failed),
    };
    keep(
        run.shard.file_name("summary", "csv"),
        table(run.header, &rows).map_err(|e| Failed::new(format!("the summary cannot be written: {e}"))),
    );
    keep(run.shard.file_name("manifest", "json"), to_json(&manifest));
    let there = placed.items.iter().zip(&records);
    Ok(Report {
        totals: tally.totals,
        own_fault: tally.own_fault,
        disk_fault: tally.disk_fault,
        stale,
        written,
        unwritten,
        differs,
        troubles,
        there: there
            .filter(|(_, record)| !matches!(record, Record::Failed(_)))
            .map(|(item, _)| item.file.clone())
            .collect(),
    })
}

#[derive(Default)]
struct Tally {
    totals: Totals,
    own_fault: bool,
    disk_fault: bool,
}

impl Tally {
    fn add(&mut self, file: &std::path::Path, ended: &Ended, watch: &dyn Watch) {
        self.totals.count(ended);
        self.own_fault |= matches!(ended, Ended::Failed(failed) if failed.own_fault);
        self.disk_fault |= matches!(ended, Ended::Failed(failed) if failed.unwritten);
        watch.ended(file, ended);
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
        let mut busy = self.busy.lock().unwrap_or_else(PoisonError::into_inner);
        busy.pop().map(|i| (i, true))
    }

    fn put_back(&self, i: usize) {
        self.busy.lock().unwrap_or_else(PoisonError::into_inner).push(i);
    }
}

fn work<M: Maker>(
    placed: &Placed,
    workers: usize,
    shop: &Shop<'_, M>,
    watch: &dyn Watch,
    tally: &Mutex<Tally>,
) -> Result<Vec<Record>, Failed> {
    let jobs = placed.items.len();
    let queue = Queue { next: AtomicUsize::new(0), all: jobs, busy: Mutex::default() };
    let records: Vec<Mutex<Option<Record>>> = (0..jobs).map(|_| Mutex::new(None)).collect();
    let worker = || {
        while let Some((i, wait)) = queue.take() {
            let item = &placed.items[i];
            let Some(ended) = shop.job(item, wait) else {
                queue.put_back(i);
                continue;
            };
            let record = match &ended {
                Ended::Done { .. } => Record::Done,
                Ended::UpToDate { .. } => Record::UpToDate,
                Ended::Settled { .. } => Record::Settled,
                Ended::Failed(failed) => {
                    let kept = shop.store.state(&item.number).and_then(|state| state.error);
                    Record::Failed((kept.as_ref() != Some(&failed.told)).then(|| failed.told.clone()))
                }
            };
            *records[i].lock().unwrap_or_else(PoisonError::into_inner) = Some(record);
            let mut tally = tally.lock().unwrap_or_else(PoisonError::into_inner);
            tally.add(&item.file, &ended, watch);
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
            scope.spawn(|| pool.install(worker));
        }
    });
    let ended = records.into_iter().map(|record| {
        let record = record.into_inner().unwrap_or_else(PoisonError::into_inner);
        // a worker ends only when there is nothing left to take
        record.unwrap_or_else(|| Record::Failed(Some("not begun".to_owned())))
    });
    Ok(ended.collect())
}
