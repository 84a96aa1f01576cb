//! Certificates that a stranger made: sound in every digest, and with whatever record and logo one likes.

use std::io::Write;

use decant::front::SEAL_FORM;
use serde_json::{Value, json};

use super::workspace::{Copy, names, read_bytes, sha256};

/// A certificate of a sample as it was rendered.
pub fn certificate(sample: &str) -> Vec<u8> {
    let copy = Copy::of(sample);
    let run = copy.render(&["--only", "certificate"]);
    assert!(matches!(run.code, Some(0 | 3)), "{}", run.stderr);
    let name = names(&copy.output()).into_iter().find(|name| name.ends_with("certificate.pdf"));
    read_bytes(copy.output().join(name.expect("a certificate")))
}

/// The record that a certificate carries.
pub fn record_of(pdf: &[u8]) -> Value {
    let files = decant::front::attached(pdf);
    let records = files.iter().filter_map(|file| serde_json::from_slice::<Value>(file).ok());
    let mut records = records.filter(|value| value["form"] == decant::front::FORM);
    records.next().expect("a record")
}

/// A PDF with a record that was changed and sealed again, and a logo. Its page is no page: what is looked at is what it carries.
pub fn forged(mut record: Value, logo: Option<&[u8]>) -> Vec<u8> {
    // a record that was mutated may be no group of keys any more
    let page = record.get_mut("certificate").and_then(Value::as_object_mut);
    if let (Some(logo), Some(page)) = (logo, page) {
        page.insert("logo".to_owned(), json!(sha256(logo)));
        let kind = if logo.starts_with(b"\x89PNG") { "png" } else { "svg" };
        if let Some(data) = page.get_mut("data").and_then(Value::as_object_mut) {
            let path = format!("/house/logo.{kind}");
            data.insert("logo".to_owned(), json!({ "path": path, "alt": "a logo" }));
        }
    }
    let plan = serde_json_canonicalizer::to_vec(&record["plan"]).expect("JSON");
    let job = record["plan"]["job"].as_str().unwrap_or_default().to_owned();
    if let Some(fields) = record.as_object_mut() {
        fields.insert("number".to_owned(), json!(format!("{job}-{}", &sha256(&plan)[..8])));
    }
    let record = serde_json_canonicalizer::to_vec(&record).expect("JSON");
    let seal = json!({ "form": SEAL_FORM, "record": sha256(&record), "key": null, "signature": null });
    let seal = serde_json_canonicalizer::to_vec(&seal).expect("JSON");
    let mut files = vec![record, seal];
    files.extend(logo.map(<[u8]>::to_vec));
    carrying(&files)
}

/// A PDF that carries these files, and nothing else.
pub fn carrying(files: &[Vec<u8>]) -> Vec<u8> {
    let mut pdf = b"%PDF-1.7\n".to_vec();
    for (i, file) in files.iter().enumerate() {
        let packed = deflated(file);
        let head =
            format!("{} 0 obj\n<</Type/EmbeddedFile/Filter/FlateDecode/Length {}>>\nstream\n", i + 1, packed.len());
        pdf.extend_from_slice(head.as_bytes());
        pdf.extend_from_slice(&packed);
        pdf.extend_from_slice(b"\nendstream\nendobj\n");
    }
    pdf
}

/// Packed as zlib packs (RFC 1950).
pub fn deflated(bytes: &[u8]) -> Vec<u8> {
    let mut packer = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::best());
    packer.write_all(bytes).expect("memory takes bytes");
    packer.finish().expect("memory takes bytes")
}
