//! `decant manual`: the keys of the files that users write, and the subjects behind them.

use std::io;
use std::path::PathBuf;

use clap::{Command, CommandFactory, ValueEnum};
use serde_json::Value;

use super::Arguments;
use super::output::{self, Exit};
use crate::app::Failure;
use crate::company::CompanyKeys;
use crate::contract::ContractKeys;
use crate::job::{JobKeys, LogKeys};
use crate::yaml::{Declared, Shape};

/// Describe the keys of the files that you write, and the subjects behind them
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant manual company\n  decant manual quantities\n  decant manual --man /usr/local/share/man/man1"
)]
pub(super) struct Args {
    /// A file or a subject; without one, lists them
    #[arg(value_enum)]
    topic: Option<Topic>,
    /// Write a man page for each command into this folder instead
    #[arg(long, value_name = "DIR", conflicts_with = "topic")]
    man: Option<PathBuf>,
}

/// What the manual has a page on: the four files first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Topic {
    /// Who we are and what we own
    Company,
    /// One visit to one site
    Job,
    /// Many sites and visits
    Contract,
    /// What was really done: the service log
    Log,
    /// How quantities, dilutions and contents are written
    Quantities,
    /// What a label must carry under each regime
    Labels,
    /// Hazards, wetness, air, residue: what is worked out and how far it goes
    Hazards,
    /// What is decided where no published rule decides
    Choices,
    /// The fields of `plan --json`
    Plan,
    /// Records, seals, revisions, `verify`, and what issued means
    Record,
    /// Languages, and a language file of your own
    Languages,
    /// The public page behind each printed code
    Pages,
    /// Certificates by e-mail
    Mail,
    /// Registers of product and readings
    Registers,
    /// Many jobs at once
    Batch,
}

impl Topic {
    fn text(self) -> &'static str {
        macro_rules! text {
            ($name:literal) => {
                include_str!(concat!("../../templates/manual/", $name, ".txt"))
            };
        }
        match self {
            Topic::Company => text!("company"),
            Topic::Job => text!("job"),
            Topic::Log => text!("log"),
            Topic::Contract => text!("contract"),
            Topic::Quantities => text!("quantities"),
            Topic::Labels => text!("labels"),
            Topic::Hazards => text!("hazards"),
            Topic::Choices => text!("choices"),
            Topic::Plan => text!("plan"),
            Topic::Record => text!("record"),
            Topic::Languages => text!("languages"),
            Topic::Pages => text!("pages"),
            Topic::Mail => text!("mail"),
            Topic::Registers => text!("registers"),
            Topic::Batch => text!("batch"),
        }
    }

    /// The file that the topic is about.
    fn file(self) -> Option<File> {
        match self {
            Topic::Company => Some(File::Company),
            Topic::Job => Some(File::Job),
            Topic::Contract => Some(File::Contract),
            Topic::Log => Some(File::Log),
            _ => None,
        }
    }
}

/// Files that users write and whose keys are declared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum File {
    Company,
    Job,
    Contract,
    Log,
}

impl File {
    /// Its title and what may stand in it.
    pub(super) fn shape(self) -> (&'static str, Shape) {
        match self {
            File::Company => ("Company file", CompanyKeys::shape()),
            File::Job => ("Job file", JobKeys::shape()),
            File::Contract => ("Contract file", ContractKeys::shape()),
            File::Log => ("Service log", LogKeys::shape()),
        }
    }

    /// Its JSON Schema.
    pub(super) fn schema(self) -> Value {
        let (title, shape) = self.shape();
        shape.schema(title)
    }

    /// What it is called on the command line.
    pub(super) fn word(self) -> &'static str {
        match self {
            File::Company => "company",
            File::Job => "job",
            File::Contract => "contract",
            File::Log => "log",
        }
    }
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        if let Some(folder) = &self.man {
            output::check_output_folder(folder)?;
            output::files(folder, pages(&mut Arguments::command()).map_err(Failure::internal)?)?;
            return Ok(Exit::Done);
        }
        match self.topic {
            None => {
                for topic in Topic::value_variants().iter().filter_map(Topic::to_possible_value) {
                    let help = topic.get_help().map(ToString::to_string).unwrap_or_default();
                    output::line(format_args!("{:12}{help}", topic.get_name()));
                }
            }
            Some(topic) => {
                if let Some(file) = topic.file() {
                    let (title, shape) = file.shape();
                    let line = "=".repeat(title.len());
                    output::text(&format!("{}\n{line}\n\n{}\n\n", title.to_uppercase(), shape.manual().trim_end()));
                }
                output::text(topic.text());
            }
        }
        Ok(Exit::Done)
    }
}

/// The man pages of all commands, by the names of their files: `decant.1`, `decant-render.1`, `decant-new-log.1`.
fn pages(command: &mut Command) -> io::Result<Vec<(String, Vec<u8>)>> {
    fn add(command: &Command, pages: &mut Vec<(String, Vec<u8>)>) -> io::Result<()> {
        let name = command.get_display_name().unwrap_or_else(|| command.get_name()).to_owned();
        let mut page = Vec::new();
        clap_mangen::Man::new(command.clone()).render(&mut page)?;
        pages.push((format!("{name}.1"), page));
        command
            .get_subcommands()
            .filter(|command| command.get_name() != "help")
            .try_for_each(|command| add(command, pages))
    }
    // gives each command its full name
    command.build();
    let mut pages = Vec::new();
    add(command, &mut pages)?;
    Ok(pages)
}
