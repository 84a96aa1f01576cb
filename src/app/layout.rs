//! From what a template is given to the files of a document.

use std::collections::BTreeSet;

use jiff::civil::DateTime;
use serde_json::Value;

use super::context::Context;
use super::documents::{Format, Options};
use super::failure::Failure;
use super::planned::Planned;
use crate::company::{CompanyFile, Stock};
use crate::document::{View, has_black_frames, on_other_stock};
use crate::engine::{Engine, Ink, Sheet, Template, Typeset, TypesetError};

impl Planned {
    /// Lays out a document that has this job's firm and date.
    pub fn lay_out(&self, view: &View, ident: &str, context: &Context) -> Result<Typeset, Failure> {
        lay_out(&context.engine(&self.job)?.engine, view, ident, self.plan.start, self.company())
    }
}

/// Lays a document out and compares labels with the geometry of their stock.
pub fn lay_out(
    engine: &Engine,
    view: &View,
    ident: &str,
    date: DateTime,
    company: &CompanyFile,
) -> Result<Typeset, Failure> {
    let does_not_fit = |label: usize, why: String| {
        let advice = advice(engine, view, label, date, company);
        Failure::error(format_args!("{}: {why}; {advice}", view.stem))
    };
    let typeset = typeset(engine, view, ident, date).map_err(|error| match error {
        TypesetError::DoesNotFit { label, needed_mm, have_mm } => {
            let why = format!(
                "label {} does not fit: in the smallest legible type, with all that may be left off left off, it needs \
                 {needed_mm} mm from head to foot and the stock has {have_mm} mm",
                label + 1
            );
            does_not_fit(label, why)
        }
        error => failure(view, error),
    })?;
    match misplaced(&typeset, view).first() {
        Some(first) => Err(does_not_fit(0, format!("a label does not fit across: {first}"))),
        None => Ok(typeset),
    }
}

fn failure(view: &View, error: TypesetError) -> Failure {
    match error {
        TypesetError::OwnTemplate(problem) => Failure::error(format_args!("{} was not made:", view.stem)).and(*problem),
        TypesetError::MissingGlyph { .. } | TypesetError::Image { .. } => {
            Failure::error(format_args!("{}: {error}", view.stem))
        }
        _ => Failure::internal(error),
    }
}

fn typeset(engine: &Engine, view: &View, ident: &str, date: DateTime) -> Result<Typeset, TypesetError> {
    if view.template == Template::Label {
        return engine.labels(&view.data, date, ident);
    }
    // the sheets of a run are documents of their own
    if let Some(sheets) = view.data["sheets"].as_array() {
        let one = |data: &Value| typeset(engine, &View { data: data.clone(), ..view.clone() }, ident, date);
        let title = view.data["title"].as_str().unwrap_or_default();
        return Typeset::join(sheets.iter().map(one), title);
    }
    let data = view.data.to_string().into_bytes();
    engine.typeset(&Sheet { template: view.template, data, date, ident: ident.to_owned() })
}

/// What lies outside its label or over something else.
fn misplaced(typeset: &Typeset, view: &View) -> Vec<String> {
    if view.template != Template::Label {
        return Vec::new();
    }
    typeset.label_faults(&view.data)
}

/// The smallest stock of the company file that carries this label, found by setting it on each.
fn advice(engine: &Engine, view: &View, label: usize, date: DateTime, company: &CompanyFile) -> String {
    let mut stocks: Vec<(&String, &Stock)> = company.stock.iter().collect();
    stocks.sort_by_key(|(key, stock)| (stock.square_millimetres(), (*key).clone()));
    let carries = |stock: &Stock| {
        let there = on_other_stock(view, label, stock);
        engine.label_fits(&there.data)
            && typeset(engine, &there, "trial", date).is_ok_and(|set| misplaced(&set, &there).is_empty())
    };
    match stocks.into_iter().find(|(_, stock)| carries(stock)) {
        Some((key, _)) => format!("the smallest stock of the company file that carries it is `{key}`"),
        None => "no stock of the company file carries it: larger stock is needed".to_owned(),
    }
}

/// What whoever prints a label must know of it, in sentences: what it left off for want of room, and that it claims less than the
/// stock's regime has.
pub fn label_notes(view: &View, typeset: &Typeset) -> Vec<String> {
    let keys = typeset.left_off();
    let left_off = || format!("{}: for want of room, left off or cut short: {}", view.stem, keys.join(", "));
    let frames = || {
        format!(
            "{}: pictograms in black frames, where 29 CFR 1910.1200, Appendix C.2.3.1, wants red: the labels follow \
             1910.1200(f)(6)(ii) and say so; keep the safety data sheet at hand, or print in color",
            view.stem
        )
    };
    // it names no job: a batch says it once for all
    let meets = || {
        let products =
            view.data["labels"].as_array().into_iter().flatten().filter_map(|label| label["product"].as_str());
        let products = Vec::from_iter(BTreeSet::from_iter(products)).join(", ");
        let stock = view.stem.split_once("labels-").or_else(|| view.stem.split_once("label-"));
        let stock = stock.map_or(view.stem.as_str(), |(_, key)| key);
        format!(
            "caution: {products}, on the stock `{stock}`: what it must never be mixed with is not on the label: \
             say it to the crew, or take larger stock"
        )
    };
    let lacks_never_with = keys.iter().any(|key| key == "never-with");
    let follows_less = has_black_frames(view);
    let notes = [(!keys.is_empty()).then(left_off), lacks_never_with.then(meets), follows_less.then(frames)];
    notes.into_iter().flatten().collect()
}

pub fn pdf(view: &View, typeset: &Typeset) -> Result<Vec<u8>, Failure> {
    typeset.pdf().map_err(|error| failure(view, error))
}

/// The files of a document: names and content.
pub fn files(view: &View, typeset: &Typeset, options: &Options, ink: Ink) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    let (ending, pages) = match (options.format, ink) {
        (Format::Pdf, _) => return Ok(vec![(format!("{}.pdf", view.stem), pdf(view, typeset)?)]),
        (Format::Png, Ink::Color) => ("png", typeset.png(options.dpi)),
        (Format::Png, Ink::Black) => ("png", typeset.one_bit_png(options.dpi)),
        (Format::Svg, _) => ("svg", Ok(typeset.svg().into_iter().map(String::into_bytes).collect())),
    };
    let pages = pages.map_err(|error| failure(view, error))?.into_iter().enumerate();
    Ok(pages.map(|(i, bytes)| (format!("{}-{}.{ending}", view.stem, i + 1), bytes)).collect())
}
