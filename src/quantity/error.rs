//! What can be wrong with a quantity somebody wrote, in their words, with what to write instead.

use std::fmt;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuantityError {
    /// One sentence: what is wrong. It quotes what was written.
    pub message: String,
    /// What to write instead, or why it is refused; may be empty.
    pub hints: Vec<String>,
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        self.hints.iter().try_for_each(|hint| write!(f, "; {hint}"))
    }
}

impl std::error::Error for QuantityError {}

impl QuantityError {
    pub(crate) fn new<H: Into<String>>(message: impl Into<String>, hints: impl IntoIterator<Item = H>) -> Self {
        QuantityError { message: message.into(), hints: hints.into_iter().map(Into::into).collect() }
    }

    /// Without a word on what to write instead.
    pub(crate) fn plain(message: impl Into<String>) -> Self {
        QuantityError { message: message.into(), hints: Vec::new() }
    }

    pub(crate) fn bad_number(text: &str, hint: impl Into<String>) -> Self {
        QuantityError::new(format!("{} is not a number that can be read", quote(text)), [hint])
    }

    pub(crate) fn unexpected(text: &str, what: &str) -> Self {
        QuantityError::plain(format!("{} holds {what}, which has no place here", quote(text)))
    }

    /// A figure without a unit; `units` are those that would do.
    pub(crate) fn bare_number(text: &str, examples: &[String], units: &str) -> Self {
        QuantityError::new(format!("{} has no unit; write e.g. {}", quote(text), either(examples)), [would_do(units)])
    }

    pub(crate) fn negative(text: &str, wanted: &str) -> Self {
        QuantityError::plain(format!("{} is below zero, which {wanted} cannot be", quote(text)))
    }

    pub(crate) fn too_large(text: &str, wanted: &str, most: &str) -> Self {
        QuantityError::plain(format!("{} is too large: {wanted} is at most {most}", quote(text)))
    }

    pub(crate) fn range(text: &str) -> Self {
        let mixed = quote(text).contains('/').then_some("a mixed number is written `1 1/2`");
        let ends = "which end protects depends on its use: see the product label or the SDS";
        QuantityError::new(format!("{} is a range; one figure is wanted", quote(text)), mixed.into_iter().chain([ends]))
    }
}

pub(crate) fn would_do(units: &str) -> String {
    format!("units that would do: {units}")
}

pub(crate) fn either(examples: &[String]) -> String {
    examples.iter().map(|example| format!("`{example}`")).collect::<Vec<_>>().join(" or ")
}

/// What was written, between backquotes, cut to a length a message can bear and with nothing a terminal would obey.
pub(crate) fn quote(text: &str) -> String {
    const MOST: usize = 60;
    let clean = |c: char| if c.is_control() || c == '`' { '\u{FFFD}' } else { c };
    let mut shown: String = text.trim().chars().take(MOST).map(clean).collect();
    if text.trim().chars().nth(MOST).is_some() {
        shown.push('…');
    }
    format!("`{shown}`")
}
