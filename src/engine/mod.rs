//! Data in, pages out: Typst with our own fonts and templates, one small world a document.
//!
//! A [`Engine`] is built once and shared; it holds everything that does not change between documents. Each [`Sheet`] is
//! laid out in a world of its own, so no document can see another's data. Nothing of the host is touched: no file, font,
//! clock or network. The same sheet gives the same bytes.

mod attached;
mod error;
mod export;
mod folder;
pub mod fonts;
mod geometry;
mod glyphs;
mod joined;
mod labels;
mod one_bit;
mod recent;
mod stock;
mod templates;
mod world;

pub use attached::attached;
pub use error::TypesetError;
pub use export::Typeset;
pub use templates::{Ink, Template, Templates};

use std::sync::OnceLock;

use jiff::civil::DateTime;
use serde_json::Value;
use typst::diag::{SourceDiagnostic, Warned};
use typst::syntax::Span;
use typst_layout::PagedDocument;

use world::{DocWorld, Shared};

/// One document to be laid out.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Which template.
    pub template: Template,
    /// What the template is given: a JSON object, in UTF-8, of display strings.
    pub data: Vec<u8>,
    /// The document's date, written into the file as if it were UTC; the only clock a document sees.
    pub date: DateTime,
    /// A stable name of the logical document, such as `2026-0413-1/label`; becomes the PDF's identifier.
    pub ident: String,
}

/// Fonts, templates and Typst's library, shared by every document of a run. `Send + Sync`.
pub struct Engine {
    shared: Shared,
    templates: Templates,
    /// With our templates alone, to tell the user's faults from ours; made when there is a fault.
    plain: OnceLock<Shared>,
    fits: labels::Fits,
    recent: recent::Recent,
}

impl Engine {
    /// With the built-in templates.
    pub fn new() -> Self {
        Engine::with(Templates::built_in())
    }

    /// With these templates.
    pub fn with(templates: Templates) -> Self {
        let shared = Shared::new(&templates);
        Engine { shared, templates, plain: OnceLock::new(), fits: Default::default(), recent: Default::default() }
    }

    /// Lays one document out.
    ///
    /// # Errors
    ///
    /// - `TypesetError::MissingGlyph` if the data holds a character the font has not;
    /// - `TypesetError::DoesNotFit` if a label's required text is too much for its size;
    /// - `TypesetError::OwnTemplate` if a template of the user's own is at fault;
    /// - `TypesetError::Template` for anything else, warnings included: a fault of the template or of its data.
    pub fn typeset(&self, sheet: &Sheet) -> Result<Typeset, TypesetError> {
        let data = glyphs::read(&sheet.data)?;
        if sheet.template == Template::Label {
            return self.labels(&data, sheet.date, &sheet.ident);
        }
        glyphs::check(&data)?;
        let (document, _) = self.gathered_or_new(sheet, false)?;
        self.finished(document, &data, sheet, Vec::new())
    }

    /// Names the document as its data does, unless a template of the user's named it. Templates that did would make every document
    /// different from its first line on, and nothing of it could be taken from the one before.
    fn finished(
        &self,
        mut document: PagedDocument,
        data: &Value,
        sheet: &Sheet,
        left_off: Vec<String>,
    ) -> Result<Typeset, TypesetError> {
        let info = document.info_mut();
        if info.title.is_none() {
            let title = data["title"].as_str().unwrap_or_default();
            // the mark across the page is an artifact, so the title says it to a screen reader
            let draft = data["words"]["draft"].as_str().filter(|_| data["draft"] == true);
            info.title = Some(draft.map_or_else(|| title.into(), |draft| format!("{draft}: {title}").into()));
        }
        if info.author.is_empty() {
            info.author = data["author"].as_str().into_iter().map(Into::into).collect();
        }
        self.checked(Typeset::new(document, sheet, self.shared.files(), left_off))
    }

    /// Mix sheets and labels are laid out for their visit and gathered for its route; pages do not depend on the date unless a
    /// template of the user's asks for it. `gathers`: it is one of many that leave as one, and nobody will ask for it again. Also
    /// gives whether it was laid out just now.
    fn gathered_or_new(&self, sheet: &Sheet, gathers: bool) -> Result<(PagedDocument, bool), TypesetError> {
        if !matches!(sheet.template, Template::MixSheet | Template::Label) || self.shared.files().any_own() {
            return Ok((self.lay_out(sheet)?, true));
        }
        if let Some(document) = self.recent.take(&sheet.data) {
            return Ok((document, false));
        }
        let document = self.lay_out(sheet)?;
        if !gathers {
            self.recent.keep(&sheet.data, &document);
        }
        Ok((document, true))
    }

    /// Only the PDF standards tell of a character without a glyph, or a drawing without words for it, in a template of the
    /// user's own; a picture must meet them too.
    fn checked(&self, made: Typeset) -> Result<Typeset, TypesetError> {
        if self.shared.files().any_own() {
            made.pdf()?;
        }
        Ok(made)
    }

    fn lay_out(&self, sheet: &Sheet) -> Result<PagedDocument, TypesetError> {
        lay_out(&self.shared, sheet).map_err(|errors| self.explain(sheet, &errors))
    }

    /// What a template made that will not do, in words of our own.
    fn blame(&self, why: &str) -> TypesetError {
        let errors = [SourceDiagnostic::error(Span::detached(), why)];
        let files = self.shared.files();
        if files.any_own() { error::blame_own(files, &errors) } else { error::from_diagnostics(files, &errors) }
    }

    /// Whose fault it is. A part of ours may fail for what a template of the user's lacks; then the same sheet is made
    /// with ours alone, and if that goes well the fault is not ours.
    fn explain(&self, sheet: &Sheet, errors: &[SourceDiagnostic]) -> TypesetError {
        let files = self.shared.files();
        let error = error::from_diagnostics(files, errors);
        if files.any_own() && matches!(error, TypesetError::Template { .. }) {
            let plain = self.plain.get_or_init(|| Shared::new(&self.templates.without_own()));
            if lay_out(plain, sheet).is_ok() {
                return error::blame_own(files, errors);
            }
        }
        error
    }
}

/// Lays a sheet out; a warning counts as an error.
fn lay_out(shared: &Shared, sheet: &Sheet) -> Result<PagedDocument, Vec<SourceDiagnostic>> {
    // the cache is cleared of old entries however this ends; never doing so grows by the size of every document
    let _evict = Evict;
    let world = DocWorld::new(shared, sheet);
    let Warned { output, warnings } = typst::compile::<PagedDocument>(&world);
    let document = output.map_err(|errors| errors.to_vec())?;
    // an unknown font or a layout that does not settle is only a warning to Typst, but a wrong page to us
    if warnings.is_empty() { Ok(document) } else { Err(warnings.to_vec()) }
}

impl Default for Engine {
    fn default() -> Self {
        Engine::new()
    }
}

/// Ages Typst's cache by one document when dropped. Six keep what visits share, of which two workers make three each, and let
/// the rest go: more are looked through at every document and found of no use.
struct Evict;

impl Drop for Evict {
    fn drop(&mut self) {
        typst::comemo::evict(6);
    }
}

#[cfg(test)]
mod tests;
