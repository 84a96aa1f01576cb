//! The test print: a page of outlines to lay over the stock, and a page of rulers that shows what the printer does wrong.

use minijinja::context;
use serde_json::{Value, json};

use super::label::correction_view;
use super::legible::mm;
use super::{DocumentError, View};
use crate::catalog::stock::millimetres;
use crate::catalog::{Correction, Stock};
use crate::quantity::{Length, Number};
use crate::typeset::Template;
use crate::wording::Words;

/// What is printed to check a printer on a kind of stock; with a printer's key and its correction, to check those.
///
/// # Errors
/// [`DocumentError`] if a word is missing.
pub fn test_print(
    words: &Words,
    key: &str,
    stock: &Stock,
    printer: Option<(&str, &Correction)>,
) -> Result<View, DocumentError> {
    let edge = edge_of(stock);
    let (across, down) = (span(&stock.page_width, &edge), span(&stock.page_height, &edge));
    let said = |number: &Number| format!("{}\u{a0}mm", number.decimal(1));
    let from_edge = said(&edge);
    let lines = [
        words.say("test_print.right", context! { edge => &from_edge })?,
        words.say("test_print.down", context! { edge => &from_edge })?,
        words.say("test_print.scale", context! { across => said(&across), down => said(&down) })?,
        match printer {
            Some((printer, _)) => words.say("test_print.check", context! { printer })?,
            None => words.word("test_print.write")?.to_owned(),
        },
    ];
    let example = format!("printers:\n  {}:", printer.map_or("office", |(key, _)| key));
    let data = json!({
        "lang": words.language,
        "title": words.say("test_print.title", context! { stock => key })?,
        "author": null,
        "accent": null,
        "draft": false,
        "words": words.group("test_print.words"),
        "stock": outline(stock),
        "correction": printer.map(|(_, c)| correction_view(c)),
        "edge_mm": edge.to_f64(),
        "across_mm": across.to_f64(),
        "down_mm": down.to_f64(),
        "across": said(&across),
        "down": said(&down),
        "from_edge": from_edge,
        "outline": words.word("test_print.outline")?,
        "lines": lines,
        "example": format!("{example}\n    right: 0.0 mm\n    down: 0.0 mm\n    scale: 100.0 %"),
    });
    Ok(View { template: Template::TestPrint, stem: format!("test-print-{key}"), data })
}

/// From the paper's edge to the crosses: 10 mm, which every printer reaches; 5 mm on stock of less than 80 mm.
fn edge_of(stock: &Stock) -> Number {
    let shorter = (&stock.page_width).min(&stock.page_height);
    Number::int(if millimetres(shorter) < Number::int(80) { 5 } else { 10 })
}

/// Between two crosses: as many whole centimetres as there are, or millimetres where there is not one.
fn span(page: &Length, edge: &Number) -> Number {
    let room = &millimetres(page) - &(edge * &Number::int(2));
    let whole = room.floor_to(&Number::int(10));
    if whole.is_positive() { whole } else { room.floor_to(&Number::one()) }
}

fn outline(stock: &Stock) -> Value {
    let hole = stock.hole.as_ref().map(|hole| {
        json!({
            "diameter_mm": mm(&hole.diameter),
            "from_left_mm": mm(&hole.from_left),
            "from_top_mm": mm(&hole.from_top),
        })
    });
    json!({
        "page_width_mm": mm(&stock.page_width),
        "page_height_mm": mm(&stock.page_height),
        "label_width_mm": mm(&stock.width),
        "label_height_mm": mm(&stock.height),
        "columns": stock.columns,
        "rows": stock.rows,
        "left_mm": mm(&stock.left),
        "top_mm": mm(&stock.top),
        "gap_x_mm": mm(&stock.gap_x),
        "gap_y_mm": mm(&stock.gap_y),
        "corners_mm": mm(&stock.corners),
        "safe_mm": mm(&stock.safe),
        "turned": stock.turned,
        "hole": hole,
    })
}
