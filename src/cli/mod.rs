//! The command line: one file a command, exit codes in one place, data on stdout and talk on stderr.

mod batch;
mod batch_input;
mod data;
mod draw_again;
mod exit;
mod expand;
mod explain;
mod job_folder;
mod kept;
mod key;
mod label_run;
mod labels;
mod languages;
mod mail;
mod mailing;
mod making;
mod making_visit;
mod output;
mod page;
mod page_index;
mod page_words;
mod plan;
mod prepare;
mod progress;
mod proving;
mod register;
mod render;
mod round;
mod service;
mod settled;
mod shelf;
mod target;
mod test_print;
mod verify;
mod verify_report;
mod views;

use std::path::{Path, PathBuf};

use clap::{Parser, Subcommand};

pub use exit::Exit;
use exit::Refusal;
pub use output::arguments;

use crate::batch::Shard;
use crate::catalog::Tongue;
use crate::typeset::Ink;

/// Labels, mix sheets and certificates for disinfection work, from one job file
#[derive(Debug, Parser)]
#[command(
    name = "decant",
    version,
    about,
    after_help = "Exit codes: 0 done, 1 some documents failed or a disk is full, 2 the input or the call is wrong,\n3 a certificate was withheld or says that a rule was not kept, 70 our own fault.\n\nThe product label and the safety data sheet come first; local codes and licensed\npractice come before anything printed here."
)]
pub struct Arguments {
    /// What to do
    #[command(subcommand)]
    pub command: Command,
}

/// Which documents are made, and how: the same for one job and for many.
#[derive(Debug, clap::Args)]
pub struct Choice {
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
    /// Make certificates even where the as-applied log is missing or not complete, marked DRAFT across the page
    #[arg(long)]
    draft: bool,
    /// Make all documents in this language: `en`, `es`, `fr`, or a language file [default: as the job or company file says]
    #[arg(long, value_name = "TAG", value_parser = tongue)]
    language: Option<Tongue>,
    /// Make an issued certificate anew from the job as it is now, if the send log does not hold it
    #[arg(long)]
    replace_draft: bool,
}

impl Choice {
    /// The documents that are wanted: all of a visit that is made unless some are named.
    fn kinds(&self) -> &[render::Kind] {
        if self.only.is_empty() {
            &[render::Kind::Labels, render::Kind::MixSheet, render::Kind::Certificate]
        } else {
            &self.only
        }
    }

    fn ink(&self) -> Ink {
        self.ink.into()
    }
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
        /// In this language: `en` (unless said), `es`, `fr`, or a language file
        #[arg(long, value_name = "TAG", value_parser = tongue)]
        language: Option<Tongue>,
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
        /// Which documents, and how
        #[command(flatten)]
        choice: Choice,
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
    /// Make the documents of many jobs, side by side; nothing that is finished and unchanged is made again
    #[command(
        after_help = "Example:\n  decant batch jobs -o out\n  decant batch mon-*.yaml -o out --only labels --only mix-sheet\n  decant batch contract.yaml -o season\n  decant batch jobs -o out --shard 2/8\n\nA run may be interrupted at any moment and started again. Prints the paths of the summary\nand the manifest; DIR/JOB holds the documents of a job."
    )]
    Batch {
        /// Job files, folders of them, or contracts; in a folder jobs are taken by name
        #[arg(required = true, value_name = "JOB")]
        jobs: Vec<PathBuf>,
        /// Folder to write into
        #[arg(short, long, value_name = "DIR")]
        output: PathBuf,
        /// Which documents, and how
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
    },
    /// Join the manifests and summaries of all shards of a batch
    #[command(
        after_help = "Example:\n  decant merge shard-1 shard-2 -o all\n\nA shard or job that is missing, or there twice, is an error. The documents stay where they are."
    )]
    Merge {
        /// Folders that the shards were written into
        #[arg(required = true, value_name = "DIR")]
        folders: Vec<PathBuf>,
        /// Folder to write `manifest.json` and `summary.csv` into
        #[arg(short, long, value_name = "DIR")]
        output: PathBuf,
        /// Then print the labels of all jobs in one run, `DIR/labels-STOCK.pdf`; the job files must be where the shards had them
        #[arg(long)]
        print_run: bool,
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
    /// Make the load-out of some visits: what must be on the van, in whole containers
    #[command(
        after_help = "Example:\n  decant load-out mon-1.yaml mon-2.yaml -o monday.pdf --van north\n\nName the jobs in the order of the route. `decant batch CONTRACT` makes one for each van and day."
    )]
    LoadOut {
        /// The job files, all of one company file
        #[arg(required = true, value_name = "JOB")]
        jobs: Vec<PathBuf>,
        /// PDF to write
        #[arg(short, long, value_name = "FILE")]
        output: PathBuf,
        /// What the van or route is called
        #[arg(long, value_name = "NAME")]
        van: Option<String>,
        /// In this language: `en`, `es`, `fr`, or a language file [default: as the first job or company file says of mix sheets]
        #[arg(long, value_name = "TAG", value_parser = tongue)]
        language: Option<Tongue>,
    },
    /// Mail certificates to clients: as drafts for your mail program, or through a server
    #[command(
        group(clap::ArgGroup::new("way").required(true).multiple(true).args(["drafts", "send", "dry_run"])),
        after_help = "Examples:\n  decant mail job.yaml --dry-run\n  decant mail job.yaml --drafts drafts\n  decant mail mon-*.yaml --documents out --send\n\nAddresses are those of `client.email` in each job, the server is that of `mail` in the company\nfile. Only a certificate that is whole and is the job's newest revision goes out, and each\nrevision goes to each address once, however often this is run. Prints a line a recipient."
    )]
    Mail {
        /// The job files
        #[arg(required = true, value_name = "JOB")]
        jobs: Vec<PathBuf>,
        /// Folder that the certificates are in [default: `out` beside each job file]
        #[arg(long, value_name = "DIR")]
        documents: Option<PathBuf>,
        /// Write messages into this folder, to be looked at and sent with a mail program
        #[arg(long, value_name = "DIR", conflicts_with = "send")]
        drafts: Option<PathBuf>,
        /// Send
        #[arg(long)]
        send: bool,
        /// Show every message and what would become of it; nothing is sent and nothing written
        #[arg(long)]
        dry_run: bool,
        /// The log of what was sent [default: as the company file says, or `mail-log.jsonl` beside it]
        #[arg(long, value_name = "FILE")]
        log: Option<PathBuf>,
        /// Date of the messages, such as `2026-04-14T09:00-04:00` [default: now; drafts have none]
        #[arg(long, value_name = "TIME")]
        date: Option<jiff::Timestamp>,
        /// Send this job to this address although it may have been sent before (repeat for several)
        #[arg(long, num_args = 2, value_names = ["NUMBER", "ADDRESS"], conflicts_with = "drafts")]
        resend: Vec<String>,
    },
    /// Say what became of the visits of a contract: sites and visits, readings against their bands, product used
    #[command(
        after_help = "Example:\n  decant service-report contract.yaml -o report\n  decant service-report jobs -o report\n\nWrites a PDF and, as CSV, its visits, readings and products. `decant batch CONTRACT` makes the same."
    )]
    ServiceReport {
        /// Job files, folders of them, or contracts
        #[arg(required = true, value_name = "JOB")]
        jobs: Vec<PathBuf>,
        /// Folder to write into; a contract's job files go into `jobs` in it
        #[arg(short, long, value_name = "DIR")]
        output: PathBuf,
        /// In this language: `en`, `es`, `fr`, or a language file [default: as the first job or company file says of certificates]
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
    /// Write the visits of a contract as job files
    #[command(
        after_help = "Example:\n  decant expand samples/harbour-contract/contract.yaml -o jobs\n\nPrints the paths, one a line, in the order of the visits."
    )]
    Expand {
        /// The contract file
        contract: PathBuf,
        /// Folder to write into
        #[arg(short, long, value_name = "DIR")]
        output: PathBuf,
        /// Write anew also those files that are there and differ
        #[arg(long)]
        replace: bool,
        /// Remove job files of this contract that no visit has any more, if nobody has changed them
        #[arg(long)]
        remove_stale: bool,
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
    /// Say whether certificates and records are what they were, and what was altered
    #[command(
        after_help = "Example:\n  decant verify out/2026-0413-certificate.pdf\n  decant verify out --key company.key.pub --job job.yaml\n\nExit codes: 0 all matches, 1 something was altered, is missing or is stale, 2 a file cannot be read as a\ncertificate or record, 3 nothing altered was found and not everything could be looked at."
    )]
    Verify {
        /// Certificates (PDF), records (JSON, with the seal beside), or folders of them
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,
        /// The public key that must have signed them, as `decant key` wrote it
        #[arg(long, value_name = "FILE")]
        key: Option<PathBuf>,
        /// The job file whose plan, log and verdicts they must hold
        #[arg(long, value_name = "FILE")]
        job: Option<PathBuf>,
        /// Of folders too, say of every file what matches
        #[arg(long)]
        verbose: bool,
    },
    /// Make the key that signs the firm's records
    #[command(
        after_help = "Example:\n  decant key --company company.yaml\n\nThe key's file is for its owner alone and is never printed or written over. The public\nkey lies beside it, in FILE.pub, and is printed."
    )]
    Key {
        /// The company file that names it as `signing_key`
        #[arg(long, value_name = "FILE", required_unless_present = "output")]
        company: Option<PathBuf>,
        /// File to write
        #[arg(short, long, value_name = "FILE", conflicts_with = "company")]
        output: Option<PathBuf>,
    },
    /// Print the JSON Schema of a record
    Schema,
}

fn tongue(text: &str) -> Result<Tongue, String> {
    Tongue::named(text, Path::new("")).map_err(|(message, hint)| format!("{message} ({hint})"))
}

/// Whether a command writes files and stops at the first thing that is wrong with the user's: then it says that none was written.
fn writes_files(command: &Command) -> bool {
    match command {
        Command::Render { .. }
        | Command::Labels { .. }
        | Command::LoadOut { .. }
        | Command::Page { .. }
        | Command::Register { .. }
        | Command::ServiceReport { .. }
        | Command::TestPrint { .. }
        | Command::Key { .. }
        | Command::Expand { .. } => true,
        Command::Plan { .. }
        | Command::Explain { .. }
        | Command::Data { .. }
        | Command::Verify { .. }
        | Command::Schema
        // here one job's problem says nothing of the others
        | Command::Batch { .. }
        | Command::Merge { .. }
        | Command::Mail { .. } => false,
    }
}

/// Runs a command.
pub fn run(arguments: &Arguments) -> Exit {
    output::ending(writes_files(&arguments.command), || dispatch(arguments))
}

fn dispatch(arguments: &Arguments) -> Exit {
    match &arguments.command {
        Command::Plan { job, json, language } => plan::run(job, *json, language.as_ref()),
        Command::Explain { code, markdown, language } => explain::run(code.as_deref(), *markdown, language.as_ref()),
        Command::Render { job, output, choice, first, copies, printer } => render::run(&render::Request {
            job,
            output: output.as_deref(),
            choice,
            first: *first,
            copies: *copies,
            printer: printer.as_deref(),
        }),
        Command::Data { job, document, ink, draft, language, printer } => data::run(
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
        Command::Expand { contract, output, replace, remove_stale } => {
            expand::run(contract, output, *replace, *remove_stale)
        }
        Command::Batch { jobs, output, choice, workers, shard, remove_stale, print_run } => {
            batch::run(&batch::Request {
                jobs,
                output,
                choice,
                workers: *workers,
                shard: *shard,
                remove_stale: *remove_stale,
                print_run: *print_run,
            })
        }
        Command::Merge { folders, output, print_run } => batch::run_merge(folders, output, *print_run),
        Command::Labels { jobs, output, stock, first, copies, printer, language } => labels::run(&labels::Request {
            jobs,
            output,
            stock: stock.as_deref(),
            first: *first,
            copies: *copies,
            printer: printer.as_deref(),
            language: language.as_ref(),
        }),
        Command::Verify { files, key, job, verbose } => {
            verify::run(&verify::Request { files, key: key.as_deref(), job: job.as_deref(), verbose: *verbose })
        }
        Command::Key { company, output } => key::run(company.as_deref(), output.as_deref()),
        Command::Schema => plan::print(crate::record::SCHEMA.trim_end()),
        Command::Page { jobs, output, documents } => {
            page::run(&page::Request { jobs, output, documents: documents.as_deref() })
        }
        Command::Register { folder, output, language } => register::run(folder, output, language.as_ref()),
        Command::Mail { jobs, documents, drafts, send: _, dry_run, log, date, resend } => mail::run(&mail::Request {
            jobs,
            documents: documents.as_deref(),
            // a dry run of anything is a dry run
            way: match (dry_run, drafts) {
                (true, _) => mail::Way::Show,
                (false, Some(folder)) => mail::Way::Draft(folder),
                (false, None) => mail::Way::Send,
            },
            log: log.as_deref(),
            date: *date,
            resend,
        }),
        Command::LoadOut { jobs, output, van, language } => round::run(jobs, output, van.as_deref(), language.as_ref()),
        Command::ServiceReport { jobs, output, language } => service::run(jobs, output, language.as_ref()),
        Command::TestPrint { stock, company, output, printer } => {
            test_print::run(stock, company, output.as_deref(), printer.as_deref())
        }
    }
}
