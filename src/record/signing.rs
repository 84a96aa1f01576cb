//! The firm's key and the seal beside a record. The key is Ed25519 (RFC 8032); its secret half is made with the system's randomness, lies in a file that only its owner
//! may read, and is never printed.

use std::fs::OpenOptions;
use std::path::{Path, PathBuf};

use ed25519_dalek::{Signer, VerifyingKey};
use serde::{Deserialize, Serialize};

use super::unwritable;
use crate::diagnostic::Diagnostic;
use crate::digest::{hex, sha256};
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
    /// The file cannot be read or written.
    #[error("{}: {error}", .file.display())]
    File { file: PathBuf, error: std::io::Error },
    #[error("{0}")]
    Refused(String),
}

impl KeyError {
    fn exists(file: &Path) -> KeyError {
        KeyError::Refused(format!("{} is there already, and a key is never written over", file.display()))
    }

    fn not_a_key(file: &Path, what: &str) -> KeyError {
        KeyError::Refused(format!("{} is no {what}", file.display()))
    }
}

impl SigningKey {
    /// Makes a key and writes it, with its public half beside it as `FILE.pub`. Gives the public half and its file.
    pub fn make(file: &Path) -> Result<(PublicKey, PathBuf), KeyError> {
        let beside = public_file(file);
        if let Some(there) = [file, &beside].into_iter().find(|f| f.symlink_metadata().is_ok()) {
            return Err(KeyError::exists(there));
        }
        let mut seed = [0; 32];
        getrandom::fill(&mut seed).map_err(|e| KeyError::Refused(format!("the system gives no randomness: {e}")))?;
        let key = ed25519_dalek::SigningKey::from_bytes(&seed);
        write_new(file, &format!("{SECRET}{}\n", hex(&seed)), 0o600)?;
        let public = PublicKey(key.verifying_key());
        write_new(&beside, &format!("{PUBLIC}{public}\n"), 0o666).inspect_err(|_| {
            // nobody has used it yet, and without its other half the next run would refuse to write over it
            let _ = std::fs::remove_file(file);
        })?;
        Ok((public, beside))
    }

    pub fn read(file: &Path) -> Result<SigningKey, KeyError> {
        let failed = |error| KeyError::File { file: file.to_owned(), error };
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let meta = std::fs::metadata(file).map_err(failed)?;
            if meta.is_file() && meta.permissions().mode() & 0o077 != 0 {
                let message = format!("{} can be read by others than its owner; `chmod 600` it", file.display());
                return Err(KeyError::Refused(message));
            }
        }
        let text = read_small(file).map_err(failed)?;
        let seed = bytes_behind(&text, SECRET).ok_or_else(|| KeyError::not_a_key(file, "signing key"))?;
        let key = SigningKey(ed25519_dalek::SigningKey::from_bytes(&seed));
        // clients verify by the public half: in a folder of keys the two are easily mixed up
        let beside = public_file(file);
        if beside.symlink_metadata().is_ok() && PublicKey::read(&beside)? != key.public() {
            let (public, file) = (beside.display(), file.display());
            let message = format!("{public} is not the public half of {file}: one of the two belongs to another key");
            return Err(KeyError::Refused(message));
        }
        Ok(key)
    }

    pub fn public(&self) -> PublicKey {
        PublicKey(self.0.verifying_key())
    }

    /// Signs; gives 64 bytes in hexadecimal.
    pub fn sign(&self, message: &[u8]) -> String {
        hex(&self.0.sign(message).to_bytes())
    }
}

impl PublicKey {
    pub fn read(file: &Path) -> Result<PublicKey, KeyError> {
        let text = read_small(file).map_err(|error| KeyError::File { file: file.to_owned(), error })?;
        let key = bytes_behind(&text, PUBLIC).and_then(|bytes| VerifyingKey::from_bytes(&bytes).ok());
        key.map(PublicKey).ok_or_else(|| KeyError::not_a_key(file, "public key"))
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

/// The form of a seal.
pub const SEAL_FORM: &str = "decant seal 1";

/// A record's digest and signature, in a file of its own so that the record's digest is that of its file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Seal {
    pub form: String,
    /// SHA-256 of the record's file, in hexadecimal.
    pub record: String,
    /// The public key, in hexadecimal; `None` where the firm has no key.
    pub key: Option<String>,
    /// Ed25519 signature of the record's file, byte for byte, in hexadecimal.
    pub signature: Option<String>,
}

impl Seal {
    pub fn of(record: &[u8], key: Option<&SigningKey>) -> Seal {
        Seal {
            form: SEAL_FORM.to_owned(),
            record: sha256(record),
            key: key.map(|k| k.public().to_string()),
            signature: key.map(|k| k.sign(record)),
        }
    }

    pub fn json(&self) -> Result<Vec<u8>, Box<Diagnostic>> {
        serde_json_canonicalizer::to_vec(self).map_err(|e| Box::new(unwritable(&e)))
    }

    /// Reads a seal; `None` if the bytes are no seal in canonical JSON.
    pub fn read(bytes: &[u8]) -> Option<Seal> {
        let seal: Seal = serde_json::from_slice(bytes).ok()?;
        let is_canonical = seal.json().is_ok_and(|json| json == bytes);
        (seal.form == SEAL_FORM && is_canonical).then_some(seal)
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
        std::io::ErrorKind::AlreadyExists => KeyError::exists(file),
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
        let refused = |error: Option<KeyError>| matches!(error, Some(KeyError::Refused(_)));
        assert!(refused(SigningKey::make(&file).err()));
        assert_eq!(std::fs::read(&file).expect("the key"), before);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = |f: &Path| std::fs::metadata(f).expect("the file").permissions().mode() & 0o777;
            assert_eq!(mode(&file), 0o600);
            std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o640)).expect("a mode");
            assert!(refused(SigningKey::read(&file).err()));
        }
    }

    #[test]
    fn the_other_half_of_another_key_beside_it_is_noticed() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let (one, two) = (folder.path().join("one.key"), folder.path().join("two.key"));
        let (_, first) = SigningKey::make(&one).expect("a key");
        let (_, second) = SigningKey::make(&two).expect("a key");
        std::fs::copy(&second, &first).expect("swapped");
        let error = SigningKey::read(&one).err().expect("swapped");
        assert!(error.to_string().contains("is not the public half of"), "{error}");
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
