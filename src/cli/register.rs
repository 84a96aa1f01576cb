//! `decant register`: what many records say together, as CSV and PDF.

use std::path::PathBuf;

use super::dates::DateArgs;
use super::options::tongue;
use super::output::{self, Exit};
use crate::app::{Context, Failure, register};
use crate::company::Tongue;
use crate::engine::Ink;

/// Add up many records: product used by site, month and product, and strip readings over time
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant register 2026/records -o 2026/register\n\nReads every `…-record.json` in the folder and below. Writes register.csv,\nregister-readings.csv and register.pdf."
)]
pub(super) struct Args {
    /// Folders of records, or contracts
    #[arg(required = true, value_name = "FOLDER")]
    folders: Vec<PathBuf>,
    /// Folder to write into
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,
    /// Print in this language: `en`, `es`, `fr`, or a language file [default: en]
    #[arg(long, value_name = "TAG", value_parser = tongue)]
    language: Option<Tongue>,
    #[command(flatten)]
    dates: DateArgs,
    /// Folder that `decant batch` wrote into, for the records of a contract [default: `out` beside it]
    #[arg(long, value_name = "DIR")]
    documents: Option<PathBuf>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        output::check_output_folder(&self.output)?;
        let context = Context::new(Ink::Color, self.language.as_ref());
        let files = register(&self.folders, self.documents.as_deref(), self.dates.dates(), &context)?;
        output::files(&self.output, files)?;
        Ok(Exit::Done)
    }
}
