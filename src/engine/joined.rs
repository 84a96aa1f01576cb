//! Pages of several documents in one.

use std::sync::Arc;

use typst::foundations::Content;
use typst::introspection::{Location, Tag};
use typst::layout::resolve::CellGrid;
use typst::layout::{Axes, Frame, FrameItem, GridCell, GridElem, Sizing};
use typst::model::{Destination, Document, DocumentInfo, ParElem};
use typst_layout::{Page, PagedDocument};

/// Documents that are laid out one by one and leave as one, so that no more of each than its pages has to be kept.
#[derive(Default)]
pub(super) struct Joined {
    pages: Vec<Page>,
    info: DocumentInfo,
    documents: usize,
}

impl Joined {
    /// Puts a document's pages after those there are.
    pub fn append(&mut self, document: PagedDocument) {
        if self.documents == 0 {
            self.info = document.info().clone();
        }
        let pages = document.pages().to_vec();
        drop(document);
        for mut page in pages {
            relocate(&mut page.frame, self.documents);
            self.pages.push(page);
        }
        self.documents += 1;
    }

    /// All of it, under this title or the first document's.
    pub fn finish(mut self, title: Option<&str>) -> PagedDocument {
        if let Some(title) = title {
            self.info.title = Some(title.into());
        }
        PagedDocument::new(self.pages.into_iter().collect(), self.info)
    }
}

/// Gives every element of the nth document a location of its own, since in each they are counted from the first.
fn relocate(frame: &mut Frame, nth: usize) {
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
