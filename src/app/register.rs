//! What many records say together, as tables and a PDF.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use jiff::civil::date;

use super::chosen::{Dates, chosen, numbers};
use super::context::Context;
use super::failure::Failure;
use crate::document;
use crate::engine::{Engine, Sheet, Template, TypesetError};
use crate::register::{READINGS, Recorded, USES, Unusable, readings, readings_rows, records, sums, uses_rows, visits};
use crate::spreadsheet::table;

/// The files of a register of all records in folders, and of those of contracts: names and content. Only visits of some days count.
pub fn register(
    folders: &[PathBuf],
    documents: Option<&Path>,
    dates: Dates,
    context: &Context,
) -> Result<Vec<(&'static str, Vec<u8>)>, Failure> {
    let words = context.own_words()?;
    let mut found = BTreeMap::new();
    for folder in folders {
        let mut more = if folder.is_dir() {
            records(folder).map_err(unusable)?
        } else {
            let of = chosen(std::slice::from_ref(folder), documents, Dates::default())?;
            let numbers = numbers(&of.jobs);
            let mut more = records(&of.documents.unwrap_or_default()).map_err(unusable)?;
            more.retain(|record| numbers.contains(&record.job));
            more
        };
        more.retain(|record| record.day.parse().is_ok_and(|day| dates.hold(day)) || dates == Dates::default());
        for record in more {
            let before = found.insert(record.job.clone(), record.clone());
            if before.is_some_and(|before| before != record) {
                let why = format_args!("two folders have different records of job {}", record.job);
                return Err(Failure::error(why).hint("name the folder that counts"));
            }
        }
    }
    let records: Vec<Recorded> = found.into_values().collect();
    let Some(first) = records.first() else {
        let folders: Vec<String> = folders.iter().map(|folder| folder.display().to_string()).collect();
        let of_days = if dates == Dates::default() { "" } else { " of these days" };
        let why = format!("{}: no file named `…-record.json`{of_days} is in it", folders.join(", "));
        return Err(Failure::error(why));
    };
    let (uses, read) = (sums(&records), readings(&records));
    // the last month in it, so that the same records give the same bytes
    let last = uses.keys().map(|key| key.month.as_str()).max().unwrap_or_default();
    let day = format!("{last}-01").parse().unwrap_or(date(1980, 1, 1));
    let data = document::register(&words, first, &uses, &read, visits(&records))?;
    let sheet = Sheet {
        template: Template::Register,
        data: serde_json::to_vec(&data).map_err(Failure::internal)?,
        date: day.at(0, 0, 0, 0),
        ident: "register".to_owned(),
    };
    let pdf = Engine::new().typeset(&sheet).and_then(|set| set.pdf()).map_err(|e| match e {
        TypesetError::MissingGlyph { .. } => Failure::error(format_args!("the register cannot be printed: {e}")),
        e => Failure::internal(e),
    })?;
    Ok(vec![
        ("register.csv", table(&USES, uses_rows(&uses)).map_err(Failure::internal)?),
        ("register-readings.csv", table(&READINGS, readings_rows(&read)).map_err(Failure::internal)?),
        ("register.pdf", pdf),
    ])
}

fn unusable(files: Vec<Unusable>) -> Failure {
    let failures = files.into_iter().map(|file| {
        let failure = Failure::error(file.why);
        file.hint.into_iter().fold(failure, |failure, hint| failure.hint(hint))
    });
    // a folder that cannot be used has one reason at least
    failures.reduce(Failure::and).unwrap_or_else(|| Failure::internal("no reason given"))
}
