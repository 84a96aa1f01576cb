//! What many records say together, as tables and a PDF.

use std::path::Path;

use jiff::civil::date;

use super::context::Context;
use super::failure::Failure;
use crate::document;
use crate::engine::{Engine, Sheet, Template, TypesetError};
use crate::register::{READINGS, USES, Unusable, readings, readings_rows, records, sums, uses_rows};
use crate::spreadsheet::table;

/// The files of a register of all records in a folder: names and content.
pub fn register(folder: &Path, context: &Context) -> Result<Vec<(&'static str, Vec<u8>)>, Failure> {
    let words = context.own_words()?;
    let records = records(folder).map_err(unusable)?;
    let Some(first) = records.first() else {
        return Err(Failure::error(format_args!("{}: no file named `…-record.json` is in it", folder.display())));
    };
    let (uses, read) = (sums(&records), readings(&records));
    // the last month in it, so that the same records give the same bytes
    let last = uses.keys().map(|key| key.month.as_str()).max().unwrap_or_default();
    let day = format!("{last}-01").parse().unwrap_or(date(1980, 1, 1));
    let data = document::register(&words, first, &uses, &read)?;
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
