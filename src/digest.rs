//! SHA-256 as it stands in files: 64 hexadecimal digits.

use sha2::{Digest, Sha256};

/// Bytes as hexadecimal digits.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// SHA-256 of some bytes, in hexadecimal.
pub fn sha256(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// SHA-256 of some bytes as a page's policy names it: in base64 (RFC 4648, section 4).
pub fn sha256_base64(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let digest = Sha256::digest(bytes);
    let mut text = String::new();
    for three in digest.chunks(3) {
        let bits = three.iter().fold(0_u32, |bits, byte| bits << 8 | u32::from(*byte)) << (8 * (3 - three.len()));
        let digits = (0..=three.len()).map(|at| DIGITS[(bits >> (18 - 6 * at) & 63) as usize]);
        text.extend(digits.map(char::from));
        text.extend(std::iter::repeat_n('=', 3 - three.len()));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The value that the standard of the policy gives for its example (CSP 3, section 8.3: `alert('Hello, world.');`).
    #[test]
    fn base64_is_as_published() {
        let hash = sha256_base64(b"alert('Hello, world.');");
        assert_eq!(hash, "qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng=");
    }

    /// FIPS 180-4's example of one block, as NIST publishes it.
    #[test]
    fn abc_is_as_published() {
        assert_eq!(sha256(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
