//! What can go wrong between data and page, in the user's words where it is the user's to mend.

use typst::diag::SourceDiagnostic;
use typst::{World, WorldExt};

use super::world::DocWorld;

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
    /// A page could not be written as an image.
    #[error("page {} cannot be drawn at {dpi} dots per inch", page + 1)]
    Image {
        /// Which page, from 0.
        page: usize,
        /// The resolution asked for.
        dpi: u32,
    },
}

/// The first of Typst's errors, as ours.
pub(super) fn from_diagnostics(world: &DocWorld<'_>, errors: &[SourceDiagnostic]) -> TypesetError {
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
    TypesetError::Template {
        message: first.message.to_string(),
        place: place(world, first),
        hints: first.hints.iter().map(|hint| hint.v.to_string()).collect(),
    }
}

/// An error of the export, which knows no source place.
pub(super) fn from_export(errors: &[SourceDiagnostic]) -> TypesetError {
    let message = errors
        .first()
        .map_or_else(|| "the PDF export failed".to_owned(), |e| e.message.to_string());
    let hints = errors
        .iter()
        .flat_map(|e| e.hints.iter().map(|hint| hint.v.to_string()))
        .collect();
    TypesetError::Template {
        message,
        place: None,
        hints,
    }
}

fn place(world: &DocWorld<'_>, error: &SourceDiagnostic) -> Option<String> {
    let id = error.span.id()?;
    let name = world.name(id);
    let line = world
        .range(error.span)
        .and_then(|range| world.source(id).ok()?.lines().byte_to_line(range.start));
    Some(line.map_or_else(|| name.to_owned(), |line| format!("{name}:{}", line + 1)))
}

/// Reads `does-not-fit: label=0 needed_mm=156 have_mm=146`, which the label template says when it gives up.
fn does_not_fit(message: &str) -> Option<TypesetError> {
    let (_, rest) = message.split_once("does-not-fit: ")?;
    let value = |key: &str| {
        rest.split_whitespace()
            .find_map(|pair| pair.strip_prefix(key)?.strip_prefix('=')?.parse::<u32>().ok())
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
    fn reads_what_the_label_says() {
        let said = "assertion failed: does-not-fit: label=2 needed_mm=156 have_mm=146";
        assert_eq!(
            does_not_fit(said),
            Some(TypesetError::DoesNotFit {
                label: 2,
                needed_mm: 156,
                have_mm: 146
            })
        );
        assert_eq!(does_not_fit("assertion failed: does-not-fit: label=2"), None);
        assert_eq!(does_not_fit("unknown variable: x"), None);
    }
}
