//! Where labels lie on their stock, and what a printer is corrected by, as templates take them.

use serde::Serialize;

use super::legible::mm;
use crate::company::{Correction, Stock};

/// The stock as a grid, in millimeters.
#[derive(Serialize)]
pub(super) struct Grid {
    page_width_mm: f64,
    page_height_mm: f64,
    label_width_mm: f64,
    label_height_mm: f64,
    columns: u32,
    rows: u32,
    left_mm: f64,
    top_mm: f64,
    gap_x_mm: f64,
    gap_y_mm: f64,
    turned: bool,
}

impl Grid {
    pub(super) fn of(stock: &Stock) -> Grid {
        Grid {
            page_width_mm: mm(&stock.page_width),
            page_height_mm: mm(&stock.page_height),
            label_width_mm: mm(&stock.width),
            label_height_mm: mm(&stock.height),
            columns: stock.columns,
            rows: stock.rows,
            left_mm: mm(&stock.left),
            top_mm: mm(&stock.top),
            gap_x_mm: mm(&stock.gap_x),
            gap_y_mm: mm(&stock.gap_y),
            turned: stock.turned,
        }
    }
}

#[derive(Serialize)]
pub(super) struct CorrectionView {
    right_mm: f64,
    down_mm: f64,
    scale: f64,
}

impl CorrectionView {
    pub(super) fn of(correction: &Correction) -> CorrectionView {
        CorrectionView {
            right_mm: correction.right.to_f64(),
            down_mm: correction.down.to_f64(),
            scale: correction.scale.to_f64(),
        }
    }
}
