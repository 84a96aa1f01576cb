//! What the commands that print labels share: the options of a run, and what is said when a label does not fit.

use std::io;
use std::path::Path;

use jiff::civil::DateTime;
use serde_json::Value;

use super::exit::unwritten;
use super::{Exit, Refusal, output};
use crate::catalog::{CompanyFile, Correction, Stock};
use crate::document::{LabelBatch, LabelRun, View, on_other_stock, step_down};
use crate::report::Diagnostic;
use crate::typeset::{Press, Sheet, Template, Typeset, TypesetError};
use crate::yaml::nearest;

/// Why a document was not made: by our fault or the user's.
pub(super) enum Failure {
    Own(String),
    User(String),
    /// The user's, with its place.
    Problem(Box<Diagnostic>),
    /// The disk's or the system's: a file could not be written.
    Unwritten(String),
}

impl Failure {
    /// A file that could not be written.
    pub fn unwritten(file: &Path, error: &io::Error) -> Failure {
        Failure::Unwritten(unwritten(file, error))
    }
}

impl From<Failure> for Refusal {
    fn from(failure: Failure) -> Refusal {
        match failure {
            Failure::Own(fault) => Refusal::own_fault(fault),
            Failure::Problem(problem) => Refusal::bad_input(problem),
            Failure::User(told) => Refusal::error(told),
            Failure::Unwritten(told) => Refusal::error(told).ending(Exit::SomeFailed),
        }
    }
}

/// The options of a run, looked up in the company file.
pub(super) fn print_run<'a>(
    first: Option<u32>,
    copies: Option<u32>,
    printer: Option<&str>,
    company: &'a CompanyFile,
) -> Result<LabelRun<'a>, Refusal> {
    Ok(LabelRun {
        first: first.unwrap_or(1),
        copies,
        correction: printer.map(|key| correction(key, company)).transpose()?,
    })
}

/// What a printer of the company file does wrong.
pub(super) fn correction<'a>(key: &str, company: &'a CompanyFile) -> Result<&'a Correction, Refusal> {
    company.printers.get(key).ok_or_else(|| {
        let keys: Vec<&str> = company.printers.keys().map(String::as_str).collect();
        unknown("printer", key, &keys)
    })
}

/// A key given on the command line that is not in the company file.
pub(super) fn unknown(what: &str, key: &str, keys: &[&str]) -> Refusal {
    let refusal = Refusal::error(format_args!("no {what} `{key}` is in the company file"));
    match nearest(key, keys) {
        Some(near) => refusal.hint(format_args!("did you mean `{near}`?")),
        None if keys.is_empty() => refusal,
        None => refusal.hint(format_args!("there are: {}", keys.join(", "))),
    }
}

/// Whether the first free place is on the sheet, and on which one sheet it is.
pub(super) fn check_first(run: &LabelRun<'_>, batches: &[LabelBatch], company: &CompanyFile) -> Result<(), Refusal> {
    if run.first == 1 {
        return Ok(());
    }
    let stock = |batch: &LabelBatch| company.stock.get(&batch.stock).map_or(1, Stock::per_page);
    let sheets: Vec<(&str, u32)> =
        batches.iter().map(|batch| (batch.stock.as_str(), stock(batch))).filter(|(_, places)| *places > 1).collect();
    let why = match sheets.as_slice() {
        [(_, places)] if run.first <= *places => return Ok(()),
        [(key, places)] => format!("is not on a sheet of `{key}`, which has {places} places"),
        [] => ": no labels go on a sheet of several places".to_owned(),
        several => {
            let keys: Vec<&str> = several.iter().map(|(key, _)| *key).collect();
            format!(
                ": labels go on several kinds of sheet ({}); print one at a time with `decant labels --stock`",
                keys.join(", ")
            )
        }
    };
    let gap = if why.starts_with(':') { "" } else { " " };
    Err(Refusal::error(format!("--first {}{gap}{why}", run.first)))
}

/// Lays a document out and holds labels against the geometry of their stock.
pub(super) fn set_view(
    press: &Press,
    view: &View,
    ident: &str,
    date: DateTime,
    company: &CompanyFile,
) -> Result<Typeset, Failure> {
    let typeset = lay_out(press, view, ident, date).map_err(|error| match error {
        TypesetError::DoesNotFit { label, needed_mm, have_mm } => {
            let told = format!(
                "label {} does not fit: in the smallest legible type, with all that may be left off left off, it needs \
                 {needed_mm} mm from head to foot and the stock has {have_mm} mm",
                label + 1
            );
            Failure::User(format!("{told}; {}", advice(press, view, date, company)))
        }
        error => fault(error),
    })?;
    if view.template == Template::Label {
        let faults = lies_wrong(&typeset, view);
        if let Some(first) = faults.first() {
            let told = format!("a label does not fit across: {first}");
            return Err(Failure::User(format!("{told}; {}", advice(press, view, date, company))));
        }
    }
    Ok(typeset)
}

/// What a document left off for want of room, in a sentence.
pub(super) fn left_off(view: &View, typeset: &Typeset) -> Option<String> {
    let keys = typeset.left_off();
    (!keys.is_empty()).then(|| format!("{}: for want of room, left off or cut short: {}", view.stem, keys.join(", ")))
}

/// Says what a document left off for want of room.
pub(super) fn tell_left_off(view: &View, typeset: &Typeset) {
    if let Some(told) = left_off(view, typeset) {
        output::say(format_args!("note: {told}"));
    }
}

fn lies_wrong(typeset: &Typeset, view: &View) -> Vec<String> {
    typeset.label_faults(&view.data["stock"], view.data["minimum_pt"].as_f64().unwrap_or(0.0))
}

fn lay_out(press: &Press, view: &View, ident: &str, date: DateTime) -> Result<Typeset, TypesetError> {
    let set = |data: &Value| {
        let data = serde_json::to_vec(data).map_err(|e| TypesetError::Template {
            message: e.to_string(),
            place: None,
            hints: Vec::new(),
        })?;
        press.typeset(&Sheet { template: view.template, data, date, ident: ident.to_owned() })
    };
    let mut typeset = set(&view.data)?;
    if matches!(view.template, Template::MixSheet | Template::MixSheets) {
        let mut data = view.data.clone();
        // steps are few, and none is taken back
        while step_down(&mut data, &typeset.spread()) {
            typeset = set(&data)?;
        }
    }
    Ok(typeset)
}

/// The smallest stock of the company file that carries these labels, found by setting them on each.
fn advice(press: &Press, view: &View, date: DateTime, company: &CompanyFile) -> String {
    let mut stocks: Vec<(&String, &Stock)> = company.stock.iter().collect();
    stocks.sort_by_key(|(key, stock)| (stock.square_millimetres(), (*key).clone()));
    let carries = |stock: &Stock| {
        let there = on_other_stock(view, stock);
        lay_out(press, &there, "trial", date).is_ok_and(|set| lies_wrong(&set, &there).is_empty())
    };
    match stocks.into_iter().find(|(_, stock)| carries(stock)) {
        Some((key, _)) => format!("the smallest stock of the company file that carries it is `{key}`"),
        None => "no stock of the company file carries it: larger stock is needed".to_owned(),
    }
}

/// Any other failure of typesetting.
pub(super) fn fault(error: TypesetError) -> Failure {
    match error {
        TypesetError::OwnTemplate(problem) => Failure::Problem(problem),
        TypesetError::MissingGlyph { .. } | TypesetError::Image { .. } => Failure::User(error.to_string()),
        _ => Failure::Own(error.to_string()),
    }
}
