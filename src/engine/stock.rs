//! Label stock: where its labels lie on a page, and labels put there.

use std::collections::BTreeSet;

use serde::Deserialize;
use serde_json::Value;
use typst::layout::{Abs, Frame, Point, Ratio, Size, Transform};
use typst_layout::Page;

use super::joined::relocate;

/// Stock as the template of labels is given it.
#[derive(Clone, Debug, Deserialize)]
pub(super) struct Stock {
    page_width_mm: f64,
    page_height_mm: f64,
    pub label_width_mm: f64,
    pub label_height_mm: f64,
    columns: usize,
    rows: usize,
    left_mm: f64,
    top_mm: f64,
    gap_x_mm: f64,
    gap_y_mm: f64,
    /// The place of the first label on its sheet, from 1.
    first: usize,
    pub insets_mm: Insets,
    pub turned: bool,
    pub correction: Option<Correction>,
}

/// How far from the edges of a label its ink stays, as it is read.
#[derive(Clone, Debug, Deserialize)]
pub(super) struct Insets {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

/// What is done against a printer's shift and scale.
#[derive(Clone, Debug, Deserialize)]
pub(super) struct Correction {
    pub right_mm: f64,
    pub down_mm: f64,
    pub scale: f64,
}

impl Stock {
    /// # Errors
    /// If something of it is missing, or it has no place for a label.
    pub fn of(data: &Value) -> Result<Stock, String> {
        let stock = Stock::deserialize(&data["stock"]).map_err(|error| format!("the stock of a label: {error}"))?;
        if stock.columns * stock.rows == 0 { Err("the stock of a label has no places".to_owned()) } else { Ok(stock) }
    }

    /// How many labels a page has.
    pub fn per_page(&self) -> usize {
        self.columns * self.rows
    }

    /// The top left corner of a place on its page, from 0, row by row, in millimeters.
    pub fn corner_mm(&self, place: usize) -> (f64, f64) {
        #[expect(clippy::cast_precision_loss, reason = "a page has few places")]
        let (column, row) = ((place % self.columns) as f64, (place / self.columns) as f64);
        let x = self.left_mm + column * (self.label_width_mm + self.gap_x_mm);
        let y = self.top_mm + row * (self.label_height_mm + self.gap_y_mm);
        (x, y)
    }

    /// Whether a label is a page of its own.
    fn is_the_label(&self) -> bool {
        let [width, height] = [self.page_width_mm - self.label_width_mm, self.page_height_mm - self.label_height_mm];
        self.correction.is_none() && [width, height, self.left_mm, self.top_mm].iter().all(|gap| gap.abs() < 1e-9)
    }

    /// Puts labels, each of which is a page, on the pages of the stock, each as often as `copies` says.
    ///
    /// # Errors
    /// If the template did not make a page of the label's size for each.
    pub fn filled(&self, labels: Vec<Page>, copies: &[usize]) -> Result<Vec<Page>, String> {
        self.check(&labels, copies.len())?;
        if self.is_the_label() && copies.iter().all(|copies| *copies == 1) {
            return Ok(labels);
        }
        let repeated =
            labels.into_iter().zip(copies).flat_map(|(page, copies)| std::iter::repeat_n(page, *copies).enumerate());
        let mut pages: Vec<Page> = Vec::new();
        for (n, (copy, mut label)) in repeated.enumerate() {
            if copy > 0 {
                // so that no two elements of the document have one location
                relocate(&mut label.frame, copy);
            }
            if self.is_the_label() {
                pages.push(label);
                continue;
            }
            let place = (n + self.first - 1) % self.per_page();
            if n == 0 || place == 0 {
                pages.push(Page { frame: Frame::hard(self.page()), ..label.clone() });
            }
            let (x, y) = self.corner_mm(place);
            if let Some(page) = pages.last_mut() {
                page.frame.push_frame(Point::new(Abs::mm(x), Abs::mm(y)), label.frame);
            }
        }
        if let Some(printer) = &self.correction {
            pages.iter_mut().for_each(|page| page.frame.transform(printer.transform()));
        }
        Ok(pages)
    }

    fn check(&self, pages: &[Page], labels: usize) -> Result<(), String> {
        let label = Size::new(Abs::mm(self.label_width_mm), Abs::mm(self.label_height_mm));
        let is_label = |page: &Page| {
            let size = page.frame.size();
            size.x.approx_eq(label.x) && size.y.approx_eq(label.y)
        };
        if pages.len() == labels && pages.iter().all(is_label) {
            return Ok(());
        }
        let sizes: BTreeSet<String> = pages.iter().map(|page| in_mm(page.frame.size())).collect();
        Err(format!(
            "for {labels} labels of {} the template made {} pages of {}: it is to make one a label, of the label's size",
            in_mm(label),
            pages.len(),
            sizes.into_iter().collect::<Vec<_>>().join(" and ")
        ))
    }

    fn page(&self) -> Size {
        Size::new(Abs::mm(self.page_width_mm), Abs::mm(self.page_height_mm))
    }
}

fn in_mm(size: Size) -> String {
    format!("{:.1} × {:.1} mm", size.x.to_mm(), size.y.to_mm())
}

impl Correction {
    fn transform(&self) -> Transform {
        let scale = Ratio::new(self.scale);
        Transform::translate(Abs::mm(self.right_mm), Abs::mm(self.down_mm)).pre_concat(Transform::scale(scale, scale))
    }
}
