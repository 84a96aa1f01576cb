//! `decant watch`: renders a job again whenever one of its files is saved.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant, SystemTime};

use super::output::{self, Exit};
use super::render;
use crate::app::{Failure, named_files};
use crate::input::{STDIN, why};

/// Render a job again whenever it, its company file or its log is saved
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant watch job.yaml -o proof --only mix-sheet\n\nTakes the options of `decant render`. A page stays as it was while a file has an error. Ctrl+C ends it."
)]
pub(super) struct Args {
    #[command(flatten)]
    render: render::Args,
}

/// How often files are looked at. A look is a handful of calls of the system.
const EVERY: Duration = Duration::from_millis(50);

/// What a file looks like from outside; `None` where it is not there.
type Seen = BTreeMap<PathBuf, Option<(SystemTime, u64)>>;

impl Args {
    /// Runs until it is stopped. What was read of a company file is kept while that file and its own stay as they are: most saves are
    /// of the job, and the fonts and templates are ready then.
    pub fn run(&self) -> Result<Exit, Failure> {
        let job = &self.render.job;
        if job == Path::new(STDIN) {
            return Err(Failure::error("standard input cannot be watched").hint("name the job file"));
        }
        if let Err(error) = fs::metadata(job) {
            let failure = Failure::error(format_args!("cannot read the file `{}`: {}", job.display(), why(&error)));
            return Err(failure.hint("check the name"));
        }
        let mut context = self.render.context();
        let mut made = render::Made::default();
        let mut seen = look(job);
        loop {
            let began = Instant::now();
            output::begin_again();
            match self.render.make(&context, Some(&made)) {
                Ok(_) => output::say(format_args!(
                    "note: made in {:.2} s; waiting for changes",
                    began.elapsed().as_secs_f64()
                )),
                Err(failure) => {
                    output::failure(&failure);
                    output::say("note: the pages stay as they were; waiting for changes");
                }
            }
            let changed = wait(job, &mut seen);
            let job_alone = changed.iter().all(|path| path == job || is_log(path));
            if !job_alone {
                context = self.render.context();
                made = render::Made::default();
            }
        }
    }
}

/// Whether a file is read for each job: nothing is kept of it.
fn is_log(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending == "csv" || ending == "xlsx")
}

fn look(job: &Path) -> Seen {
    named_files(job)
        .into_iter()
        .map(|path| {
            let state = state(&path);
            (path, state)
        })
        .collect()
}

fn state(path: &Path) -> Option<(SystemTime, u64)> {
    let meta = fs::metadata(path).ok()?;
    Some((meta.modified().ok()?, meta.len()))
}

/// Waits until a file looks otherwise, and until it has looked the same twice: an editor may still be writing it.
fn wait(job: &Path, seen: &mut Seen) -> Vec<PathBuf> {
    let states = |seen: &Seen| -> Vec<PathBuf> {
        seen.iter().filter(|(path, then)| state(path) != **then).map(|(path, _)| path.clone()).collect()
    };
    let mut changed = states(seen);
    while changed.is_empty() {
        sleep(EVERY);
        changed = states(seen);
    }
    let mut now = look(job);
    loop {
        sleep(EVERY / 5);
        let next = look(job);
        if next == now {
            break;
        }
        now = next;
    }
    changed.extend(now.keys().filter(|path| !seen.contains_key(*path)).cloned());
    *seen = now;
    changed
}
