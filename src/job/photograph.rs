//! Photographs that a service log names: their files stay beside the log, and their digests go into the record.

use std::io::Read;
use std::path::{Component, Path};

use sha2::{Digest, Sha256};

use super::service_log::{Photograph, leads_out};
use super::service_log_read::read_digest;
use crate::diagnostic::Diagnostics;
use crate::digest::hex;
use crate::input;
use crate::yaml::{At, Declared, Kind, Line, Node, Shape, keys};

keys! {
    /// A photograph that the crew took.
    struct PhotographKeys {
        /// Its file, in the log's folder or below it; not a link that leads out of it. Example: `photos/hall.jpg`
        file: At<String>, required;
        /// Its SHA-256, which must be that of the file; it is worked out in any case.
        sha256: At<String> = Digest256, optional;
        /// What it shows. Example: `the hall after the first pass`
        shows: String, optional;
    }
}

/// The digest is worked out from the file; one that is written must be the same, so that a picture cannot be swapped later.
impl Declared for Photograph {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Photograph> {
        let PhotographKeys { file: named, sha256, shows } = PhotographKeys::from_node(node, report)?;
        // a digest that cannot be read has been reported
        if node.get("sha256").is_some() && sha256.is_none() {
            return None;
        }
        let sha256 = digest_of_named(&named, sha256.as_ref(), report)?;
        Some(Photograph { file: named.value, sha256, shows })
    }

    fn shape() -> Shape {
        PhotographKeys::shape()
    }
}

fn digest_of_named(named: &At<String>, written: Option<&At<String>>, report: &mut Diagnostics) -> Option<String> {
    let (file, source, named) = (&named.value, named.origin.source(), &named.origin);
    if !Path::new(file).components().all(|c| matches!(c, Component::Normal(_))) {
        let hint = "name a file in the log's folder, or in a folder below it";
        report.push(named.error("bad-photograph", format!("`{file}` leads out of the log's folder")).hint(hint));
        return None;
    }
    if leads_out(source.file(), &source.beside(file)) {
        let problem = named.error("bad-photograph", format!("`{file}` is a link that leads out of the log's folder"));
        report.push(problem.hint("put the photograph itself beside the log"));
        return None;
    }
    let sha256 = match digest_of(&source.beside(file)) {
        Ok(digest) => digest,
        Err(e) => {
            let hint = "photographs lie beside the log; only their digests go into the record";
            report.push(
                named.error("photograph-unreadable", format!("cannot read `{file}`: {}", input::why(&e))).hint(hint),
            );
            return None;
        }
    };
    if let Some(At { value: written, origin: at }) = written.filter(|written| written.value != sha256) {
        let message = format!("`{file}` is not the file that this digest was taken of");
        let problem = at.error("photograph-differs", message).hint(format!("written: {written}"));
        report.push(problem.hint(format!("the file's: {sha256}")));
        return None;
    }
    Some(sha256)
}

fn digest_of(file: &Path) -> std::io::Result<String> {
    let mut file = input::open(file)?;
    let mut hasher = Sha256::new();
    let mut buffer = vec![0; 1 << 16];
    loop {
        match file.read(&mut buffer)? {
            0 => break,
            n => hasher.update(&buffer[..n]),
        }
    }
    Ok(hex(&hasher.finalize()))
}

/// A digest and where it stands.
struct Digest256;

impl Kind for Digest256 {
    type Value = At<String>;

    fn read(&self, node: &Node<'_>, report: &mut Diagnostics) -> Option<At<String>> {
        Some(At { value: read_digest(node, report)?, origin: node.origin() })
    }

    fn shape(&self) -> Shape {
        Shape::line("a SHA-256 digest", Line::Any)
    }
}
