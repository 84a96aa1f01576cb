//! From a job file to its plan, its record and its log's conformity: what nearly every command begins with.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::context::Context;
use super::failure::{Failure, valid};
use crate::company::{CompanyFile, Languages, Tongue};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::document::{View, Voice, dress};
use crate::engine::fonts;
use crate::job::Job;
use crate::plan::{Plan, plan};
use crate::quantity::Printer;
use crate::record::{Conformity, Made, Record, conformity};
use crate::wording::Words;
use crate::yaml::Source;

/// A job with its plan and record, and its log compared with the plan.
pub struct Planned {
    pub job: Job,
    pub plan: Plan,
    pub record: Record,
    pub log: Conformity,
}

/// Reads a job, with the company file from the context.
pub fn read_job(file: &Path, context: &Context) -> Result<Job, Failure> {
    let mut report = Diagnostics::new();
    let job = Job::read_with(file, &mut report, |company, report| context.company(company, report));
    valid(job, &report)
}

/// Reads and plans a job.
pub fn plan_file(file: &Path, context: &Context) -> Result<Planned, Failure> {
    plan_job(read_job(file, context)?)
}

/// Plans a job. A log that cannot be of this plan is left out, with the reason, as one that cannot be read is.
pub fn plan_job(job: Job) -> Result<Planned, Failure> {
    let link = job.company.record_link.clone();
    plan_with_link(job, &link)
}

/// The same with another link, for what prints no code.
pub fn plan_with_link(mut job: Job, link: &str) -> Result<Planned, Failure> {
    let mut report = Diagnostics::new();
    let plan = plan(&job, &mut report);
    let plan = valid(plan, &report)?;
    let origin = job.company.source.root().origin().key("record_link");
    let record = Record::of(&plan, link, &origin).map_err(|problem| {
        report.push(*problem);
        Failure::from(report)
    })?;
    let mut trouble = Diagnostics::new();
    if let Some(service_log) = &job.service_log {
        unprintable(&service_log.source, &mut trouble);
    }
    let mut log = conformity(&plan, &job, &mut trouble);
    if trouble.has_errors() {
        job.service_log = None;
        job.log_trouble = Some(trouble);
        log = conformity(&plan, &job, &mut Diagnostics::new());
    }
    Ok(Planned { job, plan, record, log })
}

impl Planned {
    pub fn company(&self) -> &CompanyFile {
        &self.job.company
    }

    pub fn voice<'a>(&'a self, words: &'a Words) -> Voice<'a> {
        let units = Printer::new(self.company().units).with(words.notation());
        Voice { words, units, dates: self.company().dates(), plan: &self.plan, record: &self.record }
    }

    /// Whether somebody has compared each of its products with its label, and the printed link leads somewhere. If not, whatever is
    /// printed of it says DRAFT.
    pub fn is_checked(&self) -> bool {
        !self.company().link_is_invented()
            && self.job.treatments.iter().all(|treatment| treatment.product.label_checked)
    }

    /// Gives a document the firm's look.
    pub fn dress(&self, view: &mut View) {
        dress(view, &self.company().style, &self.plan.company.name);
    }

    /// Why the log of the job cannot be used, in lines.
    pub fn log_trouble(&self) -> Option<String> {
        let trouble = self.job.log_trouble.as_ref()?;
        let job = &self.job.number;
        let head = format!("caution: the log of job {job} cannot be used, and no certificate is made until it can:\n");
        Some(trouble.problems().iter().fold(head, |lines, problem| lines + &problem.to_string()))
    }

    /// For whoever says what was done: a log that cannot be used is an error.
    pub fn need_log(&self) -> Result<(), Failure> {
        self.job.log_trouble.as_ref().map_or(Ok(()), |trouble| Err(trouble.into()))
    }

    /// Whether a log says that the crew was there, as one that cannot be used may; a blank one does not.
    pub fn has_log(&self) -> bool {
        let log = self.job.service_log.as_ref();
        self.job.log_trouble.is_some() || log.is_some_and(|log| !log.loads.is_empty() || !log.areas.is_empty())
    }

    /// Whether the log says that nothing was treated: there is no certificate then, and there never will be.
    pub fn was_not_made(&self) -> bool {
        self.log.visit == Made::Not
    }

    /// The words of its documents, if the fonts have every character that is to be printed.
    pub fn printable(&self, context: &Context) -> Result<JobWords, Failure> {
        let words = job_words(&self.job, context)?;
        let mut report = Diagnostics::new();
        self.check_characters(&words, &mut report);
        valid(Some(words), &report)
    }

    /// Reports characters that the fonts cannot print, in the job, its log, the company file and language files: each at its place.
    pub fn check_characters(&self, words: &JobWords, report: &mut Diagnostics) {
        let mut own: Vec<_> = words.each().filter_map(|words| words.source.as_ref()).collect();
        own.dedup_by_key(|source| source.file());
        let log = self.job.service_log.as_ref().map(|log| &log.source);
        let sources = [&self.job.source, &self.company().source].into_iter().chain(log).chain(own);
        sources.for_each(|source| unprintable(source, report));
    }
}

/// Characters of one file that the fonts cannot print.
fn unprintable(source: &Arc<Source>, report: &mut Diagnostics) {
    source.each_text(|text, path| {
        if let Some(bad) = text.chars().find(|c| !c.is_whitespace() && !fonts::can_print(*c)) {
            let message =
                format!("`{bad}` (U+{:04X}) cannot be printed: the font has no such character", u32::from(bad));
            let problem = Diagnostic::error("no-glyph", message).at(source.place(path));
            report.push(problem.hint("leave it out, or write it in letters"));
        }
    });
}

/// The words of all documents of a job.
pub struct JobWords {
    /// Of the terminal: the company's.
    pub terminal: Arc<Words>,
    pub labels: Arc<Words>,
    /// Of the same labels, beside the first.
    pub labels_second: Option<Arc<Words>>,
    pub mix_sheet: Arc<Words>,
    pub certificate: Arc<Words>,
}

impl JobWords {
    /// All of them; some may be the same.
    pub fn each(&self) -> impl Iterator<Item = &Words> {
        let second = self.labels_second.iter();
        [&self.terminal, &self.labels, &self.mix_sheet, &self.certificate].into_iter().chain(second).map(Arc::as_ref)
    }
}

/// The words of a job's documents: the command line goes before the job, and the job before the company.
pub fn job_words(job: &Job, context: &Context) -> Result<JobWords, Failure> {
    let option = context.language.as_ref();
    let wanted = match option {
        Some(tongue) => Languages { all: Some(tongue.clone()), ..Languages::default() },
        None => job.languages.or(&job.company.languages),
    };
    let mut report = Diagnostics::new();
    let mut take = |tongue: Option<&Tongue>| {
        let words = context.words(tongue, &mut report)?;
        words.ok_or_else(|| Failure::from(&report))
    };
    let all = wanted.all.as_ref();
    let labels = take(wanted.labels.first().or(all))?;
    let found = JobWords {
        terminal: take(option.or(job.company.languages.all.as_ref()))?,
        labels_second: match wanted.labels.get(1) {
            Some(tongue) => Some(take(Some(tongue))?),
            None if labels.language != "en" && wants_english(job) => Some(take(None)?),
            None => None,
        },
        labels,
        mix_sheet: take(wanted.mix_sheet.as_ref().or(all))?,
        certificate: take(wanted.certificate.as_ref().or(all))?,
    };
    valid(Some(found), &report)
}

/// Whether labels of the job follow 29 CFR 1910.1200, whose paragraph (f)(10) wants them in English; other languages may
/// stand beside it.
fn wants_english(job: &Job) -> bool {
    let stock = &job.company.stock;
    let mut used = job.treatments.iter().filter_map(|t| stock.get(&t.stock));
    used.any(|stock| stock.regime.is_of_the_united_states())
}

/// The default folder of a job's documents: `out` beside the job file.
pub fn output_folder(named: Option<&Path>, job_file: &Path) -> PathBuf {
    named.map_or_else(|| job_file.parent().unwrap_or(Path::new("")).join("out"), Path::to_owned)
}
