//! `decant calendar`: a contract's visits for a calendar.

use std::path::PathBuf;

use super::dates::DateArgs;
use super::output::{self, Exit};
use crate::app::{Failure, calendar};

/// Write the visits of a contract as a calendar (iCalendar, RFC 5545) that a crew can subscribe to
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant calendar contract.yaml -o visits.ics\n  decant calendar contract.yaml --crew okafor -o okafor.ics\n\nPut the file where a calendar can fetch it. A visit that is moved is the same event at another\ntime; times are those that the clocks at the site show."
)]
pub(super) struct Args {
    /// The contract
    contract: PathBuf,
    /// File to write
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Only what this member of the crew does, by the key in the company file
    #[arg(long, value_name = "KEY")]
    crew: Option<String>,
    /// Only visits of this route
    #[arg(long, value_name = "KEY")]
    route: Option<String>,
    #[command(flatten)]
    dates: DateArgs,
    /// Folder that `decant batch` wrote into: visits that were made stay where they were made [default: `out` beside the contract]
    #[arg(long, value_name = "DIR")]
    documents: Option<PathBuf>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        output::check_output_named(&self.output, "ics", "a calendar is written")?;
        let documents = self.documents.clone().unwrap_or_else(|| self.contract.with_file_name("out"));
        let dates = self.dates.dates();
        let text = calendar(&self.contract, &documents, &|day, van, crew| {
            dates.hold(day)
                && self.route.as_deref().is_none_or(|route| route == van)
                && self.crew.as_ref().is_none_or(|member| crew.contains(member))
        })?;
        if !text.contains("BEGIN:VEVENT") {
            return Err(Failure::error("no visit is to be written; look at the days, the route and the crew"));
        }
        output::file(&self.output, text.as_bytes())?;
        Ok(Exit::Done)
    }
}
