//! The seal beside a record: its digest and, where the firm has a key, its signature.

use serde::{Deserialize, Serialize};

use super::{SigningKey, unwritable};
use crate::digest::sha256;
use crate::report::Diagnostic;

/// The form of a seal.
pub const SEAL_FORM: &str = "decant seal 1";

/// A record's digest and signature, in a file of its own so that the record's digest is that of its file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Seal {
    /// [`SEAL_FORM`].
    pub form: String,
    /// SHA-256 of the record's file, in hexadecimal.
    pub record: String,
    /// The public key, in hexadecimal; `None` where the firm has no key.
    pub key: Option<String>,
    /// Ed25519 signature of the record's file, byte for byte, in hexadecimal.
    pub signature: Option<String>,
}

impl Seal {
    /// Seals a record's bytes.
    pub fn of(record: &[u8], key: Option<&SigningKey>) -> Seal {
        Seal {
            form: SEAL_FORM.to_owned(),
            record: sha256(record),
            key: key.map(|k| k.public().to_string()),
            signature: key.map(|k| k.sign(record)),
        }
    }

    /// As canonical JSON.
    ///
    /// # Errors
    /// A problem to show if it cannot be written, which no seal has shown so far.
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
