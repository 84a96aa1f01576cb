//! Passwords and certificates that are trusted: from the environment or a file, never from the company file, never shown.

use std::path::{Path, PathBuf};

use lettre::transport::smtp::client::Certificate;

use crate::catalog::Secret;
use crate::input::{self, InputError};

/// The longest file with a password, in bytes.
const LONGEST_PASSWORD: u64 = 4_096;
/// The largest file of certificates, in bytes.
const LARGEST_PEM: u64 = 1 << 20;

/// A password. It has no `Debug` and no `Display`, so that it cannot slip into a message.
#[derive(Clone, PartialEq, Eq)]
pub struct Password(String);

impl Password {
    /// What it is; for the server alone.
    pub(super) fn reveal(&self) -> &str {
        &self.0
    }

    /// A text without it, should somebody else have put it there.
    pub(super) fn taken_out_of(&self, text: &str) -> String {
        text.replace(&self.0, "…")
    }
}

/// Why a secret cannot be had. No message holds anything of it.
#[derive(Debug, thiserror::Error)]
pub enum SecretError {
    /// The variable is not set.
    #[error("the variable `{0}` of the environment, where the password should be, is not set or is empty")]
    Variable(String),
    /// The file cannot be read.
    #[error("{}: {error}", .file.display())]
    File {
        /// Which file.
        file: PathBuf,
        /// Why.
        error: std::io::Error,
    },
    /// Others than the owner may read the file.
    #[error("{} can be read by others than its owner; `chmod 600` it", .0.display())]
    Open(PathBuf),
    /// It holds no password.
    #[error("{} should hold the password in one line, and does not", .0.display())]
    NoPassword(PathBuf),
    /// It holds no certificate.
    #[error("{} holds no certificate in PEM form (`-----BEGIN CERTIFICATE-----`)", .0.display())]
    NoCertificate(PathBuf),
}

/// Reads a password.
///
/// # Errors
/// [`SecretError`] if it is not there, or lies where others can read it.
pub fn password(secret: &Secret) -> Result<Password, SecretError> {
    match secret {
        Secret::Variable(name) => {
            let value = std::env::var(name).ok().filter(|value| is_password(value));
            value.map(Password).ok_or_else(|| SecretError::Variable(name.clone()))
        }
        Secret::File(file) => {
            let bytes = read(file, LONGEST_PASSWORD, true)?;
            let text = String::from_utf8(bytes).ok();
            let line = text.map(|t| t.strip_suffix('\n').map_or(t.clone(), str::to_owned));
            let line = line.map(|t| t.strip_suffix('\r').map_or(t.clone(), str::to_owned));
            line.filter(|line| is_password(line)).map(Password).ok_or_else(|| SecretError::NoPassword(file.clone()))
        }
    }
}

/// Reads the certificates of a PEM file.
///
/// # Errors
/// [`SecretError`] if it cannot be read or holds none.
pub fn trusted(file: &Path) -> Result<Certificate, SecretError> {
    let none = || SecretError::NoCertificate(file.to_owned());
    let bytes = read(file, LARGEST_PEM, false)?;
    let text = String::from_utf8(bytes).map_err(|_| none())?;
    if !text.contains("-----BEGIN CERTIFICATE-----") {
        return Err(none());
    }
    Certificate::from_pem(text.as_bytes()).map_err(|_| none())
}

fn is_password(text: &str) -> bool {
    !text.is_empty() && !text.chars().any(char::is_control)
}

/// Reads a regular file up to a size. `alone`: nobody but the owner may read it, as the file that is opened says, not its name.
fn read(file: &Path, largest: u64, alone: bool) -> Result<Vec<u8>, SecretError> {
    let failed = |error| SecretError::File { file: file.to_owned(), error };
    let opened = input::open(file).map_err(|e| failed(e.into()))?;
    #[cfg(unix)]
    if alone {
        use std::os::unix::fs::PermissionsExt;
        if opened.metadata().map_err(failed)?.permissions().mode() & 0o077 != 0 {
            return Err(SecretError::Open(file.to_owned()));
        }
    }
    #[cfg(not(unix))]
    let _ = alone;
    input::read_opened(opened, largest).map_err(|e| {
        failed(match e {
            InputError::TooLarge(_) => std::io::Error::other("it is too large for what it should be"),
            e => e.into(),
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(text: &str, mode: u32) -> (tempfile::TempDir, PathBuf) {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("secret");
        std::fs::write(&file, text).expect("written");
        std::fs::set_permissions(&file, std::fs::Permissions::from_mode(mode)).expect("a mode");
        (folder, file)
    }

    #[test]
    fn a_password_is_one_line_of_a_file_of_ones_own() {
        for (text, wanted) in [("pass word\n", "pass word"), ("x\r\n", "x"), (" x ", " x ")] {
            let (_folder, file) = file(text, 0o600);
            let found = password(&Secret::File(file)).unwrap_or_else(|e| panic!("{e}"));
            assert_eq!(found.reveal(), wanted);
        }
        for text in ["", "\n", "hush\nhush\n"] {
            let (_folder, file) = file(text, 0o600);
            let refused = password(&Secret::File(file)).err().map(|e| e.to_string()).unwrap_or_default();
            assert!(refused.contains("one line") && !refused.contains("hush"), "{refused}");
        }
        for mode in [0o640, 0o604, 0o644] {
            let (_folder, file) = file("hush", mode);
            assert!(matches!(password(&Secret::File(file)), Err(SecretError::Open(_))), "{mode:o}");
        }
        let (_folder, file) = file(&"x".repeat(5_000), 0o600);
        assert!(matches!(password(&Secret::File(file)), Err(SecretError::File { .. })));
    }

    #[test]
    fn a_variable_that_is_not_set_is_named() {
        let refused = password(&Secret::Variable("DECANT_NEVER_SET".into())).err();
        assert!(refused.is_some_and(|e| e.to_string().contains("`DECANT_NEVER_SET`")));
    }

    #[test]
    fn what_is_no_certificate_is_refused() {
        for text in ["", "hello", "-----BEGIN CERTIFICATE-----\n!!\n-----END CERTIFICATE-----\n"] {
            let (_folder, file) = file(text, 0o644);
            assert!(trusted(&file).is_err(), "{text:?}");
        }
    }
}
