//! The service report: what became of the visits of a contract.

use std::path::{Path, PathBuf};

use serde_json::Value;

use super::certify::certify;
use super::context::Context;
use super::failure::{Cause, Failure};
use super::planned::{Planned, job_words, plan_file};
use crate::document::{View, service_report};
use crate::register::{READINGS, Service, USES, VISITS, read, readings, readings_rows, uses_rows};
use crate::spreadsheet::table;

/// A report: its page, the tables of the same, and the visit whose firm and paper are the report's.
pub struct ServiceReport {
    pub view: View,
    pub tables: Vec<(String, Vec<u8>)>,
    pub leading: Planned,
}

/// Plans every job and compares it with its log; of one that was issued its record counts, which `issued` gives, whatever its files
/// say now. A job that cannot be planned stands in the report as such; with none that can there is no report. Jobs are let go one by
/// one: only what the report says of them stays.
pub fn gather(
    files: &[PathBuf],
    issued: &dyn Fn(&Path) -> Option<Value>,
    number: Option<&str>,
    stem: &str,
    context: &Context,
) -> Result<ServiceReport, Failure> {
    let mut service = Service::default();
    let mut leading: Option<Planned> = None;
    let mut refused = None;
    for file in files {
        if let Some(record) = issued(file) {
            service.add_issued(&record).map_err(Failure::internal)?;
            continue;
        }
        match add(file, &mut service, context) {
            Ok(planned) => {
                leading.get_or_insert(planned);
            }
            Err(failure) if failure.cause == Cause::Internal => return Err(failure),
            Err(failure) => {
                service.add_unplanned(&file.file_stem().unwrap_or_default().to_string_lossy());
                refused.get_or_insert(failure);
            }
        }
    }
    // whose paper and words the report has
    let leading = leading.or_else(|| files.iter().find_map(|file| plan_file(file, context).ok()));
    let Some(leading) = leading else {
        return Err(refused.unwrap_or_else(|| Failure::error("no job was named")));
    };
    let words = job_words(&leading.job, context)?.certificate;
    let mut view = service_report(&leading.voice(&words), number, stem, &service)?;
    leading.dress(&mut view);
    let mut tables = Vec::new();
    for (name, bytes) in [
        ("visits", table(&VISITS, service.rows())),
        ("readings", table(&READINGS, readings_rows(&readings(&service.records)))),
        ("products", table(&USES, uses_rows(&service.sums()))),
    ] {
        tables.push((format!("{stem}-{name}.csv"), bytes.map_err(Failure::internal)?));
    }
    Ok(ServiceReport { view, tables, leading })
}

fn add(file: &Path, service: &mut Service, context: &Context) -> Result<Planned, Failure> {
    let planned = plan_file(file, context)?;
    let words = planned.printable(context)?;
    // the record as it is sealed is what registers read
    let record = certify(&planned, false, &words, context)?.record;
    service.add(&planned.job, &planned.plan, &planned.log, read(&record.json).map_err(Failure::internal)?);
    Ok(planned)
}
