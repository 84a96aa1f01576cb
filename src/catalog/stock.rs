//! Label stock: a roll of one, a sheet of many, a tag with a hole.

use serde::Serialize;

use super::PageSize;
use crate::quantity::{Extent, Length, Number, parse};
use crate::report::Report;
use crate::yaml::Node;

/// A kind of label, and the page it comes on.
#[derive(Clone, Debug, Serialize)]
pub struct Stock {
    /// Width of the page.
    pub page_width: Length,
    /// Height of the page.
    pub page_height: Length,
    /// Width of one label.
    pub width: Length,
    /// Height of one label.
    pub height: Length,
    /// Labels side by side.
    pub columns: u32,
    /// Labels one below the other.
    pub rows: u32,
    /// From the page's left edge to the first label.
    pub left: Length,
    /// From the page's top edge to the first label.
    pub top: Length,
    /// Between columns.
    pub gap_x: Length,
    /// Between rows.
    pub gap_y: Length,
    /// A hole to tie the label on by.
    pub hole: Option<Hole>,
}

/// A hole in a tag, in the middle of its width.
#[derive(Clone, Debug, Serialize)]
pub struct Hole {
    /// Across.
    pub diameter: Length,
    /// From the top edge to the hole's centre.
    pub from_top: Length,
}

impl Stock {
    /// Labels on a page.
    pub fn per_page(&self) -> u32 {
        self.columns * self.rows
    }

    pub(super) fn read(node: &Node<'_>, report: &mut Report) -> Option<Stock> {
        let keys = &["label", "sheet", "columns", "rows", "margins", "gaps", "hole"];
        let fields = node.fields(keys, report)?;
        let label = fields.need("label", report).and_then(|n| read_size(&n, report));
        let sheet = match fields.get("sheet") {
            Some(n) => Some(read_sheet(&n, report)?),
            None => None,
        };
        let columns = fields.get("columns").map_or(Some(1), |n| read_count(&n, report));
        let rows = fields.get("rows").map_or(Some(1), |n| read_count(&n, report));
        let (left, top) = match fields.get("margins") {
            Some(n) => read_pair(&n, ["left", "top"], report)?,
            None => (Length::zero(), Length::zero()),
        };
        let (gap_x, gap_y) = match fields.get("gaps") {
            Some(n) => read_pair(&n, ["across", "down"], report)?,
            None => (Length::zero(), Length::zero()),
        };
        let hole = fields.get("hole").and_then(|n| {
            let (diameter, from_top) = read_pair(&n, ["diameter", "from_top"], report)?;
            Some(Hole { diameter, from_top })
        });
        let (width, height) = label?;
        let (page_width, page_height) = sheet.unwrap_or_else(|| (width.clone(), height.clone()));
        let stock = Stock {
            page_width,
            page_height,
            width,
            height,
            columns: columns?,
            rows: rows?,
            left,
            top,
            gap_x,
            gap_y,
            hole,
        };
        stock.fits(node, report).then_some(stock)
    }

    /// Whether all labels lie on the page; if not, by how much they do not.
    fn fits(&self, node: &Node<'_>, report: &mut Report) -> bool {
        let taken = |start: &Length, size: &Length, gap: &Length, count: u32| {
            let count = i64::from(count);
            &(start + &size.times(&Number::int(count))) + &gap.times(&Number::int(count - 1))
        };
        let across = taken(&self.left, &self.width, &self.gap_x, self.columns);
        let down = taken(&self.top, &self.height, &self.gap_y, self.rows);
        let mut fits = true;
        for (taken, page, name) in [
            (&across, &self.page_width, "width"),
            (&down, &self.page_height, "height"),
        ] {
            if taken > page {
                let over = (taken - page).as_metres() * &Number::int(1000);
                let message = format!("the labels are {} mm too much for the page's {name}", over.decimal(2));
                report.push(node.error("stock-off-page", message));
                fits = false;
            }
        }
        fits
    }
}

fn read_size(node: &Node<'_>, report: &mut Report) -> Option<(Length, Length)> {
    match node.parse(report, parse::extent)? {
        Extent::Rectangle { length, width } if !length.is_zero() && !width.is_zero() => Some((length, width)),
        _ => {
            report.push(node.error("bad-size", "a size is width by height, such as `4 in x 6 in`"));
            None
        }
    }
}

fn read_sheet(node: &Node<'_>, report: &mut Report) -> Option<(Length, Length)> {
    let millimetres = |a: i64, b: i64| {
        (
            Length::metres(Number::ratio(a, 10_000)),
            Length::metres(Number::ratio(b, 10_000)),
        )
    };
    let text = node.text(report)?;
    match PageSize::WORDS.iter().find(|(word, _)| *word == text) {
        Some((_, PageSize::UsLetter)) => Some(millimetres(2_159, 2_794)),
        Some((_, PageSize::A4)) => Some(millimetres(2_100, 2_970)),
        None => read_size(node, report),
    }
}

fn read_count(node: &Node<'_>, report: &mut Report) -> Option<u32> {
    let text = node.text(report)?;
    match text.parse::<u32>() {
        Ok(count @ 1..=100) => Some(count),
        _ => {
            report.push(node.error("bad-count", format!("`{text}` is not a count from 1 to 100")));
            None
        }
    }
}

fn read_pair(node: &Node<'_>, keys: [&str; 2], report: &mut Report) -> Option<(Length, Length)> {
    let fields = node.fields(&keys, report)?;
    let mut length = |key: &str| match fields.get(key) {
        Some(n) => n.parse(report, parse::length),
        None => Some(Length::zero()),
    };
    let (first, second) = (length(keys[0]), length(keys[1]));
    Some((first?, second?))
}
