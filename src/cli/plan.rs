//! `decant plan`: every number of a job.

use std::path::Path;

use super::languages::spoken;
use super::prepare::{caution_of_log, prepare};
use super::shelf::Shelf;
use super::{Exit, Refusal, output};
use crate::catalog::Tongue;
use crate::document::{Voice, summary};
use crate::quantity::Printer;

pub(super) fn run(job: &Path, json: bool, language: Option<&Tongue>) -> Exit {
    let shelf = Shelf::default();
    let prepared = match prepare(job, &shelf) {
        Ok(prepared) => prepared,
        Err(refusal) => return refusal.tell(),
    };
    caution_of_log(&prepared);
    let text = if json {
        serde_json::to_string_pretty(&prepared.plan).map_err(|e| e.to_string())
    } else {
        let words = match spoken(&prepared.job, language, &shelf) {
            Ok(spoken) => spoken.terminal,
            Err(refusal) => return refusal.tell(),
        };
        let voice = Voice {
            words: &words,
            units: Printer::new(prepared.job.catalog.units).with(words.notation()),
            plan: &prepared.plan,
            record: &prepared.record,
        };
        summary(&voice).map_err(|e| e.to_string())
    };
    match text {
        Ok(text) if json => {
            output::json(&text);
            Exit::Done
        }
        Ok(text) => print(&text),
        Err(fault) => own_fault(&fault),
    }
}

/// Data on stdout.
pub(super) fn print(text: &str) -> Exit {
    output::text(text);
    Exit::Done
}

pub(super) fn own_fault(fault: &str) -> Exit {
    Refusal::own_fault(fault).tell()
}
