//! Passwords and certificates that are trusted: from the environment or a file, never from the company file, never shown.

use std::path::Path;

use lettre::transport::smtp::client::Certificate;

use crate::company::Secret;
use crate::input::{self, InputError};

/// The longest file with a password, in bytes.
const LONGEST_PASSWORD: u64 = 4_096;
/// The largest file of certificates, in bytes.
const LARGEST_PEM: u64 = 1 << 20;

/// A password. It has no `Debug` and no `Display`, so that it cannot slip into a message.
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

/// Why a secret cannot be had. It holds nothing of the secret.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct SecretError(String);

fn refused(file: &Path, why: impl std::fmt::Display) -> SecretError {
    SecretError(format!("{} {why}", file.display()))
}

/// Reads a password.
///
/// # Errors
/// [`SecretError`] if it is not there, or lies where others can read it.
pub fn password(secret: &Secret) -> Result<Password, SecretError> {
    match secret {
        Secret::Variable(name) => {
            let value = std::env::var(name).ok().filter(|value| is_password(value));
            let why = "of the environment, where the password should be, is not set or is empty";
            value.map(Password).ok_or_else(|| SecretError(format!("the variable `{name}` {why}")))
        }
        Secret::File(file) => {
            let text = String::from_utf8(read(file, LONGEST_PASSWORD, true)?).unwrap_or_default();
            let line = text.strip_suffix('\n').unwrap_or(&text);
            let line = line.strip_suffix('\r').unwrap_or(line);
            let found = is_password(line).then(|| Password(line.to_owned()));
            found.ok_or_else(|| refused(file, "should hold the password in one line, and does not"))
        }
    }
}

/// Reads the certificates of a PEM file.
///
/// # Errors
/// [`SecretError`] if it cannot be read or holds none.
pub fn trusted(file: &Path) -> Result<Certificate, SecretError> {
    let bytes = read(file, LARGEST_PEM, false)?;
    let text = String::from_utf8(bytes).ok().filter(|text| text.contains("-----BEGIN CERTIFICATE-----"));
    let found = text.and_then(|text| Certificate::from_pem(text.as_bytes()).ok());
    found.ok_or_else(|| refused(file, "holds no certificate in PEM form (`-----BEGIN CERTIFICATE-----`)"))
}

fn is_password(text: &str) -> bool {
    !text.is_empty() && !text.chars().any(char::is_control)
}

/// Reads a regular file up to a size. `alone`: nobody but the owner may read it, as the file that is opened says, not its name.
fn read(file: &Path, largest: u64, alone: bool) -> Result<Vec<u8>, SecretError> {
    let failed = |error: std::io::Error| SecretError(format!("{}: {error}", file.display()));
    let opened = input::open(file).map_err(|e| failed(e.into()))?;
    #[cfg(unix)]
    if alone {
        use std::os::unix::fs::PermissionsExt;
        if opened.metadata().map_err(failed)?.permissions().mode() & 0o077 != 0 {
            return Err(refused(file, "can be read by others than its owner; `chmod 600` it"));
        }
    }
    #[cfg(not(unix))]
    let _ = alone;
    input::read_opened(opened, largest).map_err(|e| match e {
        InputError::TooLarge(_) => SecretError(format!("{}: it is too large for what it should be", file.display())),
        e => failed(e.into()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(text: &str, mode: u32) -> (tempfile::TempDir, std::path::PathBuf) {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("secret");
        std::fs::write(&file, text).expect("written");
        std::fs::set_permissions(&file, std::fs::Permissions::from_mode(mode)).expect("a mode");
        (folder, file)
    }

    #[test]
    fn a_password_is_one_line_of_a_file_of_ones_own() {
        let long = "x".repeat(5_000);
        for (text, mode, wanted, refused) in [
            ("pass word\n", 0o600, "pass word", ""),
            ("x\r\n", 0o600, "x", ""),
            (" x ", 0o600, " x ", ""),
            ("", 0o600, "", "one line"),
            ("\n", 0o600, "", "one line"),
            ("hush\nhush\n", 0o600, "", "one line"),
            ("hush", 0o640, "", "chmod 600"),
            ("hush", 0o604, "", "chmod 600"),
            ("hush", 0o644, "", "chmod 600"),
            (long.as_str(), 0o600, "", "too large"),
        ] {
            let (_folder, file) = file(text, mode);
            match password(&Secret::File(file)) {
                Ok(found) => assert_eq!((found.reveal(), ""), (wanted, refused)),
                Err(e) => {
                    let e = e.to_string();
                    assert!(!refused.is_empty() && e.contains(refused) && !e.contains("hush"), "{text} {mode:o}: {e}");
                }
            }
        }
        let unset = password(&Secret::Variable("DECANT_NEVER_SET".into())).err();
        assert!(unset.is_some_and(|e| e.to_string().contains("`DECANT_NEVER_SET`")));
    }

    #[test]
    fn what_is_no_certificate_is_refused() {
        for text in ["", "hello", "-----BEGIN CERTIFICATE-----\n!!\n-----END CERTIFICATE-----\n"] {
            let (_folder, file) = file(text, 0o644);
            assert!(trusted(&file).is_err(), "{text:?}");
        }
    }
}
