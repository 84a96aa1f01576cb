//! `decant key`: makes the key that signs the firm's records.

use std::path::Path;

use super::Exit;
use super::prepare::tell;
use crate::catalog::CompanyFile;
use crate::record::SigningKey;
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
                eprintln!("error: {} names no `signing_key`", company.display());
                eprintln!("  = write `signing_key: company.key` into it; the key will lie beside it");
                return Exit::BadInput;
            };
            file
        }
        (None, None) => {
            eprintln!("error: where to? give `--company FILE` or `--output FILE`");
            return Exit::BadInput;
        }
    };
    match SigningKey::make(&file) {
        Ok((public, beside)) => {
            println!("{}", file.display());
            println!("{}", beside.display());
            println!("{public}");
            eprintln!(
                "Keep {} from everybody else, with a copy in a safe place.",
                file.display()
            );
            eprintln!("Give {} to whoever is to verify your records.", beside.display());
            Exit::Done
        }
        Err(error) => {
            eprintln!("error: {error}");
            Exit::BadInput
        }
    }
}
