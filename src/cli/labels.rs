//! `decant labels`: the labels of several jobs in one print run, in the order the jobs are named.

use std::path::{Path, PathBuf};

use super::dates::DateArgs;
use super::jobs;
use super::options::{Places, tongue};
use super::output::{self, Exit};
use crate::app::{
    Cause, Context, Failure, LabelOptions, Planned, check_first, chosen, label_batches, label_run, stock,
};
use crate::company::Tongue;
use crate::document::LabelOnly;
use crate::engine::Ink;
use crate::input::STDIN;

/// Print the labels of several jobs in one run: they share sheets, in the order the jobs are named
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant labels mon-1.yaml mon-2.yaml -o monday.pdf\n  decant labels mon-*.yaml -o monday.pdf --stock sheet-4x2 --first 6\n\nName the jobs in the order of the route. With labels on several kinds of stock there is\na file for each, `monday-STOCK.pdf`. The records are written by `decant render`."
)]
pub(super) struct Args {
    /// Job files, folders of them, or contracts
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    /// PDF to write, `-` for standard output
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    #[command(flatten)]
    dates: DateArgs,
    /// Folder that `decant batch` wrote into, for the visits of a contract [default: `out` beside it]
    #[arg(long, value_name = "DIR")]
    documents: Option<PathBuf>,
    /// Only the labels that go on this stock
    #[arg(long, value_name = "KEY")]
    stock: Option<String>,
    #[command(flatten)]
    places: Places,
    /// Only those of this treatment of the job, counted from 1: to print lost labels again
    #[arg(long, value_name = "N")]
    treatment: Option<usize>,
    /// Only that of this load of the treatment, counted from 1
    #[arg(long, value_name = "N")]
    load: Option<usize>,
    /// Key of the printer in the company file whose shift and scale are corrected for
    #[arg(long, value_name = "KEY")]
    printer: Option<String>,
    /// In this language: `en`, `es`, `fr`, or a language file [default: as each job or company file says]
    #[arg(long, value_name = "TAG", value_parser = tongue)]
    language: Option<Tongue>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        let mut options = self.places.options(self.printer.as_ref());
        options.only = LabelOnly { treatment: self.treatment, load: self.load };
        let chosen = chosen(&self.jobs, self.documents.as_deref(), self.dates.dates())?;
        let one = self.treatment.or(self.load).is_some();
        if one && chosen.jobs.len() > 1 {
            return Err(Failure::error("`--treatment` and `--load` are of one job").hint("name that job alone"));
        }
        print(&chosen.jobs, &self.output, self.stock.as_deref(), &options, self.language.as_ref())
    }
}

/// Prints the labels of all jobs, or those that go on one stock.
pub(super) fn print(
    jobs: &[PathBuf],
    output: &Path,
    only: Option<&str>,
    options: &LabelOptions,
    language: Option<&Tongue>,
) -> Result<Exit, Failure> {
    output::check_output(output)?;
    let context = Context::new(Ink::Color, language);
    let Some(mut planned) = jobs::plan_all(jobs, &context, check_sheets) else { return Ok(Exit::BadInput) };
    // nothing was filled that a label could be for
    planned.retain(|job| {
        if job.was_not_made() {
            output::say(format_args!("note: the visit of job {} was not made: it has no labels here", job.plan.job));
        }
        !job.was_not_made()
    });
    if planned.is_empty() {
        return Err(Failure::error("none of these visits was made, and no label is printed"));
    }
    // clap asks for one job at least
    let Some(leading) = planned.first() else { return Ok(Exit::BadInput) };
    let company = leading.company();
    let run = label_run(options, company, context.ink)?;
    let mut batches = label_batches(&planned, &run, &context)?;
    if batches.is_empty() {
        return Err(none_taken(leading, options.only));
    }
    if let Some(key) = only {
        let keys: Vec<String> = batches.iter().map(|batch| batch.stock.clone()).collect();
        batches.retain(|batch| batch.stock == key);
        if batches.is_empty() {
            stock(key, company)?;
            let keys = keys.join(", ");
            return Err(Failure::error(format_args!("no label of these jobs goes on `{key}`; they go on: {keys}")));
        }
    }
    let stocks: Vec<String> = batches.iter().map(|batch| batch.stock.clone()).collect();
    check_first(&run, &stocks, company)?;
    if batches.len() > 1 && output == Path::new(STDIN) {
        let stocks = stocks.join(", ");
        let why = format!("these labels go on several kinds of stock ({stocks}), and standard output takes one file");
        return Err(Failure::error(why).hint("name one with `--stock`"));
    }
    let numbers: Vec<&str> = planned.iter().map(|job| job.record.number.as_str()).collect();
    let numbers = numbers.join("+");
    let mut failed = 0;
    for batch in &batches {
        let path = if batches.len() == 1 { output.to_owned() } else { beside(output, &batch.stock) };
        match jobs::print(leading, &batch.view, &format!("labels/{}/{numbers}", batch.stock), &context) {
            Ok(bytes) => output::file(&path, &bytes)?,
            Err(failure) if failure.cause == Cause::Internal => return Err(failure),
            Err(failure) => {
                failed += 1;
                output::failure(&failure);
            }
        }
    }
    Ok(Exit::of(batches.len() - failed, failed))
}

/// That the job has no such treatment or load.
fn none_taken(job: &Planned, only: LabelOnly) -> Failure {
    let wanted = [("treatment", only.treatment), ("load", only.load)];
    let wanted: Vec<String> =
        wanted.iter().filter_map(|(what, number)| number.map(|number| format!("{what} {number}"))).collect();
    let there = job.plan.treatments.iter().map(|t| format!("treatment {} with loads 1 to {}", t.number, t.loads.len()));
    let there: Vec<String> = there.collect();
    let failure = Failure::error(format_args!("the job `{}` has no {}", job.plan.job, wanted.join(", ")));
    failure.hint(format_args!("there are: {}", there.join("; ")))
}

/// `run.pdf` and `roll` are `run-roll.pdf`.
fn beside(output: &Path, stock: &str) -> PathBuf {
    let stem = output.file_stem().unwrap_or_default().to_string_lossy();
    output.with_file_name(format!("{stem}-{stock}.pdf"))
}

/// A job that is named twice, and stock that is not the same in every job that uses it, since their labels share its sheets.
fn check_sheets(file: &Path, planned: &Planned, before: &[Planned]) -> Vec<Failure> {
    let (file, number) = (file.display(), &planned.plan.job);
    let mut failures = Vec::new();
    if before.iter().any(|other| other.plan.job == *number) {
        failures.push(Failure::error(format_args!(
            "{file}: the job `{number}` is in this run already; for more of its labels use --copies"
        )));
    }
    for key in planned.plan.treatments.iter().map(|treatment| &treatment.stock) {
        let Some(stock) = planned.company().stock.get(key) else { continue };
        let other = before.iter().find(|other| {
            other.plan.treatments.iter().any(|treatment| treatment.stock == *key)
                && other.company().stock.get(key).is_some_and(|theirs| !theirs.same_sheet(stock))
        });
        if let Some(other) = other {
            let job = &other.plan.job;
            failures.push(Failure::error(format_args!(
                "{file}: the label stock `{key}` has other dimensions than in the job `{job}`: their labels cannot share a sheet"
            )));
        }
    }
    failures
}
