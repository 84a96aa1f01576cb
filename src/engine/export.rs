//! A laid-out document, and the forms it can leave in.

use std::sync::Arc;

use jiff::civil::DateTime;
use typst::foundations::{Content, Datetime, Label, Selector, Smart, Value};
use typst::introspection::{Introspector, MetadataElem, PagedPosition};
use typst::model::DocumentInfo;
use typst::utils::PicoStr;
use typst_layout::{Page, PagedDocument};
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};
use typst_render::RenderOptions;
use typst_svg::SvgOptions;

use super::joined::Joined;
use super::world::Files;
use super::{Sheet, TypesetError, error, one_bit};

/// Points in an inch, as PDF and Typst count them.
const POINTS_PER_INCH: f64 = 72.0;

/// Dots of one picture, at most: a letter page at 1200 dots per inch has 135 million, and each takes four bytes.
const MOST_DOTS: f64 = 200e6;

/// A document laid out on pages.
pub struct Typeset {
    document: PagedDocument,
    date: DateTime,
    ident: String,
    files: Arc<Files>,
    left_off: Vec<String>,
}

impl Typeset {
    pub(super) fn new(document: PagedDocument, sheet: &Sheet, files: &Arc<Files>, left_off: Vec<String>) -> Self {
        Typeset { document, date: sheet.date, ident: sheet.ident.clone(), files: files.clone(), left_off }
    }

    /// Several documents as one, under this title and with the first one's date, language and identifier.
    ///
    /// # Errors
    /// The first error among them, or that there is none to join.
    pub fn join(
        parts: impl Iterator<Item = Result<Typeset, TypesetError>>,
        title: &str,
    ) -> Result<Typeset, TypesetError> {
        let mut joined = Joined::default();
        let mut of = None;
        for part in parts {
            let Typeset { document, date, ident, files, .. } = part?;
            joined.append(document);
            of.get_or_insert((date, ident, files));
        }
        let nothing = || TypesetError::Template {
            message: "there is nothing in this run".to_owned(),
            place: None,
            hints: Vec::new(),
        };
        let (date, ident, files) = of.ok_or_else(nothing)?;
        let (pages, info) = joined.finish();
        let document =
            PagedDocument::new(pages.into_iter().collect(), DocumentInfo { title: Some(title.into()), ..info });
        Ok(Typeset { document, date, ident, files, left_off: Vec::new() })
    }

    pub(super) fn document(&self) -> &PagedDocument {
        &self.document
    }

    /// The number of pages.
    pub fn pages(&self) -> usize {
        self.document.pages().len()
    }

    /// What labels left off to keep to their size, as the `optional` list of their data names it; empty if nothing.
    pub fn left_off(&self) -> &[String] {
        &self.left_off
    }

    /// As PDF/A-3a and PDF/UA-1: fonts within, tagged for reading aloud, no missing glyph.
    ///
    /// # Errors
    ///
    /// [`TypesetError::Template`] if the document breaks a rule of either standard; [`TypesetError::OwnTemplate`] if it
    /// does so with templates of the user's.
    pub fn pdf(&self) -> Result<Vec<u8>, TypesetError> {
        let standards = PdfStandards::new(&[PdfStandard::A_3a, PdfStandard::Ua_1])
            .map_err(|e| TypesetError::Template { message: e.message().to_string(), place: None, hints: Vec::new() })?;
        let options = PdfOptions {
            ident: Smart::Custom(self.ident.clone()),
            // named, since Typst's own default changes with its version
            creator: Smart::Custom(Some("decant".into())),
            timestamp: self.timestamp(),
            standards,
            tagged: true,
            ..PdfOptions::default()
        };
        typst_pdf::pdf(&self.document, &options).map_err(|errors| {
            // ours keep both standards, as the tests of every sample show
            if self.files.any_own() {
                error::blame_own(&self.files, &errors)
            } else {
                error::from_diagnostics(&self.files, &errors)
            }
        })
    }

    /// As images, one a page, at this many dots per inch.
    ///
    /// # Errors
    ///
    /// [`TypesetError::Image`] if a page is too large at that resolution or cannot be encoded.
    pub fn png(&self, dpi: u32) -> Result<Vec<Vec<u8>>, TypesetError> {
        self.pictures(dpi, |picture| picture.encode_png().ok())
    }

    /// As images of one bit a dot, black or white, one a page, at this many dots per inch: for printers that have no
    /// greys. The pages should be laid out for [`Ink::Black`](super::Ink::Black), else pale print is lost.
    ///
    /// # Errors
    ///
    /// [`TypesetError::Image`] if a page is too large at that resolution or cannot be encoded.
    pub fn one_bit_png(&self, dpi: u32) -> Result<Vec<Vec<u8>>, TypesetError> {
        self.pictures(dpi, |picture| one_bit::encode(&picture, dpi))
    }

    fn pictures(
        &self,
        dpi: u32,
        encode: impl Fn(tiny_skia::Pixmap) -> Option<Vec<u8>>,
    ) -> Result<Vec<Vec<u8>>, TypesetError> {
        let options =
            RenderOptions { pixel_per_pt: (f64::from(dpi) / POINTS_PER_INCH).into(), ..RenderOptions::default() };
        let too_large = |page: &Page| {
            let size = page.frame.size();
            let scale = f64::from(dpi) / POINTS_PER_INCH;
            size.x.to_pt() * scale * size.y.to_pt() * scale > MOST_DOTS
        };
        let picture = |(page, it): (usize, &Page)| {
            // the renderer has no way to say that it was asked for too much
            if too_large(it) {
                return Err(TypesetError::Image { page, dpi });
            }
            encode(typst_render::render(it, &options)).ok_or(TypesetError::Image { page, dpi })
        };
        self.document.pages().iter().enumerate().map(picture).collect()
    }

    /// As SVG, one a page.
    pub fn svg(&self) -> Vec<String> {
        self.document.pages().iter().map(|page| typst_svg::svg(page, &SvgOptions::default())).collect()
    }

    fn timestamp(&self) -> Option<Timestamp> {
        let d = self.date;
        Datetime::from_ymd_hms(
            i32::from(d.year()),
            d.month().unsigned_abs(),
            d.day().unsigned_abs(),
            d.hour().unsigned_abs(),
            d.minute().unsigned_abs(),
            d.second().unsigned_abs(),
        )
        .map(Timestamp::new_utc)
    }
}

/// Every element of this label with its place, in the order of the document.
pub(super) fn marks(document: &PagedDocument, label: &str) -> Vec<(Content, PagedPosition)> {
    let introspector = document.introspector();
    let found = Label::new(PicoStr::intern(label)).map(|label| introspector.query(&Selector::Label(label)));
    let found = found.into_iter().flatten();
    found.filter_map(|mark| introspector.position(mark.location()?).map(|at| (mark, at))).collect()
}

/// What a template says of a document in metadata of this label.
pub(super) fn metadata(document: &PagedDocument, label: &str) -> Option<Value> {
    let (mark, _) = marks(document, label).pop()?;
    Some(mark.to_packed::<MetadataElem>()?.value.clone())
}
