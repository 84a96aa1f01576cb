//! The record as a file: everything that a certificate rests on, so that its page can be made again from it alone.

use serde::Serialize;
use serde_json::Value;

use super::{Conformity, Record, Verdict, unwritable};
use crate::diagnostic::Diagnostic;
use crate::digest::sha256;
use crate::job::ServiceLog;
use crate::plan::Plan;

/// The form of a record; it changes when a field changes its meaning or goes.
pub const FORM: &str = "decant record 1";

/// The JSON Schema of a record (draft 2020-12), as `decant schema` prints it.
pub const SCHEMA: &str = include_str!("schema.json");

#[derive(Serialize)]
struct Contents<'a> {
    form: &'static str,
    number: &'a str,
    link: &'a str,
    revision: u32,
    replaces: Option<Replaced<'a>>,
    plan: &'a Plan,
    #[serde(rename = "applied")]
    service_log: Option<&'a ServiceLog>,
    verdicts: &'a [Verdict],
    certificate: Option<&'a CertificatePage>,
    made_by: &'a MadeBy,
    key: Option<&'a str>,
}

/// The record that a later revision takes the place of.
#[derive(Serialize)]
struct Replaced<'a> {
    revision: u32,
    sha256: &'a str,
}

#[derive(Clone, Debug, Serialize)]
pub struct MadeBy {
    pub program: String,
    /// SHA-256 over the fonts and templates that a certificate is drawn with, in hexadecimal.
    pub drawn_with: String,
    /// Whether templates of the firm's own are among them.
    pub own_templates: bool,
    /// The units and the form of dates that the company's documents are in, as the company file names them.
    pub units: &'static str,
    pub dates: &'static str,
}

/// A certificate's page, but for what follows from the record: its digest and the printed code.
#[derive(Clone, Debug, Serialize)]
pub struct CertificatePage {
    /// The file's name without its ending.
    pub stem: String,
    /// The date that the PDF carries.
    pub date: jiff::civil::DateTime,
    /// `color` or `black`.
    pub ink: String,
    /// SHA-256 of the logo, in hexadecimal.
    pub logo: Option<String>,
    /// What the template is given; `record.digest` and `record.qr.svg` are `null`.
    pub data: Value,
}

impl CertificatePage {
    /// Takes what follows from the record out of a certificate's data.
    pub fn strip(data: &mut Value) {
        data["record"]["digest"] = Value::Null;
        data["record"]["qr"]["svg"] = Value::Null;
    }

    /// Puts it back: the record's digest and the code of its link. `None` if the link does not fit a code.
    pub fn fill(data: &mut Value, digest: &str, link: &str) -> Option<()> {
        data["record"]["digest"] = Value::from(super::in_groups(digest));
        data["record"]["qr"]["svg"] = Value::from(super::code(link)?.svg);
        Some(())
    }
}

#[derive(Clone, Debug)]
pub struct RecordFile {
    pub revision: u32,
    pub replaces: Option<String>,
    /// Canonical JSON (RFC 8785): the file's bytes.
    pub json: Vec<u8>,
    pub digest: String,
}

impl RecordFile {
    /// Writes a record. `key` is the public key of whoever signs it.
    pub fn of(
        record: &Record,
        plan: &Plan,
        service_log: Option<&ServiceLog>,
        conformity: &Conformity,
        certificate: Option<&CertificatePage>,
        made_by: &MadeBy,
        key: Option<&str>,
    ) -> Result<RecordFile, Box<Diagnostic>> {
        let revision = service_log.map_or(1, |a| a.revision);
        let replaces = service_log.and_then(|a| a.replaces.clone());
        let json = serde_json_canonicalizer::to_vec(&Contents {
            form: FORM,
            number: &record.number,
            link: &record.link,
            revision,
            replaces: replaces.as_deref().map(|sha256| Replaced { revision: revision - 1, sha256 }),
            plan,
            service_log,
            verdicts: &conformity.verdicts,
            certificate,
            made_by,
            key,
        })
        .map_err(|e| Box::new(unwritable(&e)))?;
        Ok(RecordFile { revision, replaces, digest: sha256(&json), json })
    }
}
