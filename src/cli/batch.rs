//! `decant batch` and `decant merge`: every document of many jobs, and the manifests of shards joined.

use std::collections::BTreeSet;
use std::fs;
use std::num::NonZero;
use std::path::{Path, PathBuf};
use std::thread::available_parallelism;

use clap::ValueEnum;

use super::making::Making;
use super::progress::Progress;
use super::render::{Format, Kind};
use super::shelf::Shelf;
use super::{Exit, labels};
use crate::batch::{Report, Run, Shard, Stale, Store, Totals, merge, run as run_batch};
use crate::catalog::Tongue;
use crate::record::COLUMNS;
use crate::typeset::Ink;

/// Stale files that are named on the terminal, at most; the manifest names all.
const MOST_NAMED: usize = 10;

/// What was asked for.
pub(super) struct Request<'a> {
    pub jobs: &'a [PathBuf],
    pub output: &'a Path,
    pub only: &'a [Kind],
    pub format: Format,
    pub dpi: u32,
    pub ink: Ink,
    pub draft: bool,
    pub language: Option<&'a Tongue>,
    pub workers: Option<u32>,
    pub shard: Shard,
    pub remove_stale: bool,
    pub print_run: bool,
}

pub(super) fn run(request: &Request<'_>) -> Exit {
    let files = match job_files(request.jobs) {
        Ok(files) => files,
        Err(told) => {
            eprintln!("error: {told}");
            return Exit::BadInput;
        }
    };
    let kinds = if request.only.is_empty() {
        Kind::value_variants()
    } else {
        request.only
    };
    let shelf = Shelf::default();
    let making = Making {
        kinds,
        format: request.format,
        dpi: request.dpi,
        ink: request.ink,
        draft: request.draft,
        language: request.language,
        shelf: &shelf,
    };
    let progress = Progress::new();
    let asked = Run {
        files: &files,
        workers: workers(request.workers),
        shard: request.shard,
        remove_stale: request.remove_stale,
        header: &COLUMNS,
    };
    let ended =
        Store::open(request.output).and_then(|store| Ok((run_batch(&asked, &store, &making, &progress)?, store)));
    progress.finish();
    let (report, store) = match ended {
        Ok(ended) => ended,
        Err(failed) => {
            eprintln!("error: {}", failed.told);
            return Exit::BadInput;
        }
    };
    tell_stale(&report.stale, &store);
    eprint!("{}", table(&report.totals));
    for failed in &report.unwritten {
        eprintln!("error: {}", failed.told);
    }
    report.written.iter().for_each(|path| println!("{}", path.display()));
    let printed = if request.print_run && !report.there.is_empty() {
        print_run(request, &report.there)
    } else {
        Exit::Done
    };
    exit(&report, printed, request.only.contains(&Kind::Certificate))
}

/// Which exit code stands for a run. In a batch it is usual that some certificates cannot be made yet: that is an exit
/// of its own only where they were asked for by name.
fn exit(report: &Report, printed: Exit, asked_for_certificates: bool) -> Exit {
    let totals = &report.totals;
    if report.own_fault || printed == Exit::OwnFault {
        Exit::OwnFault
    } else if totals.failed == totals.all() && totals.failed > 0 {
        Exit::BadInput
    } else if totals.failed > 0 || !report.unwritten.is_empty() || printed != Exit::Done {
        Exit::SomeFailed
    } else if totals.withheld > 0 && asked_for_certificates {
        Exit::CertificateWithheld
    } else {
        Exit::Done
    }
}

/// Files as they are named; of a folder, its job files by name. A file that is named twice counts once.
fn job_files(named: &[PathBuf]) -> Result<Vec<PathBuf>, String> {
    let mut files = Vec::new();
    for path in named {
        if !path.is_dir() {
            files.push(path.clone());
            continue;
        }
        let cannot = |e| format!("cannot read the folder {}: {e}", path.display());
        let mut inside = Vec::new();
        for entry in fs::read_dir(path).map_err(cannot)? {
            let file = entry.map_err(cannot)?.path();
            let is_yaml = file.extension().is_some_and(|e| e == "yaml" || e == "yml");
            let hidden = file
                .file_name()
                .is_some_and(|name| name.to_string_lossy().starts_with('.'));
            if is_yaml && !hidden && is_job(&file) {
                inside.push(file);
            }
        }
        if inside.is_empty() {
            return Err(format!("no job files are in the folder {}", path.display()));
        }
        inside.sort();
        files.append(&mut inside);
    }
    let mut seen = BTreeSet::new();
    files.retain(|file| seen.insert(file.clone()));
    Ok(files)
}

/// Company files, logs and language files may lie beside jobs. A file that is none of these, or that cannot be read, is
/// taken for a job, so that a job with a slip in it is told and not passed over.
fn is_job(file: &Path) -> bool {
    let Ok(text) = fs::read_to_string(file) else {
        return true;
    };
    let has = |key: &str| {
        text.lines()
            .any(|line| line.strip_prefix(key).is_some_and(|rest| rest.starts_with(':')))
    };
    let is_company = has("record_link") || has("products");
    let is_log = has("loads") || has("deviations");
    let is_language = has("statements");
    has("job") || has("treatments") || !(is_company || is_log || is_language)
}

fn workers(asked: Option<u32>) -> usize {
    let cores = || available_parallelism().map_or(1, NonZero::get);
    asked.map_or_else(cores, |n| n as usize)
}

/// The labels of all jobs that were made, in the order the jobs were named.
fn print_run(request: &Request<'_>, jobs: &[PathBuf]) -> Exit {
    labels::run(&labels::Request {
        jobs,
        output: &request.output.join("labels.pdf"),
        stock: None,
        first: None,
        copies: None,
        printer: None,
        language: request.language,
    })
}

fn tell_stale(stale: &Stale, store: &Store) {
    let list = |names: &[String]| {
        for name in names.iter().take(MOST_NAMED) {
            eprintln!("  {}", store.shown(name).display());
        }
        if names.len() > MOST_NAMED {
            eprintln!("  … and {} more, named in the manifest", names.len() - MOST_NAMED);
        }
    };
    if !stale.removed.is_empty() {
        eprintln!("Removed, since they no longer belong:");
        list(&stale.removed);
    }
    if !stale.left.is_empty() {
        eprintln!("Of earlier runs, and no longer belonging; `--remove-stale` removes those that nobody changed:");
        list(&stale.left);
    }
}

/// The closing table.
fn table(totals: &Totals) -> String {
    let mut lines = vec![
        ("done", totals.done),
        ("up to date", totals.up_to_date),
        ("failed", totals.failed),
    ];
    if totals.withheld > 0 {
        lines.push(("certificates withheld", totals.withheld));
    }
    let name = lines.iter().map(|(name, _)| name.len()).max().unwrap_or(0);
    let figure = lines.iter().map(|(_, n)| n.to_string().len()).max().unwrap_or(0);
    lines
        .iter()
        .map(|(told, n)| format!("{told:name$}  {n:>figure$}\n"))
        .collect()
}

/// `decant merge`.
pub(super) fn run_merge(folders: &[PathBuf], output: &Path) -> Exit {
    match merge(folders, output) {
        Ok(merged) => {
            eprint!("{}", table(&merged.manifest.totals));
            merged.written.iter().for_each(|path| println!("{}", path.display()));
            if merged.manifest.totals.failed > 0 {
                Exit::SomeFailed
            } else {
                Exit::Done
            }
        }
        Err(problems) => {
            problems.iter().for_each(|problem| eprintln!("error: {}", problem.told));
            Exit::BadInput
        }
    }
}
