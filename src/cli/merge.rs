//! `decant merge`: the manifests and summaries of shards joined.

use std::path::PathBuf;

use super::batch::{print_labels, table};
use super::output::{self, Exit};
use crate::app::Failure;
use crate::batch::merge;

/// Join the manifests and summaries of all shards of a batch
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant merge shard-1 shard-2 -o all\n\nA shard or job that is missing, or there twice, is an error. The documents stay where they are."
)]
pub(super) struct Args {
    /// Folders that the shards were written into
    #[arg(required = true, value_name = "DIR")]
    folders: Vec<PathBuf>,
    /// Folder to write `manifest.json` and `summary.csv` into
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,
    /// Then print the labels of all jobs in one run, `DIR/labels-STOCK.pdf`; the job files must be where the shards had them
    #[arg(long)]
    print_run: bool,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        output::check_output_folder(&self.output)?;
        let merged = match merge(&self.folders, &self.output) {
            Ok(merged) => merged,
            Err(problems) => {
                problems.iter().for_each(|problem| output::say(format_args!("error: {}", problem.message)));
                let is_unwritten = problems.iter().any(|problem| problem.unwritten);
                return Ok(if is_unwritten { Exit::SomeFailed } else { Exit::BadInput });
            }
        };
        output::block(&table(&merged.manifest.totals));
        merged.written.iter().for_each(|path| output::line(path.display()));
        let made = merged.manifest.jobs.iter();
        let made = made.filter(|job| self.print_run && job.kind == "visit" && job.state != "failed");
        let jobs: Vec<PathBuf> = made.map(|job| PathBuf::from(&job.file)).collect();
        let printed = print_labels(&jobs, &self.output, None);
        Ok(if merged.manifest.totals.failed > 0 { Exit::SomeFailed.max(printed) } else { printed })
    }
}
