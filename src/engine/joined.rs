//! Pages of several documents in one.

use std::collections::BTreeMap;
use std::sync::Arc;

use typst::foundations::Content;
use typst::introspection::{Location, Tag};
use typst::layout::resolve::CellGrid;
use typst::layout::{Axes, Frame, FrameItem, GridCell, GridElem, PlaceElem, Sizing};
use typst::model::{Destination, Document, DocumentInfo, ParElem};
use typst_layout::{Page, PagedDocument};

/// Documents that are laid out one by one and leave as one, so that no more of each than its pages has to be kept. One alone stays
/// as it is.
#[derive(Default)]
pub(super) struct Joined {
    parts: BTreeMap<usize, Part>,
}

enum Part {
    Alone(PagedDocument),
    Pages(Vec<Page>, DocumentInfo),
}

impl Joined {
    /// Puts a document's pages after those there are.
    pub fn append(&mut self, document: PagedDocument) {
        self.put(self.parts.len(), document);
    }

    /// Puts a document at its place, and takes the one away that was there.
    pub fn put(&mut self, nth: usize, document: PagedDocument) {
        if nth == 0 {
            self.parts.insert(nth, Part::Alone(document));
            return;
        }
        if let Some(first) = self.parts.get_mut(&0) {
            first.open(0);
        }
        let mut part = Part::Alone(document);
        part.open(nth);
        self.parts.insert(nth, part);
    }

    /// The pages of all, and how the first is named.
    pub fn finish(self) -> (Vec<Page>, DocumentInfo) {
        let is_alone = self.parts.len() == 1;
        let (mut all, mut of) = (Vec::new(), None);
        for (nth, mut part) in self.parts {
            if !is_alone {
                part.open(nth);
            }
            let (mut pages, info) = match part {
                Part::Alone(document) => (document.pages().to_vec(), document.info().clone()),
                Part::Pages(pages, info) => (pages, info),
            };
            all.append(&mut pages);
            of.get_or_insert(info);
        }
        (all, of.unwrap_or_default())
    }
}

impl Part {
    /// Lets go of all but the pages.
    fn open(&mut self, nth: usize) {
        if let Part::Alone(document) = self {
            let (mut pages, info) = (document.pages().to_vec(), document.info().clone());
            *self = Part::Pages(Vec::new(), DocumentInfo::default());
            pages.iter_mut().for_each(|page| relocate(&mut page.frame, nth));
            *self = Part::Pages(pages, info);
        }
    }
}

/// Gives every element of the nth document a location of its own, since in each they are counted from the first.
pub(super) fn relocate(frame: &mut Frame, nth: usize) {
    let moved = |location: Location| location.variant(nth);
    frame.retain(|item| {
        match item {
            FrameItem::Group(group) => {
                if let Some(parent) = &mut group.parent {
                    parent.location = moved(parent.location);
                }
                relocate(&mut group.frame, nth);
            }
            FrameItem::Tag(Tag::Start(element, _)) => {
                if let Some(location) = element.location() {
                    element.set_location(moved(location));
                }
                bare(element);
            }
            FrameItem::Tag(Tag::End(location, ..)) => *location = moved(*location),
            FrameItem::Link(Destination::Location(location), _) => *location = moved(*location),
            FrameItem::Link(..) | FrameItem::Text(_) | FrameItem::Shape(..) | FrameItem::Image(..) => {}
        }
        true
    });
}

/// Drops what an element holds beside its frame and nobody reads any more: of a grid only the number of columns and rows
/// is.
fn bare(element: &mut Content) {
    if let Some(paragraph) = element.to_packed_mut::<ParElem>() {
        paragraph.body = Content::empty();
    } else if let Some(place) = element.to_packed_mut::<PlaceElem>() {
        place.body = Content::empty();
    } else if let Some(cell) = element.to_packed_mut::<GridCell>() {
        cell.body = Content::empty();
    } else if let Some(grid) = element.to_packed_mut::<GridElem>() {
        grid.children.clear();
        if let Some(cells) = &mut grid.grid {
            let tracks = Axes::new(cells.non_gutter_column_count(), cells.non_gutter_row_count());
            let tracks = tracks.map(|count| vec![Sizing::Auto; count]);
            let none = Axes::new(&[][..], &[][..]);
            *cells = Arc::new(CellGrid::new(tracks.as_deref(), none, []));
        }
    }
}
