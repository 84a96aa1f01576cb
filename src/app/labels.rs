//! Labels: the options of a print run, and the labels of several jobs in one.

use super::context::Context;
use super::documents::LabelOptions;
use super::failure::{Failure, valid};
use super::planned::{JobWords, Planned, job_words};
use crate::company::{CompanyFile, Correction, Stock};
use crate::diagnostic::Diagnostics;
use crate::document::{LabelBatch, LabelJob, LabelRun, Voice, check_elements, labels};
use crate::engine::Ink;
use crate::yaml::nearest;

/// The options of a run, looked up in the company file.
pub fn label_run<'a>(options: &LabelOptions, company: &'a CompanyFile, ink: Ink) -> Result<LabelRun<'a>, Failure> {
    let correction = options.printer.as_deref().map(|key| correction(key, company)).transpose()?;
    let LabelOptions { first, copies, only, .. } = *options;
    Ok(LabelRun { first: first.unwrap_or(1), copies, correction, ink, only })
}

/// What a printer of the company file does wrong.
pub fn correction<'a>(key: &str, company: &'a CompanyFile) -> Result<&'a Correction, Failure> {
    company.printers.get(key).ok_or_else(|| unknown("printer", key, company.printers.keys()))
}

/// A label stock of the company file.
pub fn stock<'a>(key: &str, company: &'a CompanyFile) -> Result<&'a Stock, Failure> {
    company.stock.get(key).ok_or_else(|| unknown("label stock", key, company.stock.keys()))
}

/// A key given on the command line that is not in the company file.
pub(super) fn unknown<'a>(what: &str, key: &str, keys: impl Iterator<Item = &'a String>) -> Failure {
    let keys: Vec<&str> = keys.map(String::as_str).collect();
    let failure = Failure::error(format_args!("no {what} `{key}` is in the company file"));
    match nearest(key, &keys) {
        Some(near) => failure.hint(format_args!("did you mean `{near}`?")),
        None if keys.is_empty() => failure.hint("the company file names none"),
        None => failure.hint(format_args!("there are: {}", keys.join(", "))),
    }
}

/// Whether the first free place is on the sheet, and on which one sheet it is.
pub fn check_first(run: &LabelRun<'_>, stocks: &[String], company: &CompanyFile) -> Result<(), Failure> {
    if run.first == 1 {
        return Ok(());
    }
    let places = |key: &str| company.stock.get(key).map_or(1, Stock::per_page);
    let sheets = stocks.iter().map(|key| (key.as_str(), places(key)));
    let sheets: Vec<(&str, u32)> = sheets.filter(|(_, places)| *places > 1).collect();
    let why = match sheets.as_slice() {
        [(_, places)] if run.first <= *places => return Ok(()),
        [(key, places)] => format!(" is not on a sheet of `{key}`, which has {places} places"),
        [] => ": no labels go on a sheet of several places".to_owned(),
        several => {
            let keys: Vec<&str> = several.iter().map(|(key, _)| *key).collect();
            let keys = keys.join(", ");
            format!(": labels go on several kinds of sheet ({keys}); print one at a time with `decant labels --stock`")
        }
    };
    Err(Failure::error(format_args!("--first {}{why}", run.first))
        .hint("leave `--first` out, or give a place that the sheet has"))
}

/// The labels of all jobs in the firm's look, one batch a stock.
pub fn label_batches(jobs: &[Planned], run: &LabelRun<'_>, context: &Context) -> Result<Vec<LabelBatch>, Failure> {
    let words = printable_words(jobs, context)?;
    let voices: Vec<(Voice<'_>, Option<Voice<'_>>)> = jobs
        .iter()
        .zip(&words)
        .map(|(job, words)| (job.voice(&words.labels), words.labels_second.as_deref().map(|words| job.voice(words))))
        .collect();
    let of_jobs: Vec<LabelJob<'_>> = voices
        .iter()
        .zip(jobs)
        .map(|((voice, second), planned)| LabelJob { voice, second: second.as_ref(), job: &planned.job })
        .collect();
    let mut report = Diagnostics::new();
    check_elements(&of_jobs, run, &mut report)?;
    valid(Some(()), &report)?;
    let mut batches = labels(&of_jobs, run)?;
    for batch in &mut batches {
        jobs[0].dress(&mut batch.view);
    }
    Ok(batches)
}

/// The words of several jobs, if the fonts have every character that is to be printed of any of them.
pub fn printable_words(jobs: &[Planned], context: &Context) -> Result<Vec<JobWords>, Failure> {
    let words: Result<Vec<JobWords>, Failure> = jobs.iter().map(|planned| job_words(&planned.job, context)).collect();
    let words = words?;
    let mut report = Diagnostics::new();
    for (job, words) in jobs.iter().zip(&words) {
        job.check_characters(words, &mut report);
    }
    valid(Some(words), &report)
}
