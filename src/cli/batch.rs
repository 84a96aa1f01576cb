//! `decant batch` and `decant merge`: every document of many jobs, and the manifests of shards joined.

use std::num::NonZero;
use std::path::{Path, PathBuf};
use std::thread::available_parallelism;

use super::batch_input::read_input;
use super::making::Making;
use super::progress::Progress;
use super::render::Kind;
use super::round::Wanted;
use super::shelf::Shelf;
use super::{Choice, Exit, Refusal, expand, labels, output, target};
use crate::batch::{Report, Run, Shard, Stale, Store, Totals, merge, run as run_batch};
use crate::catalog::Tongue;
use crate::contract::Contract;
use crate::record::COLUMNS;

/// Stale files that are named on the terminal, at most; the manifest names all.
const MOST_NAMED: usize = 10;

/// What was asked for.
pub(super) struct Request<'a> {
    pub jobs: &'a [PathBuf],
    pub output: &'a Path,
    pub choice: &'a Choice,
    pub workers: Option<u32>,
    pub shard: Shard,
    pub remove_stale: bool,
    pub print_run: bool,
}

pub(super) fn run(request: &Request<'_>) -> Exit {
    if let Err(refusal) = target::folder(request.output) {
        return refusal.tell();
    }
    let of_rounds = Wanted::beside(&request.choice.only);
    let mut input = match read_input(request.jobs, request.output, !of_rounds.nothing()) {
        Ok(input) => input,
        Err(refusal) => return refusal.tell(),
    };
    if !request.choice.only.is_empty() {
        input.reports.clear();
    }
    let shelf = Shelf::default();
    let making = Making {
        kinds: request.choice.kinds(),
        format: request.choice.format,
        dpi: request.choice.dpi,
        ink: request.choice.ink(),
        draft: request.choice.draft,
        language: request.choice.language.as_ref(),
        shelf: &shelf,
        of_rounds,
        rounds: &input.rounds,
        reports: &input.reports,
        output: request.output,
        numbers: &input.numbers,
        settled: &input.settled,
        replace: request.choice.replace_draft,
    };
    let progress = Progress::new();
    let asked = Run {
        files: &input.all(),
        workers: workers(request.workers),
        shard: request.shard,
        remove_stale: request.remove_stale,
        header: &COLUMNS,
        unused: &input.unused,
    };
    let ended =
        Store::open(request.output).and_then(|store| Ok((run_batch(&asked, &store, &making, &progress)?, store)));
    progress.finish();
    let (report, store) = match ended {
        Ok(ended) => ended,
        Err(failed) => {
            let exit = if failed.unwritten { Exit::SomeFailed } else { Exit::BadInput };
            return Refusal::error(failed.told).ending(exit).tell();
        }
    };
    tell_stale(&report.stale, &store);
    for expanded in &input.contracts {
        expanded.folder.settle_stale(request.remove_stale);
        if report.totals.failed > 0 {
            tell_at_contract(&expanded.contract);
        }
    }
    tell_troubles(&report.troubles);
    tell_settled(&report);
    output::block(&table(&report.totals));
    for failed in &report.unwritten {
        output::say(format_args!("error: {}", failed.told));
    }
    report.written.iter().for_each(|path| output::line(path.display()));
    let mut visits = report.there.clone();
    visits.retain(|file| !input.rounds.contains_key(file) && !input.reports.contains_key(file));
    let printed = if request.print_run && !visits.is_empty() {
        print_labels(&visits, request.output, request.choice.language.as_ref())
    } else {
        Exit::Done
    };
    exit(&report, printed, request.choice)
}

/// Which exit code stands for a run. In a batch it is usual that some certificates cannot be made yet: that is an exit
/// of its own only where they were asked for by name.
fn exit(report: &Report, printed: Exit, choice: &Choice) -> Exit {
    let totals = &report.totals;
    // a log that cannot be used blocks a certificate, and nothing else
    let blocked = choice.kinds().contains(&Kind::Certificate) && !report.troubles.is_empty();
    if report.own_fault || printed == Exit::OwnFault {
        Exit::OwnFault
    } else if totals.failed == totals.all() && totals.failed > 0 && !report.disk_fault {
        Exit::BadInput
    } else if totals.failed > 0
        || totals.differing > 0
        || blocked
        || !report.unwritten.is_empty()
        || printed != Exit::Done
    {
        Exit::SomeFailed
    } else if totals.withheld > 0 && choice.only.contains(&Kind::Certificate) {
        Exit::CertificateWithheld
    } else {
        Exit::Done
    }
}

fn workers(asked: Option<u32>) -> usize {
    let cores = || available_parallelism().map_or(1, NonZero::get);
    asked.map_or_else(cores, |n| n as usize)
}

/// The labels of all jobs that were made, in the order the jobs were named.
fn print_labels(jobs: &[PathBuf], folder: &Path, language: Option<&Tongue>) -> Exit {
    labels::run(&labels::Request {
        jobs,
        output: &folder.join("labels.pdf"),
        stock: None,
        first: None,
        copies: None,
        printer: None,
        language,
    })
}

/// What is wrong with a contract's jobs, at the place in the contract or the table that it comes from.
fn tell_at_contract(contract: &Contract) {
    let mut report = crate::report::Report::new();
    expand::check(contract, &mut report);
    if report.has_errors() {
        output::say("Where it stands in the contract:");
        let problems = report.problems().iter();
        problems.for_each(|problem| output::block(&problem.to_string()));
    }
}

/// How many certificates stay as they were issued, in one line, and which of their jobs give something else now.
fn tell_settled(report: &Report) {
    let totals = &report.totals;
    let settled = totals.settled + report.stale.kept.len();
    if settled > 0 {
        let differing = match totals.differing {
            0 => String::new(),
            1 => "; the job of 1 gives something else now".to_owned(),
            n => format!("; the jobs of {n} give something else now"),
        };
        output::say(format_args!("{settled} settled: their certificates are issued and stay as they are{differing}"));
    }
    for (_, told) in report.differs.iter().take(MOST_NAMED) {
        output::block(told);
    }
    if report.differs.len() > MOST_NAMED {
        let more = report.differs.len() - MOST_NAMED;
        output::say(format_args!("  … and {more} more, named in the manifest"));
    }
}

/// What kept certificates from being made, and nothing else.
fn tell_troubles(troubles: &[(String, String)]) {
    for (_, told) in troubles.iter().take(MOST_NAMED) {
        output::block(told);
    }
    if troubles.len() > MOST_NAMED {
        let more = troubles.len() - MOST_NAMED;
        output::say(format_args!("  … and {more} more, named in the manifest"));
    }
}

fn tell_stale(stale: &Stale, store: &Store) {
    let list = |names: &[String]| {
        for name in names.iter().take(MOST_NAMED) {
            output::say(format_args!("  {}", store.shown(name).display()));
        }
        if names.len() > MOST_NAMED {
            output::say(format_args!("  … and {} more, named in the manifest", names.len() - MOST_NAMED));
        }
    };
    if !stale.removed.is_empty() {
        output::say("Removed, since they no longer belong:");
        list(&stale.removed);
    }
    if !stale.left.is_empty() {
        output::say("Of earlier runs, and no longer belonging; `--remove-stale` removes those that nobody changed:");
        list(&stale.left);
    }
}

/// The closing table.
fn table(totals: &Totals) -> String {
    let mut lines = vec![
        ("done", totals.done),
        ("up to date", totals.up_to_date),
        ("settled", totals.settled),
        ("failed", totals.failed),
    ];
    if totals.withheld > 0 {
        lines.push(("certificates withheld", totals.withheld));
    }
    let name = lines.iter().map(|(name, _)| name.len()).max().unwrap_or(0);
    let figure = lines.iter().map(|(_, n)| n.to_string().len()).max().unwrap_or(0);
    lines.iter().map(|(told, n)| format!("{told:name$}  {n:>figure$}\n")).collect()
}

/// `decant merge`.
pub(super) fn run_merge(folders: &[PathBuf], into: &Path, with_labels: bool) -> Exit {
    if let Err(refusal) = target::folder(into) {
        return refusal.tell();
    }
    match merge(folders, into) {
        Ok(merged) => {
            output::block(&table(&merged.manifest.totals));
            merged.written.iter().for_each(|path| output::line(path.display()));
            let made = merged.manifest.jobs.iter();
            let made = made.filter(|job| job.kind == "visit" && job.state != "failed");
            let jobs: Vec<PathBuf> = made.map(|job| PathBuf::from(&job.file)).collect();
            let printed = if with_labels && !jobs.is_empty() { print_labels(&jobs, into, None) } else { Exit::Done };
            if merged.manifest.totals.failed > 0 { Exit::SomeFailed.max(printed) } else { printed }
        }
        Err(problems) => {
            let said = problems.iter().map(|problem| format!("error: {}", problem.told));
            said.for_each(output::say);
            if problems.iter().any(|problem| problem.unwritten) { Exit::SomeFailed } else { Exit::BadInput }
        }
    }
}
