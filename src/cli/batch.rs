//! `decant batch`: every document of many jobs.

use std::num::NonZero;
use std::path::{Path, PathBuf};
use std::thread::available_parallelism;

use super::expand::remove_stale;
use super::labels;
use super::options::Choice;
use super::output::{self, Exit};
use super::progress::Progress;
use crate::app::{Failure, Gathered, Inputs, Kind, LabelOptions, Production, RouteKinds, check_jobs};
use crate::batch::{Failed, Report, Run, Shard, Stale, Store, Totals, run as run_batch};
use crate::company::Tongue;
use crate::contract::Contract;
use crate::record::headings;
use crate::record::issued::issued_files;

/// What ends a list that is cut short.
const IN_MANIFEST: &str = ", named in the manifest";

/// Make the documents of many jobs, side by side; nothing that is finished and unchanged is made again
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant batch jobs -o out\n  decant batch mon-*.yaml -o out --only labels --only mix-sheet\n  decant batch contract.yaml -o season\n  decant batch jobs -o out --shard 2/8\n\nA run may be interrupted at any moment and started again. Prints the paths of the summary\nand the manifest; DIR/JOB holds the documents of a job."
)]
pub(super) struct Args {
    /// Job files, folders of them, or contracts; in a folder jobs are taken by name
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    /// Folder to write into
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,
    #[command(flatten)]
    choice: Choice,
    /// Jobs made at the same time [default: one on each core]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1024))]
    workers: Option<u32>,
    /// Only one of N equal parts of the jobs, chosen by their numbers: `2/8` is the second of eight
    #[arg(long, value_name = "I/N", default_value = "1/1")]
    shard: Shard,
    /// Remove what earlier runs wrote and no longer belongs
    #[arg(long)]
    remove_stale: bool,
    /// Then print the labels of all jobs in one run, `DIR/labels-STOCK.pdf`, in the order the jobs are named
    #[arg(long)]
    print_run: bool,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        self.choice.check(false)?;
        output::check_output_folder(&self.output)?;
        let inputs = self.inputs()?;
        let (report, store) = match self.make(&inputs) {
            Ok(made) => made,
            Err(failed) => {
                output::say(format_args!("error: {}", failed.message));
                return Ok(if failed.unwritten { Exit::SomeFailed } else { Exit::BadInput });
            }
        };
        show_stale(&report.stale, &store);
        for folder in &inputs.contracts {
            remove_stale(folder, self.remove_stale);
            if report.totals.failed > 0 {
                show_at_contract(&folder.contract);
            }
        }
        // what kept certificates from being made, and nothing else
        output::some(&report.troubles, IN_MANIFEST, |(_, trouble)| output::block(trouble));
        output::some(&report.cautions, IN_MANIFEST, |caution| output::note(caution));
        // of these nothing is issued, and what the crew was given stays
        let given_out = report.differs.iter().filter(|(job, _)| self.nothing_issued(job)).count();
        show_settled(&report, given_out, self.logged(&inputs));
        output::block(&table(&report.totals));
        report.unwritten.iter().for_each(|failed| output::say(format_args!("error: {}", failed.message)));
        report.written.iter().for_each(|path| output::line(path.display()));
        let mut visits = report.there.clone();
        visits.retain(|file| self.print_run && !inputs.gathered.contains_key(file));
        let printed = print_labels(&visits, &self.output, self.choice.language.as_ref());
        Ok(self.exit(&report, printed))
    }

    /// Visits that have a log and no certificate yet: they stay as they were planned too.
    fn logged(&self, inputs: &Inputs) -> usize {
        let jobs = inputs.contracts.iter().flat_map(|folder| &folder.jobs).map(|file| &file.job);
        jobs.filter(|job| job.has_log && self.nothing_issued(&job.name)).count()
    }

    fn nothing_issued(&self, job: &str) -> bool {
        issued_files(&self.output.join(job), job).is_empty()
    }

    fn inputs(&self) -> Result<Inputs, Failure> {
        let mut warnings = Vec::new();
        let with_routes = RouteKinds::beside(&self.choice.only).any();
        let inputs = Inputs::find(&self.jobs, &self.output, with_routes, &mut warnings);
        warnings.iter().for_each(|warning| output::block(warning));
        let mut inputs = inputs?;
        if !self.choice.only.is_empty() {
            inputs.gathered.retain(|_, gathered| matches!(gathered, Gathered::Route(..)));
        }
        Ok(inputs)
    }

    fn make(&self, inputs: &Inputs) -> Result<(Report, Store), Failed> {
        let production = Production {
            options: &self.choice.options(),
            of_routes: RouteKinds::beside(&self.choice.only),
            inputs,
            output: &self.output,
            context: &self.choice.context(),
        };
        let cores = || available_parallelism().map_or(1, NonZero::get);
        let run = Run {
            files: &inputs.all(),
            workers: self.workers.map_or_else(cores, |n| n as usize),
            shard: self.shard,
            remove_stale: self.remove_stale,
            header: &headings(),
            unused: &inputs.unused,
            warnings: &inputs.warnings,
        };
        let progress = Progress::new();
        let ended =
            Store::open(&self.output).and_then(|store| Ok((run_batch(&run, &store, &production, &progress)?, store)));
        progress.finish();
        ended
    }

    /// In a batch it is usual that some certificates cannot be made yet: that is an exit of its own only where they were asked for
    /// by name.
    fn exit(&self, report: &Report, printed: Exit) -> Exit {
        let totals = &report.totals;
        // a log that cannot be used blocks a certificate, and nothing else
        let wants_certificates = self.choice.only.is_empty() || self.choice.only.contains(&Kind::Certificate);
        let blocked = wants_certificates && !report.troubles.is_empty();
        let any_failed = totals.failed > 0 || totals.differing > 0 || blocked || !report.unwritten.is_empty();
        if report.own_fault || printed == Exit::Internal {
            Exit::Internal
        } else if totals.failed == totals.all() && totals.failed > 0 && !report.disk_fault {
            Exit::BadInput
        } else if any_failed || printed != Exit::Done {
            Exit::SomeFailed
        } else if totals.withheld > 0 && self.choice.only.contains(&Kind::Certificate) {
            Exit::CertificateWithheld
        } else {
            Exit::Done
        }
    }
}

/// The labels of all jobs that were made, in the order the jobs were named.
pub(super) fn print_labels(jobs: &[PathBuf], folder: &Path, language: Option<&Tongue>) -> Exit {
    if jobs.is_empty() {
        return Exit::Done;
    }
    let printed = labels::print(jobs, &folder.join("labels.pdf"), None, &LabelOptions::default(), language);
    printed.unwrap_or_else(|failure| output::failure(&failure))
}

/// What is wrong with a contract's jobs, at the place in the contract or the table that it comes from.
fn show_at_contract(contract: &Contract) {
    let mut report = crate::diagnostic::Diagnostics::new();
    check_jobs(contract, &mut report);
    if report.has_errors() {
        output::say("Where it stands in the contract:");
        report.problems().iter().for_each(|problem| output::block(&problem.to_string()));
    }
}

/// How many certificates stay as they were issued, in one line, and which of their jobs give something else now.
fn show_settled(report: &Report, given_out: usize, logged: usize) {
    let settled = report.totals.settled + report.stale.kept.len() - given_out;
    let made = match logged {
        0 => String::new(),
        1 => "; 1 more has a log and stays as it was planned".to_owned(),
        n => format!("; {n} more have a log and stay as they were planned"),
    };
    if settled + logged > 0 {
        let differing = match report.totals.differing - given_out {
            0 => String::new(),
            1 => "; the job of 1 gives something else now".to_owned(),
            n => format!("; the jobs of {n} give something else now"),
        };
        output::say(format_args!(
            "{settled} settled: their certificates are issued and stay as they are{differing}{made}"
        ));
    }
    output::some(&report.differs, IN_MANIFEST, |(_, difference)| output::block(difference));
}

fn show_stale(stale: &Stale, store: &Store) {
    for (heading, names) in [
        ("Removed, since they no longer belong:", &stale.removed),
        ("Of earlier runs, and no longer belonging; `--remove-stale` removes those that nobody changed:", &stale.left),
    ] {
        let paths: Vec<String> = names.iter().map(|name| store.shown(name).display().to_string()).collect();
        output::names(heading, &paths, IN_MANIFEST);
    }
}

/// The closing table.
pub(super) fn table(totals: &Totals) -> String {
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
    lines.iter().map(|(state, n)| format!("{state:name$}  {n:>figure$}\n")).collect()
}
