//! `decant register`: what many records say together, as CSV and PDF.

use std::path::PathBuf;

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
    /// Folder of records
    folder: PathBuf,
    /// Folder to write into
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,
    /// Print in this language: `en`, `es`, `fr`, or a language file [default: en]
    #[arg(long, value_name = "TAG", value_parser = tongue)]
    language: Option<Tongue>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        output::check_output_folder(&self.output)?;
        output::files(&self.output, register(&self.folder, &Context::new(Ink::Colour, self.language.as_ref()))?)?;
        Ok(Exit::Done)
    }
}
