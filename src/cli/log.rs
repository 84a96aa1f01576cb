//! `decant log`: the crew's form, and what their logs still lack.

use std::path::{Path, PathBuf};

use super::jobs::plan_all;
use super::options::tongue;
use super::output::{self, Exit};
use crate::app::{Context, Failure, Planned, job_words};
use crate::company::Tongue;
use crate::document::{form, open_lines};
use crate::engine::Ink;
use crate::html::{Page, scripted};

/// Make the page on which a crew writes the log, on any telephone and without a network; or list what the logs still lack
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant log samples/ferry-terminal/job.yaml -o form.html\n  decant log mon-1.yaml mon-2.yaml -o monday.html\n  decant log job.yaml\n\nThe page keeps what is tapped, and gives the log as a file (CSV) that a job's `log` or a\ncontract's `logs` takes as it is. Without -o the list is printed, load by load and area by\narea; the exit code is then 3 if a log lacks anything."
)]
pub(super) struct Args {
    /// The job files, in the order of the visits
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    /// The page to write, for the crew's telephone
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// In this language: `en`, `es`, `fr`, or a language file [default: as the first job or company file says of mix sheets]
    #[arg(long, value_name = "TAG", value_parser = tongue)]
    language: Option<Tongue>,
}

impl Args {
    /// Whether it writes a file.
    pub fn writes(&self) -> bool {
        self.output.is_some()
    }

    pub fn run(&self) -> Result<Exit, Failure> {
        if let Some(output) = &self.output {
            output::check_output_named(output, "html", "a page for a browser is written")?;
        }
        let context = Context::new(Ink::Color, self.language.as_ref());
        let Some(planned) = plan_all(&self.jobs, &context, twice) else { return Ok(Exit::BadInput) };
        match &self.output {
            Some(output) => write_form(&planned, output, &context),
            None => list(&planned, &context),
        }
    }
}

/// A form notes by the job's number what was done.
fn twice(file: &Path, planned: &Planned, before: &[Planned]) -> Vec<Failure> {
    let is_there = before.iter().any(|other| other.plan.job == planned.plan.job);
    let why = || Failure::error(format_args!("{}: the job `{}` is named twice", file.display(), planned.plan.job));
    is_there.then(why).into_iter().collect()
}

fn write_form(planned: &[Planned], output: &Path, context: &Context) -> Result<Exit, Failure> {
    // clap asks for one job at least
    let Some(leading) = planned.first() else { return Ok(Exit::BadInput) };
    let words = job_words(&leading.job, context)?.mix_sheet;
    let visits: Vec<_> = planned.iter().map(|visit| (visit.voice(&words), &visit.job)).collect();
    let page = form(&words, &visits)?;
    let text = scripted(Page::Form, &page, &page.data).map_err(Failure::internal)?;
    output::file(output, text.as_bytes())?;
    Ok(Exit::Done)
}

fn list(planned: &[Planned], context: &Context) -> Result<Exit, Failure> {
    let mut exit = Exit::Done;
    for visit in planned {
        if visit.job.log_trouble.is_some() {
            // why has been said
            exit = Exit::BadInput;
            continue;
        }
        let words = job_words(&visit.job, context)?.mix_sheet;
        let lines = open_lines(&visit.voice(&words), &visit.job, &visit.log)?;
        output::line(format_args!("{}  {}", visit.plan.job, visit.plan.site.name));
        if visit.was_not_made() {
            output::line(format_args!("  {}", words.word("page.lead.not-made")?));
        } else if lines.is_empty() {
            output::line(format_args!("  {}", words.word("form.nothing_open")?));
        } else {
            exit = if exit == Exit::BadInput { exit } else { Exit::CertificateWithheld };
        }
        lines.iter().for_each(|line| output::line(format_args!("  - {line}")));
    }
    Ok(exit)
}
