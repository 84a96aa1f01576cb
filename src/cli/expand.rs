//! `decant expand`: a contract's visits as job files.

use std::path::Path;

use super::job_folder::{JobFolder, There};
use super::prepare::tell;
use super::{Exit, Refusal, output, target};
use crate::contract::Contract;
use crate::plan::plan;
use crate::record::Record;
use crate::report::Report;

/// Has the first job of every site read and planned, and tells `report` what is wrong at its place in the contract or its
/// table. A job is sound when it can be planned and its record has a link that can be printed.
pub(super) fn check(contract: &Contract, report: &mut Report) {
    contract.check(report, |job, report| {
        let link = &job.catalog.record_link;
        let origin = job.catalog.source.root().origin().key("record_link");
        if let Some(Err(problem)) = plan(job, report).map(|plan| Record::of(&plan, link, &origin)) {
            report.push(*problem);
        }
    });
}

/// Expands a contract into a folder. Nothing is written while anything is wrong; a file that is there and differs is
/// left alone, and so are all others, unless `replace` is asked for.
pub(super) fn run(contract: &Path, into: &Path, replace: bool, remove_stale: bool) -> Exit {
    if let Err(refusal) = target::folder(into) {
        return refusal.tell();
    }
    let mut report = Report::new();
    let read = Contract::read(contract, &mut report);
    if let Some(contract) = &read {
        check(contract, &mut report);
    }
    tell(&report);
    let contract = match read {
        Some(contract) if !report.has_errors() => contract,
        _ => return Exit::BadInput,
    };
    let folder = match JobFolder::of(&contract, into) {
        Ok(folder) => folder,
        Err(told) => return Refusal::error(told).tell(),
    };
    folder.tell_unused(&contract);
    let differs = |there| matches!(there, There::Earlier | There::ByHand);
    if !replace && folder.jobs.iter().any(|file| differs(file.there)) {
        let these = folder.jobs.iter().filter(|file| differs(file.there));
        return Refusal::error("these files are there and differ from the contract; nothing was written")
            .lines(these.map(|file| format!("  {}", file.path.display())))
            .hint("if nothing in them was written by hand, --replace writes them anew")
            .tell();
    }
    let mut exit = Exit::Done;
    for file in &folder.jobs {
        match file.write() {
            Ok(()) => output::line(file.path.display()),
            Err(refusal) => exit = refusal.tell(),
        }
    }
    folder.settle_stale(remove_stale);
    exit
}
