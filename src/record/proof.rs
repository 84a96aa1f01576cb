//! Whether a record is what it says, by itself and by its seal. Nothing here looks at a page.

use serde_json::Value;

use super::file::FORM;
use super::link::record_number;
use super::{PublicKey, Seal};
use crate::digest::sha256;

#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Finding {
    Matches(String),
    Note(String),
    NotChecked(String),
    Unfinished(String),
    Unreadable(String),
    Stale(String),
    Missing(String),
    Altered(String),
}

#[derive(Clone, Debug)]
pub struct Proof {
    pub findings: Vec<Finding>,
    pub record: Option<Value>,
    pub digest: String,
}

/// The largest record that is read, in bytes. One of a thousand areas has a quarter of this.
pub const LARGEST_RECORD: usize = 8 << 20;

/// The most values of a record's JSON; each takes about 100 bytes of memory, and a record is held several times.
const MOST_VALUES: usize = 500_000;

/// Reads JSON that may be a stranger's.
pub fn json_within_bounds(bytes: &[u8]) -> Result<Value, String> {
    if bytes.len() > LARGEST_RECORD {
        return Err(format!("it is larger than the {} MiB of a record", LARGEST_RECORD >> 20));
    }
    // each value but the first stands behind one of these
    let values = bytes.iter().filter(|b| matches!(b, b',' | b'[' | b'{')).count();
    if values > MOST_VALUES {
        return Err(format!("it has more than {MOST_VALUES} values"));
    }
    serde_json::from_slice(bytes).map_err(|e| e.to_string())
}

/// Looks through a record and the seal beside it. With `trusted`, the seal must be of that key.
pub fn prove(record: &[u8], seal: Option<&[u8]>, trusted: Option<&PublicKey>) -> Proof {
    let digest = sha256(record);
    let mut findings = Vec::new();
    let (value, why) = match json_within_bounds(record) {
        Ok(value) => (Some(value).filter(|v| v["form"] == FORM), String::new()),
        Err(why) => (None, format!(": {why}")),
    };
    match &value {
        None => findings.push(Finding::Unreadable(format!("this is no record of the form `{FORM}`{why}"))),
        Some(value) => by_itself(record, value, &mut findings),
    }
    match seal {
        None => findings.push(Finding::Unfinished(
            "the seal is missing: only the record's form and its plan's digest were looked at; run `decant render` or \
             `decant batch` again"
                .into(),
        )),
        Some(bytes) => match Seal::read(bytes) {
            None => findings.push(Finding::Altered("the seal is no seal as decant writes it".into())),
            Some(seal) => by_seal(record, &digest, value.as_ref(), &seal, trusted, &mut findings),
        },
    }
    Proof { findings, record: value, digest }
}

fn by_itself(bytes: &[u8], record: &Value, findings: &mut Vec<Finding>) {
    let is_canonical = serde_json_canonicalizer::to_vec(record).is_ok_and(|json| json == bytes);
    if !is_canonical {
        findings.push(Finding::Altered("the record is not in canonical form (RFC 8785)".into()));
    }
    let job = record["plan"]["job"].as_str().unwrap_or_default();
    let number = serde_json_canonicalizer::to_vec(&record["plan"]).map(|plan| record_number(job, &plan));
    match (number, record["number"].as_str()) {
        (Ok(number), Some(written)) if number == written => {
            findings.push(Finding::Matches(format!("the plan, by the record's number {number}")));
        }
        _ => {
            findings.push(Finding::Altered("`plan` or `number`: the number is not the one that this plan gives".into()))
        }
    }
}

fn by_seal(
    bytes: &[u8],
    digest: &str,
    record: Option<&Value>,
    seal: &Seal,
    trusted: Option<&PublicKey>,
    findings: &mut Vec<Finding>,
) {
    if seal.record == digest {
        findings.push(Finding::Matches(format!("the whole record, by its SHA-256 {digest}")));
    } else {
        let message = format!("the record's SHA-256 is {digest} and the seal says {}", seal.record);
        findings.push(Finding::Altered(message));
    }
    let named = record.and_then(|r| r["key"].as_str());
    if named != seal.key.as_deref() {
        findings.push(Finding::Altered(match (&named, &seal.key) {
            (Some(_), None) => "the record names a key and the seal has no signature".into(),
            (None, Some(_)) => "the seal is signed, and the record names no key".into(),
            _ => "the seal is of another key than the record names".into(),
        }));
    }
    let (Some(key), Some(signature)) = (&seal.key, &seal.signature) else {
        match (trusted, seal.key.is_some() || seal.signature.is_some()) {
            (Some(_), _) => findings.push(Finding::Altered("a signature is wanted and there is none".into())),
            (None, true) => findings.push(Finding::Altered("the seal has half a signature".into())),
            (None, false) => findings.push(Finding::Note(
                "it is not signed: this shows what was altered by accident, not who made it".into(),
            )),
        }
        return;
    };
    let signed = PublicKey::from_hex(key).filter(|k| k.has_signed(bytes, signature));
    match (signed, trusted) {
        (None, _) => findings.push(Finding::Altered("the signature is not of this record and key".into())),
        (Some(key), Some(trusted)) if key == *trusted => {
            findings.push(Finding::Matches(format!("the signature, by the key given ({key})")));
        }
        (Some(key), Some(_)) => findings.push(Finding::Altered(format!("it is signed by a foreign key, {key}"))),
        (Some(key), None) => {
            findings.push(Finding::Matches(format!("the signature, by the key {key}")));
            findings.push(Finding::Note("whose key that is was not looked at: give `--key`".into()));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::SigningKey;
    use serde_json::json;

    fn small() -> Vec<u8> {
        let plan = json!({ "job": "7", "note": "été € \u{1F41F} \u{7}", "amount": 4.5, "small": 1e-7, "large": 1e21 });
        let bytes = serde_json_canonicalizer::to_vec(&plan).expect("JSON");
        let number = record_number("7", &bytes);
        let record = json!({ "form": FORM, "number": number, "plan": plan, "applied": { "loads": [] }, "key": null });
        serde_json_canonicalizer::to_vec(&record).expect("JSON")
    }

    fn is_altered(proof: &Proof) -> bool {
        proof.findings.iter().any(|f| matches!(f, Finding::Altered(_) | Finding::Unreadable(_)))
    }

    /// Flips bits of a file; every copy of it must be found to be altered.
    fn every_flip_counts(bytes: &[u8], flips: &[u8], prove: impl Fn(&[u8]) -> Proof) {
        assert!(!is_altered(&prove(bytes)));
        for at in 0..bytes.len() {
            for flip in flips {
                let mut spoilt = bytes.to_vec();
                spoilt[at] ^= flip;
                assert!(is_altered(&prove(&spoilt)), "byte {at}, {flip}");
            }
        }
    }

    #[test]
    fn every_bit_of_record_and_seal_counts() {
        let record = small();
        let seal = Seal::of(&record, None).json().expect("a seal");
        let bits: Vec<u8> = (0..8).map(|bit| 1 << bit).collect();
        every_flip_counts(&record, &bits, |spoilt| prove(spoilt, Some(&seal), None));
        every_flip_counts(&seal, &bits, |spoilt| prove(&record, Some(spoilt), None));
    }

    #[test]
    fn every_byte_of_a_signed_seal_counts() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let key = |name: &str| {
            let file = folder.path().join(name);
            SigningKey::make(&file).expect("a key");
            SigningKey::read(&file).expect("the key")
        };
        let (key, other) = (key("own"), key("other"));
        let naming = |key: &SigningKey| {
            let mut record: Value = serde_json::from_slice(&small()).expect("JSON");
            record["key"] = json!(key.public().to_string());
            serde_json_canonicalizer::to_vec(&record).expect("JSON")
        };
        let seal = |record: &[u8], key| Seal::of(record, key).json().expect("a seal");
        let record = naming(&key);
        every_flip_counts(&seal(&record, Some(&key)), &[1], |spoilt| prove(&record, Some(spoilt), Some(&key.public())));
        // sealed by somebody else, rewritten for another key, and with the signature taken off
        assert!(is_altered(&prove(&record, Some(&seal(&record, Some(&other))), None)));
        let rewritten = naming(&other);
        assert!(is_altered(&prove(&rewritten, Some(&seal(&rewritten, Some(&other))), Some(&key.public()))));
        assert!(is_altered(&prove(&record, Some(&seal(&record, None)), None)));
    }

    /// RFC 8785, section 3.2.2 (example of numbers, literals and text) and 3.2.3 (order of keys).
    #[test]
    fn canonical_json_is_as_published() {
        let numbers: Value = serde_json::from_str(
            r#"{"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],"string":"\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/","literals":[null,true,false]}"#,
        )
        .expect("JSON");
        let wanted = "{\"literals\":[null,true,false],\"numbers\":[333333333.3333333,1e+30,4.5,0.002,1e-27],\"string\":\"€$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}";
        let found = serde_json_canonicalizer::to_vec(&numbers).expect("JSON");
        assert_eq!(String::from_utf8(found).expect("UTF-8"), wanted);
        let keys: Value = serde_json::from_str(
            r#"{"\u20ac":"Euro Sign","\r":"Carriage Return","\ufb33":"Hebrew Letter Dalet With Dagesh","1":"One","\ud83d\ude00":"Emoji: Grinning Face","\u0080":"Control","\u00f6":"Latin Small Letter O With Diaeresis"}"#,
        )
        .expect("JSON");
        let found = String::from_utf8(serde_json_canonicalizer::to_vec(&keys).expect("JSON")).expect("UTF-8");
        let order = ["Carriage", "One", "Control", "Latin", "Euro", "Emoji", "Hebrew"];
        let order: Vec<usize> = order.iter().map(|word| found.find(word).expect("the word")).collect();
        assert!(order.is_sorted(), "{found}");
    }
}
