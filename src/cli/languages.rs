//! The words each document is written in.

use std::sync::Arc;

use super::Refusal;
use super::shelf::Shelf;
use crate::catalog::{Languages, Tongue};
use crate::job::Job;
use crate::report::Report;
use crate::wording::Words;

/// The words of all documents of a job.
pub(super) struct Spoken {
    /// Of the terminal: the company's.
    pub terminal: Arc<Words>,
    /// Of labels.
    pub labels: Arc<Words>,
    /// Of the same labels, beside the first.
    pub labels_second: Option<Arc<Words>>,
    /// Of the mix sheet.
    pub mix_sheet: Arc<Words>,
    /// Of the certificate.
    pub certificate: Arc<Words>,
}

impl Spoken {
    /// All of them; some may be the same.
    pub fn each(&self) -> impl Iterator<Item = &Words> {
        let second = self.labels_second.iter();
        [&self.terminal, &self.labels, &self.mix_sheet, &self.certificate].into_iter().chain(second).map(Arc::as_ref)
    }
}

/// Which language each document of a job is in: `option` from the command line goes before the job, and the job before
/// the company.
pub(super) fn wanted(job: &Job, option: Option<&Tongue>) -> Languages {
    match option {
        Some(tongue) => Languages { all: Some(tongue.clone()), ..Languages::default() },
        None => job.languages.or(&job.catalog.languages),
    }
}

/// What is to be spoken.
pub(super) fn spoken(job: &Job, option: Option<&Tongue>, shelf: &Shelf) -> Result<Spoken, Refusal> {
    let wanted = wanted(job, option);
    let company = &job.catalog.languages;
    let mut taken = Taken { shelf, report: Report::new() };
    let all = wanted.all.as_ref();
    let labels = taken.words(wanted.labels.first().or(all))?;
    let found = Spoken {
        terminal: taken.words(option.or(company.all.as_ref()))?,
        labels_second: match wanted.labels.get(1) {
            Some(tongue) => Some(taken.words(Some(tongue))?),
            None if labels.language != "en" && wants_english(job) => Some(taken.words(None)?),
            None => None,
        },
        labels,
        mix_sheet: taken.words(wanted.mix_sheet.as_ref().or(all))?,
        certificate: taken.words(wanted.certificate.as_ref().or(all))?,
    };
    if taken.report.has_errors() { Err(Refusal::bad_input(taken.report)) } else { Ok(found) }
}

/// Whether labels of the job follow 29 CFR 1910.1200, whose paragraph (f)(10) wants them in English; other languages may
/// stand beside it.
fn wants_english(job: &Job) -> bool {
    let stock = &job.catalog.stock;
    let mut used = job.treatments.iter().filter_map(|t| stock.get(&t.stock));
    used.any(|stock| stock.regime.is_of_the_united_states())
}

/// Languages being taken from the shelf, with the problems of all of them.
struct Taken<'a> {
    shelf: &'a Shelf,
    report: Report,
}

impl Taken<'_> {
    /// The words of a language, English where none is asked for.
    fn words(&mut self, tongue: Option<&Tongue>) -> Result<Arc<Words>, Refusal> {
        let english = Tongue::BuiltIn("en".to_owned());
        let (found, problems) = self.shelf.words(tongue.unwrap_or(&english));
        problems.problems().iter().for_each(|problem| self.report.push(problem.clone()));
        match found {
            Ok(Some(words)) => Ok(words),
            Ok(None) => Err(Refusal::bad_input(std::mem::take(&mut self.report))),
            Err(fault) => Err(Refusal::own_fault(fault)),
        }
    }
}
