//! Pages of several documents in one.

use typst::foundations::Content;
use typst::introspection::{Location, Tag};
use typst::layout::{Frame, FrameItem};
use typst::model::{Destination, Document, DocumentInfo};
use typst_layout::{Page, PagedDocument};

/// Documents that are laid out one by one and leave as one, so that no more of each than its pages has to be kept.
#[derive(Default)]
pub(super) struct Joined {
    pages: Vec<Page>,
    info: DocumentInfo,
    documents: usize,
}

impl Joined {
    /// The title of the whole, if it is not that of the first document.
    pub fn title(&mut self, title: &str) {
        self.info.title = Some(title.into());
    }

    /// Puts a document's pages after those there are.
    pub fn append(&mut self, document: PagedDocument) {
        let nth = self.documents;
        self.documents += 1;
        if nth == 0 {
            self.info = document.info().clone();
        }
        let pages = document.pages().to_vec();
        drop(document);
        for mut page in pages {
            if nth > 0 {
                relocate(&mut page.frame, nth);
            }
            self.pages.push(page);
        }
    }

    pub fn finish(self) -> PagedDocument {
        PagedDocument::new(self.pages.into_iter().collect(), self.info)
    }
}

/// Gives every element of the nth document a location of its own: in each they are counted from the first.
fn relocate(frame: &mut Frame, nth: usize) {
    let moved = |location: Location| location.variant(nth);
    let put = |element: &mut Content| {
        if let Some(location) = element.location() {
            element.set_location(moved(location));
        }
    };
    frame.retain(|item| {
        match item {
            FrameItem::Group(group) => {
                if let Some(parent) = &mut group.parent {
                    parent.location = moved(parent.location);
                }
                relocate(&mut group.frame, nth);
            }
            FrameItem::Tag(Tag::Start(element, _)) => put(element),
            FrameItem::Tag(Tag::End(location, ..)) => *location = moved(*location),
            FrameItem::Link(Destination::Location(location), _) => *location = moved(*location),
            FrameItem::Link(..) | FrameItem::Text(_) | FrameItem::Shape(..) | FrameItem::Image(..) => {}
        }
        true
    });
}
