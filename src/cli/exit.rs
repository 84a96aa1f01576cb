//! Exit codes, decided in one place.

use std::process::ExitCode;

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// Everything asked for was done.
    Done,
    /// Some documents were made, some failed.
    SomeFailed,
    /// The input or the call is wrong; nothing was made.
    BadInput,
    /// Everything was made but a certificate, which the record does not allow.
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
