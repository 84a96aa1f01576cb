//! `decant verify`: whether certificates and records are what they were when they were made.

use std::collections::BTreeSet;
use std::path::PathBuf;

use super::messages;
use super::output::{self, Exit};
use crate::app::{Context, Failure, certify, plan_file};
use crate::record::PublicKey;
use crate::verify::{Pages, Reference, Seen, State, compare_files, files_named, lines};

/// Say whether certificates and records are what they were, and what was altered
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant verify out/2026-0413-certificate.pdf\n  decant verify out --key company.key.pub --job job.yaml\n\nExit codes: 0 all matches, 1 something was altered, is missing or is stale, 2 a file cannot be read as a\ncertificate or record, 3 nothing altered was found and not everything could be looked at."
)]
pub(super) struct Args {
    /// Certificates (PDF), records (JSON, with the seal beside), or folders of them
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// The public key that must have signed them, as `decant key` wrote it
    #[arg(long, value_name = "FILE")]
    key: Option<PathBuf>,
    /// The job file whose plan, log and verdicts they must hold
    #[arg(long, value_name = "FILE")]
    job: Option<PathBuf>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        let reference = self.reference()?;
        let mut files = Vec::new();
        let mut known = BTreeSet::new();
        for named in &self.files {
            let found = files_named(named).map_err(Failure::error)?;
            let new = found.into_iter().filter(|file| known.insert(file.clone()));
            files.extend(new.map(|file| (file, named.is_dir())));
        }
        let mut seen = Vec::new();
        for (file, in_folder) in files {
            let found = reference.look(&file).map_err(Failure::internal)?;
            seen.push(Seen { in_folder, ..found });
        }
        let others = compare_files(&mut seen, reference.record.as_ref());
        if others > 0 {
            output::say(format_args!(
                "note: {others} of the files are of other jobs and were not compared with the job given"
            ));
        }
        lines(&seen, messages::is_verbose()).iter().for_each(output::line);
        Ok(exit(&seen))
    }

    fn reference(&self) -> Result<Reference, Failure> {
        let key = self.key.as_deref().map(PublicKey::read).transpose().map_err(Failure::error)?;
        let Some(job) = &self.job else { return Ok(Reference { key, ..Reference::default() }) };
        let context = Context::default();
        let planned = plan_file(job, &context)?;
        planned.need_log()?;
        let record = certify(&planned, false, &planned.printable(&context)?, &context)?.record;
        Ok(Reference {
            key,
            record: serde_json::from_slice(&record.json).ok(),
            among_others: true,
            as_issued: false,
            templates: Some(context.templates(planned.company())?),
            pages: Some(Pages::of(&planned.plan, &planned.record, planned.job.service_log.as_ref(), &planned.log)?),
        })
    }
}

/// What was altered, is gone or is not what stands beside it outweighs what cannot be read, and that what could not be looked at.
fn exit(seen: &[Seen]) -> Exit {
    match seen.iter().map(Seen::state).max().unwrap_or(State::Matches) {
        State::Altered | State::Missing | State::Stale => Exit::SomeFailed,
        State::Unreadable => Exit::BadInput,
        State::NotChecked | State::Unfinished => Exit::CertificateWithheld,
        State::Matches => Exit::Done,
    }
}
