//! `decant service-report`: what became of the visits of contracts, or of job files.

use std::path::PathBuf;

use super::dates::DateArgs;
use super::jobs::print;
use super::options::tongue;
use super::output::{self, Exit};
use crate::app::{Context, Failure, Inputs, gather};
use crate::company::Tongue;
use crate::engine::Ink;

/// Say what became of the visits of a contract: sites and visits, readings against their bands, product used
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant service-report contract.yaml -o report\n  decant service-report jobs -o report\n\nWrites a PDF and, as CSV, its visits, readings and products. `decant batch CONTRACT` makes the same."
)]
pub(super) struct Args {
    /// Job files, folders of them, or contracts
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    /// Folder to write into; a contract's job files go into `jobs` in it
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,
    /// In this language: `en`, `es`, `fr`, or a language file [default: as the first job or company file says of certificates]
    #[arg(long, value_name = "TAG", value_parser = tongue)]
    language: Option<Tongue>,
    #[command(flatten)]
    dates: DateArgs,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        output::check_output_folder(&self.output)?;
        let mut warnings = Vec::new();
        let inputs = Inputs::find(&self.jobs, &self.output, false, &mut warnings);
        warnings.iter().for_each(|warning| output::block(warning));
        let mut inputs = inputs?;
        inputs.retain(self.dates.dates());
        let number = match inputs.contracts.as_slice() {
            [one] => Some(one.contract.number.as_str()),
            _ => None,
        };
        let stem = number.map_or("service-report".to_owned(), |number| format!("{number}-service-report"));
        let context = Context::new(Ink::Color, self.language.as_ref());
        let report = gather(&inputs.files, &|_| None, number, &stem, &context)?;
        let pdf = print(&report.leading, &report.view, &stem, &context)?;
        output::files(&self.output, [(format!("{stem}.pdf"), pdf)])?;
        output::files(&self.output, report.tables)?;
        Ok(Exit::Done)
    }
}
