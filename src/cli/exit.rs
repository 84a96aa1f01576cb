//! Exit codes, decided in one place, and what is said on the way out.

use std::fmt::Display;
use std::process::ExitCode;

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// Everything asked for was done.
    Done,
    /// Some documents were made, some failed. Of `verify`: something was altered.
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

/// Why a command cannot go on: what is to be said, in whole lines, and how it ends. It is a value and not a print, since a
/// batch says it of one job among many.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Refusal {
    pub told: String,
    pub exit: Exit,
}

impl Refusal {
    /// The input or the call is wrong.
    pub fn bad_input(told: impl ToString) -> Refusal {
        Refusal {
            told: told.to_string(),
            exit: Exit::BadInput,
        }
    }

    /// The same of a sentence that is no report yet.
    pub fn error(told: impl Display) -> Refusal {
        Refusal::bad_input(format!("error: {told}\n"))
    }

    /// Our own fault.
    pub fn own_fault(fault: impl ToString) -> Refusal {
        let told = format!(
            "decant: {}\nThis is a fault of the program, not of your files. Please report it.\n",
            fault.to_string()
        );
        Refusal {
            told,
            exit: Exit::OwnFault,
        }
    }

    /// Says it on stderr.
    pub fn tell(&self) -> Exit {
        eprint!("{}", self.told);
        self.exit
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(exit.code())
    }
}
