//! `decant key`: makes the key that signs the firm's records.

use std::path::PathBuf;

use super::output::{self, Exit};
use crate::app::{Context, Failure, valid};
use crate::diagnostic::Diagnostics;
use crate::record::{KeyError, SigningKey};

/// Make the key that signs the firm's records
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant key --company company.yaml\n\nThe key's file is for its owner alone and is never printed or written over. The public\nkey lies beside it, in FILE.pub, and is printed."
)]
pub(super) struct Args {
    /// The company file that names it as `signing_key`
    #[arg(long, value_name = "FILE", required_unless_present = "output")]
    company: Option<PathBuf>,
    /// File to write
    #[arg(short, long, value_name = "FILE", conflicts_with = "company")]
    output: Option<PathBuf>,
}

impl Args {
    /// The secret half is never printed.
    pub fn run(&self) -> Result<Exit, Failure> {
        let file = self.file()?;
        // what is there already is refused where it would be written
        if file.symlink_metadata().is_err() {
            output::check_output_file(&file)?;
        }
        let (public, beside) = SigningKey::make(&file).map_err(|error| match error {
            KeyError::File { file, error } => Failure::unwritten(&file, &error),
            error => Failure::error(error),
        })?;
        output::line(file.display());
        output::line(beside.display());
        output::line(public);
        output::say(format_args!("Keep {} from everybody else, with a copy in a safe place.", file.display()));
        output::say(format_args!("Give {} to whoever is to verify your records.", beside.display()));
        Ok(Exit::Done)
    }

    fn file(&self) -> Result<PathBuf, Failure> {
        let company = match (&self.company, &self.output) {
            (_, Some(output)) => return Ok(output.clone()),
            (Some(company), None) => company,
            (None, None) => return Err(Failure::error("where to? give `--company FILE` or `--output FILE`")),
        };
        let mut report = Diagnostics::new();
        let read = Context::default().company(company, &mut report);
        let signing_key = valid(read, &report)?.signing_key.clone();
        signing_key.map(|(file, _)| file).ok_or_else(|| {
            Failure::error(format_args!("{} names no `signing_key`", company.display()))
                .hint("write `signing_key: company.key` into it; the key will lie beside it")
        })
    }
}
