//! The service report: in a batch of a contract, and as `decant service-report` over job files and contracts.

use std::path::{Path, PathBuf};

use serde_json::Value;

use super::batch_input::read_input;
use super::label_run::{fault, set_view};
use super::languages::spoken;
use super::prepare::{Prepared, prepare};
use super::shelf::Shelf;
use super::views::{Asked, views, voice};
use super::{Exit, Refusal, output, target};
use crate::catalog::Tongue;
use crate::document::{View, dress, service_report};
use crate::record::conformity;
use crate::register::{READINGS, Service, USES, VISITS, read, readings, readings_rows, uses_rows};
use crate::report::Report;
use crate::spreadsheet::table;
use crate::typeset::Ink;
use crate::whole::write_whole;

/// A report, gathered: what is said, the tables of the same, and the visit whose firm and paper are the report's.
pub(super) struct Gathered {
    pub view: View,
    pub tables: Vec<(String, Vec<u8>)>,
    pub leading: Prepared,
}

/// The visits that a report is of.
pub(super) struct Served<'a> {
    /// Job files, in order.
    pub files: &'a [PathBuf],
    /// The record that was issued of a job file, if it was.
    pub issued: &'a dyn Fn(&Path) -> Option<Value>,
}

/// Plans every job and compares it with its log; of one that was issued its record counts, whatever its files say now. A job that cannot be planned stands in the report as such; with
/// none that can there is no report. Jobs are let go one by one: only what the report says of them stays.
pub(super) fn gather(
    served: &Served<'_>,
    number: Option<&str>,
    stem: &str,
    ink: Ink,
    language: Option<&Tongue>,
    shelf: &Shelf,
) -> Result<Gathered, Refusal> {
    let mut service = Service::default();
    let mut leading: Option<Prepared> = None;
    let mut refused = None;
    for file in served.files {
        if let Some(record) = (served.issued)(file) {
            service.add_issued(&record).map_err(Refusal::own_fault)?;
            continue;
        }
        match one(file, &mut service, ink, language, shelf) {
            Ok(prepared) => {
                leading.get_or_insert(prepared);
            }
            Err(refusal) if refusal.exit == Exit::OwnFault => return Err(refusal),
            Err(refusal) => {
                service.add_unplanned(&file.file_stem().unwrap_or_default().to_string_lossy());
                refused.get_or_insert(refusal);
            }
        }
    }
    if leading.is_none() {
        // whose paper and words the report has
        leading = served.files.iter().find_map(|file| prepare(file, shelf).ok());
    }
    let Some(leading) = leading else {
        return Err(refused.unwrap_or_else(|| Refusal::error("no job was named")));
    };
    let words = spoken(&leading.job, language, shelf)?.certificate;
    let made = service_report(&voice(&leading, &words), number, stem, &service);
    let mut view = made.map_err(Refusal::own_fault)?;
    dress(&mut view, &leading.job.catalog.style, &leading.plan.company.name, ink);
    let sums = service.sums();
    let tables = [
        ("visits", table(&VISITS, service.rows())),
        ("readings", table(&READINGS, readings_rows(&readings(&service.records)))),
        ("products", table(&USES, uses_rows(&sums))),
    ];
    let mut named = Vec::new();
    for (name, bytes) in tables {
        named.push((format!("{stem}-{name}.csv"), bytes.map_err(Refusal::own_fault)?));
    }
    Ok(Gathered { view, tables: named, leading })
}

fn one(
    file: &Path,
    service: &mut Service,
    ink: Ink,
    language: Option<&Tongue>,
    shelf: &Shelf,
) -> Result<Prepared, Refusal> {
    let prepared = prepare(file, shelf)?;
    let asked = Asked::of(&[], ink, language);
    // the record as it is sealed is what registers read
    let put = views(&prepared, &asked, shelf)?;
    let record = read(&put.record.json).map_err(Refusal::own_fault)?;
    let mut report = Report::new();
    let log = conformity(&prepared.plan, &prepared.job, &mut report);
    service.add(&prepared.job, &prepared.plan, &log, record);
    Ok(prepared)
}

/// `decant service-report`.
pub(super) fn run(named: &[PathBuf], folder: &Path, language: Option<&Tongue>) -> Exit {
    let shelf = Shelf::default();
    let input = target::folder(folder).and_then(|()| read_input(named, folder, false));
    let made = input.and_then(|input| {
        let number = match input.contracts.as_slice() {
            [one] => Some(one.contract.number.clone()),
            _ => None,
        };
        let stem = number.as_ref().map_or("service-report".to_owned(), |n| format!("{n}-service-report"));
        let served = Served { files: &input.files, issued: &|_| None };
        let gathered = gather(&served, number.as_deref(), &stem, Ink::Colour, language, &shelf)?;
        let equipped = shelf.press(&gathered.leading.job, Ink::Colour)?;
        Ok((gathered, equipped, stem))
    });
    let (gathered, equipped, stem) = match made {
        Ok(made) => made,
        Err(refusal) => return refusal.tell(),
    };
    let leading = &gathered.leading;
    let pdf = set_view(&equipped.press, &gathered.view, &stem, leading.plan.start, &leading.job.catalog)
        .and_then(|typeset| typeset.pdf().map_err(fault));
    let pdf = match pdf {
        Ok(pdf) => pdf,
        Err(failure) => return Refusal::from(failure).tell(),
    };
    for (name, bytes) in std::iter::once((format!("{stem}.pdf"), pdf)).chain(gathered.tables) {
        let path = folder.join(name);
        if let Err(e) = write_whole(&path, &bytes) {
            return Refusal::unwritten(&path, &e).tell();
        }
        output::line(path.display());
    }
    Exit::Done
}
