//! `decant labels`: the labels of several jobs in one print run, in the order the jobs are named.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::label_run::{Failure, check_first, fault, print_run, set_view, tell_left_off, unknown};
use super::languages::{Spoken, spoken};
use super::plan::own_fault;
use super::prepare::{Prepared, caution_of_log, prepare};
use super::shelf::Shelf;
use super::views::{unprintable, voice};
use super::{Exit, Refusal, output, target};
use crate::catalog::Tongue;
use crate::document::{LabelBatch, LabelJob, LabelRun, Voice, check_elements, dress, labels};
use crate::report::Report;
use crate::typeset::{Ink, Press};
use crate::whole::write_whole;

/// What was asked for.
pub(super) struct Request<'a> {
    pub jobs: &'a [PathBuf],
    pub output: &'a Path,
    pub stock: Option<&'a str>,
    pub first: Option<u32>,
    pub copies: Option<u32>,
    pub printer: Option<&'a str>,
    pub language: Option<&'a Tongue>,
}

pub(super) fn run(request: &Request<'_>) -> Exit {
    if let Err(refusal) = target::file(request.output) {
        return refusal.tell();
    }
    let shelf = Shelf::default();
    let prepared = match read_all(request.jobs, &shelf) {
        Ok(prepared) => prepared,
        Err(exit) => return exit,
    };
    // clap asks for one job at least
    let Some(leading) = prepared.first() else {
        return Exit::BadInput;
    };
    let company = &leading.job.catalog;
    let run = match print_run(request.first, request.copies, request.printer, company) {
        Ok(run) => run,
        Err(refusal) => return refusal.tell(),
    };
    let mut batches = match batches(&prepared, &run, request.language, &shelf) {
        Ok(batches) => batches,
        Err(refusal) => return refusal.tell(),
    };
    if let Some(key) = request.stock {
        let keys: Vec<String> = batches.iter().map(|b| b.stock.clone()).collect();
        batches.retain(|batch| batch.stock == key);
        if batches.is_empty() {
            if company.stock.contains_key(key) {
                Refusal::error(format_args!("no label of these jobs goes on `{key}`; they go on: {}", keys.join(", ")))
                    .tell();
            } else {
                let keys: Vec<&str> = company.stock.keys().map(String::as_str).collect();
                unknown("label stock", key, &keys).tell();
            }
            return Exit::BadInput;
        }
    }
    if let Err(refusal) = check_first(&run, &batches, company) {
        return refusal.tell();
    }
    let equipped = match shelf.press(&leading.job, Ink::Colour) {
        Ok(equipped) => equipped,
        Err(refusal) => return refusal.tell(),
    };
    for batch in &mut batches {
        dress(&mut batch.view, &company.style, &company.company.name, Ink::Colour);
    }
    write_batches(request.output, &equipped.press, &prepared, &batches)
}

/// The labels of all jobs, one batch a stock.
pub(super) fn batches(
    prepared: &[Prepared],
    run: &LabelRun<'_>,
    language: Option<&Tongue>,
    shelf: &Shelf,
) -> Result<Vec<LabelBatch>, Refusal> {
    let spoken: Result<Vec<Spoken>, Refusal> = prepared.iter().map(|p| spoken(&p.job, language, shelf)).collect();
    let spoken = spoken?;
    let mut report = Report::new();
    for (prepared, spoken) in prepared.iter().zip(&spoken) {
        unprintable(prepared, spoken, &mut report);
    }
    if report.has_errors() {
        return Err(Refusal::bad_input(report));
    }
    let voices: Vec<(Voice<'_>, Option<Voice<'_>>)> = prepared
        .iter()
        .zip(&spoken)
        .map(|(p, s)| (voice(p, &s.labels), s.labels_second.as_deref().map(|words| voice(p, words))))
        .collect();
    let jobs: Vec<LabelJob<'_>> = voices
        .iter()
        .zip(prepared)
        .map(|((voice, second), p)| LabelJob { voice, second: second.as_ref(), job: &p.job })
        .collect();
    check_elements(&jobs, &mut report).map_err(Refusal::own_fault)?;
    if report.has_errors() {
        return Err(Refusal::bad_input(report));
    }
    labels(&jobs, run).map_err(Refusal::own_fault)
}

/// Reads all jobs; problems of each are told before it ends. A job named twice, and sheets that are not alike, are errors.
fn read_all(files: &[PathBuf], shelf: &Shelf) -> Result<Vec<Prepared>, Exit> {
    let mut all: Vec<Prepared> = Vec::new();
    let mut failed = false;
    let mut told = BTreeSet::new();
    for file in files {
        let prepared = match prepare(file, shelf) {
            Ok(prepared) => {
                caution_of_log(&prepared);
                prepared
            }
            Err(refusal) => {
                // What is wrong with the company file alone is the same for every job.
                if told.insert(refusal.told()) {
                    refusal.tell();
                }
                failed = true;
                continue;
            }
        };
        if all.iter().any(|other| other.plan.job == prepared.plan.job) {
            Refusal::error(format_args!(
                "{}: the job `{}` is in this run already; for more of its labels use --copies",
                file.display(),
                prepared.plan.job
            ))
            .tell();
            failed = true;
        }
        for treatment in &prepared.plan.treatments {
            failed |= !is_alike(&treatment.stock, &prepared, &all, file);
        }
        all.push(prepared);
    }
    if failed { Err(Exit::BadInput) } else { Ok(all) }
}

/// Whether a stock is the same in every job that uses it: their labels are to share its sheets.
fn is_alike(key: &str, prepared: &Prepared, before: &[Prepared], file: &Path) -> bool {
    let Some(stock) = prepared.job.catalog.stock.get(key) else {
        return true;
    };
    let uses = |p: &&Prepared| p.plan.treatments.iter().any(|t| t.stock == key);
    let other = before.iter().filter(uses).find_map(|p| {
        let theirs = p.job.catalog.stock.get(key)?;
        (!theirs.same_sheet(stock)).then_some(&p.plan.job)
    });
    if let Some(job) = other {
        Refusal::error(format_args!(
            "{}: the label stock `{key}` has other dimensions than in the job `{job}`: their labels cannot share a sheet",
            file.display()
        ))
        .tell();
    }
    other.is_none()
}

fn write_batches(named: &Path, press: &Press, prepared: &[Prepared], batches: &[LabelBatch]) -> Exit {
    let numbers: Vec<&str> = prepared.iter().map(|p| p.record.number.as_str()).collect();
    let Some(leading) = prepared.first() else {
        return Exit::BadInput;
    };
    let (mut made, mut failed) = (0, 0);
    for batch in batches {
        let ident = format!("labels/{}/{}", batch.stock, numbers.join("+"));
        let path = if batches.len() == 1 { named.to_owned() } else { beside(named, &batch.stock) };
        let pdf = set_view(press, &batch.view, &ident, leading.plan.start, &leading.job.catalog)
            .inspect(|typeset| tell_left_off(&batch.view, typeset))
            .and_then(|typeset| typeset.pdf().map_err(fault));
        let written = pdf.and_then(|bytes| write_whole(&path, &bytes).map_err(|e| Failure::unwritten(&path, &e)));
        match written {
            Ok(()) => {
                made += 1;
                output::line(path.display());
            }
            // a disk that is full is full for the next one too
            Err(Failure::Unwritten(told)) => return Refusal::error(told).ending(Exit::SomeFailed).tell(),
            Err(Failure::Own(fault)) => return own_fault(&fault),
            Err(Failure::Problem(problem)) => {
                failed += 1;
                output::block(&problem.to_string());
            }
            Err(Failure::User(told)) => {
                failed += 1;
                Refusal::error(format_args!("{}: {told}", batch.view.stem)).tell();
            }
        }
    }
    match (made, failed) {
        (_, 0) => Exit::Done,
        (0, _) => Exit::BadInput,
        _ => Exit::SomeFailed,
    }
}

/// `run.pdf` and `roll` are `run-roll.pdf`.
fn beside(output: &Path, stock: &str) -> PathBuf {
    let stem = output.file_stem().unwrap_or_default().to_string_lossy();
    output.with_file_name(format!("{stem}-{stock}.pdf"))
}
