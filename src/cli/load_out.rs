//! `decant load-out`: what must be on the van for some visits.

use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::jobs::{plan_all, print};
use super::options::tongue;
use super::output::{self, Exit};
use crate::app::{Context, Failure, Planned, van_view};
use crate::company::Tongue;
use crate::document::Van;
use crate::engine::Ink;

/// Make the load-out of some visits: what must be on the van, in whole containers
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant load-out mon-1.yaml mon-2.yaml -o monday.pdf --van north\n\nName the jobs in the order of the route. `decant batch CONTRACT` makes one for each van and day."
)]
pub(super) struct Args {
    /// The job files, all of one company file
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    /// PDF to write, `-` for standard output
    #[arg(short, long, value_name = "FILE", required_unless_present = "json", conflicts_with = "json")]
    output: Option<PathBuf>,
    /// No PDF: what is on it as JSON, as `load-out.typ` is given it
    #[arg(long)]
    json: bool,
    /// What the van or route is called
    #[arg(long, value_name = "NAME")]
    van: Option<String>,
    /// In this language: `en`, `es`, `fr`, or a language file [default: as the first job or company file says of mix sheets]
    #[arg(long, value_name = "TAG", value_parser = tongue)]
    language: Option<Tongue>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        self.output.as_deref().map_or(Ok(()), output::check_output)?;
        let context = Context::new(Ink::Color, self.language.as_ref());
        let jobs = plan_all(&self.jobs, &context, |_, job, before| other_company(job, before).into_iter().collect());
        let Some(jobs) = jobs else { return Ok(Exit::BadInput) };
        let Some(leading) = jobs.first() else { return Ok(Exit::BadInput) };
        // lots are compared with the first day: one that ends in between is named with its last day
        let day: Date = jobs.iter().map(|p| p.plan.start.date()).min().unwrap_or(leading.plan.start.date());
        let file = self.output.as_deref();
        let stem = file.and_then(Path::file_stem).unwrap_or_default().to_string_lossy().into_owned();
        let van = Van { name: self.van.as_deref(), day, stem: &stem };
        let view = van_view(&van, &jobs, &context)?;
        let Some(file) = file else {
            output::json(&serde_json::to_string_pretty(&view.data).map_err(Failure::internal)?);
            return Ok(Exit::Done);
        };
        let numbers: Vec<&str> = jobs.iter().map(|p| p.record.number.as_str()).collect();
        let ident = format!("load-out/{}", numbers.join("+"));
        let pdf = print(leading, &view, &ident, &context)?;
        output::file(file, &pdf)?;
        Ok(Exit::Done)
    }
}

fn other_company(job: &Planned, before: &[Planned]) -> Option<Failure> {
    let digest = |planned: &Planned| planned.company().source.digest();
    let first = before.first()?;
    let is_first_other = digest(job) != digest(first) && before.iter().all(|other| digest(other) == digest(first));
    is_first_other.then(|| {
        Failure::error(format_args!(
            "the jobs `{}` and `{}` are of two company files, which may mean two things by one product's key",
            first.plan.job, job.plan.job
        ))
    })
}
