//! Running the program and keeping all that it said.

use std::ffi::OsStr;
use std::path::Path;
use std::process::Command;

/// How a run ended and what it said.
#[derive(Debug)]
pub struct Outcome {
    pub code: Option<i32>,
    pub stdout: String,
    pub stderr: String,
}

impl Outcome {
    /// Fails the test with both streams if the run did not end with `code`.
    #[track_caller]
    pub fn must_end_with(self, code: i32) -> Self {
        assert_eq!(self.code, Some(code), "\nstdout:\n{}\nstderr:\n{}", self.stdout, self.stderr);
        self
    }
}

/// Runs `decant` with `folder` as its working directory.
pub fn decant<A: AsRef<OsStr>>(folder: &Path, arguments: impl IntoIterator<Item = A>) -> Outcome {
    let output = Command::new(env!("CARGO_BIN_EXE_decant"))
        .current_dir(folder)
        .args(arguments)
        .output()
        .expect("the program starts");
    Outcome {
        code: output.status.code(),
        stdout: String::from_utf8(output.stdout).expect("stdout is UTF-8"),
        stderr: String::from_utf8(output.stderr).expect("stderr is UTF-8"),
    }
}
