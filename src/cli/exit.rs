//! Exit codes, decided in one place.

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

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(exit.code())
    }
}
