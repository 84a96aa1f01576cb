//! `decant plan`: every number of a job.

use std::path::PathBuf;

use super::jobs::plan_one;
use super::options::tongue;
use super::output::{self, Exit};
use crate::app::{Context, Failure, Planned, job_words};
use crate::company::Tongue;
use crate::document::summary;
use crate::engine::Ink;

/// Show every number of a job, with its unit, and the cautions
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant plan samples/ferry-terminal/job.yaml\n  decant plan samples/ferry-terminal/job.yaml --json > plan.json"
)]
pub(super) struct Args {
    /// The job files; `-` is standard input
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    /// Print the plan as JSON at full precision; of several jobs a list of plans
    #[arg(long)]
    json: bool,
    /// Print in this language: `en`, `es`, `fr`, or a language file [default: the company's]
    #[arg(long, value_name = "TAG", value_parser = tongue, conflicts_with = "json")]
    language: Option<Tongue>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        let context = Context::new(Ink::Color, self.language.as_ref());
        if let [job] = self.jobs.as_slice() {
            let planned = plan_one(job, &context)?;
            if self.json {
                output::json(&serde_json::to_string_pretty(&planned.plan).map_err(Failure::internal)?);
            } else {
                print(&planned, &context)?;
            }
            return Ok(Exit::Done);
        }
        // one bad job does not stop the others
        let mut plans = Vec::new();
        for job in &self.jobs {
            match plan_one(job, &context) {
                Ok(planned) if self.json => plans.push(planned.plan),
                Ok(planned) => {
                    if !plans.is_empty() {
                        output::line("");
                    }
                    print(&planned, &context)?;
                    plans.push(planned.plan);
                }
                Err(failure) => {
                    output::failure(&failure);
                }
            }
        }
        if self.json {
            output::json(&serde_json::to_string_pretty(&plans).map_err(Failure::internal)?);
        }
        Ok(Exit::of(plans.len(), self.jobs.len() - plans.len()))
    }
}

fn print(planned: &Planned, context: &Context) -> Result<(), Failure> {
    let words = job_words(&planned.job, context)?.terminal;
    output::page(&summary(&planned.voice(&words))?);
    Ok(())
}
