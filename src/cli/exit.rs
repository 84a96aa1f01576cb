//! Exit codes, decided in one place, and what is said on the way out.

use std::fmt::Display;
use std::io;
use std::path::Path;
use std::process::ExitCode;

use super::output;
use crate::report::{Diagnostic, Report, count_line};
use crate::shown::Shown;
use crate::whole::why;

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// Everything asked for was done.
    Done,
    /// Some documents were made, some failed; or what was made could not be written. Of `verify`: something was altered.
    SomeFailed,
    /// The input or the call is wrong; nothing was made. Of `verify`: a file cannot be read as what it should be.
    BadInput,
    /// Everything was made, and the certificate was withheld or says that a rule was not kept. Of `verify`: nothing altered was
    /// found, and not everything could be looked at.
    CertificateWithheld,
    /// A fault of the program itself.
    OwnFault,
}

impl Exit {
    /// The number the shell sees.
    pub fn code(self) -> u8 {
        match self {
            Exit::Done => 0,
            Exit::SomeFailed => 1,
            Exit::BadInput => 2,
            Exit::CertificateWithheld => 3,
            Exit::OwnFault => 70,
        }
    }
}

/// Why a command cannot go on: what is to be said, in lines, and how it ends. It is a value and not a print, since a batch says it
/// of one job among many. The lines are made here alone, each of them escaped, so that no value can forge another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Refusal {
    told: String,
    /// Errors of the user's files among it, to be counted at the end.
    problems: usize,
    pub exit: Exit,
}

/// What a refusal can be made of: a report, or one problem of it.
pub(super) trait Problems {
    /// Its blocks, ready to print, and how many errors are to be counted after them.
    fn blocks(&self) -> (String, usize);
}

impl Problems for Report {
    fn blocks(&self) -> (String, usize) {
        (Report::blocks(self), self.errors())
    }
}

impl Problems for Diagnostic {
    fn blocks(&self) -> (String, usize) {
        (self.to_string(), 0)
    }
}

impl<T: Problems> Problems for &T {
    fn blocks(&self) -> (String, usize) {
        (*self).blocks()
    }
}

impl<T: Problems> Problems for Box<T> {
    fn blocks(&self) -> (String, usize) {
        self.as_ref().blocks()
    }
}

impl Refusal {
    /// The input or the call is wrong, at these places.
    pub fn bad_input(problems: impl Problems) -> Refusal {
        let (told, problems) = problems.blocks();
        Refusal { told, problems, exit: Exit::BadInput }
    }

    /// The same in a sentence.
    pub fn error(sentence: impl Display) -> Refusal {
        Refusal::headed(format_args!("error: {sentence}"), Exit::BadInput)
    }

    /// A first line as it stands.
    pub fn headed(line: impl Display, exit: Exit) -> Refusal {
        Refusal { told: format!("{}\n", Shown(line)), problems: 0, exit }
    }

    /// With a line of a list, or a further one.
    pub fn line(mut self, line: impl Display) -> Refusal {
        self.told += &format!("{}\n", Shown(line));
        self
    }

    /// With several.
    pub fn lines(self, lines: impl IntoIterator<Item = impl Display>) -> Refusal {
        lines.into_iter().fold(self, Refusal::line)
    }

    /// With a word on what to do.
    pub fn hint(self, hint: impl Display) -> Refusal {
        self.line(format_args!("  = {hint}"))
    }

    /// With another exit code.
    pub fn ending(self, exit: Exit) -> Refusal {
        Refusal { exit, ..self }
    }

    /// With all that another says, and its exit code.
    pub fn and(mut self, other: &Refusal) -> Refusal {
        self.told += &other.told;
        self.problems += other.problems;
        self.exit = other.exit;
        self
    }

    /// A file could not be written: by the disk's fault or the system's, never by that of the user's files.
    pub fn unwritten(file: &Path, error: &io::Error) -> Refusal {
        Refusal::error(unwritten(file, error)).ending(Exit::SomeFailed)
    }

    /// Our own fault.
    pub fn own_fault(fault: impl ToString) -> Refusal {
        Refusal::headed(format_args!("decant: {}", fault.to_string()), Exit::OwnFault)
            .line("This is a fault of the program, not of your files. Please report it.")
    }

    /// What is said, with the count of problems.
    pub fn told(&self) -> String {
        self.told.clone() + &count_line(self.problems, false)
    }

    /// Says it on stderr.
    pub fn tell(&self) -> Exit {
        let unwritten = self.problems > 0 && output::nothing_was_written();
        output::block(&(self.told.clone() + &count_line(self.problems, unwritten)));
        self.exit
    }
}

/// The sentence for a file that could not be written.
pub(super) fn unwritten(file: &Path, error: &io::Error) -> String {
    format!("cannot write {}: {}", file.display(), why(error))
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(exit.code())
    }
}
