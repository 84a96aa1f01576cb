//! Why something cannot be done, as a value: what is to be said, and whose fault it is.

use std::fmt::Display;
use std::io;
use std::path::Path;

use crate::diagnostic::{Diagnostic, Diagnostics, count_line};
use crate::document::DocumentError;
use crate::input::why;
use crate::shown::Shown;
use crate::wording::WordingError;

/// Whose fault a failure is. It decides the exit code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// The input or the call is wrong.
    Input,
    /// A certificate was issued, and stays as it is.
    Issued,
    /// A file could not be written.
    Disk,
    /// A certificate is rightly withheld.
    Withheld,
    /// An internal error.
    Internal,
}

/// Why something cannot be done, in lines. They are made here alone and each of them is escaped, so that no value can forge another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    lines: String,
    /// Errors of the user's files among them, to be counted at the end.
    errors: usize,
    pub cause: Cause,
}

impl Failure {
    /// The input or the call is wrong, in a sentence.
    pub fn error(sentence: impl Display) -> Failure {
        Failure::headed(format_args!("error: {sentence}"), Cause::Input)
    }

    /// A first line as it stands.
    pub fn headed(line: impl Display, cause: Cause) -> Failure {
        Failure { lines: format!("{}\n", Shown(line)), errors: 0, cause }
    }

    /// A file could not be written.
    pub fn unwritten(file: &Path, error: &io::Error) -> Failure {
        Failure::error(format_args!("cannot write {}: {}", file.display(), why(error))).because(Cause::Disk)
    }

    /// An internal error.
    pub fn internal(error: impl Display) -> Failure {
        Failure::headed(format_args!("decant: {error}"), Cause::Internal)
            .line("This is a fault of the program, not of your files. Please report it.")
    }

    /// With another cause.
    pub fn because(self, cause: Cause) -> Failure {
        Failure { cause, ..self }
    }

    /// With a further line.
    pub fn line(mut self, line: impl Display) -> Failure {
        self.lines += &format!("{}\n", Shown(line));
        self
    }

    /// With further lines.
    pub fn lines(self, lines: impl IntoIterator<Item = impl Display>) -> Failure {
        lines.into_iter().fold(self, Failure::line)
    }

    /// With a line on what to do.
    pub fn hint(self, hint: impl Display) -> Failure {
        self.line(format_args!("  = {hint}"))
    }

    /// With all that another says, and its cause.
    pub fn and(mut self, other: impl Into<Failure>) -> Failure {
        let other = other.into();
        self.lines += &other.lines;
        self.errors += other.errors;
        self.because(other.cause)
    }

    /// How many errors of the user's files are in it.
    pub fn errors(&self) -> usize {
        self.errors
    }

    /// All lines; the last one counts the errors, and with `unwritten` says that no file was written.
    pub fn text(&self, unwritten: bool) -> String {
        self.lines.clone() + &count_line(self.errors, unwritten)
    }
}

impl From<&Diagnostics> for Failure {
    fn from(report: &Diagnostics) -> Failure {
        Failure { lines: report.blocks(), errors: report.errors(), cause: Cause::Input }
    }
}

impl From<Diagnostics> for Failure {
    fn from(report: Diagnostics) -> Failure {
        Failure::from(&report)
    }
}

/// One problem at its place; it is not counted.
impl From<Diagnostic> for Failure {
    fn from(problem: Diagnostic) -> Failure {
        Failure { lines: problem.to_string(), errors: 0, cause: Cause::Input }
    }
}

/// What the built-in words and templates lack.
impl From<DocumentError> for Failure {
    fn from(error: DocumentError) -> Failure {
        Failure::internal(error)
    }
}

impl From<WordingError> for Failure {
    fn from(error: WordingError) -> Failure {
        Failure::internal(error)
    }
}

/// What was read, unless the report has an error: of a value with an error nothing is made, since half of it would be taken for all.
pub fn valid<T>(read: Option<T>, report: &Diagnostics) -> Result<T, Failure> {
    read.filter(|_| !report.has_errors()).ok_or_else(|| report.into())
}
