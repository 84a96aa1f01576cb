//! From what a template is given to the files of a document.

use jiff::civil::DateTime;
use serde_json::Value;

use super::documents::{Format, Options};
use super::failure::Failure;
use crate::catalog::{CompanyFile, Stock};
use crate::document::{View, on_other_stock, step_down};
use crate::report::Diagnostic;
use crate::typeset::{Ink, Press, Sheet, Template, Typeset, TypesetError};

/// Why a document cannot be laid out.
pub enum LayoutError {
    Internal(String),
    Input(String),
    /// An error in a template of the user's.
    Template(Box<Diagnostic>),
}

impl LayoutError {
    /// With the name of the document.
    pub fn of(self, stem: &str) -> Failure {
        match self {
            LayoutError::Internal(error) => Failure::internal(error),
            LayoutError::Input(why) => Failure::error(format_args!("{stem}: {why}")),
            LayoutError::Template(problem) => Failure::error(format_args!("{stem} was not made:")).and(*problem),
        }
    }
}

impl From<TypesetError> for LayoutError {
    fn from(error: TypesetError) -> LayoutError {
        match error {
            TypesetError::OwnTemplate(problem) => LayoutError::Template(problem),
            TypesetError::MissingGlyph { .. } | TypesetError::Image { .. } => LayoutError::Input(error.to_string()),
            _ => LayoutError::Internal(error.to_string()),
        }
    }
}

/// Lays a document out and compares labels with the geometry of their stock.
pub fn lay_out(
    press: &Press,
    view: &View,
    ident: &str,
    date: DateTime,
    company: &CompanyFile,
) -> Result<Typeset, LayoutError> {
    let advised = |why: String| LayoutError::Input(format!("{why}; {}", advice(press, view, date, company)));
    let typeset = typeset(press, view, ident, date).map_err(|error| match error {
        TypesetError::DoesNotFit { label, needed_mm, have_mm } => advised(format!(
            "label {} does not fit: in the smallest legible type, with all that may be left off left off, it needs \
             {needed_mm} mm from head to foot and the stock has {have_mm} mm",
            label + 1
        )),
        error => error.into(),
    })?;
    match misplaced(&typeset, view).first() {
        Some(first) => Err(advised(format!("a label does not fit across: {first}"))),
        None => Ok(typeset),
    }
}

fn typeset(press: &Press, view: &View, ident: &str, date: DateTime) -> Result<Typeset, TypesetError> {
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

/// What lies outside its label or over something else.
fn misplaced(typeset: &Typeset, view: &View) -> Vec<String> {
    if view.template != Template::Label {
        return Vec::new();
    }
    typeset.label_faults(&view.data["stock"], view.data["minimum_pt"].as_f64().unwrap_or(0.0))
}

/// The smallest stock of the company file that carries these labels, found by setting them on each.
fn advice(press: &Press, view: &View, date: DateTime, company: &CompanyFile) -> String {
    let mut stocks: Vec<(&String, &Stock)> = company.stock.iter().collect();
    stocks.sort_by_key(|(key, stock)| (stock.square_millimetres(), (*key).clone()));
    let carries = |stock: &Stock| {
        let there = on_other_stock(view, stock);
        typeset(press, &there, "trial", date).is_ok_and(|set| misplaced(&set, &there).is_empty())
    };
    match stocks.into_iter().find(|(_, stock)| carries(stock)) {
        Some((key, _)) => format!("the smallest stock of the company file that carries it is `{key}`"),
        None => "no stock of the company file carries it: larger stock is needed".to_owned(),
    }
}

/// What a document left off for want of room, in a sentence.
pub fn left_off(view: &View, typeset: &Typeset) -> Option<String> {
    let keys = typeset.left_off();
    (!keys.is_empty()).then(|| format!("{}: for want of room, left off or cut short: {}", view.stem, keys.join(", ")))
}

/// The files of a document: names and content.
pub fn files(view: &View, typeset: &Typeset, options: &Options) -> Result<Vec<(String, Vec<u8>)>, LayoutError> {
    let numbered = |ending: &str, pages: Vec<Vec<u8>>| {
        let pages = pages.into_iter().enumerate();
        pages.map(|(i, bytes)| (format!("{}-{}.{ending}", view.stem, i + 1), bytes)).collect()
    };
    Ok(match (options.format, options.ink) {
        (Format::Pdf, _) => vec![(format!("{}.pdf", view.stem), typeset.pdf()?)],
        (Format::Png, Ink::Colour) => numbered("png", typeset.png(options.dpi)?),
        (Format::Png, Ink::Black) => numbered("png", typeset.one_bit_png(options.dpi)?),
        (Format::Svg, _) => numbered("svg", typeset.svg().into_iter().map(String::into_bytes).collect()),
    })
}
