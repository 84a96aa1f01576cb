//! What Typst may see: the shared files and fonts, and one document's data.

use std::collections::HashMap;

use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

use super::fonts;
use super::{Sheet, Template, Templates};

/// The id of a path. Typst interns paths for the life of the process and has room for 65 535, so paths never hold
/// anything of a single job.
fn id(path: &str) -> FileId {
    // every path here is a literal or the name of a template file: relative, without `..`
    let path = VirtualPath::new(path).unwrap_or_else(|e| unreachable!("template path `{path}`: {e}"));
    RootedPath::new(VirtualRoot::Project, path).intern()
}

/// Built once, the same for every document.
pub(super) struct Shared {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    sources: HashMap<FileId, Source>,
    files: HashMap<FileId, Bytes>,
    mains: HashMap<Template, FileId>,
    data: FileId,
}

impl Shared {
    pub(super) fn new(templates: &Templates) -> Self {
        let mut sources = HashMap::new();
        let mut files = HashMap::new();
        for (path, bytes) in templates.files() {
            let id = id(path);
            if path.ends_with(".typ") {
                sources.insert(id, Source::new(id, String::from_utf8_lossy(bytes).into_owned()));
            }
            files.insert(id, Bytes::new(bytes.to_vec()));
        }
        let mut mains = HashMap::new();
        for template in Template::ALL {
            let name = template.name();
            let main = id(&format!("main/{name}.typ"));
            let text = format!("#import \"/{name}.typ\": render\n#render(json(\"/doc/data.json\"))\n");
            sources.insert(main, Source::new(main, text));
            mains.insert(template, main);
        }
        Shared {
            library: LazyHash::new(Library::default()),
            book: fonts::book(),
            sources,
            files,
            mains,
            data: id("doc/data.json"),
        }
    }
}

/// One document's view: the shared things, its own data and date. Never changed once made.
pub(super) struct DocWorld<'a> {
    shared: &'a Shared,
    main: FileId,
    data: Bytes,
    today: Option<Datetime>,
}

impl<'a> DocWorld<'a> {
    pub(super) fn new(shared: &'a Shared, sheet: &Sheet) -> Self {
        let date = sheet.date;
        DocWorld {
            shared,
            main: shared.mains[&sheet.template],
            data: Bytes::new(sheet.data.clone()),
            today: Datetime::from_ymd(
                i32::from(date.year()),
                date.month().unsigned_abs(),
                date.day().unsigned_abs(),
            ),
        }
    }

    /// The path of a file, as in `parts/house.typ`.
    pub(super) fn name(&self, id: FileId) -> &'static str {
        id.get().vpath().get_without_slash()
    }
}

impl World for DocWorld<'_> {
    fn library(&self) -> &LazyHash<Library> {
        &self.shared.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.shared.book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        self.shared
            .sources
            .get(&id)
            .cloned()
            .ok_or_else(|| FileError::NotFound(self.name(id).into()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        if id == self.shared.data {
            return Ok(self.data.clone());
        }
        self.shared
            .files
            .get(&id)
            .cloned()
            .ok_or_else(|| FileError::NotFound(self.name(id).into()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        fonts::all().get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        self.today
    }
}
