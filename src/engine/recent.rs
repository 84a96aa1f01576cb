//! Documents that were laid out a moment ago: a visit's sheet and labels, which the documents of its route are about to gather.

use std::collections::VecDeque;
use std::sync::{Mutex, MutexGuard, PoisonError};

use sha2::{Digest, Sha256};
use typst_layout::PagedDocument;

/// How many are kept: as many as the visits of a route have, and what other workers make meanwhile.
const MOST: usize = 120;

/// The digest of what a template is given.
type Key = [u8; 32];

/// The latest of them, oldest first, each for whoever asks for it next.
#[derive(Default)]
pub(super) struct Recent(Mutex<VecDeque<(Key, PagedDocument)>>);

impl Recent {
    /// The document of this data, which is given away.
    pub fn take(&self, data: &[u8]) -> Option<PagedDocument> {
        let (key, mut kept) = (key(data), self.kept());
        let at = kept.iter().position(|(known, _)| *known == key)?;
        kept.remove(at).map(|(_, document)| document)
    }

    /// Keeps a document, which costs little beside the one it is a copy of.
    pub fn keep(&self, data: &[u8], document: &PagedDocument) {
        let mut kept = self.kept();
        if kept.len() == MOST {
            kept.pop_front();
        }
        kept.push_back((key(data), document.clone()));
    }

    fn kept(&self) -> MutexGuard<'_, VecDeque<(Key, PagedDocument)>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

fn key(data: &[u8]) -> Key {
    Sha256::digest(data).into()
}
