//! What is said of jobs on the way to their documents.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::output;
use crate::app::{Context, Documents, Failure, Planned, job_words, label_notes, pdf, plan_file};
use crate::document::{View, urgent_cautions};
use crate::plan::Severity;

/// Reads and plans a job, and says why its log cannot be used, for a command that does not need it.
pub(super) fn plan_one(file: &Path, context: &Context) -> Result<Planned, Failure> {
    let planned = plan_file(file, context)?;
    if let Some(trouble) = planned.log_trouble() {
        output::block(&trouble);
    }
    Ok(planned)
}

/// Says what of the plan nobody reads on a page, or must know before using one; the rest in one line.
pub(super) fn cautions(planned: &Planned, context: &Context) -> Result<(), Failure> {
    let words = job_words(&planned.job, context)?.terminal;
    let urgent = urgent_cautions(&planned.voice(&words))?;
    urgent.iter().for_each(output::say);
    let more: BTreeSet<&str> = planned
        .plan
        .cautions
        .iter()
        .filter(|caution| caution.severity != Severity::Note && !caution.concerns_labels())
        .map(|caution| caution.code)
        .collect();
    if !more.is_empty() {
        let codes = more.into_iter().collect::<Vec<_>>().join(", ");
        output::say(format_args!("note: cautions on the mix sheet, which `decant plan` shows: {codes}"));
    }
    Ok(())
}

/// A document in PDF that has a job's firm and date; says what was left off for want of room.
pub(super) fn print(planned: &Planned, view: &View, ident: &str, context: &Context) -> Result<Vec<u8>, Failure> {
    let typeset = planned.lay_out(view, ident, context)?;
    label_notes(view, &typeset).iter().for_each(|note| output::note(note));
    pdf(view, &typeset)
}

/// Plans all jobs, and says what is wrong with each; `None` if anything is. `check` compares a job with those before it.
pub(super) fn plan_all(
    files: &[PathBuf],
    context: &Context,
    check: impl Fn(&Path, &Planned, &[Planned]) -> Vec<Failure>,
) -> Option<Vec<Planned>> {
    let mut all: Vec<Planned> = Vec::new();
    let mut failures = BTreeSet::new();
    let mut is_sound = true;
    for file in files {
        match plan_one(file, context) {
            Ok(planned) => {
                let found = check(file, &planned, &all);
                is_sound &= found.is_empty();
                found.iter().for_each(|failure| {
                    output::failure(failure);
                });
                all.push(planned);
            }
            Err(failure) => {
                // what is wrong with the company file alone is the same for every job
                if failures.insert(failure.text(false)) {
                    output::failure(&failure);
                }
                is_sound = false;
            }
        }
    }
    is_sound.then_some(all)
}

/// Says why there is no certificate; whether there is none.
pub(super) fn no_certificate(documents: &Documents) -> bool {
    if documents.not_made {
        output::say("The visit was not made, so there is no certificate of service.");
        output::say("`--only notice` makes a notice that says so, with the reasons in the log.");
    } else if !documents.withheld.is_empty() {
        output::say("The certificate is withheld:");
        documents.withheld.iter().for_each(|line| output::say(format_args!("  - {line}")));
        output::say("`--draft` makes one that says DRAFT across the page.");
    }
    !documents.withheld.is_empty()
}
