//! What Typst may see: the shared files and fonts, and one document's data.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Dict, Duration, IntoValue};
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

/// What templates are made of, by Typst's ids.
pub(super) struct Files {
    sources: HashMap<FileId, Source>,
    bytes: HashMap<FileId, Bytes>,
    /// Where the user's own lie.
    own: HashMap<FileId, PathBuf>,
}

impl Files {
    fn new(templates: &Templates) -> Self {
        let mut files = Files {
            sources: HashMap::new(),
            bytes: HashMap::new(),
            own: templates.own().map(|(path, from)| (id(path), from.to_owned())).collect(),
        };
        for (path, bytes) in templates.files() {
            let id = id(path);
            if path.ends_with(".typ") {
                let source = Source::new(id, String::from_utf8_lossy(bytes).into_owned());
                files.sources.insert(id, source);
            }
            files.bytes.insert(id, Bytes::new(bytes.to_vec()));
        }
        files
    }

    /// A template or part.
    pub(super) fn source(&self, id: FileId) -> Option<&Source> {
        self.sources.get(&id)
    }

    /// A file as text, if it is text.
    pub(super) fn text(&self, id: FileId) -> Option<&str> {
        match self.sources.get(&id) {
            Some(source) => Some(source.text()),
            None => std::str::from_utf8(self.bytes.get(&id)?).ok(),
        }
    }

    /// Where a file lies that is the user's own.
    pub(super) fn own(&self, id: FileId) -> Option<&Path> {
        self.own.get(&id).map(PathBuf::as_path)
    }

    /// Whether any of them is the user's own.
    pub(super) fn any_own(&self) -> bool {
        !self.own.is_empty()
    }
}

/// What a certificate carries within: its record, the record's seal, and the logo, so that its page can be drawn again from
/// the file alone. The names are the same for all certificates, since Typst never forgets a path.
const ATTACH: &str = r#"#let attached = json("/doc/data.json").at("attached", default: none)
#if attached != none {
  pdf.attach("/record.json", bytes(attached.record), mime-type: "application/json", relationship: "source",
    description: "The record that this certificate is made from")
  pdf.attach("/seal.json", bytes(attached.seal), mime-type: "application/json", relationship: "supplement",
    description: "The record's digest and signature")
  let logo = json("/doc/data.json").at("logo", default: none)
  if logo != none {
    pdf.attach(logo.path.replace("/house", ""), read(logo.path, encoding: none), relationship: "supplement", description: "The logo",
      mime-type: if logo.path.ends-with(".svg") { "image/svg+xml" } else { "image/png" })
  }
}
"#;

/// Built once, the same for every document.
pub(super) struct Shared {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    files: Arc<Files>,
    mains: HashMap<Template, FileId>,
    data: FileId,
}

impl Shared {
    pub(super) fn new(templates: &Templates) -> Self {
        let mut files = Files::new(templates);
        let mut mains = HashMap::new();
        for template in Template::ALL {
            let name = template.name();
            let main = id(&format!("main/{name}.typ"));
            let attach = if template == Template::Certificate { ATTACH } else { "" };
            let text = format!("#import \"/{name}.typ\": render\n{attach}#render(json(\"/doc/data.json\"))\n");
            files.sources.insert(main, Source::new(main, text));
            mains.insert(template, main);
        }
        // the same for every page of a run, so it may be part of the library; a document's data may not, since every
        // other library empties Typst's cache
        let inputs: Dict = [("ink".into(), templates.ink().word().into_value())].into_iter().collect();
        Shared {
            library: LazyHash::new(Library::builder().with_inputs(inputs).build()),
            book: fonts::book(),
            files: Arc::new(files),
            mains,
            data: id("doc/data.json"),
        }
    }

    /// The files, for whoever has to say where a fault is.
    pub(super) fn files(&self) -> &Arc<Files> {
        &self.files
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
            today: Datetime::from_ymd(i32::from(date.year()), date.month().unsigned_abs(), date.day().unsigned_abs()),
        }
    }

    /// The path of a file, as in `parts/house.typ`.
    fn name(&self, id: FileId) -> &'static str {
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
        self.shared.files.source(id).cloned().ok_or_else(|| FileError::NotFound(self.name(id).into()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        if id == self.shared.data {
            return Ok(self.data.clone());
        }
        self.shared.files.bytes.get(&id).cloned().ok_or_else(|| FileError::NotFound(self.name(id).into()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        fonts::all().get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        self.today
    }
}
