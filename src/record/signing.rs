//! The firm's key: Ed25519 (RFC 8032). The secret half is made with the system's randomness, lies in a file that only its owner
//! may read, and is never printed.

use std::fs::OpenOptions;
use std::path::{Path, PathBuf};

use ed25519_dalek::{Signer, VerifyingKey};

use crate::digest::hex;
use crate::input;
use crate::whole::write_all;

/// What the file of a secret key begins with.
const SECRET: &str = "decant-signing-key-1 ";
/// What the file of a public key begins with.
const PUBLIC: &str = "decant-public-key-1 ";

/// The secret half. It has no `Debug`, so that it cannot slip into a message.
pub struct SigningKey(ed25519_dalek::SigningKey);

/// The public half: 32 bytes, in print as 64 hexadecimal digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PublicKey(VerifyingKey);

/// Why a key cannot be made or read. No message holds anything of the file's content.
#[derive(Debug, thiserror::Error)]
pub enum KeyError {
    /// The system has no randomness to give.
    #[error("the system gives no randomness: {0}")]
    Randomness(getrandom::Error),
    /// There is a file already; a key is never written over.
    #[error("{} is there already, and a key is never written over", .0.display())]
    Exists(PathBuf),
    /// The file cannot be read or written.
    #[error("{}: {error}", .file.display())]
    File {
        /// Which file.
        file: PathBuf,
        /// Why.
        error: std::io::Error,
    },
    /// The file is no key.
    #[error("{} is no {what}", .file.display())]
    NotAKey {
        /// Which file.
        file: PathBuf,
        /// What was wanted.
        what: &'static str,
    },
    /// The public half beside it is another key's.
    #[error("{} is not the public half of {}: one of the two belongs to another key", .public.display(), .file.display())]
    OtherHalf {
        /// The secret half.
        file: PathBuf,
        /// The file beside it.
        public: PathBuf,
    },
    /// Others than the owner may read the file.
    #[error("{} can be read by others than its owner; `chmod 600` it", .0.display())]
    Open(PathBuf),
}

impl SigningKey {
    /// Makes a key and writes it, with its public half beside it as `FILE.pub`. Gives the public half and its file.
    ///
    /// # Errors
    /// [`KeyError`] if either file is there already or cannot be written, or there is no randomness.
    pub fn make(file: &Path) -> Result<(PublicKey, PathBuf), KeyError> {
        let beside = public_file(file);
        if let Some(there) = [file, &beside].into_iter().find(|f| f.symlink_metadata().is_ok()) {
            return Err(KeyError::Exists(there.to_owned()));
        }
        let mut seed = [0; 32];
        getrandom::fill(&mut seed).map_err(KeyError::Randomness)?;
        let key = ed25519_dalek::SigningKey::from_bytes(&seed);
        write_new(file, &format!("{SECRET}{}\n", hex(&seed)), 0o600)?;
        let public = PublicKey(key.verifying_key());
        write_new(&beside, &format!("{PUBLIC}{public}\n"), 0o666).inspect_err(|_| {
            // nobody has used it yet, and without its other half the next run would refuse to write over it
            let _ = std::fs::remove_file(file);
        })?;
        Ok((public, beside))
    }

    /// Reads a key.
    ///
    /// # Errors
    /// [`KeyError`] if the file cannot be read, is no key, others may read it, or `FILE.pub` beside it is there and is another key's.
    pub fn read(file: &Path) -> Result<SigningKey, KeyError> {
        let failed = |error| KeyError::File { file: file.to_owned(), error };
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let meta = std::fs::metadata(file).map_err(failed)?;
            if meta.is_file() && meta.permissions().mode() & 0o077 != 0 {
                return Err(KeyError::Open(file.to_owned()));
            }
        }
        let text = read_small(file).map_err(failed)?;
        let seed = bytes_behind(&text, SECRET)
            .ok_or_else(|| KeyError::NotAKey { file: file.to_owned(), what: "signing key" })?;
        let key = SigningKey(ed25519_dalek::SigningKey::from_bytes(&seed));
        // clients verify by the public half: in a folder of keys the two are easily mixed up
        let beside = public_file(file);
        if beside.symlink_metadata().is_ok() && PublicKey::read(&beside)? != key.public() {
            return Err(KeyError::OtherHalf { file: file.to_owned(), public: beside });
        }
        Ok(key)
    }

    /// Its public half.
    pub fn public(&self) -> PublicKey {
        PublicKey(self.0.verifying_key())
    }

    /// Signs; gives 64 bytes in hexadecimal.
    pub fn sign(&self, message: &[u8]) -> String {
        hex(&self.0.sign(message).to_bytes())
    }
}

impl PublicKey {
    /// Reads a public key's file.
    ///
    /// # Errors
    /// [`KeyError`] if the file cannot be read or is no public key.
    pub fn read(file: &Path) -> Result<PublicKey, KeyError> {
        let text = read_small(file).map_err(|error| KeyError::File { file: file.to_owned(), error })?;
        let key = bytes_behind(&text, PUBLIC).and_then(|bytes| VerifyingKey::from_bytes(&bytes).ok());
        key.map(PublicKey).ok_or_else(|| KeyError::NotAKey { file: file.to_owned(), what: "public key" })
    }

    /// From 64 hexadecimal digits; `None` if they are no key.
    pub fn from_hex(text: &str) -> Option<PublicKey> {
        VerifyingKey::from_bytes(&unhex(text)?).ok().map(PublicKey)
    }

    /// Whether this key's owner signed the message. Keys and signatures that more than one message or key could share are
    /// refused.
    pub fn has_signed(&self, message: &[u8], signature: &str) -> bool {
        unhex::<64>(signature).is_some_and(|bytes| {
            let signature = ed25519_dalek::Signature::from_bytes(&bytes);
            self.0.verify_strict(message, &signature).is_ok()
        })
    }
}

impl std::fmt::Display for PublicKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&hex(self.0.as_bytes()))
    }
}

/// Where the public half lies: `company.key.pub` beside `company.key`.
fn public_file(file: &Path) -> PathBuf {
    let mut name = file.as_os_str().to_owned();
    name.push(".pub");
    name.into()
}

/// Writes a file that is not there yet, readable by whom `mode` says from the first moment on.
fn write_new(file: &Path, text: &str, mode: u32) -> Result<(), KeyError> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, mode);
    #[cfg(not(unix))]
    let _ = mode;
    let failed = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::AlreadyExists => KeyError::Exists(file.to_owned()),
        _ => KeyError::File { file: file.to_owned(), error },
    };
    let mut new = options.open(file).map_err(failed)?;
    write_all(&mut new, text.as_bytes())
        .and_then(|()| new.sync_all())
        .inspect_err(|_| {
            // half a key is none
            let _ = std::fs::remove_file(file);
        })
        .map_err(failed)
}

/// A key file has one line; nothing longer is read.
fn read_small(file: &Path) -> std::io::Result<String> {
    // what is no text is no key
    Ok(String::from_utf8(input::read(file, 1024)?).unwrap_or_default())
}

fn bytes_behind(text: &str, head: &str) -> Option<[u8; 32]> {
    unhex(text.trim_end().strip_prefix(head)?)
}

/// Lower-case hexadecimal digits as bytes: one spelling only, so that a key or signature cannot be written in two ways.
fn unhex<const N: usize>(text: &str) -> Option<[u8; N]> {
    let mut bytes = [0; N];
    if text.len() != 2 * N {
        return None;
    }
    let digit = |c: u8| match c {
        b'0'..=b'9' => Some(c - b'0'),
        b'a'..=b'f' => Some(c - b'a' + 10),
        _ => None,
    };
    for (byte, pair) in bytes.iter_mut().zip(text.as_bytes().chunks(2)) {
        *byte = digit(pair[0])? << 4 | digit(pair[1])?;
    }
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 8032, section 7.1, tests 1 to 3: secret key, public key, message, signature.
    const VECTORS: [[&str; 4]; 3] = [
        [
            "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
            "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
            "",
            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
        ],
        [
            "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
            "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
            "72",
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
        ],
        [
            "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
            "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
            "af82",
            "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
        ],
    ];

    #[test]
    fn the_published_vectors_hold() {
        for [secret, public, message, signature] in VECTORS {
            let key = SigningKey(ed25519_dalek::SigningKey::from_bytes(&unhex(secret).expect("a seed")));
            let message: Vec<u8> = message
                .as_bytes()
                .chunks(2)
                .map(|pair| u8::from_str_radix(std::str::from_utf8(pair).expect("digits"), 16).expect("a byte"))
                .collect();
            assert_eq!(key.public().to_string(), public);
            assert_eq!(key.sign(&message), signature);
            assert!(key.public().has_signed(&message, signature));
            assert!(!key.public().has_signed(b"another message", signature));
        }
    }

    #[test]
    fn a_key_is_made_once_and_for_its_owner_alone() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let file = folder.path().join("company.key");
        let (public, beside) = SigningKey::make(&file).expect("a key");
        assert_eq!(PublicKey::read(&beside).expect("the public half"), public);
        assert_eq!(SigningKey::read(&file).expect("the secret half").public(), public);
        let before = std::fs::read(&file).expect("the key");
        assert!(matches!(SigningKey::make(&file), Err(KeyError::Exists(_))));
        assert_eq!(std::fs::read(&file).expect("the key"), before);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = |f: &Path| std::fs::metadata(f).expect("the file").permissions().mode() & 0o777;
            assert_eq!(mode(&file), 0o600);
            std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o640)).expect("a mode");
            assert!(matches!(SigningKey::read(&file), Err(KeyError::Open(_))));
        }
    }

    #[test]
    fn the_other_half_of_another_key_beside_it_is_noticed() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let (one, two) = (folder.path().join("one.key"), folder.path().join("two.key"));
        let (_, first) = SigningKey::make(&one).expect("a key");
        let (_, second) = SigningKey::make(&two).expect("a key");
        std::fs::copy(&second, &first).expect("swapped");
        assert!(matches!(SigningKey::read(&one), Err(KeyError::OtherHalf { .. })));
        assert!(SigningKey::read(&two).is_ok());
        std::fs::remove_file(&first).expect("removed");
        assert!(SigningKey::read(&one).is_ok());
        assert!(matches!(SigningKey::read(folder.path()), Err(KeyError::File { .. })));
    }

    #[test]
    fn no_message_holds_what_is_in_the_file() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let file = folder.path().join("company.key");
        std::fs::write(&file, format!("{SECRET}{}x\n", "ab".repeat(32))).expect("the file");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o600)).expect("a mode");
        }
        let Err(error) = SigningKey::read(&file) else { panic!("that is no key") };
        assert!(!error.to_string().contains("abab"), "{error}");
    }
}
