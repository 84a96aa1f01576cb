//! The command line: a file for each command, with its arguments and what it does; data on stdout and messages on stderr.

mod batch;
mod calendar;
mod completions;
mod data;
mod dates;
mod expand;
mod explain;
mod jobs;
mod key;
mod label;
mod labels;
mod load_out;
mod log;
mod mail;
mod manual;
mod merge;
mod messages;
mod new;
mod options;
mod output;
mod page;
mod plan;
mod progress;
mod register;
mod render;
mod schema;
mod service_report;
mod status;
mod test_print;
mod verify;
mod watch;

use clap::{Parser, Subcommand};

pub use output::{Exit, arguments};

use crate::app::Failure;

/// Labels, mix sheets and certificates for disinfection work, from one job file
#[derive(Debug, Parser)]
#[command(
    name = "decant",
    version,
    about,
    term_width = 80,
    after_help = "Exit codes: 0 done, 1 some documents failed or a disk is full, 2 the input or the call is wrong,\n3 a certificate was withheld or says that a rule was not kept, 70 our own fault.\n\nThe product label and the safety data sheet come first; local codes and licensed\npractice come before anything printed here."
)]
pub struct Arguments {
    #[command(flatten)]
    look: messages::Look,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    New(Box<new::Args>),
    Plan(plan::Args),
    Explain(explain::Args),
    Render(render::Args),
    Watch(watch::Args),
    Batch(batch::Args),
    Merge(merge::Args),
    Label(label::Args),
    Labels(labels::Args),
    Page(page::Args),
    Register(register::Args),
    LoadOut(load_out::Args),
    Log(log::Args),
    Mail(mail::Args),
    ServiceReport(service_report::Args),
    Status(status::Args),
    Calendar(calendar::Args),
    TestPrint(test_print::Args),
    Expand(expand::Args),
    Data(data::Args),
    Verify(verify::Args),
    Key(key::Args),
    Schema(schema::Args),
    Manual(manual::Args),
    Completions(completions::Args),
}

impl Command {
    fn run(&self) -> Result<Exit, Failure> {
        match self {
            Command::New(args) => args.run(),
            Command::Plan(args) => args.run(),
            Command::Explain(args) => args.run(),
            Command::Render(args) => args.run(),
            Command::Watch(args) => args.run(),
            Command::Batch(args) => args.run(),
            Command::Merge(args) => args.run(),
            Command::Label(args) => args.run(),
            Command::Labels(args) => args.run(),
            Command::Page(args) => args.run(),
            Command::Register(args) => args.run(),
            Command::LoadOut(args) => args.run(),
            Command::Log(args) => args.run(),
            Command::Mail(args) => args.run(),
            Command::ServiceReport(args) => args.run(),
            Command::Status(args) => args.run(),
            Command::Calendar(args) => args.run(),
            Command::TestPrint(args) => args.run(),
            Command::Expand(args) => args.run(),
            Command::Data(args) => args.run(),
            Command::Verify(args) => args.run(),
            Command::Key(args) => args.run(),
            Command::Schema(args) => args.run(),
            Command::Manual(args) => args.run(),
            Command::Completions(args) => args.run(),
        }
    }

    /// Whether it writes files and stops at the first thing that is wrong with the user's: then it says that none was written.
    fn writes_files(&self) -> bool {
        match self {
            Command::Plan(_)
            | Command::Explain(_)
            | Command::Data(_)
            | Command::Verify(_)
            | Command::Schema(_)
            | Command::Manual(_)
            | Command::Completions(_) => false,
            Command::Log(args) => args.writes(),
            // here one job's problem says nothing of the others
            Command::Batch(_) | Command::Merge(_) | Command::Mail(_) => false,
            _ => true,
        }
    }
}

/// Runs a command.
pub fn run(arguments: &Arguments) -> Exit {
    // Typst hands pages and streams to rayon. One thread for them takes less memory than several and hardly more time; its
    // stack has room for what a page may hold. A pool that is there already stays.
    let _ = rayon::ThreadPoolBuilder::new().num_threads(1).stack_size(16 << 20).build_global();
    arguments.look.take();
    output::ending(arguments.command.writes_files(), || arguments.command.run())
}
