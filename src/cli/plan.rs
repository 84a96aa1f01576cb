//! `decant plan`: every number of a job.

use std::io::{self, Write};
use std::path::Path;

use super::Exit;
use super::prepare::prepare;
use crate::document::{Voice, summary};
use crate::quantity::Printer;
use crate::wording::Words;

pub(super) fn run(job: &Path, json: bool) -> Exit {
    let prepared = match prepare(job) {
        Ok(prepared) => prepared,
        Err(exit) => return exit,
    };
    let text = if json {
        serde_json::to_string_pretty(&prepared.plan).map_err(|e| e.to_string())
    } else {
        Words::english().map_err(|e| e.to_string()).and_then(|words| {
            let units = Printer::new(prepared.job.catalog.units);
            let voice = Voice {
                words: &words,
                units,
                plan: &prepared.plan,
                record: &prepared.record,
            };
            summary(&voice).map_err(|e| e.to_string())
        })
    };
    match text {
        Ok(text) => print(&text),
        Err(fault) => own_fault(&fault),
    }
}

/// Data on stdout. A reader that stops reading is no fault.
pub(super) fn print(text: &str) -> Exit {
    match writeln!(io::stdout().lock(), "{}", text.trim_end()) {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => own_fault(&e.to_string()),
        _ => Exit::Done,
    }
}

pub(super) fn own_fault(fault: &str) -> Exit {
    eprintln!("decant: {fault}\nThis is a fault of the program, not of your files. Please report it.");
    Exit::OwnFault
}
