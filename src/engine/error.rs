//! What can go wrong between data and page, in the user's words where it is the user's to mend.

use typst::diag::SourceDiagnostic;
use typst::syntax::{DiagSpan, DiagSpanKind, FileId};

use super::world::Files;
use crate::diagnostic::{Diagnostic, Place, Spot};

/// Why a document was not made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TypesetError {
    /// The font has no glyph for a character; printing it would leave an empty box.
    #[error("the font has no glyph for {character:?} (U+{:04X}) in `{text}`", u32::from(*character))]
    MissingGlyph {
        /// The character.
        character: char,
        /// The whole text it stands in.
        text: String,
        /// Where that text stands in the document's data, such as `labels[0].firm.name`.
        field: String,
    },
    /// The required text of a label is too much for its size, even in the smallest type.
    #[error("label {} needs {needed_mm} mm of height and has {have_mm} mm", label + 1)]
    DoesNotFit {
        /// Which label, from 0.
        label: usize,
        /// Height needed at this width in the smallest legible type, in millimetres, rounded up.
        needed_mm: u32,
        /// Height of the label in millimetres, rounded down.
        have_mm: u32,
    },
    /// A fault of the template or of the data's shape; ours, not the user's.
    #[error("{message}{}", place.as_ref().map(|p| format!(" (at {p})")).unwrap_or_default())]
    Template {
        /// What Typst says.
        message: String,
        /// File and line of the template, where known.
        place: Option<String>,
        /// What Typst advises.
        hints: Vec<String>,
    },
    /// A fault in a template of the user's own, reported at its place.
    #[error("{}", .0.message)]
    OwnTemplate(Box<Diagnostic>),
    /// A page could not be written as an image.
    #[error("page {} is too large to be drawn at {dpi} dots per inch", page + 1)]
    Image {
        /// Which page, from 0.
        page: usize,
        /// The resolution asked for.
        dpi: u32,
    },
}

/// The first of Typst's errors, as ours; as the user's where it comes from a template of the user's.
pub(super) fn from_diagnostics(files: &Files, errors: &[SourceDiagnostic]) -> TypesetError {
    let Some(first) = errors.first() else {
        return TypesetError::Template {
            message: "Typst failed without a reason".into(),
            place: None,
            hints: Vec::new(),
        };
    };
    if let Some(error) = does_not_fit(&first.message) {
        return error;
    }
    // what our own part complains of may be what a template of the user's gave it
    let calls = first.trace.iter().map(|call| DiagSpan::from(call.span));
    let spans = std::iter::once(first.span).chain(calls);
    match spans.filter_map(|span| Spotted::of(files, span)).find(|at| at.own) {
        Some(at) => own_template(first, Some(at)),
        None => TypesetError::Template {
            message: first.message.to_string(),
            place: Spotted::of(files, first.span).map(|at| at.short()),
            hints: first.hints.iter().map(|hint| hint.v.to_string()).collect(),
        },
    }
}

/// An error that came of the user's templates though it shows in ours, or nowhere.
pub(super) fn blame_own(files: &Files, errors: &[SourceDiagnostic]) -> TypesetError {
    match (from_diagnostics(files, errors), errors.first()) {
        (TypesetError::Template { .. }, Some(first)) => own_template(first, Spotted::of(files, first.span)),
        (error, _) => error,
    }
}

fn own_template(error: &SourceDiagnostic, at: Option<Spotted>) -> TypesetError {
    let mut problem = Diagnostic::error("template-fault", error.message.to_string());
    problem.place = at.map(Spotted::place);
    problem.hints = error.hints.iter().map(|hint| hint.v.to_string()).collect();
    TypesetError::OwnTemplate(Box::new(
        problem.hint("this comes of the company's own templates; without them the program's are used"),
    ))
}

/// A place in a file that templates are made of.
struct Spotted {
    file: String,
    spot: Option<Spot>,
    own: bool,
}

impl Spotted {
    fn of(files: &Files, span: DiagSpan) -> Option<Spotted> {
        let id = span.id()?;
        let text = files.text(id);
        let spot = range_start(files, span, id).and_then(|at| spot_at(text?, at));
        let own = files.own(id);
        let file =
            own.map_or_else(|| id.get().vpath().get_without_slash().to_owned(), |path| path.display().to_string());
        Some(Spotted { file, spot, own: own.is_some() })
    }

    fn short(self) -> String {
        match self.spot {
            Some(spot) => format!("{}:{}", self.file, spot.line),
            None => self.file,
        }
    }

    fn place(self) -> Place {
        Place { file: self.file, path: String::new(), spot: self.spot }
    }
}

fn range_start(files: &Files, span: DiagSpan, id: FileId) -> Option<usize> {
    match span.get() {
        DiagSpanKind::Detached => None,
        DiagSpanKind::Number { num, sub_range, .. } => Some(files.source(id)?.range(num, sub_range)?.start),
        DiagSpanKind::Range { range, .. } => Some(range.start),
    }
}

/// Line and column of a byte, with the line itself.
fn spot_at(text: &str, at: usize) -> Option<Spot> {
    let before = text.get(..at)?;
    let begins = before.rfind('\n').map_or(0, |i| i + 1);
    Some(Spot {
        line: before.matches('\n').count() + 1,
        column: before[begins..].chars().count() + 1,
        text: text[begins..].lines().next().unwrap_or("").to_owned(),
    })
}

/// Reads `does-not-fit: label=0 needed_mm=156 have_mm=146`, which the label template says when it gives up.
fn does_not_fit(message: &str) -> Option<TypesetError> {
    let (_, rest) = message.split_once("does-not-fit: ")?;
    let value = |key: &str| {
        rest.split_whitespace().find_map(|pair| pair.strip_prefix(key)?.strip_prefix('=')?.parse::<u32>().ok())
    };
    Some(TypesetError::DoesNotFit {
        label: usize::try_from(value("label")?).ok()?,
        needed_mm: value("needed_mm")?,
        have_mm: value("have_mm")?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_byte_has_its_line_and_column() {
        let spot = spot_at("é\nab ñc\nd", 8).unwrap();
        assert_eq!((spot.line, spot.column, spot.text.as_str()), (2, 5, "ab ñc"));
        assert_eq!(spot_at("é", 1), None, "inside a character");
        assert_eq!(spot_at("", 0).map(|s| (s.line, s.column)), Some((1, 1)));
    }

    #[test]
    fn reads_what_the_label_says() {
        let said = "assertion failed: does-not-fit: label=2 needed_mm=156 have_mm=146";
        assert_eq!(does_not_fit(said), Some(TypesetError::DoesNotFit { label: 2, needed_mm: 156, have_mm: 146 }));
        assert_eq!(does_not_fit("assertion failed: does-not-fit: label=2"), None);
        assert_eq!(does_not_fit("unknown variable: x"), None);
    }
}
