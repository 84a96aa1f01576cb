//! Where text and pictures are on a finished page, and what is wrong with them on a label.

use std::cell::RefCell;
use std::collections::HashMap;
use std::fmt;

use serde_json::Value;
use typst::layout::{Abs, Frame, FrameItem, Point, Transform};
use typst::text::{FontInstance, TextItem};
use typst::visualize::Paint;
use typst_layout::Page;

use super::Typeset;
use super::stock::{Correction, Insets, Stock};

/// A box on a page, in points from its top left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

/// A run of text or a picture.
#[derive(Clone, Debug)]
pub struct Piece {
    /// The text; `None` for a picture.
    pub text: Option<String>,
    /// Size of the type in points, as printed; zero for a picture.
    pub points: f64,
    /// Around the ink of the text, or around the picture.
    pub area: Area,
    /// Around the ink of each letter, as it is set; how it comes to the page.
    letters: Vec<Area>,
    to_page: Transform,
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
    const NOTHING: Area =
        Area { left: f64::INFINITY, top: f64::INFINITY, right: f64::NEG_INFINITY, bottom: f64::NEG_INFINITY };

    fn and(self, other: Area) -> Area {
        Area {
            left: self.left.min(other.left),
            top: self.top.min(other.top),
            right: self.right.max(other.right),
            bottom: self.bottom.max(other.bottom),
        }
    }

    /// Around this box once it is moved, turned and scaled.
    fn through(self, way: Transform) -> Area {
        let corners =
            [(self.left, self.top), (self.right, self.top), (self.left, self.bottom), (self.right, self.bottom)];
        let moved = corners.map(|(x, y)| Point::new(Abs::pt(x), Abs::pt(y)).transform(way));
        moved.iter().fold(Area::NOTHING, |all, corner| {
            let (x, y) = (corner.x.to_pt(), corner.y.to_pt());
            all.and(Area { left: x, top: y, right: x, bottom: y })
        })
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
    /// Whether ink of both lies in one place: a letter of one over a letter of the other, or over a picture.
    fn crosses(&self, other: &Piece) -> bool {
        self.area.crosses(&other.area) && {
            let others: Vec<Area> = other.inks().collect();
            self.inks().any(|a| others.iter().any(|b| a.crosses(b)))
        }
    }

    fn inks(&self) -> impl Iterator<Item = Area> {
        self.letters.iter().map(|letter| letter.through(self.to_page))
    }

    fn name(&self) -> String {
        match &self.text {
            Some(text) => format!("`{}`", text.chars().take(40).collect::<String>()),
            None => "a picture".to_owned(),
        }
    }
}

impl Typeset {
    /// What is wrong on labels, whose template was given this: what lies outside the printable area or over something else, type
    /// below the smallest. Empty if all is well.
    pub fn label_faults(&self, data: &Value) -> Vec<String> {
        match Stock::of(data) {
            Ok(stock) => {
                let minimum = data["smallest_pt"].as_f64().unwrap_or(0.0);
                INKS.with_borrow_mut(|inks| self.label_faults_by(inks, &stock, minimum))
            }
            Err(error) => vec![error],
        }
    }

    fn label_faults_by(&self, inks: &mut Inks, stock: &Stock, minimum: f64) -> Vec<String> {
        let places = places(stock);
        let correction = &stock.correction;
        let mut faults = Vec::new();
        for page in self.document().pages() {
            let pieces = pieces_of(page, inks);
            for piece in &pieces {
                let area = correction.as_ref().map_or(piece.area, |printer| printer.undone(piece.area));
                if !places.iter().any(|place| area.lies_in(place)) {
                    faults.push(format!("{} lies outside its label, at {}", piece.name(), piece.area));
                }
                if piece.text.is_some() && piece.points < minimum - 0.01 && correction.is_none() {
                    faults.push(format!("{} is {} pt", piece.name(), piece.points));
                }
            }
            for (i, piece) in pieces.iter().enumerate() {
                for other in pieces[i + 1..].iter().filter(|other| piece.crosses(other)) {
                    let (a, b) = (piece.name(), other.name());
                    faults.push(format!("{a} crosses {b}, at {} and {}", piece.area, other.area));
                }
            }
        }
        faults
    }
}

/// The printable area of each label of a sheet.
fn places(stock: &Stock) -> Vec<Area> {
    let Insets { left, top, right, bottom } = stock.insets_mm;
    // as the stock lies: a turned label has its head at the left
    let [left, top, right, bottom] = if stock.turned { [top, right, bottom, left] } else { [left, top, right, bottom] };
    let area = |place| {
        let (x, y) = stock.corner_mm(place);
        Area {
            left: (x + left) * POINTS_PER_MM,
            top: (y + top) * POINTS_PER_MM,
            right: (x + stock.label_width_mm - right) * POINTS_PER_MM,
            bottom: (y + stock.label_height_mm - bottom) * POINTS_PER_MM,
        }
    };
    (0..stock.per_page()).map(area).collect()
}

impl Correction {
    fn undone(&self, area: Area) -> Area {
        let [right, down] = [self.right_mm, self.down_mm].map(|mm| mm * POINTS_PER_MM);
        Area {
            left: (area.left - right) / self.scale,
            right: (area.right - right) / self.scale,
            top: (area.top - down) / self.scale,
            bottom: (area.bottom - down) / self.scale,
        }
    }
}

/// Every run of text and every picture of a page, in the order they are drawn.
pub(super) fn pieces_of(page: &Page, inks: &mut Inks) -> Vec<Piece> {
    let mut pieces = Vec::new();
    walk(&page.frame, Transform::identity(), inks, &mut pieces);
    pieces
}

fn walk(frame: &Frame, to_page: Transform, inks: &mut Inks, pieces: &mut Vec<Piece>) {
    for (at, item) in frame.items() {
        let here = to_page.pre_concat(Transform::translate(at.x, at.y));
        match item {
            FrameItem::Group(group) => walk(&group.frame, here.pre_concat(group.transform), inks, pieces),
            // a mark that is seen through lies over nothing
            FrameItem::Text(text) if matches!(&text.fill, Paint::Solid(color) if color.alpha().is_some_and(|a| a < 1.0)) =>
                {}
            FrameItem::Text(text) => pieces.extend(inks.piece(text, here)),
            FrameItem::Image(_, size, _) => {
                let picture = Area { left: 0.0, top: 0.0, right: size.x.to_pt(), bottom: size.y.to_pt() };
                let area = picture.through(here);
                pieces.push(Piece { text: None, points: 0.0, area, letters: vec![picture], to_page: here });
            }
            FrameItem::Shape(..) | FrameItem::Link(..) | FrameItem::Tag(_) => {}
        }
    }
}

/// Around the ink of each glyph, in ems from its origin, downward: to work it out from the outline takes longer than all the rest.
///
/// There are as many as the fonts have glyphs in the weights and widths of the templates.
#[derive(Default)]
pub(super) struct Inks(HashMap<FontInstance, HashMap<u16, Option<Area>>>);

thread_local! {
    /// Those of all documents that this thread has seen.
    static INKS: RefCell<Inks> = RefCell::default();
}

impl Inks {
    /// A run of text; none if it is blank.
    fn piece(&mut self, text: &TextItem, to_page: Transform) -> Option<Piece> {
        let inks = self.0.entry(text.font.clone()).or_default();
        let points = text.size.to_pt();
        let mut letters = Vec::with_capacity(text.glyphs.len());
        let mut x = 0.0;
        for (i, glyph) in text.glyphs.iter().enumerate() {
            if let Some(ink) = inks.entry(glyph.id).or_insert_with(|| ink_of(text, i)) {
                let (right, up) = (x + glyph.x_offset.get(), glyph.y_offset.get());
                letters.push(Area {
                    left: (right + ink.left) * points,
                    right: (right + ink.right) * points,
                    top: (ink.top - up) * points,
                    bottom: (ink.bottom - up) * points,
                });
            }
            x += glyph.x_advance.get();
        }
        let area = letters.iter().copied().reduce(Area::and)?.through(to_page);
        // a turned or scaled run keeps the length of its unit vector
        let unit =
            Point::new(Abs::zero(), text.size).transform(Transform { tx: Abs::zero(), ty: Abs::zero(), ..to_page });
        let points = unit.x.to_pt().hypot(unit.y.to_pt());
        Some(Piece { text: Some(text.text.to_string()), points, area, letters, to_page })
    }
}

/// Around a glyph's outline; none if it has none.
fn ink_of(text: &TextItem, glyph: usize) -> Option<Area> {
    let mut glyph = text.glyphs[glyph].clone();
    (glyph.x_offset, glyph.y_offset) = Default::default();
    let one = TextItem { size: Abs::pt(1.0), glyphs: vec![glyph], ..text.clone() };
    let ink = one.bbox();
    // without an outline the box is turned inside out
    let is_drawn = ink.min.x < ink.max.x && ink.min.x.to_pt().is_finite();
    is_drawn.then(|| Area {
        left: ink.min.x.to_pt(),
        right: ink.max.x.to_pt(),
        top: ink.min.y.min(ink.max.y).to_pt(),
        bottom: ink.min.y.max(ink.max.y).to_pt(),
    })
}
