//! `decant page`: the page behind the printed code, for any static host.

use std::fs;
use std::path::{Path, PathBuf};

use super::dates::DateArgs;
use super::output::{self, Exit};
use crate::app::{Context, Failure, Publishing, chosen};

/// Make the public page that the printed code leads to, and the index of pages, for any static host
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant page samples/ferry-terminal/job.yaml -o site\n\nPut what is in the folder where the record link leads. `publish` in the company file says\nwhat may stand there; what is not allowed is left out. Prints the paths written."
)]
pub(super) struct Args {
    /// Job files, folders of them, or contracts
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    /// Folder of the pages; those of earlier runs stay
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,
    #[command(flatten)]
    dates: DateArgs,
    /// Folder that the certificates are taken from, where they are published [default: `out` beside each job file or contract]
    #[arg(long, value_name = "DIR")]
    documents: Option<PathBuf>,
}

impl Args {
    /// Everything is made before anything is written.
    pub fn run(&self) -> Result<Exit, Failure> {
        output::check_output_folder(&self.output)?;
        let chosen = chosen(&self.jobs, self.documents.as_deref(), self.dates.dates())?;
        let publishing =
            Publishing { jobs: &chosen.jobs, folder: &self.output, documents: chosen.documents.as_deref() };
        let mut notes = Vec::new();
        let made = publishing.make(&Context::default(), &mut notes);
        notes.iter().for_each(output::say);
        let made = made?;
        output::files(Path::new(""), made.files)?;
        if let Some(list) = made.without_list {
            // what the firm no longer publishes does not stay
            fs::remove_file(&list).map_err(|e| Failure::unwritten(&list, &e))?;
        }
        for file in made.withdrawn.iter().filter(|file| fs::remove_file(file).is_err()) {
            output::say(format_args!("warning: {} is public still, and could not be removed", file.display()));
        }
        Ok(Exit::Done)
    }
}
