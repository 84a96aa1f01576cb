//! `decant plan`: every number of a job.

use std::path::PathBuf;

use super::jobs::plan_one;
use super::options::tongue;
use super::output::{self, Exit};
use crate::app::{Context, Failure, job_words};
use crate::company::Tongue;
use crate::document::summary;
use crate::engine::Ink;

/// Show every number of a job, with its unit, and the cautions
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant plan samples/ferry-terminal/job.yaml\n  decant plan samples/ferry-terminal/job.yaml --json > plan.json"
)]
pub(super) struct Args {
    /// The job file
    job: PathBuf,
    /// Print the plan as JSON at full precision
    #[arg(long)]
    json: bool,
    /// Print in this language: `en`, `es`, `fr`, or a language file [default: the company's]
    #[arg(long, value_name = "TAG", value_parser = tongue, conflicts_with = "json")]
    language: Option<Tongue>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        let context = Context::new(Ink::Colour, self.language.as_ref());
        let planned = plan_one(&self.job, &context)?;
        if self.json {
            output::json(&serde_json::to_string_pretty(&planned.plan).map_err(Failure::internal)?);
        } else {
            let words = job_words(&planned.job, &context)?.terminal;
            output::text(&summary(&planned.voice(&words))?);
        }
        Ok(Exit::Done)
    }
}
