//! `decant test-print`: where a printer puts things, on a kind of label stock.

use std::path::Path;

use super::label_run::{Failure, correction, fault, set_view, unknown};
use super::plan::own_fault;
use super::prepare::tell;
use super::{Exit, Refusal, output, target};
use crate::catalog::CompanyFile;
use crate::document::test_print;
use crate::report::Report;
use crate::typeset::Press;
use crate::whole::write_whole;
use crate::wording::Words;

pub(super) fn run(stock: &str, company: &Path, named: Option<&Path>, printer: Option<&str>) -> Exit {
    let mut report = Report::new();
    let read = CompanyFile::read(company, &mut report);
    tell(&report);
    let company = match read {
        Some(company) if !report.has_errors() => company,
        _ => return Exit::BadInput,
    };
    let Some(found) = company.stock.get(stock) else {
        let keys: Vec<&str> = company.stock.keys().map(String::as_str).collect();
        return unknown("label stock", stock, &keys).tell();
    };
    let corrected = match printer.map(|key| correction(key, &company)).transpose() {
        Ok(corrected) => corrected,
        Err(refusal) => return refusal.tell(),
    };
    let words = match Words::english() {
        Ok(words) => words,
        Err(fault) => return own_fault(&fault.to_string()),
    };
    let view = match test_print(&words, stock, found, printer.zip(corrected)) {
        Ok(view) => view,
        Err(fault) => return own_fault(&fault.to_string()),
    };
    let path = match named {
        Some(path) => path.to_owned(),
        None => format!("{}.pdf", view.stem).into(),
    };
    if let Err(refusal) = target::file(&path) {
        return refusal.tell();
    }
    // the print is of no day: the date is the file format's first
    let date = jiff::civil::date(1980, 1, 1).at(0, 0, 0, 0);
    let made = set_view(&Press::new(), &view, &view.stem, date, &company).and_then(|set| set.pdf().map_err(fault));
    match made {
        Ok(bytes) => match write_whole(&path, &bytes) {
            Ok(()) => {
                output::line(path.display());
                Exit::Done
            }
            Err(e) => Refusal::unwritten(&path, &e).tell(),
        },
        Err(Failure::User(told)) => Refusal::error(format!("{}: {told}", view.stem)).tell(),
        Err(failure) => Refusal::from(failure).tell(),
    }
}
