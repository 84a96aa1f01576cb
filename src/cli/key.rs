//! `decant key`: makes the key that signs the firm's records.

use std::path::Path;

use super::prepare::tell;
use super::{Exit, Refusal, output, target};
use crate::catalog::CompanyFile;
use crate::record::{KeyError, SigningKey};
use crate::report::Report;

/// Makes a key at `output`, or where the company file says. The secret half is never printed.
pub(super) fn run(company: Option<&Path>, output: Option<&Path>) -> Exit {
    let file = match (company, output) {
        (_, Some(output)) => output.to_owned(),
        (Some(company), None) => {
            let mut report = Report::new();
            let read = CompanyFile::read(company, &mut report);
            let Some(catalog) = read.filter(|_| !report.has_errors()) else {
                tell(&report);
                return Exit::BadInput;
            };
            let Some((file, _)) = catalog.signing_key else {
                return Refusal::error(format_args!("{} names no `signing_key`", company.display()))
                    .hint("write `signing_key: company.key` into it; the key will lie beside it")
                    .tell();
            };
            file
        }
        (None, None) => {
            return Refusal::error("where to? give `--company FILE` or `--output FILE`").tell();
        }
    };
    if let Err(refusal) = target::new_file(&file) {
        return refusal.tell();
    }
    match SigningKey::make(&file) {
        Ok((public, beside)) => {
            output::line(file.display());
            output::line(beside.display());
            output::line(public);
            output::say(format_args!("Keep {} from everybody else, with a copy in a safe place.", file.display()));
            output::say(format_args!("Give {} to whoever is to verify your records.", beside.display()));
            Exit::Done
        }
        // what is no fault of the call: the disk's
        Err(KeyError::File { file, error }) => Refusal::unwritten(&file, &error).tell(),
        Err(error) => Refusal::error(error).tell(),
    }
}
