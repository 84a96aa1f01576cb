//! `decant new log`: the log of a job, ready to fill in.

use std::path::{Path, PathBuf};

use super::super::jobs::plan_one;
use super::super::output::{self, Exit};
use super::schema_above;
use crate::app::{Context, Failure};
use crate::document::blank_log;
use crate::spreadsheet::plain_cell;
use crate::start::{self, LogForm};
use crate::wording::Words;

/// Write the log of a job, with a line for every load and area, ready to fill in
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant new log job.yaml\n  decant new log job.yaml -o log.xlsx\n\nFill it in and name it in the job: `log: log.yaml`. `decant render` lists what is still empty."
)]
pub(super) struct Args {
    /// The job file
    job: PathBuf,
    /// File to write; its ending says the form [default: `log.yaml` beside the job]
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// The form, where the file's name does not say
    #[arg(long, value_enum)]
    format: Option<LogForm>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        let named = self.output.as_ref().and_then(|path| form_of(path));
        let form = match (self.format, named) {
            (Some(format), Some(named)) if format != named => {
                return Err(Failure::error("the file's name and --format say two different forms"));
            }
            (format, named) => format.or(named).unwrap_or(LogForm::Yaml),
        };
        let beside = self.job.parent().unwrap_or(Path::new(""));
        let path = self.output.clone().unwrap_or_else(|| beside.join(format!("log.{}", form.ending())));
        if form_of(&path) != Some(form) {
            let why =
                format_args!("a log's file ends in .yaml, .csv or .xlsx: {} does not say what it is", path.display());
            return Err(Failure::error(why));
        }
        let context = Context::default();
        let planned = plan_one(&self.job, &context)?;
        let words = Words::english()?;
        let log = blank_log(&planned.voice(&words), &planned.job)?;
        let formula = log.treatments.iter().flat_map(|t| &t.areas).find(|area| plain_cell(area) != **area);
        if let Some(area) = formula.filter(|_| form == LogForm::Csv) {
            let why = format_args!("a spreadsheet would take the area `{area}` for a formula");
            return Err(Failure::error(why).hint("write the log as YAML or XLSX"));
        }
        let schema = schema_above(&path, "log");
        let bytes = start::blank_log(&log, form, schema.as_deref()).map_err(Failure::internal)?;
        output::new_files(&[(path.clone(), bytes)])?;
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        output::say(format_args!("Once it is filled in, name it in {}: `log: {name}`", self.job.display()));
        if form != LogForm::Yaml {
            output::say(
                "A row `check` is a spot that somebody watched: spot, wetted and seen_wet; more of them are more",
            );
            output::say("rows. For what was not as planned add a row `deviation` with deviation and reason.");
        }
        Ok(Exit::Done)
    }
}

fn form_of(path: &Path) -> Option<LogForm> {
    let ending = path.extension()?.to_string_lossy().to_ascii_lowercase();
    match ending.as_str() {
        "yaml" | "yml" => Some(LogForm::Yaml),
        "csv" => Some(LogForm::Csv),
        "xlsx" => Some(LogForm::Xlsx),
        _ => None,
    }
}
