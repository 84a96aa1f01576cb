//! `decant expand`: a contract's visits as job files.

use std::collections::BTreeMap;
use std::path::PathBuf;

use super::output::{self, Exit};
use crate::app::{Failure, JobFolder, There, past, read_checked};
use crate::diagnostic::Diagnostics;

/// Write the visits of a contract as job files
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant expand samples/harbour-contract/contract.yaml -o jobs\n\nPrints the paths, one a line, in the order of the visits."
)]
pub(super) struct Args {
    /// The contract file
    contract: PathBuf,
    /// Folder to write into
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,
    /// Write anew also those files that are there and differ
    #[arg(long)]
    replace: bool,
    /// Remove job files of this contract that no visit has any more, if nobody has changed them
    #[arg(long)]
    remove_stale: bool,
}

impl Args {
    /// Nothing is written while anything is wrong; a file that is there and differs is left alone, and so are all others, unless
    /// `--replace` is given.
    pub fn run(&self) -> Result<Exit, Failure> {
        output::check_output_folder(&self.output)?;
        let mut report = Diagnostics::new();
        let contract = read_checked(&self.contract, &past(&self.output), &mut report)?;
        output::block(&report.to_string());
        let folder = JobFolder::of(contract, &self.output)?;
        folder.unused_logs().0.iter().for_each(|problem| output::block(problem));
        folder.differing().iter().for_each(|line| output::say(format_args!("warning: {line}")));
        let differs = folder.jobs.iter().filter(|file| matches!(file.there, There::Earlier | There::ByHand));
        let differs: Vec<String> = differs.map(|file| format!("  {}", file.path.display())).collect();
        if !self.replace && !differs.is_empty() {
            let why = "these files are there and differ from the contract; nothing was written";
            let hint = "if nothing in them was written by hand, --replace writes them anew";
            return Err(Failure::error(why).lines(differs).hint(hint));
        }
        let mut exit = Exit::Done;
        for file in &folder.jobs {
            match file.write() {
                Ok(()) => output::line(file.path.display()),
                Err(failure) => exit = output::failure(&failure),
            }
        }
        remove_stale(&folder, self.remove_stale);
        visits_of_sites(&folder);
        Ok(exit)
    }
}

/// Says how many visits each site has: a rule that was not meant so shows here.
fn visits_of_sites(folder: &JobFolder) {
    let mut sites: BTreeMap<&str, usize> = BTreeMap::new();
    for file in &folder.jobs {
        *sites.entry(&file.job.site).or_default() += 1;
    }
    let counts: Vec<String> = sites
        .into_iter()
        .map(|(site, count)| format!("{site}: {count} {}", if count == 1 { "visit" } else { "visits" }))
        .collect();
    output::names("Visits of each site:", &counts, " sites");
}

/// Says what no longer belongs, and removes what nobody has changed if that is asked for.
pub(super) fn remove_stale(folder: &JobFolder, remove: bool) {
    let (removed, left) = folder.remove_stale(remove);
    output::names("Job files removed, since no visit of the contract has them any more:", &removed, "");
    output::names(
        "Job files that no visit of the contract has any more; `--remove-stale` removes those that nobody changed:",
        &left,
        "",
    );
}
