//! A service log to fill in: YAML, or a table for a spreadsheet.

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, XlsxError};
use serde::Serialize;

use super::fill;
use crate::document::BlankLog;
use crate::job::LogKeys;
use crate::spreadsheet;
use crate::wording::WordingError;
use crate::yaml::{Declared, annotated};

const YAML: &str = include_str!("../../templates/start/log.yaml");

/// How the log is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum LogForm {
    /// Text with a comment for each key
    Yaml,
    /// A table that every spreadsheet opens
    Csv,
    /// A workbook
    Xlsx,
}

impl LogForm {
    /// What the name of its file ends in.
    pub fn ending(self) -> &'static str {
        match self {
            LogForm::Yaml => "yaml",
            LogForm::Csv => "csv",
            LogForm::Xlsx => "xlsx",
        }
    }
}

/// Why a log cannot be written in a form.
#[derive(Debug, thiserror::Error)]
pub enum LogError {
    #[error(transparent)]
    Words(#[from] WordingError),
    #[error("the table cannot be written: {0}")]
    Csv(#[from] csv::Error),
    #[error("the workbook cannot be written: {0}")]
    Xlsx(#[from] XlsxError),
}

#[derive(Serialize)]
struct Blanks<'a> {
    schema: Option<&'a str>,
    #[serde(flatten)]
    log: &'a BlankLog,
}

/// The log of a plan with its blanks, for a file of this form; `schema` is where an editor finds what may stand in it.
///
/// # Errors
/// An internal error: the template asks for what it is not given, or a writer fails.
pub fn blank_log(log: &BlankLog, form: LogForm, schema: Option<&str>) -> Result<Vec<u8>, LogError> {
    match form {
        LogForm::Yaml => {
            let text = fill("log.yaml", YAML, &Blanks { schema, log })?;
            Ok(annotated(&text, &LogKeys::shape()).into_bytes())
        }
        LogForm::Csv => {
            let (head, rows) = table(log);
            let mut text = "\u{feff}".as_bytes().to_vec();
            text.extend(spreadsheet::table(&head, rows)?);
            Ok(text)
        }
        LogForm::Xlsx => workbook(log),
    }
}

/// The columns that the plan asks for, a row for each load and area, and one for a spot of each area: a row of a spot that nobody
/// watched stays as it is.
fn table(log: &BlankLog) -> (Vec<&'static str>, Vec<Vec<String>>) {
    let any = |asked: fn(&crate::document::BlankTreatment) -> bool| log.treatments.iter().any(asked);
    let columns = [
        ("what", true),
        ("treatment", true),
        ("load", true),
        ("area", true),
        ("mixed", true),
        ("by", true),
        ("lot", true),
        ("reading", any(|t| t.strip.is_some())),
        ("strip_lot", any(|t| t.strip_lot)),
        ("water", true),
        ("product", true),
        ("started", true),
        ("finished", true),
        ("rewets", any(|t| t.rewets)),
        ("wet_until", true),
        ("rinsed", any(|t| t.rinsed)),
        ("skipped", true),
        ("spot", true),
        ("wetted", true),
        ("seen_wet", true),
        ("deviation", true),
        ("reason", true),
    ];
    let head: Vec<&str> = columns.iter().filter(|(_, asked)| *asked).map(|(name, _)| *name).collect();
    let mut rows = Vec::new();
    for t in &log.treatments {
        let loads = t
            .loads
            .iter()
            .map(|load| ["load".to_owned(), t.number.to_string(), load.number.to_string(), String::new()]);
        let of_areas = |what: &'static str| {
            t.areas.iter().map(move |area| [what.to_owned(), t.number.to_string(), String::new(), area.clone()])
        };
        let each = loads.chain(of_areas("area")).chain(of_areas("check"));
        rows.extend(each.map(|row| row.into_iter().chain(head.iter().skip(4).map(|_| String::new())).collect()));
    }
    (head, rows)
}

/// Cells are text, so that no spreadsheet makes something else of a lot or a time.
fn workbook(log: &BlankLog) -> Result<Vec<u8>, LogError> {
    let (head, rows) = table(log);
    let mut book = Workbook::new();
    // the same job gives the same bytes
    book.set_properties(&DocProperties::new().set_creation_datetime(&ExcelDateTime::from_ymd(1980, 1, 1)?));
    let (text, bold) = (Format::new().set_num_format("@"), Format::new().set_bold().set_num_format("@"));
    let sheet = book.add_worksheet();
    sheet.set_name("log")?.set_freeze_panes(1, 4)?;
    for (column, name) in (0..).zip(&head) {
        sheet.set_column_format(column, &text)?.set_column_width(column, if column < 3 { 10 } else { 18 })?;
        sheet.write_string_with_format(0, column, *name, &bold)?;
    }
    for (row, cells) in (1..).zip(&rows) {
        for (column, cell) in (0..).zip(cells).filter(|(_, cell)| !cell.is_empty()) {
            sheet.write_string_with_format(row, column, cell, &text)?;
        }
    }
    Ok(book.save_to_buffer()?)
}
