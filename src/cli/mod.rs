//! The command line: one file a command, exit codes in one place, data on stdout and talk on stderr.

mod data;
mod exit;
mod explain;
mod label_run;
mod labels;
mod languages;
mod page;
mod page_index;
mod plan;
mod prepare;
mod register;
mod render;
mod test_print;
mod views;
mod write;

use std::path::{Path, PathBuf};

use clap::{Parser, Subcommand};

pub use exit::Exit;

use crate::catalog::Tongue;

/// Labels, mix sheets and certificates for disinfection work, from one job file
#[derive(Debug, Parser)]
#[command(
    name = "decant",
    version,
    about,
    after_help = "Exit codes: 0 done, 1 some documents failed, 2 the input or the call is wrong,\n3 a certificate was withheld, 70 our own fault.\n\nThe product label and the safety data sheet come first; local codes and licensed\npractice come before anything printed here."
)]
pub struct Arguments {
    /// What to do
    #[command(subcommand)]
    pub command: Command,
}

/// What `decant` can do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Show every number of a job, with its unit, and the cautions
    #[command(
        after_help = "Example:\n  decant plan samples/ferry-terminal/job.yaml\n  decant plan samples/ferry-terminal/job.yaml --json > plan.json"
    )]
    Plan {
        /// The job file
        job: PathBuf,
        /// Print the plan as JSON at full precision
        #[arg(long)]
        json: bool,
        /// Print in this language: `en`, `es`, `fr`, or a language file [default: the company's]
        #[arg(long, value_name = "TAG", value_parser = tongue, conflicts_with = "json")]
        language: Option<Tongue>,
    },
    /// Say what is behind a caution; without a code, list them all
    #[command(after_help = "Example:\n  decant explain rewet")]
    Explain {
        /// The caution's code, as it stands in brackets behind it
        code: Option<String>,
        /// List them as a Markdown table
        #[arg(long, conflicts_with = "code")]
        markdown: bool,
    },
    /// Make the labels, the mix sheet and the certificate of a job
    #[command(
        after_help = "Example:\n  decant render samples/ferry-terminal/job.yaml\n  decant render job.yaml -o van-3 --only labels --only mix-sheet\n  decant render job.yaml --format png --dpi 203\n\nPrints the paths written, one a line."
    )]
    Render {
        /// The job file
        job: PathBuf,
        /// Folder to write into [default: `out` beside the job file]
        #[arg(short, long, value_name = "DIR")]
        output: Option<PathBuf>,
        /// Make only these documents (repeat for several)
        #[arg(long, value_name = "DOCUMENT", value_enum)]
        only: Vec<render::Kind>,
        /// What to write
        #[arg(long, value_enum, default_value_t = render::Format::Pdf)]
        format: render::Format,
        /// Dots per inch of PNG pages
        #[arg(long, default_value_t = 300, value_parser = clap::value_parser!(u32).range(72..=1200))]
        dpi: u32,
        /// What the pages are printed with
        #[arg(long, value_enum, default_value_t = render::PageInk::Colour)]
        ink: render::PageInk,
        /// Make the certificate even if the as-applied log is missing or not complete, marked DRAFT across the page
        #[arg(long)]
        draft: bool,
        /// Make all documents in this language: `en`, `es`, `fr`, or a language file [default: as the job or company file says]
        #[arg(long, value_name = "TAG", value_parser = tongue)]
        language: Option<Tongue>,
        /// First free place of a part-used label sheet, counted from 1 row by row
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=10_000))]
        first: Option<u32>,
        /// How many of each label, whatever the files say
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100))]
        copies: Option<u32>,
        /// Key of the printer in the company file whose shift and scale the labels are corrected for
        #[arg(long, value_name = "KEY")]
        printer: Option<String>,
    },
    /// Print the labels of several jobs in one run: they share sheets, in the order the jobs are named
    #[command(
        after_help = "Example:\n  decant labels mon-1.yaml mon-2.yaml -o monday.pdf\n  decant labels mon-*.yaml -o monday.pdf --stock sheet-4x2 --first 6\n\nName the jobs in the order of the route. With labels on several kinds of stock there is\na file for each, `monday-STOCK.pdf`. The records are written by `decant render`."
    )]
    Labels {
        /// The job files
        #[arg(required = true, value_name = "JOB")]
        jobs: Vec<PathBuf>,
        /// PDF to write
        #[arg(short, long, value_name = "FILE")]
        output: PathBuf,
        /// Only the labels that go on this stock
        #[arg(long, value_name = "KEY")]
        stock: Option<String>,
        /// First free place of a part-used label sheet, counted from 1 row by row
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=10_000))]
        first: Option<u32>,
        /// How many of each label, whatever the files say
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100))]
        copies: Option<u32>,
        /// Key of the printer in the company file whose shift and scale are corrected for
        #[arg(long, value_name = "KEY")]
        printer: Option<String>,
        /// In this language: `en`, `es`, `fr`, or a language file [default: as each job or company file says]
        #[arg(long, value_name = "TAG", value_parser = tongue)]
        language: Option<Tongue>,
    },
    /// Make the public page that the printed code leads to, and the index of pages, for any static host
    #[command(
        after_help = "Example:\n  decant page samples/ferry-terminal/job.yaml -o site\n\nPut what is in the folder where the record link leads. `publish` in the company file says\nwhat may stand there; what is not allowed is left out. Prints the paths written."
    )]
    Page {
        /// The job files
        #[arg(required = true, value_name = "JOB")]
        jobs: Vec<PathBuf>,
        /// Folder of the pages; those of earlier runs stay
        #[arg(short, long, value_name = "DIR")]
        output: PathBuf,
        /// Folder that the certificates are taken from, where they are published [default: `out` beside each job file]
        #[arg(long, value_name = "DIR")]
        documents: Option<PathBuf>,
    },
    /// Add up many records: product used by site, month and product, and strip readings over time
    #[command(
        after_help = "Example:\n  decant register 2026/records -o 2026/register\n\nReads every `…-record.json` in the folder and below. Writes register.csv,\nregister-readings.csv and register.pdf."
    )]
    Register {
        /// Folder of records
        folder: PathBuf,
        /// Folder to write into
        #[arg(short, long, value_name = "DIR")]
        output: PathBuf,
        /// Print in this language: `en`, `es`, `fr`, or a language file [default: en]
        #[arg(long, value_name = "TAG", value_parser = tongue)]
        language: Option<Tongue>,
    },
    /// Print outlines and rulers on a label stock, to see what a printer does wrong
    #[command(
        after_help = "Example:\n  decant test-print sheet-4x2 --company company.yaml\n  decant test-print sheet-4x2 --company company.yaml --printer office\n\nThe first page is laid over the stock, the second is measured. Print at actual size."
    )]
    TestPrint {
        /// Key of the label stock in the company file
        stock: String,
        /// The company file
        #[arg(long, value_name = "FILE")]
        company: PathBuf,
        /// PDF to write [default: `test-print-STOCK.pdf`]
        #[arg(short, long, value_name = "FILE")]
        output: Option<PathBuf>,
        /// Key of a printer in the company file: print corrected, to check the correction
        #[arg(long, value_name = "KEY")]
        printer: Option<String>,
    },
    /// Show as JSON what the template of a document is given, for those who write their own
    #[command(
        after_help = "Example:\n  decant data samples/ferry-terminal/job.yaml mix-sheet > mix-sheet.json\n\nLabels are shown by their stock. DEVELOPERS.md says what each field holds."
    )]
    Data {
        /// The job file
        job: PathBuf,
        /// Which document
        #[arg(value_enum)]
        document: render::Kind,
        /// What the pages are printed with
        #[arg(long, value_enum, default_value_t = render::PageInk::Colour)]
        ink: render::PageInk,
        /// A certificate even if the as-applied log is missing or not complete
        #[arg(long)]
        draft: bool,
        /// In this language: `en`, `es`, `fr`, or a language file [default: the document's]
        #[arg(long, value_name = "TAG", value_parser = tongue)]
        language: Option<Tongue>,
        /// Key of the printer in the company file whose shift and scale labels are corrected for
        #[arg(long, value_name = "KEY")]
        printer: Option<String>,
    },
}

fn tongue(text: &str) -> Result<Tongue, String> {
    Tongue::named(text, Path::new("")).map_err(|(message, hint)| format!("{message} ({hint})"))
}

/// Runs a command.
pub fn run(arguments: &Arguments) -> Exit {
    match &arguments.command {
        Command::Plan { job, json, language } => plan::run(job, *json, language.as_ref()),
        Command::Explain { code, markdown } => explain::run(code.as_deref(), *markdown),
        Command::Render {
            job,
            output,
            only,
            format,
            dpi,
            ink,
            draft,
            language,
            first,
            copies,
            printer,
        } => render::run(&render::Request {
            job,
            output: output.as_deref(),
            only,
            format: *format,
            dpi: *dpi,
            ink: (*ink).into(),
            draft: *draft,
            language: language.as_ref(),
            first: *first,
            copies: *copies,
            printer: printer.as_deref(),
        }),
        Command::Data {
            job,
            document,
            ink,
            draft,
            language,
            printer,
        } => data::run(
            job,
            *document,
            &views::Asked {
                kinds: &[*document],
                draft: *draft,
                ink: (*ink).into(),
                language: language.as_ref(),
                first: None,
                copies: None,
                printer: printer.as_deref(),
            },
        ),
        Command::Labels {
            jobs,
            output,
            stock,
            first,
            copies,
            printer,
            language,
        } => labels::run(&labels::Request {
            jobs,
            output,
            stock: stock.as_deref(),
            first: *first,
            copies: *copies,
            printer: printer.as_deref(),
            language: language.as_ref(),
        }),
        Command::Page {
            jobs,
            output,
            documents,
        } => page::run(&page::Request {
            jobs,
            output,
            documents: documents.as_deref(),
        }),
        Command::Register {
            folder,
            output,
            language,
        } => register::run(folder, output, language.as_ref()),
        Command::TestPrint {
            stock,
            company,
            output,
            printer,
        } => test_print::run(stock, company, output.as_deref(), printer.as_deref()),
    }
}
