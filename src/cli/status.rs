//! `decant status`: what needs doing in a contract.

use std::path::PathBuf;

use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};

use super::dates::DateArgs;
use super::options::tongue;
use super::output::{self, Exit};
use crate::app::{Context, Dates, Failure, Status};
use crate::company::Tongue;
use crate::engine::Ink;

/// Say what needs doing: tonight's visits, logs that are missing, certificates that are ready, withheld, mailed or refused
#[derive(Debug, clap::Args)]
#[command(
    group(clap::ArgGroup::new("days").required(true).multiple(true).args(["on", "from", "to"])),
    after_help = "Example:\n  decant status contract.yaml --on 2026-04-13\n  decant status contract.yaml --from 2026-04-01 --to 2026-04-30 --page april.html\n\nLooks at what `decant batch CONTRACT -o out` made, and changes nothing. With `--on` that day is\ntoday, and all that was due until then is looked at; only a count is given of what was mailed."
)]
pub(super) struct Args {
    /// The contract
    contract: PathBuf,
    /// Folder that `decant batch` wrote into [default: `out` beside the contract]
    #[arg(long, value_name = "DIR")]
    documents: Option<PathBuf>,
    #[command(flatten)]
    dates: DateArgs,
    /// As JSON
    #[arg(long)]
    json: bool,
    /// Also as a page, in HTML
    #[arg(long, value_name = "FILE")]
    page: Option<PathBuf>,
    /// The page in this language: `en`, `es`, `fr`, or a language file [default: en]
    #[arg(long, value_name = "TAG", value_parser = tongue)]
    language: Option<Tongue>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        let context = Context::new(Ink::Color, self.language.as_ref());
        let documents = self.documents.clone().unwrap_or_else(|| self.contract.with_file_name("out"));
        let whole = self.dates.on.is_some();
        let today = match self.dates.on {
            Some(day) => day,
            // where the site is nobody says: no log is missed before the day is over everywhere
            None => TimeZone::UTC.to_datetime(Timestamp::now().saturating_sub(12.hours()).unwrap_or_default()).date(),
        };
        let dates = if whole { Dates { from: None, to: Some(today) } } else { self.dates.dates() };
        let status = Status::of(&self.contract, &documents, dates, today, &context)?;
        if let Some(file) = &self.page {
            output::check_output_named(file, "html", "a page for a browser is written")?;
            output::file(file, status.page(&context)?.as_bytes())?;
        }
        if self.json {
            output::json(&serde_json::to_string_pretty(&status).map_err(Failure::internal)?);
            return Ok(Exit::Done);
        }
        output::line(format_args!("{}, {}", status.contract, status.today));
        for (stands, visits) in status.sections() {
            output::line(format_args!("{}: {}", stands.heading(), visits.len()));
            // who asks what is due does not ask for all that was done
            let is_done = whole && stands == crate::app::Stands::Mailed;
            for visit in visits.iter().filter(|_| !is_done) {
                let start = visit.start.replace('T', " ");
                output::line(format_args!("  {start}  {}  {}  {}", visit.job, visit.van, visit.site));
                visit.why.iter().for_each(|why| output::line(format_args!("      {why}")));
            }
        }
        Ok(Exit::Done)
    }
}
