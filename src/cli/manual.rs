//! `decant manual`: the keys of the files that users write.

use clap::ValueEnum;

use super::output::{self, Exit};
use crate::app::Failure;
use crate::catalog::CompanyKeys;
use crate::job::{JobKeys, LogKeys};
use crate::yaml::{Declared, Shape};

/// Describe the keys of the files that you write
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  decant manual company")]
pub(super) struct Args {
    /// Which file [default: all]
    #[arg(value_enum)]
    file: Option<File>,
}

/// Files that users write and whose keys are declared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum File {
    /// Who we are and what we own
    Company,
    /// One visit to one site
    Job,
    /// What was really done: the service log
    Log,
}

impl File {
    /// Its title and what may stand in it.
    pub(super) fn shape(self) -> (&'static str, Shape) {
        match self {
            File::Company => ("Company file", CompanyKeys::shape()),
            File::Job => ("Job file", JobKeys::shape()),
            File::Log => ("Service log", LogKeys::shape()),
        }
    }
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        let wanted = File::value_variants().iter().filter(|one| self.file.is_none_or(|file| file == **one));
        for (number, file) in wanted.enumerate() {
            let (title, shape) = file.shape();
            let between = if number == 0 { "" } else { "\n\n" };
            let line = "=".repeat(title.len());
            output::text(&format!("{between}{}\n{line}\n\n{}", title.to_uppercase(), shape.manual()));
        }
        Ok(Exit::Done)
    }
}
