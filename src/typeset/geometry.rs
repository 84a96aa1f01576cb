//! Where things really came to lie: the boxes of text and pictures of a laid-out document, and what is wrong with them on
//! a label.

use std::fmt;

use serde_json::Value;
use typst::layout::{Abs, Frame, FrameItem, Point, Size, Transform};
use typst::text::TextItem;

use super::Typeset;

/// A box on a page, in points from its top left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Left edge.
    pub left: f64,
    /// Top edge.
    pub top: f64,
    /// Right edge.
    pub right: f64,
    /// Bottom edge.
    pub bottom: f64,
}

/// A run of text or a picture.
#[derive(Clone, Debug)]
pub struct Piece {
    /// Which page, from 0.
    pub page: usize,
    /// The text; `None` for a picture.
    pub text: Option<String>,
    /// Size of the type in points, as printed; nought for a picture.
    pub points: f64,
    /// Around the ink of the text, or around the picture.
    pub area: Area,
    /// Around the ink of each letter.
    letters: Vec<Area>,
}

/// Text may stand out of its box by so much, in points: round letters overshoot, and ink begins before its origin.
const OVERSHOOT: f64 = 0.5;

/// Letters side by side in different weights may share so much, in points.
const TOUCH: f64 = 0.3;

const POINTS_PER_MM: f64 = 72.0 / 25.4;

impl fmt::Display for Area {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Area { left, top, right, bottom } = self;
        write!(f, "{left:.1} to {right:.1} pt across and {top:.1} to {bottom:.1} pt down")
    }
}

impl Area {
    fn around(corners: &[Point]) -> Area {
        let mut area =
            Area { left: f64::INFINITY, top: f64::INFINITY, right: f64::NEG_INFINITY, bottom: f64::NEG_INFINITY };
        for corner in corners {
            let (x, y) = (corner.x.to_pt(), corner.y.to_pt());
            area.left = area.left.min(x);
            area.right = area.right.max(x);
            area.top = area.top.min(y);
            area.bottom = area.bottom.max(y);
        }
        area
    }

    fn lies_in(&self, outer: &Area) -> bool {
        self.left >= outer.left - OVERSHOOT
            && self.right <= outer.right + OVERSHOOT
            && self.top >= outer.top - OVERSHOOT
            && self.bottom <= outer.bottom + OVERSHOOT
    }

    fn crosses(&self, other: &Area) -> bool {
        self.right.min(other.right) - self.left.max(other.left) > TOUCH
            && self.bottom.min(other.bottom) - self.top.max(other.top) > TOUCH
    }
}

impl Piece {
    /// Whether ink of both, on one page, lies in one place: a letter of one over a letter of the other, or over a picture.
    fn crosses(&self, other: &Piece) -> bool {
        self.area.crosses(&other.area) && self.letters.iter().any(|a| other.letters.iter().any(|b| a.crosses(b)))
    }

    fn name(&self) -> String {
        match &self.text {
            Some(text) => format!("`{}`", text.chars().take(40).collect::<String>()),
            None => "a picture".to_owned(),
        }
    }
}

impl Typeset {
    /// Every run of text and every picture of the document, in the order they are drawn.
    pub fn pieces(&self) -> Vec<Piece> {
        let mut pieces = Vec::new();
        for (page, it) in self.document().pages().iter().enumerate() {
            walk(&it.frame, Transform::identity(), page, &mut pieces);
        }
        pieces
    }

    /// What is wrong on labels that were set with this `stock` (as their template was given it): what lies outside the
    /// room to print in, what crosses something else, type below `minimum` points. Empty if all is well.
    pub fn label_faults(&self, stock: &Value, minimum: f64) -> Vec<String> {
        let pieces = self.pieces();
        let number = |key: &str| stock[key].as_f64().unwrap_or(0.0);
        let corrected = stock["correction"].as_object().is_some();
        let uncorrected = |area: Area| {
            let value = |key: &str| stock["correction"][key].as_f64().unwrap_or(0.0);
            let scale = value("scale");
            let (right, down) = (value("right_mm") * POINTS_PER_MM, value("down_mm") * POINTS_PER_MM);
            Area {
                left: (area.left - right) / scale,
                right: (area.right - right) / scale,
                top: (area.top - down) / scale,
                bottom: (area.bottom - down) / scale,
            }
        };
        let inset = |key: &str| stock["insets_mm"][key].as_f64().unwrap_or(0.0);
        // as the stock lies: a turned label has its head at the left
        let [left, top, right, bottom] = if stock["turned"].as_bool().unwrap_or(false) {
            ["top", "right", "bottom", "left"].map(inset)
        } else {
            ["left", "top", "right", "bottom"].map(inset)
        };
        let (width, height) = (number("label_width_mm"), number("label_height_mm"));
        let count = |key: &str| stock[key].as_u64().unwrap_or(1);
        let mut rooms = Vec::new();
        for row in 0..count("rows") {
            for column in 0..count("columns") {
                #[allow(clippy::cast_precision_loss, reason = "a sheet has few rows")]
                let (across, down) = (column as f64, row as f64);
                let x = number("left_mm") + across * (width + number("gap_x_mm"));
                let y = number("top_mm") + down * (height + number("gap_y_mm"));
                rooms.push(Area {
                    left: (x + left) * POINTS_PER_MM,
                    top: (y + top) * POINTS_PER_MM,
                    right: (x + width - right) * POINTS_PER_MM,
                    bottom: (y + height - bottom) * POINTS_PER_MM,
                });
            }
        }
        let mut faults = Vec::new();
        for piece in &pieces {
            let area = if corrected { uncorrected(piece.area) } else { piece.area };
            if !rooms.iter().any(|room| area.lies_in(room)) {
                faults.push(format!("{} lies outside its label, at {}", piece.name(), piece.area));
            }
            if piece.text.is_some() && piece.points < minimum - 0.01 && !corrected {
                faults.push(format!("{} is {} pt", piece.name(), piece.points));
            }
        }
        for (i, piece) in pieces.iter().enumerate() {
            // pieces stand in the order of pages
            for other in pieces[i + 1..].iter().take_while(|other| other.page == piece.page) {
                if piece.crosses(other) {
                    let (a, b) = (piece.name(), other.name());
                    faults.push(format!("{a} crosses {b}, at {} and {}", piece.area, other.area));
                }
            }
        }
        faults
    }
}

fn walk(frame: &Frame, to_page: Transform, page: usize, pieces: &mut Vec<Piece>) {
    for (at, item) in frame.items() {
        let here = to_page.pre_concat(Transform::translate(at.x, at.y));
        match item {
            FrameItem::Group(group) => walk(&group.frame, here.pre_concat(group.transform), page, pieces),
            FrameItem::Text(text) => {
                let letters = letters(text, here);
                if letters.is_empty() {
                    continue;
                }
                let area = letters.iter().fold(letters[0], |all, one| Area {
                    left: all.left.min(one.left),
                    top: all.top.min(one.top),
                    right: all.right.max(one.right),
                    bottom: all.bottom.max(one.bottom),
                });
                // a turned or scaled run keeps the length of its unit vector
                let unit = Point::new(Abs::zero(), text.size).transform(Transform {
                    tx: Abs::zero(),
                    ty: Abs::zero(),
                    ..here
                });
                pieces.push(Piece {
                    page,
                    text: Some(text.text.to_string()),
                    points: unit.x.to_pt().hypot(unit.y.to_pt()),
                    area,
                    letters,
                });
            }
            FrameItem::Image(_, size, _) => {
                let area = rectangle(Point::zero(), *size, here);
                pieces.push(Piece { page, text: None, points: 0.0, area, letters: vec![area] });
            }
            FrameItem::Shape(..) | FrameItem::Link(..) | FrameItem::Tag(_) => {}
        }
    }
}

/// Around the ink of each letter; blanks have none.
fn letters(text: &TextItem, to_page: Transform) -> Vec<Area> {
    let mut areas = Vec::new();
    let mut x = Abs::zero();
    let bare = TextItem { glyphs: Vec::new(), ..text.clone() };
    for glyph in &text.glyphs {
        let one = TextItem { glyphs: vec![glyph.clone()], ..bare.clone() };
        let ink = one.bbox();
        // without an outline the box is turned inside out
        if ink.min.x < ink.max.x && ink.min.x.to_pt().is_finite() {
            let (top, bottom) = (ink.min.y.min(ink.max.y), ink.min.y.max(ink.max.y));
            let corner = Point::new(x + ink.min.x, top);
            let size = Size::new(ink.max.x - ink.min.x, bottom - top);
            areas.push(rectangle(corner, size, to_page));
        }
        x += glyph.x_advance.at(text.size);
    }
    areas
}

fn rectangle(corner: Point, size: Size, to_page: Transform) -> Area {
    let far = corner + size.to_point();
    let corners = [corner, far, Point::new(corner.x, far.y), Point::new(far.x, corner.y)];
    Area::around(&corners.map(|c| c.transform(to_page)))
}
