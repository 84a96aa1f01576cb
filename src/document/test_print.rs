//! The test print: a page of outlines to hold against the stock, and a page of rulers that shows what the printer does wrong.

use minijinja::context;
use serde::Serialize;

use super::grid::{CorrectionView, Grid};
use super::legible::mm;
use super::{Head, Said, View};
use crate::company::stock::millimetres;
use crate::company::{Correction, Stock};
use crate::engine::Template;
use crate::quantity::{Length, Number};
use crate::wording::Words;

#[derive(Serialize)]
struct Body {
    stock: Outline,
    correction: Option<CorrectionView>,
    /// From the paper's edges to cross A, from A to B, from A to C; then the same as text.
    edge_mm: f64,
    across_mm: f64,
    down_mm: f64,
    across: String,
    down: String,
    from_edge: String,
    /// What to do with the page of outlines.
    outline: String,
    /// What to measure, a line each.
    lines: [String; 4],
    /// The keys to write.
    example: String,
}

/// The stock, in millimeters.
#[derive(Serialize)]
struct Outline {
    #[serde(flatten)]
    grid: Grid,
    corners_mm: f64,
    safe_mm: f64,
    hole: Option<Hole>,
}

#[derive(Serialize)]
struct Hole {
    diameter_mm: f64,
    from_left_mm: f64,
    from_top_mm: f64,
}

/// What is printed to check a printer on a kind of stock; with a printer's key and its correction, to check those.
pub fn test_print(words: &Words, key: &str, stock: &Stock, printer: Option<(&str, &Correction)>) -> Said<View> {
    let edge = edge_of(stock);
    let (across_mm, down_mm) = (span(&stock.page_width, &edge), span(&stock.page_height, &edge));
    let shown = |number: &Number| format!("{}\u{a0}mm", number.decimal(1));
    let (from_edge, across, down) = (shown(&edge), shown(&across_mm), shown(&down_mm));
    let lines = [
        words.say("test_print.right", context! { edge => &from_edge })?,
        words.say("test_print.down", context! { edge => &from_edge })?,
        words.say("test_print.scale", context! { across => &across, down => &down })?,
        match printer {
            Some((printer, _)) => words.say("test_print.check", context! { printer })?,
            None => words.word("test_print.write")?.to_owned(),
        },
    ];
    let printer_key = printer.map_or("office", |(key, _)| key);
    let body = Body {
        stock: outline(stock),
        correction: printer.map(|(_, correction)| CorrectionView::of(correction)),
        edge_mm: edge.to_f64(),
        across_mm: across_mm.to_f64(),
        down_mm: down_mm.to_f64(),
        across,
        down,
        from_edge,
        outline: words.word("test_print.outline")?.to_owned(),
        lines,
        example: format!("printers:\n  {printer_key}:\n    right: 0.0 mm\n    down: 0.0 mm\n    scale: 100.0 %"),
    };
    let title = words.say("test_print.title", context! { stock => key })?;
    let head = Head::plain(words, title, "test_print.words");
    View::new(Template::TestPrint, format!("test-print-{key}"), head, body)
}

/// From the paper's edge to the crosses: 10 mm, which every printer reaches; 5 mm on stock of less than 80 mm.
fn edge_of(stock: &Stock) -> Number {
    let shorter = (&stock.page_width).min(&stock.page_height);
    Number::int(if millimetres(shorter) < Number::int(80) { 5 } else { 10 })
}

/// Between two crosses: as many whole centimeters as there are, or millimeters where there is not one.
fn span(page: &Length, edge: &Number) -> Number {
    let inside = &millimetres(page) - &(edge * &Number::int(2));
    let whole = inside.floor_to(&Number::int(10));
    if whole.is_positive() { whole } else { inside.floor_to(&Number::one()) }
}

fn outline(stock: &Stock) -> Outline {
    Outline {
        grid: Grid::of(stock),
        corners_mm: mm(&stock.corners),
        safe_mm: mm(&stock.safe),
        hole: stock.hole.as_ref().map(|hole| Hole {
            diameter_mm: mm(&hole.diameter),
            from_left_mm: mm(&hole.from_left),
            from_top_mm: mm(&hole.from_top),
        }),
    }
}
